"""Crew sheets: a rotation of a meet in its start order, with what to move before each athlete.

The sheet is what is left where there is no network, so it says everything that is needed at the
apparatus, and where the warm-up time of the rule book is too short for the change-overs. It is
printed before the day, so that it begins from where the rotation before it leaves the apparatus.
Once the rotation was begun it says what the run says: who is still to come, in the order at the
apparatus, from what stands there now.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime

from settingsdesk.desk.cards import remarks
from settingsdesk.desk.hall import rule_books as desk_rule_books
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.meets import start_orders
from settingsdesk.desk.meets.called import called_at_meet
from settingsdesk.desk.meets.entries import Entrant
from settingsdesk.desk.meets.meets import Meet
from settingsdesk.desk.meets.raise_requests import told_with_marks
from settingsdesk.desk.meets.start_orders import OrderLine, StartOrder
from settingsdesk.desk.rotations.order_paper import ASK_FIRST
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.runs.refusals import ScaleChanged
from settingsdesk.desk.runs.run import RunNow
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad.settings import Carried
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import length_in_words, minutes
from settingsdesk.domain.base.sentences import Sentence, marked
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.changeover.changeover import change_over, setup_of
from settingsdesk.domain.changeover.crew import CREWS, NotACrew, crew_time_s
from settingsdesk.domain.changeover.happenings import Begun, Turn
from settingsdesk.domain.changeover.moves import Move
from settingsdesk.domain.changeover.run import Stage
from settingsdesk.domain.hall.models import ApparatusModel, Setup
from settingsdesk.domain.hall.rule_books import RuleBook
from settingsdesk.domain.hall.scales import NoSuchStop
from settingsdesk.domain.times.warm_up import WarmUpSum, warm_up_sum
from settingsdesk.store import clubs as kept_clubs
from settingsdesk.store import meets as kept_meets
from settingsdesk.store import rotations as kept_rotations
from settingsdesk.store import runs as kept_runs
from settingsdesk.store.base import utc_now
from settingsdesk.store.work import ClubSession

SCRATCHED = marked("Scratched: does not come")
SET_ALL = marked("What stands there before is not known: set every adjustment, whatever it shows")
NOT_HERE = marked("Not here: comes after all others, once here")
ON_NOW = marked("On now")
SET_NOW = marked("Set already, not checked yet")
BEING_SET = marked(
    "Being set now: some of it may be done already, so compare each mark before you move it"
)


@dataclass(frozen=True, slots=True)
class CrewMark:
    """Where one axis shall stand for an athlete: the mark, and the length it stands for."""

    axis: str
    mark: str
    length: str


@dataclass(frozen=True, slots=True)
class CrewLine:
    """One athlete's turn: the marks, and what to move to get there from the turn before.

    The number of the athlete is no part of what it says.

    ``marks`` is empty for whoever has no setting; ``moves`` and ``seconds`` are None where it is
    not known what stands there before, or what shall. ``notes`` are sentences to heed.
    """

    athlete_id: int = field(repr=False)
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
class Progress:
    """How far a rotation is that was begun; its sheet has the turns that are left.

    ``over`` turns are over. ``ended`` says that nobody goes on with it. ``is_set`` says that the
    first that is left is set for already, so that nothing is to be moved for that turn.
    ``is_stopped`` says that somebody said that something is wrong, and no coach has looked.
    """

    over: int
    ended: bool
    is_set: bool
    is_stopped: bool


@dataclass(frozen=True, slots=True)
class CrewSheet:
    """One rotation of a meet for the crew at its apparatus.

    ``progress`` is None before it is begun. ``warm_up`` is None where the meet's rule book says
    nothing for this kind. ``is_team`` says that the warm-up is a team's, because all of the
    rotation are of one club.
    """

    meet: Meet
    line: OrderLine
    came_by: str
    piece: Piece
    begins: Beginning
    progress: Progress | None
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
    def is_over(self) -> bool:
        """Whether nobody goes on by it: all turns are over, or it was ended."""
        return self.progress is not None and self.progress.ended

    @property
    def to_come(self) -> tuple[CrewLine, ...]:
        """The turns that are left of who comes."""
        return tuple(line for line in self.lines if line.is_in)

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
    """The crew sheet of a start order, for the hands that are at work there or for others.

    Raises ``NotAStartOrder``, ``NotACrew``, or ``DropUnknown`` where no mark of the spread can be
    told.
    """
    return _crew_sheet(session, _Orders(session), rotation_id, hands)


def _crew_sheet(
    session: ClubSession, orders: "_Orders", rotation_id: int, hands: int | None
) -> CrewSheet:
    order = orders.of(rotation_id)
    order.view.piece.must_know_its_drop()
    now = orders.run_of(order)
    if now is None:
        begins = _beginning(orders, order)
        sheet = _as_set(session, order, begins, hands or order.view.asked.hands)
    else:
        sheet = _as_it_goes(session, order, now, hands or now.run.hands)
    asked = orders.ask_first(sheet)
    lines = (
        replace(line, notes=(ASK_FIRST, *line.notes))
        if line.is_in and line.athlete_id in asked
        else line
        for line in sheet.lines
    )
    return replace(sheet, lines=tuple(lines))


def _as_set(session: ClubSession, order: StartOrder, begins: Beginning, hands: int) -> CrewSheet:
    """The whole order as it was set."""
    unit = Unit(kept_clubs.this_club(session).length_unit)
    lines = _lines(session, order, begins.setup, hands, unit)
    is_team = len({line.club for line in lines if line.is_in}) == 1
    sheet = _sheet(order, begins, None, lines, unit, hands, is_team=is_team)
    return replace(sheet, warm_up=_warm_up(sheet, desk_rule_books.all_books(session)))


def _as_it_goes(session: ClubSession, order: StartOrder, now: RunNow, hands: int) -> CrewSheet:
    """What is left of a rotation that was begun.

    A team's warm-up is over as soon as its first is on, so that nothing is said of it then.
    """
    unit = Unit(kept_clubs.this_club(session).length_unit)
    whole = _with_who_joined(session, order, now)
    run = now.run
    begins = Beginning(None if now.must_be_read_off or run.under_way else run.stands)
    if run.ended:
        begins = Beginning(order.view.piece.setup)
    progress = Progress(
        over=len(run.over),
        ended=run.ended or now.row.over_at is not None,
        is_set=_is_set(now, whole.view.carried[order.view.piece.id]),
        is_stopped=run.hold_up is not None,
    )
    lines = _lines_left(session, whole, now, begins.setup, hands, unit)
    listed = [order.entrants[member.id] for member in order.view.listed]
    is_team = len({entrant.from_club for entrant in listed if entrant.is_in}) == 1
    if progress.ended:
        lines = tuple(replace(line, moves=None, seconds=None) for line in lines)
    sheet = _sheet(order, begins, progress, lines, unit, hands, is_team=is_team)
    if is_team or progress.ended:
        return sheet
    return replace(sheet, warm_up=_warm_up(sheet, desk_rule_books.all_books(session)))


def _sheet(
    order: StartOrder,
    begins: Beginning,
    progress: Progress | None,
    lines: tuple[CrewLine, ...],
    unit: Unit,
    hands: int,
    *,
    is_team: bool,
) -> CrewSheet:
    if hands not in CREWS:
        raise NotACrew(hands)
    return CrewSheet(
        meet=order.meet,
        line=order.line,
        came_by=start_orders.CAME_BY[order.line.came_by],
        piece=order.view.piece,
        begins=begins,
        progress=progress,
        unit=unit,
        hands=hands,
        lines=lines,
        is_team=is_team,
        warm_up=None,
        made_at=utc_now(),
    )


def of_session(session: ClubSession, session_id: int, hands: int | None = None) -> list[CrewSheet]:
    """The crew sheets of a whole session, by rotation and apparatus.

    Those of rotations that are over are left out, unless all are.
    """
    kept_meets.session_by_id(session, session_id)
    rows = kept_rotations.start_orders(session, [session_id])
    orders = _Orders(session)
    sheets = [
        _crew_sheet(session, orders, row.rotation_id, hands)
        for row in sorted(rows, key=lambda row: (row.number, row.apparatus_id))
    ]
    return [sheet for sheet in sheets if not sheet.is_over] or sheets


def of_rotations(session: ClubSession, rotation_ids: Iterable[int]) -> list[CrewSheet]:
    """The crew sheets of those start orders, for the hands that are at work there."""
    orders = _Orders(session)
    return [_crew_sheet(session, orders, number, None) for number in rotation_ids]


def as_begun(session: ClubSession, rotation_id: int) -> CrewSheet:
    """The sheet of a rotation as it would have been just before it was begun."""
    orders = _Orders(session)
    order = orders.of(rotation_id)
    now = orders.run_of(order)
    begun = now.events[0].what if now else None
    begins = (
        Beginning(setup_of(begun.ends)) if isinstance(begun, Begun) else _beginning(orders, order)
    )
    return _as_set(session, order, begins, order.view.asked.hands)


class _Orders:
    """Start orders of one meet, each loaded once for all the sheets that rest on it."""

    def __init__(self, session: ClubSession) -> None:
        self._session = session
        self._known: dict[int, StartOrder] = {}
        self._at_meet: list[OrderLine] = []
        self._runs: dict[int, list[kept_runs.Run]] = {}
        self._folded: dict[int, RunNow | None] = {}
        self._asked: dict[str, tuple[set[int], frozenset[int]]] = {}

    def of(self, rotation_id: int) -> StartOrder:
        if rotation_id not in self._known:
            self._known[rotation_id] = start_orders.start_order(self._session, rotation_id)
        return self._known[rotation_id]

    def before(self, order: StartOrder) -> Iterator[StartOrder]:
        """The orders before that one on its apparatus, the latest first."""
        self._look_up(order)
        mine = [line for line in self._at_meet if line.apparatus_id == order.line.apparatus_id]
        places = [line.rotation_id for line in mine]
        for rotation_id in reversed(places[: places.index(order.line.rotation_id)]):
            yield self.of(rotation_id)

    def is_over(self, order: StartOrder) -> bool:
        """Whether it was carried out to its end, so that what stands there is on record."""
        self._look_up(order)
        runs = self._runs.get(order.line.rotation_id, ())
        return bool(runs) and all(run.over_at is not None for run in runs)

    def run_of(self, order: StartOrder) -> RunNow | None:
        """The run of it that is under way, or else the last; None where none can be read."""
        number = order.line.rotation_id
        if number not in self._folded:
            self._look_up(order)
            runs = self._runs.get(number, [])
            row = next((run for run in runs if run.over_at is None), next(iter(runs), None))
            self._folded[number] = self._fold(row, order.view.piece) if row else None
        return self._folded[number]

    def ask_first(self, sheet: CrewSheet) -> frozenset[int]:
        """For whom of a sheet nothing is set before a message from a card has its answer."""
        kind, here = sheet.piece.model.kind.key, {line.athlete_id for line in sheet.lines}
        known, asked = self._asked.get(kind, (set(), frozenset()))
        if not here <= known:
            known = here.union(*(line.athlete_ids for line in self._at_meet))
            asked = remarks.ask_first(self._session, known, kind)
            self._asked[kind] = known, asked
        return asked

    def _fold(self, row: kept_runs.Run, piece: Piece) -> RunNow | None:
        try:
            return desk_run.folded(self._session, row, piece)
        except (ScaleChanged, NoSuchStop):  # it cannot go on: its page says so
            return None

    def _look_up(self, order: StartOrder) -> None:
        """All orders of that one's meet and all their runs, once."""
        if self._at_meet:
            return
        self._at_meet = start_orders.orders_at(self._session, order.meet)
        numbers = [line.rotation_id for line in self._at_meet]
        for row in kept_runs.of_rotations_whole(self._session, numbers):
            self._runs.setdefault(row.rotation_id, []).append(row)


