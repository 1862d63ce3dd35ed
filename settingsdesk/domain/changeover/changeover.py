"""The change-over: what to do from one setup to the next, in the trade's safe sequence.

Slacken; the low rail, end by end; the high rail; the spreaders; sight for square; tension in
stages from the high-rail side, to the working tension that the maker states; walk round with
every lock and handle once more. Nothing at all where the setups are the same. One that was
interrupted is taken up where its ends stand.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import Enum

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import length_in_words
from settingsdesk.domain.base.kinds import AN_END, FRONT_AND_BACK, Kind
from settingsdesk.domain.base.sentences import Sentence, marked, recognised
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.changeover.moves import Move, rounds_of_moves, share_s
from settingsdesk.domain.hall.models import ApparatusModel, Axis, NotASetup, Procedure, Setup

EndStops = tuple[tuple[int, ...], ...]
"""Where a frame stands whose change-over is under way: for every axis, in the order of the
model's axes, the stop of each of its ends, in the order of ``Axis.ends``."""

Stands = Sequence[int] | Sequence[Sequence[int]]
"""A setup, or the stops of all ends."""


class Phase(Enum):
    """To which part of the safe sequence a step belongs."""

    SLACKEN = "slacken"
    MOVE = "move"
    SIGHT = "sight"
    TENSION = "tension"
    WALK_ROUND = "walk round"


class Stage(Enum):
    """How far a tensioner is pulled: never at once to what the maker states."""

    FIRST = Sentence("about half")
    WORKING = Sentence("working tension")


DRAW_THE_PIN = Sentence("draw the pin")
LET_IT_SEAT = Sentence("let the pin seat")
SEATED_BETWEEN = Sentence("leave it there: another end comes next")
MAKES_IT_WORSE = Sentence("pulling the other side first would make it worse")
MAKERS_TENSION = Sentence(
    "the working tension is the maker's: see the maker's mark, gauge or instructions"
)
AGAINST_THE_LEAN = Sentence(
    "where a lean or a skew was measured, begin with what pulls against it: pulling the other side"
    " first would make it worse"
)


TO_STAGE = marked("Tension %(side)s: to %(stage)s")
EACH_IN_TURN = marked("Tension %(side)s, each in turn: to %(stage)s")


_ENDS = (AN_END, *(end.form for end in FRONT_AND_BACK))


