"""A rotation's order on paper, and what every paper that hangs at the apparatus says alike."""

from collections.abc import Collection, Iterator, Sequence
from datetime import date, datetime

from settingsdesk.cards.crew_sheet import CrewPaper, CrewRow
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.rotations.lanes import Block, Lane, PlannedTurn
from settingsdesk.desk.rotations.view import OrderIsNone, RotationView
from settingsdesk.domain.base.datums import canonical_in_words
from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.figures import length_in_words, minutes
from settingsdesk.domain.base.sentences import Counted, Moment, Sentence, Series
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.changeover.moves import Move
from settingsdesk.domain.hall.models import ApparatusModel
from settingsdesk.domain.settings.purposes import SETTINGS_FOR, USUAL

CAUTIONS = Sentence(
    "Before every turn: locks seated, handles closed, tension equal, square, checked by a second"
    " person. The maker’s instructions, the federation’s and the local rules come first; trained"
    " people only. When in doubt, out of use."
)
WITHOUT_TENSION = Sentence(
    "Before every turn: locks seated, handles closed, square, checked by a second person. The"
    " maker’s instructions, the federation’s and the local rules come first; trained people only."
    " When in doubt, out of use."
)
NOTHING_TO_MOVE = Sentence("Nothing to move")
ASK_FIRST = Sentence("Message not answered: ask the coach first")
"""Of somebody for whom nothing is set before a message from a card has its answer."""
HANDS = {1: Sentence("one person"), 2: Sentence("two people"), 4: Sentence("four people")}


def cautions(model: ApparatusModel) -> Sentence:
    """What holds before every turn on apparatus of a model: nothing of cables where it has none."""
    return CAUTIONS if model.procedure.tensioners_per_side else WITHOUT_TENSION


def in_words(move: Move, unit: Unit) -> Sentence:
    """What to move: "High rail height up 2 holes, 5 to 7 (10.0 cm)"."""
    return move.whole(length_in_words(move.by_mm, unit))


def measured_from(model: ApparatusModel) -> str:
    """The datum of each axis, those of one datum together."""
    axes: dict[str, list[str]] = {}
    for axis in model.axes:
        axes.setdefault(canonical_in_words(axis.kind), []).append(axis.kind.in_a_sentence)
    return Series(
        [Series((Series(names, "and"), datum), ", ") for datum, names in axes.items()], "; "
    )


def other_mats(piece: Piece, day: date, unit: Unit) -> list[str]:
    """What follows of the mats of that day where they are others than on record; often nothing."""
    told = piece.mats.on(day).of_all_in_words(unit)
    return [Sentence("%(mats)s.", mats=told)] if told else []


def order_papers(
    view: RotationView, unit: Unit, at: datetime, ask_first: Collection[int] = ()
) -> list[CrewPaper]:
    """The best order of a rotation, a paper for each apparatus; ``OrderIsNone`` without one.

    Of several groups each that was not begun has a paper of its own. Names are as on cards, so that
    it can be sent to the team. ``ask_first`` are the athletes for whom nothing is set yet.
    """
    if view.ordered is None or view.ordered.outdated:
        raise OrderIsNone(view.name)
    return [
        _paper(view, lane, block, unit, at, ask_first)
        for lane in view.ordered.best.lanes
        for block in (view.blocks_to_come if lane.blocks else (None,))
        if lane.turns
    ]


def _paper(
    view: RotationView,
    lane: Lane,
    block: Block | None,
    unit: Unit,
    at: datetime,
    ask_first: Collection[int],
) -> CrewPaper:
    """The turns of an apparatus, or of one of several groups there."""
    model, piece = lane.piece.model, lane.piece
    turns = block.turns if block else lane.turns
    is_last = turns[-1] is lane.turns[-1]
    changes = (*turns, *([lane.closing] if lane.closing and is_last else ()))
    of_all = _of_all(view, lane, turns)
    rotation, purpose = view.name, view.asked.purpose
    if block:
        purpose = view.asked.purpose_of_group(block.group)
        called = view.called_group(block.group)
        rotation = Sentence("%(rotation)s, %(group)s", rotation=view.name, group=called)
    return CrewPaper(
        title=Sentence("%(rotation)s, %(apparatus)s", rotation=rotation, apparatus=piece.name),
        above=(
            day_in_words(view.held_on),
            *([SETTINGS_FOR[purpose]] if purpose is not USUAL else ()),
            Sentence(
                "For %(people)s. Marks: %(scale)s.",
                people=HANDS[view.asked.hands],
                scale=piece.scale_used,
            ),
            _begins(view, block, turns[0]),
            Sentence("Lengths: %(datums)s.", datums=measured_from(model)),
            *other_mats(piece, view.held_on, unit),
            *of_all.values(),
        ),
        axes=tuple(axis.kind.name for axis in model.axes),
        rows=tuple(_row(view, lane, turn, unit, ask_first, of_all) for turn in turns),
        below=(
            in_all(
                sum(change.moves_something for change in changes),
                sum(change.seconds for change in changes),
            ),
            *_why(view),
        ),
        cautions=cautions(model),
        issue=Sentence("printed %(moment)s", moment=Moment(at.astimezone())),
    )