def _beginning(orders: _Orders, order: StartOrder) -> Beginning:
    """Where the rotation before it leaves the apparatus; what stands there, once that is over."""
    for before in orders.before(order):
        if orders.is_over(before):
            break
        left = _left_by(before, orders.run_of(before))
        if left is not None:
            return Beginning(left, before.line.in_words)
    return Beginning(order.view.piece.setup)


def _left_by(order: StartOrder, now: RunNow | None) -> Setup | None:
    """The setup of the last who comes and has a setting; None where there is nobody."""
    carried = order.view.carried[order.view.piece.id]
    if now is not None and now.run.turns:
        wanted = (_wanted(now, turn, carried) for turn in reversed(now.run.turns))
        return next((setup for setup in wanted if setup is not None), now.run.stands)
    if now is not None:
        return now.run.stands
    return next(
        (
            carried[member.id].transfer.best.setup
            for member in reversed(order.view.listed)
            if order.entrants[member.id].is_in and member.id in carried
        ),
        None,
    )


def _wanted(now: RunNow, turn: Turn, carried: Mapping[int, Carried]) -> Setup | None:
    """The setup that counts for a turn of a run; whoever is on has it as it was set."""
    is_on = now.run.stage is Stage.ON and turn is now.run.turns[0]
    own = carried.get(turn.athlete_id)
    return turn.setup if is_on or own is None else own.transfer.best.setup