@dataclass(frozen=True, slots=True)
class PulledFirst:
    """What pulls against a lean, or a skew in plan, that was measured: it is tensioned first.

    ``side`` is the place in the kind's sides; ``end`` at which end of it, as the hall calls that,
    empty where the whole side pulls against it, which is a lean. ``by_mm`` is how far off it is.
    """

    side: int
    end: str
    by_mm: float

    @property
    def by(self) -> Sentence:
        """How far off it is: "1.2 cm"."""
        return length_in_words(self.by_mm, Unit.CENTIMETRE)

    @property
    def why(self) -> Sentence:
        """What is said of it at the step with which tensioning begins."""
        if self.end:
            return Sentence(
                "begin at the %(end)s: that pulls against the skew of %(length)s that was measured;"
                " pulling the other side first would make it worse",
                end=recognised(self.end, _ENDS),
                length=self.by,
            )
        return Sentence(
            "this side first: it pulls against the lean of %(length)s that was measured; pulling"
            " the other side first would make it worse",
            length=self.by,
        )


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do, by one pair of hands; ``move`` where a stop is changed.

    ``what`` says it in a line, ``how`` is what the hands do, in order.
    """

    phase: Phase
    what: str
    seconds: int
    move: Move | None = None
    how: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ChangeOver:
    """The ordered steps from one setup to another, and the time for one pair of hands."""

    steps: tuple[Step, ...]

    @property
    def seconds(self) -> int:
        """The whole time: the steps one after the other."""
        return sum(step.seconds for step in self.steps)

    @property
    def moves(self) -> tuple[Move, ...]:
        """The steps that change a stop."""
        return tuple(step.move for step in self.steps if step.move is not None)

    @property
    def ways(self) -> tuple[Move, ...]:
        """For each axis that changes, the whole way of the first of its ends that is moved."""
        whole: dict[str, Move] = {}
        for move in self.moves:
            way = whole.setdefault(move.axis.key, move)
            if way.end == move.end:
                whole[move.axis.key] = replace(way, to_stop=move.to_stop, finishes=move.finishes)
        return tuple(whole.values())


def ends_at(model: ApparatusModel, setup: Sequence[int]) -> EndStops:
    """All ends of all axes, standing at a setup; ``NotASetup`` or ``NoSuchStop`` if it is none."""
    model.must_have(setup)
    return tuple((stop,) * len(axis.ends) for axis, stop in zip(model.axes, setup, strict=True))


def setup_of(ends: EndStops) -> Setup | None:
    """The setup at which all ends stand; None where those of an axis differ."""
    if any(len(set(stops)) != 1 for stops in ends):
        return None
    return tuple(stops[0] for stops in ends)


class Frame(Enum):
    """How the frame was left by whatever came before a change-over.

    SLACK: a change-over was begun, all is slackened and nothing tensioned yet; or, where nothing
    is tensioned, ends were moved and nobody has walked round yet. UNCLEAR: it was broken off with
    some tensioners slackened or pulled, or nobody knows.
    """

    TENSIONED = "tensioned"
    SLACK = "slack"
    UNCLEAR = "unclear"


def change_over(
    model: ApparatusModel,
    start: Stands,
    goal: Sequence[int],
    *,
    frame: Frame = Frame.TENSIONED,
    lean: PulledFirst | None = None,
) -> ChangeOver:
    """What one pair of hands does from one setup to another; no step where they are the same.

    ``start`` may also say where each end stands: of an interrupted change-over only those ends
    are moved that are not at the goal, and all the rest of the sequence is as usual.
    Where the ``frame`` is slack, nothing is slackened; where it is slack or unclear, all that
    comes after the moves is due even where nothing is left to move. With a ``lean`` that was
    measured, tensioning begins with what pulls against it; nothing else is another step.

    ``NotASetup``, ``NotAllEnds`` or ``NoSuchStop`` where start or goal is no place of this model.
    """
    moves = [
        move_step(move)
        for rounds in axis_rounds(model, start, goal, hands=1)
        for at_once in rounds
        for move in at_once
    ]
    if not moves and frame is Frame.TENSIONED:
        return ChangeOver(())
    before = () if frame is Frame.SLACK else tuple(_before(model.procedure))
    steps = (*before, *moves, *_after(model.procedure, model.kind, lean))
    return ChangeOver(nobody_near(steps, model.kind))


def axis_rounds(
    model: ApparatusModel, start: Stands, goal: Sequence[int], hands: int
) -> list[list[tuple[Move, ...]]]:
    """For each axis, in their safe order, its rounds of moves by so many pairs of hands."""
    model.must_have(goal)
    return [
        rounds_of_moves(axis, stands, there, hands)
        for axis, stands, there in zip(model.axes, _ends(model, start), goal, strict=True)
    ]


def change_over_s(model: ApparatusModel, start: Sequence[int], goal: Sequence[int]) -> int:
    """The time of that change-over without its steps: what a search asks thousands of times."""
    if tuple(start) == tuple(goal):
        return 0
    seconds = model.procedure.any_move_s
    for axis, here, there in zip(model.axes, start, goal, strict=True):
        if here != there:
            per_stop_s = axis.times.up_s if there > here else axis.times.down_s
            seconds += len(axis.ends) * (axis.times.handling_s + abs(there - here) * per_stop_s)
    return seconds


def _ends(model: ApparatusModel, stands: Stands) -> EndStops:
    if all(isinstance(stop, int) for stop in stands):
        return ends_at(model, [stop for stop in stands if isinstance(stop, int)])
    ends = tuple(tuple(stops) for stops in stands if not isinstance(stops, int))
    if len(ends) != len(model.axes):
        raise NotASetup(model.name, len(ends), len(model.axes))
    for axis, stops in zip(model.axes, ends, strict=True):
        if len(stops) != len(axis.ends):
            raise NotAllEnds(axis, len(stops))
        for stop in stops:
            axis.scale.label(stop)
    return ends


def move_step(move: Move) -> Step:
    """The step of one move: which end, which way, between which marks, and what hands do."""
    kind = move.axis.kind
    before = kind.before if move.begins or not kind.before else (*kind.before[:-1], DRAW_THE_PIN)
    at_the_mark = (LET_IT_SEAT,) if move.axis.scale.has_pins and kind.before else ()
    after = kind.after if move.finishes else (SEATED_BETWEEN,)
    return Step(
        Phase.MOVE,
        Sentence("%(axis)s, %(end)s: %(way)s", axis=kind.name, end=move.end, way=move.way),
        move.seconds,
        move,
        (*before, move.way, *at_the_mark, *after),
    )


def nobody_near(steps: Sequence[Step], kind: Kind) -> tuple[Step, ...]:
    """The steps, the first of which begins with nobody on or under what is set."""
    if not steps:
        return ()
    first, *others = steps
    return (replace(first, how=begun_clear(kind, first.how)), *others)


def begun_clear(kind: Kind, how: tuple[str, ...]) -> tuple[str, ...]:
    """What hands do at the first step of a change-over; before all, that nobody is near."""
    return Sentence("see that nobody is on or under %(what)s", what=kind.clear), *how


def _before(procedure: Procedure) -> Iterator[Step]:
    if procedure.tensioners_per_side:
        what = Sentence("Slacken the tensioners a little, no more than needed")
        yield Step(Phase.SLACKEN, what, procedure.slacken_s)


def _after(procedure: Procedure, kind: Kind, lean: PulledFirst | None) -> Iterator[Step]:
    yield from sighting(procedure)
    if procedure.tensioners_per_side:
        yield from _tensioned(procedure, kind, lean)
    yield walk_round(procedure)


def sighting(procedure: Procedure) -> tuple[Step, ...]:
    """The look along it after the last move; none where nothing is tensioned and it takes none."""
    if procedure.tensioners_per_side:
        what = Sentence("Sight along the uprights: square, before anything is tensioned")
        return (Step(Phase.SIGHT, what, procedure.square_s),)
    if procedure.square_s:
        what = Sentence("Sight along the apparatus: level and square")
        return (Step(Phase.SIGHT, what, procedure.square_s),)
    return ()


def walk_round(procedure: Procedure) -> Step:
    """The last step of every change-over."""
    what = Sentence("Walk round: every lock seated, every handle closed")
    return Step(Phase.WALK_ROUND, what, procedure.walk_round_s)


def sighting_again(procedure: Procedure) -> Step:
    """A crew's look along it between the two sides; its time is part of what tensioning takes."""
    return Step(Phase.SIGHT, Sentence("Sight again for square"), procedure.sighting_again_s)


