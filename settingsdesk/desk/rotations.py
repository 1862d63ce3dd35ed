"""Rotations: who shares an apparatus, and the order in which least time goes into readjusting."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy.orm import Session

from settingsdesk.desk import apparatus as desk_apparatus
from settingsdesk.desk import athletes as desk_athletes
from settingsdesk.desk import settings as desk_settings
from settingsdesk.desk.apparatus import Piece
from settingsdesk.desk.athletes import Member
from settingsdesk.desk.settings import Carried
from settingsdesk.domain.changeover import ChangeOver, change_over
from settingsdesk.domain.errors import SettingsDeskError
from settingsdesk.domain.models import Setup
from settingsdesk.planner.compare import usual_plans
from settingsdesk.planner.plan import Status
from settingsdesk.planner.problem import AxisTimes, Entrant, Problem, Unit
from settingsdesk.planner.solve import solve
from settingsdesk.store import rotations as kept

ESTIMATED_TURN_S = 60
"""An estimate of one athlete's go, for pictures to scale only: it changes no order."""

LONGEST_SEARCH_S = 10

LAST_LOOKED_AT = 50


@dataclass(frozen=True, slots=True)
class PlannedTurn:
    """One athlete's turn: the setup for it, and the change-over that comes before it."""

    place: int
    member: Member
    setup: Setup
    change: ChangeOver


@dataclass(frozen=True, slots=True)
class Order:
    """The turns of a rotation in one order, from the setup that stood at its start."""

    turns: tuple[PlannedTurn, ...]

    @property
    def seconds(self) -> int:
        """All change-overs together, for one pair of hands."""
        return sum(turn.change.seconds for turn in self.turns)

    @property
    def change_overs(self) -> int:
        """How many turns need something moved before them."""
        return sum(bool(turn.change.steps) for turn in self.turns)


@dataclass(frozen=True, slots=True)
class OrderedRotation:
    """The best order beside the order as listed and the rule of thumb, sorted by height.

    ``bound_s`` is proven: no order takes less. ``outdated`` says why the order should be made
    anew, or is empty.
    """

    best: Order
    as_listed: Order
    by_height: Order
    bound_s: int
    proven: bool
    made_at: datetime
    made_by: str
    outdated: str

    @property
    def gap_s(self) -> int:
        """How much less an order could take at the very most."""
        return self.best.seconds - self.bound_s

    def saved_s(self, other: Order) -> int:
        """How much less the best order takes than another."""
        return other.seconds - self.best.seconds


@dataclass(frozen=True, slots=True)
class RotationLine:
    """One rotation in a list."""

    id: int
    name: str
    held_on: date
    apparatus_id: int
    apparatus_name: str
    athletes: int


@dataclass(frozen=True, slots=True)
class RotationView:
    """One rotation whole: its list, and its order where one was made."""

    id: int
    name: str
    held_on: date
    piece: Piece
    listed: tuple[Member, ...]
    carried: dict[int, Carried]
    start_setup: Setup
    ordered: OrderedRotation | None


def recent(session: Session, limit: int = 50) -> list[RotationLine]:
    """The last rotations, the latest day first."""
    return [_line(row) for row in kept.recent(session, limit)]


def on_day(session: Session, day: date) -> list[RotationLine]:
    """The rotations of a day, the latest made first."""
    return [_line(row) for row in kept.on_day(session, day)]


def _line(row: kept.Rotation) -> RotationLine:
    return RotationLine(
        row.id, row.name, row.held_on, row.apparatus_id, row.apparatus.name, len(row.turns)
    )


def add_rotation(
    session: Session,
    by: str,
    name: str,
    held_on: date,
    apparatus_id: int,
    athlete_ids: Sequence[int],
) -> RotationView:
    """A rotation with its athletes as listed, ordered at once from what stands there now.

    The very same rotation a second time is a second press of the button: the first is given
    back, unless it is out of date. Raises ``NobodyListed``, ``ListedTwice``,
    ``WithoutSetting``, ``SetupUnknown``.
    """
    piece = desk_apparatus.piece(session, apparatus_id)
    _must_be_orderable(session, piece, athlete_ids)
    name = name.strip() or f"{piece.name}, {held_on.isoformat()}"
    made = _made_before(session, name, held_on, apparatus_id, athlete_ids)
    if made is not None:
        return made
    row = kept.Rotation(
        apparatus_id=apparatus_id,
        name=name,
        held_on=held_on,
        start_setup=list(piece.must_stand_somewhere()),
        created_by=by,
    )
    session.add(row)
    session.flush()
    kept.relist(session, row, athlete_ids)
    return order_anew(session, by, row.id)