def _with_who_joined(session: ClubSession, order: StartOrder, now: RunNow) -> StartOrder:
    """The order with whoever got turns at the apparatus and is not on it."""
    turns = {turn.athlete_id for turn in (*now.run.turns, *now.run.away)}
    joined = turns.difference(member.id for member in order.view.listed)
    if not joined:
        return order
    piece = order.view.piece
    members = desk_athletes.members(session, joined)
    entered = {
        one: order.entrants.get(one)
        or Entrant(0, member, "", "", "", False, None, {}, order.meet.id)
        for one, member in members.items()
    }
    carried = {
        **order.view.carried[piece.id],
        **desk_settings.on_piece(session, joined, piece),
    }
    view = replace(
        order.view,
        listed=(*order.view.listed, *members.values()),
        carried={**order.view.carried, piece.id: carried},
    )
    return replace(order, view=view, entrants={**order.entrants, **entered})


def _lines(
    session: ClubSession, order: StartOrder, begins: Setup | None, hands: int, unit: Unit
) -> tuple[CrewLine, ...]:
    piece = order.view.piece
    carried = order.view.carried[piece.id]
    here = begins
    lines: list[CrewLine] = []
    for place, member in enumerate(order.view.listed, start=1):
        entrant = order.entrants[member.id]
        own = carried.get(member.id) if entrant.is_in else None
        line = _line(place, entrant, piece, own, here, hands, unit)
        lines.append(_with_raise(session, line, entrant, piece, own, unit))
        here = line.setup or here
    return _called(order, lines)