def sides_in_order(kind: Kind, lean: PulledFirst | None) -> tuple[str, str]:
    """The first side of the kind first, unless the other one pulls against a measured lean."""
    first, second = kind.sides
    return (second, first) if lean and lean.side else (first, second)


def tension_stages(kind: Kind, per_side: int, lean: PulledFirst | None) -> list[tuple[str, Stage]]:
    """Sides and stages in order, square sighted half-way.

    None comes to working tension before its partners have a first stage. A tensioner's partners
    are the others on its side; where it is alone there, the one opposite.
    """
    first, second = sides_in_order(kind, lean)
    if per_side == 1:
        return [(side, stage) for stage in Stage for side in (first, second)]
    return [(side, stage) for side in (first, second) for stage in Stage]


def tensioning(
    procedure: Procedure, kind: Kind, side: str, stage: Stage, lean: PulledFirst | None
) -> tuple[str, ...]:
    """What is said of tensioning a side beside how far: where to begin, and which tension."""
    if stage is Stage.FIRST and side == sides_in_order(kind, lean)[0]:
        return (lean.why if lean else AGAINST_THE_LEAN,)
    if stage is Stage.WORKING:
        return (procedure.working_tension or MAKERS_TENSION,)
    return ()


def _tensioned(procedure: Procedure, kind: Kind, lean: PulledFirst | None) -> Iterator[Step]:
    stages = tension_stages(kind, procedure.tensioners_per_side, lean)
    form = EACH_IN_TURN if procedure.tensioners_per_side > 1 else TO_STAGE
    for place, (side, stage) in enumerate(stages):
        step = Step(
            Phase.TENSION,
            Sentence(form, side=side, stage=stage.value),
            share_s(procedure.pulling_s, place, len(stages)),
            how=tensioning(procedure, kind, side, stage, lean),
        )
        half_way = place == len(stages) // 2 - 1
        yield _with_a_second_look(step, procedure) if half_way else step


def _with_a_second_look(step: Step, procedure: Procedure) -> Step:
    """One pair of hands sights again at the end of the step: runs of before have no other."""
    return replace(
        step,
        what=Sentence("%(step)s; sight again for square", step=step.what),
        seconds=step.seconds + procedure.sighting_again_s,
    )


class NotAllEnds(SettingsDeskError):
    """Stops were given for more or fewer ends than an axis has."""

    def __init__(self, axis: Axis, given: int) -> None:
        self.axis, self.given = axis, given

    def __str__(self) -> str:
        ends = ", ".join(self.axis.ends)
        return (
            f"{self.axis.kind.name} must be given at {len(self.axis.ends)} ends ({ends});"
            f" stops of {self.given} were given"
        )