def _made_before(
    session: Session, name: str, held_on: date, apparatus_id: int, athlete_ids: Sequence[int]
) -> RotationView | None:
    """The rotation of that name, day, apparatus and list that is up to date, if there is one."""
    asked = (name, held_on, apparatus_id, list(athlete_ids))
    for row in kept.recent(session, LAST_LOOKED_AT):
        listed = [turn.athlete_id for turn in row.turns]
        if (row.name, row.held_on, row.apparatus_id, listed) == asked:
            view = rotation(session, row.id)
            return view if view.ordered and not view.ordered.outdated else None
    return None


def change_list(
    session: Session, by: str, rotation_id: int, athlete_ids: Sequence[int]
) -> RotationView:
    """Another list of athletes for a rotation, ordered anew."""
    row = kept.by_id(session, rotation_id)
    piece = desk_apparatus.piece(session, row.apparatus_id)
    _must_be_orderable(session, piece, athlete_ids)
    kept.relist(session, row, athlete_ids)
    return order_anew(session, by, rotation_id)


def order_anew(session: Session, by: str, rotation_id: int) -> RotationView:
    """Order a rotation from what stands on its apparatus now; earlier orders stay on record."""
    row = kept.by_id(session, rotation_id)
    piece = desk_apparatus.piece(session, row.apparatus_id)
    listed = [turn.athlete_id for turn in row.turns]
    _must_be_orderable(session, piece, listed)
    row.start_setup = list(piece.must_stand_somewhere())
    result = _plan(piece, desk_settings.on_piece(session, listed, piece), listed)
    session.add(kept.RotationPlan(rotation_id=row.id, made_by=by, result=result))
    session.flush()
    return rotation(session, rotation_id)


def rotation(session: Session, rotation_id: int) -> RotationView:
    """One rotation whole; ``NotInThisClub`` where there is none."""
    row = kept.by_id(session, rotation_id)
    piece = desk_apparatus.piece(session, row.apparatus_id)
    listed = [turn.athlete_id for turn in row.turns]
    members = desk_athletes.members(session, listed)
    carried = desk_settings.on_piece(session, listed, piece)
    plan = kept.latest_plan(session, rotation_id)
    return RotationView(
        id=row.id,
        name=row.name,
        held_on=row.held_on,
        piece=piece,
        listed=tuple(members[athlete_id] for athlete_id in listed),
        carried=carried,
        start_setup=tuple(row.start_setup),
        ordered=_ordered(piece, members, carried, plan) if plan else None,
    )


def _plan(piece: Piece, carried: dict[int, Carried], listed: Sequence[int]) -> dict[str, Any]:
    """The planner's answer as it is kept: three orders of (athlete, setup), and what is proven."""
    problem = _problem(piece, carried, listed)
    solution = solve(problem, time_limit_s=LONGEST_SEARCH_S)
    as_listed, by_height = usual_plans(problem)
    plans = {"best": solution.plan, "as_listed": as_listed, "by_height": by_height}
    return {
        "start_setup": list(piece.must_stand_somewhere()),
        "bound_s": solution.bound_s,
        "proven": solution.status is Status.PROVEN,
        "orders": {
            name: [[int(turn.athlete), list(turn.setup)] for turn in plan["here"]]
            for name, plan in plans.items()
            if plan is not None
        },
    }


def _problem(piece: Piece, carried: dict[int, Carried], listed: Sequence[int]) -> Problem:
    axes = tuple(
        AxisTimes(
            id=axis.key,
            stops=axis.scale.count,
            ends=len(axis.ends),
            handling_s=axis.times.handling_s,
            up_s=axis.times.up_s,
            down_s=axis.times.down_s,
        )
        for axis in piece.model.axes
    )
    here = Unit(
        id="here",
        axes=axes,
        any_move_s=piece.model.procedure.any_move_s,
        setup=piece.must_stand_somewhere(),
    )
    entrants = tuple(
        Entrant(
            id=str(athlete_id),
            setups={"here": carried[athlete_id].transfer.best.setup},
            turn_s=ESTIMATED_TURN_S,
        )
        for athlete_id in listed
    )
    return Problem(apparatus=(here,), athletes=entrants)


