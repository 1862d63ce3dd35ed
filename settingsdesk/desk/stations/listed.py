"""Who is on the list at a station: to come, not here, had their turns."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from settingsdesk.desk.cards import remarks
from settingsdesk.desk.cards.in_hand import HeldOut
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.meets import start_orders
from settingsdesk.desk.meets.called import called_in
from settingsdesk.desk.meets.raise_requests import is_open, told_at
from settingsdesk.desk.meets.start_orders import OrderLine
from settingsdesk.desk.runs.run import RunView
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad.names_apart import Called
from settingsdesk.desk.stations.confirming import Standing
from settingsdesk.desk.stations.verdict import Marks, told
from settingsdesk.domain.base.sentences import Sentence, marked
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.changeover.happenings import Turn
from settingsdesk.domain.changeover.run import Stage
from settingsdesk.domain.hall.models import ApparatusModel
from settingsdesk.store.work import ClubSession

EXPECTED_NOW = marked("%(name)s is expected now.")
ON_NOW = marked("%(name)s is on now.")
FIRST_OF_THE_NEXT = marked("%(name)s is the first of the next rotation, which has not begun yet.")
"""What the first of the list is."""

NOT_BEFORE_THE_COACH = marked(
    "%(name)s does not go up at these marks before the coach has said so."
)
"""Where the marks are outside what the athlete accepts."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where somebody stands on the list: ``turn`` is 1 for the first of the rotation."""

    name: str
    turn: int
    athlete_id: int


@dataclass(frozen=True, slots=True)
class Listed:
    """The list at the station: who is still to come, who is not here, whose turns are over.

    ``now`` says of the first what they are: "… is on now". ``marks`` are the first's; ``before``
    says what comes before anything may be set, and then there are none, or before anybody goes up.
    ``heeds`` are what of the marks is outside what the first accepts, and what comes of it.
    ``asked`` are those about whom a message from a card has no answer, and ``open_raises`` says of
    whom the marks are without a raise of the rails that was granted, or may be.
    """

    to_come: tuple[Place, ...] = ()
    away: frozenset[int] = frozenset()
    over: frozenset[int] = frozenset()
    now: str = EXPECTED_NOW
    marks: Marks = ()
    before: str = ""
    called: Mapping[int, Called] = field(default_factory=dict)
    heeds: tuple[str, ...] = ()
    asked: frozenset[int] = frozenset()
    open_raises: Mapping[int, str] = field(default_factory=dict)

    def name_of(self, card: HeldOut) -> str:
        """By which name this list calls a card's athlete; the card's where they are not on it."""
        return str(self.called.get(card.member.id, card.name))

    def turn_of(self, athlete_id: int) -> Place | None:
        """The next turn of an athlete, or None."""
        return next((place for place in self.to_come if place.athlete_id == athlete_id), None)


def message_waits(name: str) -> Sentence:
    """That somebody said by a card that something is wrong; what, is the family's and the coach's
    affair.
    """
    return Sentence(
        "A message from a card of %(name)s is not answered: set nothing for %(name)s before the"
        " coach has said what counts.",
        name=name,
    )


def before_the_coach_has_said(listed: Listed, athlete_id: int, name: str) -> str | None:
    """Why nothing is set for an athlete before the coach has said what counts; None where it is."""
    if athlete_id in listed.asked:
        return message_waits(name)
    if athlete_id in listed.open_raises:
        return told(
            Sentence("%(refusal)s.", refusal=listed.open_raises[athlete_id]),
            Sentence("Ask the coach."),
        )
    return None


def expected(listed: Listed) -> Sentence:
    """Who is expected, or on, now."""
    if not listed.to_come:
        return Sentence("Nobody is expected now.")
    return Sentence(listed.now, name=listed.to_come[0].name)


def listed_at(session: ClubSession, standing: Standing, unit: Unit) -> Listed:
    """The list of the run that is under way, else of the rotation that is next, else the last."""
    if standing.waiting is not None:
        return _of_next(session, standing.piece, standing.waiting)
    return Listed() if standing.view is None else _of_run(standing.view, unit)


def _of_next(session: ClubSession, piece: Piece, following: OrderLine) -> Listed:
    """A rotation that has not begun: whoever's entry was withdrawn has no turn in it."""
    members = desk_athletes.members(session, following.athlete_ids)
    called = called_in(session, following.rotation_id, members.values())
    gone = start_orders.withdrawn(session, following.rotation_id)
    places = tuple(
        Place(str(called[athlete_id]), turn, athlete_id)
        for turn, athlete_id in enumerate(following.athlete_ids, start=1)
        if athlete_id not in gone
    )
    return Listed(
        places,
        now=FIRST_OF_THE_NEXT,
        before=Sentence("Nothing is set before it begins."),
        called=called,
        asked=remarks.ask_first(session, members, piece.model.kind.key),
        open_raises=_open(told_at(session, following.rotation_id, piece, members)),
    )


def _of_run(view: RunView, unit: Unit) -> Listed:
    run = view.run
    turns = () if run.ended else run.turns
    before = _before(view)
    return Listed(
        tuple(
            Place(view.name_of(turn), number, turn.athlete_id)
            for number, turn in enumerate(turns, start=len(run.over) + 1)
        ),
        _ids(run.away),
        _ids([had.turn for had in run.over]),
        now=ON_NOW if run.stage is Stage.ON else EXPECTED_NOW,
        marks=() if before or not turns else _marks(run.model, turns[0], unit),
        before=before or BEFORE_GOING_UP.get(run.stage, ""),
        called=view.called,
        heeds=_heeds(view, unit),
        asked=view.ask_first,
        open_raises=_open(view.raises),
    )


def _heeds(view: RunView, unit: Unit) -> tuple[str, ...]:
    """What of the first's marks is off, and what comes of it where they are not up yet."""
    heeds = view.heeds_in(unit)
    if not heeds:
        return ()
    told_of_each = tuple(Sentence("%(refusal)s.", refusal=heed) for heed in heeds)
    if view.run.stage is Stage.ON:
        return told_of_each
    name = view.name_of(view.run.turns[0])
    return (*told_of_each, Sentence(NOT_BEFORE_THE_COACH, name=name))


def _open(raises: Mapping[int, str]) -> Mapping[int, str]:
    return {athlete_id: said for athlete_id, said in raises.items() if is_open(said)}


def _before(view: RunView) -> str:
    """What comes before anything may be set for the first of a run, as its page says it."""
    if view.must_be_read_off:
        return Sentence("Before anything is set, enter the present marks, on this station's page.")
    if view.first_is_changed and view.run.stage is not Stage.ON:
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
