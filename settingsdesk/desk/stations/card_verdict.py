"""A card held out at a station: whose it is, whether it counts, and whether it is their turn."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import Enum

from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.cards import remarks
from settingsdesk.desk.cards.code_address import CodeKey, is_scanned
from settingsdesk.desk.cards.counting import Difference
from settingsdesk.desk.cards.issued import HeldOut, Holder, NoSuchCard
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.meets import start_orders
from settingsdesk.desk.meets.called import called_in
from settingsdesk.desk.meets.start_orders import OrderLine
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.runs.refusals import ScaleChanged
from settingsdesk.desk.runs.run import RunView
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad.names_apart import Called
from settingsdesk.desk.stations.at_station import AtStation, waiting
from settingsdesk.domain.base.codes import CARD_CODE_LENGTH, read_short_code
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.sentences import Sentence, Series, marked
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.changeover.happenings import Turn
from settingsdesk.domain.changeover.run import Stage
from settingsdesk.domain.hall.models import ApparatusModel
from settingsdesk.store import meets as kept_meets
from settingsdesk.store import runs as kept_runs
from settingsdesk.store.work import ClubSession, Store

Marks = tuple[tuple[str, str, str], ...]
"""Marks to be set, each behind the name of its axis, and what a tape finds there."""


class Kind(Enum):
    """What a card is at this station, now."""

    RIGHT = "right"
    ASK_FIRST = "ask first"
    ANOTHER = "another"
    SUPERSEDED = "superseded"
    OTHER_APPARATUS = "other apparatus"
    OTHER_MEET = "other meet"
    UNKNOWN = "unknown"
    SCRATCHED = "scratched"
    OUT_OF_USE = "out of use"
    STOPPED = "stopped"
    NOT_LISTED = "not listed"
    OVER = "over"


@dataclass(frozen=True, slots=True)
class Verdict:
    """What to tell whoever held the card out.

    ``heading`` is the answer in a few words, ``sentence`` what to do. ``differences`` are the
    lines in which a superseded card and what counts now differ. ``marks`` are those to be set for
    the right card's athlete, by the axis's name; empty where nothing may be set yet.
    """

    kind: Kind
    heading: Sentence
    sentence: str
    differences: tuple[Difference, ...] = ()
    marks: Marks = ()


EXPECTED_NOW = marked("%(name)s is expected now.")
ON_NOW = marked("%(name)s is on now.")
FIRST_OF_THE_NEXT = marked("%(name)s is the first of the next rotation, which has not begun yet.")
"""What the first of the list is."""


@dataclass(frozen=True, slots=True)
class _Place:
    """Where somebody stands on the list: ``turn`` is 1 for the first of the rotation."""

    name: str
    turn: int
    athlete_id: int


@dataclass(frozen=True, slots=True)
class _Listed:
    """The list at the station: who is still to come, who is not here, whose turns are over.

    ``now`` says of the first what they are: "… is on now". ``marks`` are the first's; ``before``
    says what comes before anything may be set, and then there are none, or before anybody goes up.
    """

    to_come: tuple[_Place, ...] = ()
    away: frozenset[int] = frozenset()
    over: frozenset[int] = frozenset()
    now: str = EXPECTED_NOW
    marks: Marks = ()
    before: str = ""
    called: Mapping[int, Called] = field(default_factory=dict)

    def name_of(self, card: HeldOut) -> str:
        """By which name this list calls a card's athlete; the card's where they are not on it."""
        return str(self.called.get(card.member.id, card.name))

    def turn_of(self, athlete_id: int) -> _Place | None:
        """The next turn of an athlete, or None."""
        return next((place for place in self.to_come if place.athlete_id == athlete_id), None)


def read(typed: str) -> str:
    """The long or the short code in what a reader or a person typed.

    A reader that is set to another keyboard types other signs for "://" and "/": only the end
    counts. Raises what is wrong with a short code that is mistyped, or ``StationsCode``.
    """
    text = typed.strip().partition("?")[0].partition("#")[0].rstrip("/").upper()
    if len(text) < CARD_CODE_LENGTH:
        return read_short_code(typed)
    if text[:-CARD_CODE_LENGTH][-2:-1] == "S":
        raise StationsCode
    return text[-CARD_CODE_LENGTH:]


def find(store: Store, code_key: CodeKey, code: str) -> Holder:
    """The card of a code that was ``read``; ``NoSuchCard`` or ``CardHasEnded`` where it is none."""
    if is_scanned(code):
        return desk_issued.holder_of(store, code)
    return desk_issued.holder_of_typed(store, code_key, code)


def look(session: ClubSession, here: AtStation, found: Holder) -> Verdict:
    """The verdict on a card that was held out at a station."""
    if found.club_id != here.phone.club_id:
        return OTHER_MEET
    card = desk_issued.held_out(session, found.card_id)
    if not kept_meets.is_entered(session, here.phone.session_id, card.member.id):
        return OTHER_MEET
    if here.piece.withdrawal is not None:
        return _out_of_use(here.piece)
    if here.piece.id in desk_run.stopped_apparatus(session):
        return _stopped(here.piece)
    listed = _listed(session, here)
    if not kept_meets.is_coming(session, here.phone.session_id, card.member.id):
        return _scratched(card, listed)
    if card.apparatus_id != here.piece.id:
        return Verdict(
            Kind.OTHER_APPARATUS,
            Sentence("A card for another apparatus"),
            _told(
                Sentence(
                    "This card of %(name)s is for %(other)s; here stands %(apparatus)s. Set nothing"
                    " by it.",
                    name=listed.name_of(card),
                    other=card.printed_for,
                    apparatus=here.piece.name,
                ),
                _expected(listed),
            ),
        )
    try:
        differences = desk_issued.differences(session, card, here.piece)
    except NoSuchCard as refusal:
        return no_such_card(refusal)
    if differences or card.taken_in:
        return _superseded(card, differences, listed)
    if remarks.ask_first(session, [card.member.id], here.piece.model.kind.key):
        return _ask_first(card, listed)
    return _on_the_list(card, listed)


def no_such_card(refusal: NoSuchCard) -> Verdict:
    """The verdict on a code that opens no card, or a card that says nothing any more."""
    told = Sentence("%(refusal)s.", refusal=str(refusal))
    return Verdict(Kind.UNKNOWN, Sentence("This card does not count"), told)


def _superseded(card: HeldOut, differences: tuple[Difference, ...], listed: _Listed) -> Verdict:
    name = listed.name_of(card)
    why = (
        Sentence(
            "This card was printed under another entry of %(name)s, which is not used any more.",
            name=name,
        )
        if card.taken_in
        else Sentence("%(name)s's setting was changed after this card was printed.", name=name)
        if any(one.of_marks for one in differences)
        else Sentence("The marks on this card of %(name)s are right, and it says more.", name=name)
    )
    return Verdict(
        Kind.SUPERSEDED,
        Sentence("This card is out of date"),
        _told(
            why,
            Sentence(
                "Set nothing by the paper. Set what this station shows; where it says that marks"
                " were changed, take those first."
            ),
            _expected(listed),
        ),
        differences,
    )


def _ask_first(card: HeldOut, listed: _Listed) -> Verdict:
    """What the message says is the family's and the coach's affair."""
    return Verdict(
        Kind.ASK_FIRST,
        Sentence("Ask the coach first"),
        _told(
            Sentence(
                "A message from a card of %(name)s is not answered: set nothing for %(name)s before"
                " the coach has said what counts.",
                name=listed.name_of(card),
            ),
            _expected(listed),
        ),
    )


def _scratched(card: HeldOut, listed: _Listed) -> Verdict:
    """The coach has taken the entry back; who is not here and was not scratched may come yet."""
    name = listed.name_of(card)
    return Verdict(
        Kind.SCRATCHED,
        Sentence("Scratched: does not come"),
        _told(
            Sentence(
                "%(name)s's entry was taken back: set nothing by this card. If %(name)s is here all"
                " the same, ask the coach.",
                name=name,
            ),
            _expected(listed),
        ),
    )


def _out_of_use(piece: Piece) -> Verdict:
    return Verdict(
        Kind.OUT_OF_USE,
        Sentence("%(apparatus)s is out of use", apparatus=piece.name),
        _told(
            Sentence(
                "Nobody goes up and nothing is set, whoever's card this is, until a coach releases"
                " it."
            ),
        ),
    )


def _stopped(piece: Piece) -> Verdict:
    return Verdict(
        Kind.STOPPED,
        Sentence("The work here is stopped"),
        _told(
            Sentence(
                "Somebody said that something is wrong with %(apparatus)s. Nobody goes up and"
                " nothing is set, whoever's card this is, until a coach has looked.",
                apparatus=piece.name,
            ),
        ),
    )


def _on_the_list(card: HeldOut, listed: _Listed) -> Verdict:
    place, name = listed.turn_of(card.member.id), listed.name_of(card)
    if place is not None and place == listed.to_come[0]:
        counts = Sentence("This card counts.")
        before = (listed.before,) if listed.before else ()
        return Verdict(
            Kind.RIGHT,
            Sentence("The right card"),
            _told(_expected(listed), counts, *before),
            marks=listed.marks,
        )
    if place is not None:
        return _another(listed, _when(name, place, listed))
    if card.member.id in listed.away:
        return _another(
            listed,
            Sentence(
                "This card is %(name)s's, who was said not to be here. Press “%(name)s is here"
                " after all”: the turn then comes after all others.",
                name=name,
            ),
        )
    if card.member.id in listed.over:
        return Verdict(
            Kind.OVER,
            Sentence("The turn is over already"),
            _told(
                Sentence("%(name)s has had the turn in this rotation.", name=name),
                _expected(listed),
            ),
        )
    return Verdict(
        Kind.NOT_LISTED,
        Sentence("Not on this list"),
        _told(
            Sentence("%(name)s is not on the list of this rotation.", name=name),
            _expected(listed),
            Sentence("Ask the coach."),
        ),
    )


def _told(*sentences: str) -> Series:
    return Series(sentences, " ")


def _another(listed: _Listed, whose: Sentence) -> Verdict:
    return Verdict(Kind.ANOTHER, Sentence("Another athlete"), _told(_expected(listed), whose))


def _when(name: str, place: _Place, listed: _Listed) -> Sentence:
    if place == listed.to_come[1]:
        return Sentence("This card is %(name)s's, who comes next.", name=name)
    return Sentence("This card is %(name)s's, who has turn %(turn)s.", name=name, turn=place.turn)


def _expected(listed: _Listed) -> Sentence:
    if not listed.to_come:
        return Sentence("Nobody is expected now.")
    return Sentence(listed.now, name=listed.to_come[0].name)


def _listed(session: ClubSession, here: AtStation) -> _Listed:
    """The list of the run that is under way, else of the rotation that is next, else the last."""
    following, row = waiting(session, here), here.present
    if following is not None:
        return _of_next(session, following)
    return _Listed() if row is None else _of_run(session, here, row)


def _of_next(session: ClubSession, following: OrderLine) -> _Listed:
    """A rotation that has not begun: whoever's entry was withdrawn has no turn in it."""
    members = desk_athletes.members(session, following.athlete_ids)
    called = called_in(session, following.rotation_id, members.values())
    gone = start_orders.withdrawn(session, following.rotation_id)
    places = tuple(
        _Place(str(called[athlete_id]), turn, athlete_id)
        for turn, athlete_id in enumerate(following.athlete_ids, start=1)
        if athlete_id not in gone
    )
    return _Listed(
        places,
        now=FIRST_OF_THE_NEXT,
        before=Sentence("Nothing is set before it begins."),
        called=called,
    )