def _ordered(
    piece: Piece,
    members: dict[int, Member],
    carried: dict[int, Carried],
    plan: kept.RotationPlan,
) -> OrderedRotation | None:
    result = plan.result
    orders = result["orders"]
    outdated = _outdated(piece, members, carried, result)
    if outdated and not _still_has(piece, result):
        return None
    return OrderedRotation(
        best=_order(piece, members, result["start_setup"], orders["best"]),
        as_listed=_order(piece, members, result["start_setup"], orders["as_listed"]),
        by_height=_order(piece, members, result["start_setup"], orders["by_height"]),
        bound_s=result["bound_s"],
        proven=result["proven"],
        made_at=plan.made_at,
        made_by=plan.made_by,
        outdated=outdated,
    )


def _order(
    piece: Piece, members: dict[int, Member], start: Sequence[int], turns: Iterable[Any]
) -> Order:
    planned, here = [], tuple(start)
    for place, (athlete_id, stops) in enumerate(turns, start=1):
        setup = tuple(stops)
        change = change_over(piece.model, here, setup)
        planned.append(PlannedTurn(place, members[athlete_id], setup, change))
        here = setup
    return Order(tuple(planned))


def _outdated(
    piece: Piece, members: dict[int, Member], carried: dict[int, Carried], result: dict[str, Any]
) -> str:
    """Why what was planned is no longer what would be planned now."""
    planned = {athlete_id: tuple(stops) for athlete_id, stops in result["orders"]["best"]}
    if set(planned) != set(members):
        return "The list of athletes was changed after this order was made."
    if any(
        athlete_id not in carried or carried[athlete_id].transfer.best.setup != setup
        for athlete_id, setup in planned.items()
    ):
        return "Settings or the apparatus's scale have changed since this order was made."
    if piece.setup is None:
        return "It is not known what stands on the apparatus now."
    if piece.setup != tuple(result["start_setup"]):
        return "The apparatus stands at another setup now than when this order was made."
    return ""


def _still_has(piece: Piece, result: dict[str, Any]) -> bool:
    """Whether every stop of the plan is on the scale as it is now."""
    setups = [result["start_setup"], *(stops for _, stops in result["orders"]["best"])]
    return all(
        0 <= stop < axis.scale.count
        for setup in setups
        for axis, stop in zip(piece.model.axes, setup, strict=True)
    )


def _must_be_orderable(session: Session, piece: Piece, athlete_ids: Sequence[int]) -> None:
    if not athlete_ids:
        raise NobodyListed
    members = desk_athletes.members(session, athlete_ids)
    if len(set(athlete_ids)) < len(athlete_ids):
        twice = next(one for one in athlete_ids if athlete_ids.count(one) > 1)
        raise ListedTwice(members[twice].listed_name)
    carried = desk_settings.on_piece(session, athlete_ids, piece)
    without = [members[one].listed_name for one in athlete_ids if one not in carried]
    if without:
        raise WithoutSetting(tuple(without), piece.model.kind.name.lower())


class NobodyListed(SettingsDeskError):
    """A rotation of nobody."""

    def __str__(self) -> str:
        return "Choose at least one athlete"


class ListedTwice(SettingsDeskError):
    """One athlete stands on the list twice."""

    def __init__(self, name: str) -> None:
        self.name = name

    def __str__(self) -> str:
        return f"{self.name} is on the list twice: leave one of the two"


class WithoutSetting(SettingsDeskError):
    """Athletes are listed who have no setting for that kind of apparatus."""

    def __init__(self, names: tuple[str, ...], kind: str) -> None:
        self.names, self.kind = names, kind

    def __str__(self) -> str:
        return (
            f"No setting for {self.kind} is recorded for {'; '.join(self.names)}: enter it on the"
            " athlete's page, or leave them off the list"
        )