def _begins(view: RotationView, block: Block | None, first: PlannedTurn) -> Sentence:
    marks = first.model.marks_in_words(first.start)
    is_there = block in view.blocks_to_come[:1] and view.piece.setup == first.start
    if block and block.after_s and not is_there:
        return Sentence(
            "Begins from %(marks)s, where the group before ends, after about %(minutes)s:"
            " compare before.",
            marks=marks,
            minutes=minutes(block.after_s),
        )
    if view.is_to_come:
        return Sentence("Planned from %(marks)s: read the present marks before.", marks=marks)
    return Sentence(
        "Begins from %(marks)s, the present marks on record: compare before.", marks=marks
    )


def in_all(change_overs: int, seconds: int) -> Counted:
    """How many change-overs there are, and how long all of them take."""
    return Counted(
        "%(count)s change-over, %(minutes)s in all.",
        "%(count)s change-overs, %(minutes)s in all.",
        change_overs,
        minutes=minutes(seconds),
    )


def _why(view: RotationView) -> Iterator[Sentence]:
    """What the order keeps to, with what each wish costs."""
    if view.wishes:
        wishes = Series([wish.in_words for wish in view.wishes], "; ")
        yield Sentence("Why this order: %(wishes)s.", wishes=wishes)


def _of_all(view: RotationView, lane: Lane, turns: Sequence[PlannedTurn]) -> dict[str, Sentence]:
    """What holds of the marks of most athletes of a paper, as it is said once, over its table.

    By the words with which a turn says it. Of whom it does not hold is said with it.
    """
    own = view.carried[lane.piece.id]
    ids = list(dict.fromkeys(turn.member.id for turn in turns))
    told: dict[str, list[int]] = {}
    for one in ids:
        for words in filter(None, (own[one].usual_instead, own[one].unmeasured)):
            told.setdefault(words, []).append(one)
    said = {}
    for words, of_them in told.items():
        others = [view.called[one] for one in ids if one not in of_them]
        if len(others) < len(of_them) > 1:
            said[words] = (
                Sentence(
                    "For all but %(athletes)s: %(note)s.",
                    athletes=Series(others, "and"),
                    note=words,
                )
                if others
                else Sentence("For all: %(note)s.", note=words)
            )
    return said


def _row(
    view: RotationView,
    lane: Lane,
    turn: PlannedTurn,
    unit: Unit,
    ask_first: Collection[int],
    of_all: Collection[str],
) -> CrewRow:
    own = view.carried[lane.piece.id][turn.member.id]
    marks, measures_mm = turn.model.marks(turn.setup), turn.model.measures_mm(turn.setup)
    fit = own.transfer.best
    others = [view.called[member.id] for member in lane.served_by(turn)[1:]]
    stays = [Sentence("Stays for %(athletes)s", athletes=Series(others, "and"))] if others else []
    notes = [
        *([ASK_FIRST] if turn.member.id in ask_first else []),
        *stays,
        *(heed for heed in own.heeds if heed not in of_all),
        *fit.warnings_in(unit),
        *fit.residuals_in(unit),
    ]
    for off in turn.differs:
        differs = Sentence(
            "%(axis)s: own mark %(mark)s, here within what is accepted",
            axis=off.axis.kind.name,
            mark=next(axis.mark for axis in fit.axes if axis.axis.key == off.axis.key),
        )
        notes.append(differs)
    return CrewRow(
        place=f"{turn.place}.",
        name=view.called[turn.member.id],
        under_name="",
        marks=tuple((marks[key], length_in_words(measures_mm[key], unit)) for key in marks),
        moves=_moves(turn, unit),
        seconds=str(turn.seconds) if turn.moves_something else "",
        notes=tuple(notes),
    )


def _moves(turn: PlannedTurn, unit: Unit) -> tuple[str, ...]:
    if not turn.moves_something:
        return (NOTHING_TO_MOVE,)
    return tuple(in_words(move, unit) for move in turn.change.ways)