def _of_run(session: ClubSession, here: AtStation, row: kept_runs.Run) -> _Listed:
    try:
        view = desk_run.viewed(session, here.folded(session, row))
    except ScaleChanged:
        return _Listed()
    run = view.run
    turns = () if run.ended else run.turns
    before = _before(view)
    return _Listed(
        tuple(
            _Place(view.name_of(turn), number, turn.athlete_id)
            for number, turn in enumerate(turns, start=len(run.over) + 1)
        ),
        _ids(run.away),
        _ids([had.turn for had in run.over]),
        now=ON_NOW if run.stage is Stage.ON else EXPECTED_NOW,
        marks=()
        if before or not turns
        else _marks(view.run.model, turns[0], here.phone.length_unit),
        before=before or BEFORE_GOING_UP.get(run.stage, ""),
        called=view.called,
    )


def _before(view: RunView) -> str:
    """What comes before anything may be set for the first of a run, as its page says it."""
    if view.must_be_read_off:
        return Sentence("Before anything is set, enter the present marks, on this station's page.")
    first = view.run.turns[0].athlete_id if view.run.turns else None
    if first in view.changed and view.run.stage is not Stage.ON:
        return Sentence("Before anything is set, take the new marks, on this station's page.")
    return ""


def _marks(model: ApparatusModel, turn: Turn, unit: Unit) -> Marks:
    if turn.setup is None:
        return ()
    taped_mm = model.taped_mm(turn.setup)
    return tuple(
        (
            axis.kind.name,
            axis.mark_in_words(stop),
            axis.by_tape(taped_mm[axis.key], unit) if axis.key in taped_mm else "",
        )
        for axis, stop in zip(model.axes, turn.setup, strict=True)
    )


def _ids(turns: Sequence[Turn]) -> frozenset[int]:
    return frozenset(turn.athlete_id for turn in turns)


BEFORE_GOING_UP = {
    Stage.NO_SETTING: Sentence("No setting is entered: nobody goes up before there is one."),
    Stage.SETTING: Sentence("It is not set yet: nobody goes up before it is set and checked."),
    Stage.CHECKING: Sentence("It is not checked yet: nobody goes up before that."),
}
"""What the right card's holder must still wait for: the card alone lets nobody up."""

OTHER_MEET = Verdict(
    Kind.OTHER_MEET,
    Sentence("A card of another meet or club"),
    Sentence(
        "Nobody who is entered for this meet has this card. Set nothing by it, and ask the coach."
    ),
)
"""Says nothing of whose it is: another club's cards are its own affair."""


class StationsCode(SettingsDeskError):
    """A station's own code was read where a card's was asked for."""

    sentence = Sentence(
        "This is the code of a station, which lets a phone in. Scan or type a card's code"
    )