def _lines_left(
    session: ClubSession,
    order: StartOrder,
    now: RunNow,
    stands: Setup | None,
    hands: int,
    unit: Unit,
) -> tuple[CrewLine, ...]:
    """The turns that are left in their order at the apparatus, then whoever is not here.

    What is moved for the first is what its change-over began with, also where some of it is done.
    """
    piece, run = order.view.piece, now.run
    carried = order.view.carried[piece.id]
    here = setup_of(run.start) if _is_being_set(now) else stands
    lines: list[CrewLine] = []
    for place, turn in enumerate(run.turns, start=len(run.over) + 1):
        entrant = order.entrants[turn.athlete_id]
        own, wanted = None, None
        if entrant.is_in:
            own, wanted = carried.get(turn.athlete_id), _wanted(now, turn, carried)
        line = _line(place, entrant, piece, own, here, hands, unit, wanted)
        if turn is run.turns[0] and entrant.is_in:
            line = replace(line, notes=(*_said_of_the_first(now, carried), *line.notes))
        lines.append(_with_raise(session, line, entrant, piece, own, unit))
        here = line.setup or here
    after = len(run.over) + len(run.turns) + 1
    for place, turn in enumerate(_each_once(run.away), start=after):
        entrant = order.entrants[turn.athlete_id]
        line = _line(place, entrant, piece, None, None, hands, unit)
        told = NOT_HERE if entrant.is_in else SCRATCHED
        lines.append(replace(line, is_in=False, notes=(Sentence(told),)))
    return _called(order, lines)


