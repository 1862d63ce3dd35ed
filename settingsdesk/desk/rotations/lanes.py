"""Orders of a rotation: lanes of turns, one for each apparatus, with what moves between them."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby, takewhile

from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.squad.athletes import Member
from settingsdesk.desk.squad.settings import Carried
from settingsdesk.domain.changeover.changeover import ChangeOver, change_over
from settingsdesk.domain.changeover.crew import crew_time, crew_time_s
from settingsdesk.domain.hall.models import ApparatusModel, Setup
from settingsdesk.domain.settings.transfer import AxisFit, fit_at

KeptLanes = Mapping[str, Sequence[tuple[int, Sequence[int]]]]
"""As kept: apparatus number to its turns, each an athlete's number and the stops."""


@dataclass(frozen=True)
class Reached:
    """A setup of an apparatus that is come to from another, and what the change-over takes."""

    model: ApparatusModel
    start: Setup
    setup: Setup
    seconds: int

    @property
    def moves_something(self) -> bool:
        """Whether it is another setup."""
        return self.start != self.setup

    @cached_property
    def change(self) -> ChangeOver:
        """The change-over; worked out where somebody reads it, and most only ask for the time."""
        return change_over(self.model, self.start, self.setup)


@dataclass(frozen=True)
class PlannedTurn(Reached):
    """One athlete's turn: the setup for it, and the change-over before it.

    ``place`` is counted in the athlete's group, where there are several, and ``number`` among all
    turns; both from 1. ``differs`` are the axes that stand at another stop than the athlete's own,
    within what is accepted.
    """

    place: int
    number: int
    member: Member
    differs: tuple[AxisFit, ...]


@dataclass(frozen=True, slots=True)
class Block:
    """The turns of one of several groups, by its number among what is asked.

    ``after_s`` is from the begin of the whole to that of the change-over before its first turn.
    """

    group: int
    turns: tuple[PlannedTurn, ...]
    after_s: int

    @property
    def seconds(self) -> int:
        """Its change-overs together."""
        return sum(turn.seconds for turn in self.turns)


@dataclass(frozen=True, slots=True)
class Lane:
    """The turns on one apparatus in order, from the setup that stood at its start.

    ``closing`` is the setup at which it shall stand after the last turn, where one was asked for.
    ``blocks`` are the turns group by group; none where all are one group.
    """

    piece: Piece
    start: Setup
    turns: tuple[PlannedTurn, ...]
    closing: Reached | None
    blocks: tuple[Block, ...] = ()

    @property
    def seconds(self) -> int:
        """All change-overs of this apparatus together."""
        return sum(change.seconds for change in self.changes)

    @property
    def changes(self) -> tuple[Reached, ...]:
        """The turns, and the closing where there is one: each is reached by a change-over."""
        return (*self.turns, self.closing) if self.closing else self.turns

    @property
    def least_rest_turns(self) -> int | None:
        """The turns of others that lie at least between two of one athlete; None without two."""
        latest: dict[int, int] = {}
        rests = []
        for turn in self.turns:
            if turn.member.id in latest:
                rests.append(turn.number - latest[turn.member.id] - 1)
            latest[turn.member.id] = turn.number
        return min(rests, default=None)

    def served_by(self, turn: PlannedTurn) -> tuple[Member, ...]:
        """Whom the change-over before a turn serves: all who go before the next one, each once.

        Nobody where nothing is moved before the turn.
        """
        if not turn.moves_something:
            return ()
        here = takewhile(
            lambda one: one is turn or not one.moves_something, self.turns[turn.number - 1 :]
        )
        return tuple({one.member.id: one.member for one in here}.values())


@dataclass(frozen=True, slots=True)
class Order:
    """A rotation in one order, on one apparatus or several; ``turn_s`` is what each turn takes."""

    lanes: tuple[Lane, ...]
    turn_s: int

    @property
    def seconds(self) -> int:
        """All change-overs together."""
        return sum(lane.seconds for lane in self.lanes)

    @property
    def ends_s(self) -> int:
        """When the last apparatus has finished, its turns included."""
        return max(lane.seconds + self.turn_s * len(lane.turns) for lane in self.lanes)

    @property
    def change_overs(self) -> int:
        """How many times something is moved."""
        return sum(change.moves_something for lane in self.lanes for change in lane.changes)

    @property
    def differing(self) -> tuple[PlannedTurn, ...]:
        """The turns at other stops than the athlete's own."""
        return tuple(turn for lane in self.lanes for turn in lane.turns if turn.differs)


def read_order(
    pieces: Mapping[int, Piece],
    members: Mapping[int, Member],
    carried: Mapping[int, Mapping[int, Carried]],
    starts: Mapping[str, Sequence[int]],
    lanes: KeptLanes,
    asked: OrderRequest,
) -> Order:
    """An order as it was kept, with all that follows from it worked out."""
    return Order(
        tuple(
            _lane(pieces[int(key)], members, carried[int(key)], starts[key], turns, asked)
            for key, turns in lanes.items()
        ),
        asked.turn_s,
    )


def _lane(
    piece: Piece,
    members: Mapping[int, Member],
    carried: Mapping[int, Carried],
    start: Sequence[int],
    turns: Sequence[tuple[int, Sequence[int]]],
    asked: OrderRequest,
) -> Lane:
    planned, here = [], tuple(start)
    takes_s = crew_time(piece.model, asked.hands)
    places: dict[int | None, int] = {}
    for number, (athlete_id, stops) in enumerate(turns, start=1):
        setup, group = tuple(stops), asked.group_of(athlete_id)
        places[group] = places.get(group, 0) + 1
        planned.append(
            PlannedTurn(
                model=piece.model,
                start=here,
                setup=setup,
                seconds=takes_s(here, setup),
                place=places[group],
                number=number,
                member=members[athlete_id],
                differs=_differing(carried.get(athlete_id), piece, setup),
            )
        )
        here = setup
    blocks = tuple(_blocks(planned, asked)) if asked.groups else ()
    return Lane(piece, tuple(start), tuple(planned), _closing(piece, here, asked), blocks)


def _blocks(turns: Sequence[PlannedTurn], asked: OrderRequest) -> Iterator[Block]:
    after_s = 0
    for group, some in groupby(turns, lambda turn: asked.group_of(turn.member.id)):
        block = Block(group or 0, tuple(some), after_s)
        yield block
        after_s += block.seconds + asked.turn_s * len(block.turns)


def _closing(piece: Piece, here: Setup, asked: OrderRequest) -> Reached | None:
    final = asked.final_of(piece.id)
    if final is None:
        return None
    seconds = crew_time_s(piece.model, here, final, asked.hands)
    return Reached(piece.model, here, final, seconds)


def _differing(carried: Carried | None, piece: Piece, setup: Setup) -> tuple[AxisFit, ...]:
    if carried is None or carried.transfer.best.setup == setup:
        return ()
    own = carried.transfer.best.setup
    fit = fit_at(carried.version.setting, piece.model, setup)
    return tuple(axis for axis, stop in zip(fit.axes, own, strict=True) if axis.stop != stop)
