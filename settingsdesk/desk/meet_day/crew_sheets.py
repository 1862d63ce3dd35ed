"""Crew sheets: a rotation of a meet in its start order, with what to move before each athlete.

The sheet is what is left where there is no network, so it says everything that is needed at the
apparatus, and where the warm-up time of the rule book is too short for the change-overs. It is
printed before the day, so that it begins from where the rotation before it leaves the apparatus.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from settingsdesk.desk.hall import rule_books as desk_rule_books
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.meets import start_orders
from settingsdesk.desk.meets.called import called_at_meet
from settingsdesk.desk.meets.entries import Entrant
from settingsdesk.desk.meets.meets import Meet
from settingsdesk.desk.meets.raise_requests import told_with_marks
from settingsdesk.desk.meets.start_orders import OrderLine, StartOrder
from settingsdesk.desk.squad.settings import Carried
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import length_in_words, minutes
from settingsdesk.domain.base.sentences import Sentence, marked
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.changeover.changeover import change_over
from settingsdesk.domain.changeover.crew import CREWS, NotACrew, crew_time_s
from settingsdesk.domain.changeover.moves import Move
from settingsdesk.domain.hall.models import Setup
from settingsdesk.domain.hall.rule_books import RuleBook
from settingsdesk.domain.times.warm_up import WarmUpSum, warm_up_sum
from settingsdesk.store import clubs as kept_clubs
from settingsdesk.store import meets as kept_meets
from settingsdesk.store import rotations as kept_rotations
from settingsdesk.store import runs as kept_runs
from settingsdesk.store.base import utc_now
from settingsdesk.store.work import ClubSession

SCRATCHED = marked("Scratched: does not come")
SET_ALL = marked("What stands there before is not known: set every adjustment, whatever it shows")


@dataclass(frozen=True, slots=True)
class CrewMark:
    """Where one axis shall stand for an athlete: the mark, and the length it stands for."""

    axis: str
    mark: str
    length: str


@dataclass(frozen=True, slots=True)
class CrewLine:
    """One athlete's turn: the marks, and what to move to get there from the turn before.

    ``marks`` is empty for whoever has no setting; ``moves`` and ``seconds`` are None where it is
    not known what stands there before, or what shall. ``notes`` are sentences to heed.
    """

    place: int
    start_number: str
    name: str
    club: str
    is_in: bool
    setup: Setup | None
    marks: tuple[CrewMark, ...]
    moves: tuple[Move, ...] | None
    seconds: int | None
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Beginning:
    """From which setup a rotation begins; None where nobody can know it before.

    ``left_by`` names the rotation that leaves it so, and is empty for what stands there now.
    """

    setup: Setup | None
    left_by: str = ""


@dataclass(frozen=True, slots=True)
class CrewSheet:
    """One rotation of a meet for the crew at its apparatus.

    ``warm_up`` is None where the meet's rule book says nothing for this kind. ``is_team`` says
    that the warm-up is a team's, because all of the rotation are of one club.
    """

    meet: Meet
    line: OrderLine
    came_by: str
    piece: Piece
    begins: Beginning
    unit: Unit
    hands: int
    lines: tuple[CrewLine, ...]
    is_team: bool
    warm_up: WarmUpSum | None
    made_at: datetime

    @property
    def title(self) -> Sentence:
        """ "Session 1: Juniors, rotation 2, Bars by the window"."""
        return Sentence(
            "%(rotation)s, %(apparatus)s", rotation=self.line.in_words, apparatus=self.piece.name
        )

    @property
    def held_on(self) -> date:
        """The day of the session."""
        return self.line.session.held_on

    @property
    def seconds(self) -> int:
        """All change-overs together of which it is known how long they take."""
        return sum(line.seconds or 0 for line in self.lines)

    @property
    def uncounted(self) -> tuple[int, ...]:
        """The turns before which nobody knows yet what has to be moved, by their places."""
        return tuple(line.place for line in self.lines if line.is_in and line.seconds is None)

    @property
    def change_overs(self) -> int:
        """How many times something is moved."""
        return sum(bool(line.moves) for line in self.lines)

    def short_at(self, place: int) -> str:
        """Why the warm-up is too short before that turn, in words; empty where it is not."""
        found = self.warm_up.too_short if self.warm_up else ()
        short = next((short for short in found if short.place == place), None)
        if short is None:
            return ""
        facts = {"needs": minutes(short.needs_s), "has": minutes(short.has_s)}
        if self.is_team:
            return Sentence(
                "Change-overs so far take %(needs)s, the warm-up gives %(has)s", **facts
            )
        return Sentence("The change-over takes %(needs)s, the warm-up gives %(has)s", **facts)


def crew_sheet(session: ClubSession, rotation_id: int, hands: int | None = None) -> CrewSheet:
    """The crew sheet of a start order, for the hands planned there or for others.

    Raises ``NotAStartOrder``, ``NotACrew``, or ``DropUnknown`` where no mark of the spread can be
    told.
    """
    return _crew_sheet(session, _Orders(session), rotation_id, hands)


def _crew_sheet(
    session: ClubSession, orders: "_Orders", rotation_id: int, hands: int | None
) -> CrewSheet:
    order = orders.of(rotation_id)
    piece, crew = order.view.piece, hands or order.view.asked.hands
    if crew not in CREWS:
        raise NotACrew(crew)
    piece.must_know_its_drop()
    unit = Unit(kept_clubs.this_club(session).length_unit)
    begins = _beginning(orders, order)
    lines = _lines(session, order, begins.setup, crew, unit)
    coming = [line for line in lines if line.is_in]
    is_team = len({line.club for line in coming}) == 1
    sheet = CrewSheet(
        meet=order.meet,
        line=order.line,
        came_by=start_orders.CAME_BY[order.line.came_by],
        piece=piece,
        begins=begins,
        unit=unit,
        hands=crew,
        lines=lines,
        is_team=is_team,
        warm_up=None,
        made_at=utc_now(),
    )
    books = desk_rule_books.all_books(session)
    return replace(sheet, warm_up=_warm_up(sheet, books))


def of_session(session: ClubSession, session_id: int, hands: int | None = None) -> list[CrewSheet]:
    """The crew sheets of a whole session, by rotation and apparatus."""
    kept_meets.session_by_id(session, session_id)
    rows = kept_rotations.start_orders(session, [session_id])
    orders = _Orders(session)
    return [
        _crew_sheet(session, orders, row.rotation_id, hands)
        for row in sorted(rows, key=lambda row: (row.number, row.apparatus_id))
    ]


def of_rotations(session: ClubSession, rotation_ids: Iterable[int]) -> list[CrewSheet]:
    """The crew sheets of those start orders that are not over, for the hands planned there."""
    orders = _Orders(session)
    return [
        _crew_sheet(session, orders, rotation_id, None)
        for rotation_id in rotation_ids
        if not orders.is_over(orders.of(rotation_id))
    ]


class _Orders:
    """Start orders of one meet, each loaded once for all the sheets that rest on it."""

    def __init__(self, session: ClubSession) -> None:
        self._session = session
        self._known: dict[int, StartOrder] = {}
        self._at_meet: list[OrderLine] | None = None

    def of(self, rotation_id: int) -> StartOrder:
        if rotation_id not in self._known:
            self._known[rotation_id] = start_orders.start_order(self._session, rotation_id)
        return self._known[rotation_id]

    def before(self, order: StartOrder) -> Iterator[StartOrder]:
        """The orders before that one on its apparatus, the latest first."""
        if self._at_meet is None:
            self._at_meet = start_orders.orders_at(self._session, order.meet)
        mine = [line for line in self._at_meet if line.apparatus_id == order.line.apparatus_id]
        places = [line.rotation_id for line in mine]
        for rotation_id in reversed(places[: places.index(order.line.rotation_id)]):
            yield self.of(rotation_id)

    def is_over(self, order: StartOrder) -> bool:
        """Whether it was carried out to its end, so that what stands there is on record."""
        runs = kept_runs.of_rotations(self._session, [order.line.rotation_id])
        return bool(runs) and all(run.over_at is not None for run in runs)


def _beginning(orders: _Orders, order: StartOrder) -> Beginning:
    """Where the rotation before it leaves the apparatus; what stands there, once that is over."""
    for before in orders.before(order):
        if orders.is_over(before):
            break
        left = _left_by(before)
        if left is not None:
            return Beginning(left, before.line.in_words)
    return Beginning(order.view.piece.setup)


def _left_by(order: StartOrder) -> Setup | None:
    """The setup of the last who comes and has a setting; None where there is nobody."""
    carried = order.view.carried[order.view.piece.id]
    return next(
        (
            carried[member.id].transfer.best.setup
            for member in reversed(order.view.listed)
            if order.entrants[member.id].is_in and member.id in carried
        ),
        None,
    )


def _lines(
    session: ClubSession, order: StartOrder, begins: Setup | None, hands: int, unit: Unit
) -> tuple[CrewLine, ...]:
    piece = order.view.piece
    carried = order.view.carried[piece.id]
    here, lines = begins, []
    called = called_at_meet(order.entrants[member.id] for member in order.view.listed)
    for place, member in enumerate(order.view.listed, start=1):
        entrant = order.entrants[member.id]
        own = carried.get(member.id) if entrant.is_in else None
        line = _line(place, entrant, piece, own, here, hands, unit)
        if entrant.is_in and piece.id in entrant.raises:
            request = entrant.raises[piece.id]
            told = told_with_marks(session, request, own, request.in_words(unit))
            line = replace(line, notes=(*line.notes, told))
        line = replace(line, name=called[member.id].name)  # number and club have their columns
        lines.append(line)
        here = line.setup or here
    return tuple(lines)


def _line(
    place: int,
    entrant: Entrant,
    piece: Piece,
    own: Carried | None,
    here: Setup | None,
    hands: int,
    unit: Unit,
) -> CrewLine:
    model, goal = piece.model, own.transfer.best.setup if own else None
    both = (here, goal) if here is not None and goal is not None else None
    return CrewLine(
        place=place,
        start_number=entrant.start_number,
        name=entrant.member.printed_name,
        club=entrant.from_club,
        is_in=entrant.is_in,
        setup=goal,
        marks=_marks(own, unit),
        moves=change_over(model, *both).ways if both else None,
        seconds=crew_time_s(model, *both, hands) if both else None,
        notes=tuple(_notes(entrant, piece, own, here, unit)),
    )


def _marks(own: Carried | None, unit: Unit) -> tuple[CrewMark, ...]:
    if own is None:
        return ()
    return tuple(
        CrewMark(fit.axis.kind.name, fit.mark, length_in_words(fit.measure_mm, unit))
        for fit in own.transfer.best.axes
    )


def _notes(
    entrant: Entrant, piece: Piece, own: Carried | None, here: Setup | None, unit: Unit
) -> list[str]:
    if not entrant.is_in:
        return [Sentence(SCRATCHED)]
    notes: list[str] = []
    if own is None:
        notes.append(Sentence("No setting is entered: ask the athlete's coach before this turn"))
    elif here is None:
        notes.append(Sentence(SET_ALL))
    if own is not None:
        notes += filter(None, (own.unmeasured,))
        notes += own.transfer.best.warnings_in(unit)
        notes += own.transfer.best.residuals_in(unit)
    return notes


def _warm_up(sheet: CrewSheet, books: Sequence[RuleBook]) -> WarmUpSum | None:
    """The change-overs of those who come against the rule book that holds at this meet."""
    stands = sheet.meet.piece(sheet.piece.id)
    book = next((book for book in books if book.name == stands.rule_book), None)
    rule = book.warm_up(sheet.piece.model.kind, stands.level, team=sheet.is_team) if book else None
    if rule is None:
        return None
    coming = [line for line in sheet.lines if line.is_in]
    found = warm_up_sum([line.seconds or 0 for line in coming], rule)
    shorts = tuple(replace(short, place=coming[short.place - 1].place) for short in found.too_short)
    return replace(found, too_short=shorts)


class NoSheets(SettingsDeskError):
    """The crew sheets of a session were asked for that has no start order yet."""

    sentence = "This session has no start order yet: set one on the meet's page first"