def _each_once(turns: Sequence[Turn]) -> Iterable[Turn]:
    return {turn.athlete_id: turn for turn in turns}.values()


def _is_being_set(now: RunNow) -> bool:
    """Whether a change-over is begun and not done, by what the run knows."""
    return now.run.under_way and not now.must_be_read_off and not now.run.ended


def _is_set(now: RunNow, carried: Mapping[int, Carried]) -> bool:
    """Whether the first turn that is left stands as it is wanted, by what the run knows."""
    run = now.run
    if now.must_be_read_off or run.stage not in (Stage.CHECKING, Stage.ON):
        return False
    return run.turns[0].setup == _wanted(now, run.turns[0], carried)


def _said_of_the_first(now: RunNow, carried: Mapping[int, Carried]) -> Iterator[str]:
    """What is said of the first turn that is left, where something was done for it already."""
    if _is_being_set(now):
        yield Sentence(BEING_SET)
    elif _is_set(now, carried):
        yield Sentence(ON_NOW if now.run.stage is Stage.ON else SET_NOW)


def _called(order: StartOrder, lines: Iterable[CrewLine]) -> tuple[CrewLine, ...]:
    """The lines by the names that tell all of the order apart."""
    called = called_at_meet(order.entrants[member.id] for member in order.view.listed)
    return tuple(
        replace(line, name=called[line.athlete_id].name)  # number and club have their columns
        for line in lines
    )


def _with_raise(
    session: ClubSession,
    line: CrewLine,
    entrant: Entrant,
    piece: Piece,
    own: Carried | None,
    unit: Unit,
) -> CrewLine:
    """A line with what is told of a request to raise the rails, where there is one."""
    if not entrant.is_in or piece.id not in entrant.raises:
        return line
    request = entrant.raises[piece.id]
    told = told_with_marks(session, request, own, request.in_words(unit))
    return replace(line, notes=(*line.notes, told))


def _line(
    place: int,
    entrant: Entrant,
    piece: Piece,
    own: Carried | None,
    here: Setup | None,
    hands: int,
    unit: Unit,
    at: Setup | None = None,
) -> CrewLine:
    """One turn at what its athlete wants, or at that setup."""
    best = own.transfer.best if own else None
    model, goal = piece.model, at or (best.setup if best else None)
    both = (here, goal) if here is not None and goal is not None else None
    return CrewLine(
        athlete_id=entrant.member.id,
        place=place,
        start_number=entrant.start_number,
        name=entrant.member.printed_name,
        club=entrant.from_club,
        is_in=entrant.is_in,
        setup=goal,
        marks=_marks(own, unit) if best and best.setup == goal else _marks_at(model, goal, unit),
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


def _marks_at(model: ApparatusModel, setup: Setup | None, unit: Unit) -> tuple[CrewMark, ...]:
    """The same of a turn that was set at other marks than are wanted now."""
    if setup is None:
        return ()
    measures_mm = model.measures_mm(setup)
    return tuple(
        CrewMark(axis.kind.name, mark, length_in_words(measures_mm[axis.key], unit))
        for axis, mark in zip(model.axes, model.marks(setup).values(), strict=True)
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
        notes += own.heeds
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
