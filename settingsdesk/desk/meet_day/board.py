"""A meet on one of its days: at each apparatus what is under way or next, and its station."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from settingsdesk.desk.meets import meets as desk_meets
from settingsdesk.desk.meets import start_orders
from settingsdesk.desk.meets.facts import MeetFacts
from settingsdesk.desk.meets.meets import Meet, MeetSession
from settingsdesk.desk.meets.start_orders import OrderLine
from settingsdesk.desk.runs import run_list
from settingsdesk.desk.runs.run_list import RunLine
from settingsdesk.desk.stations import stations
from settingsdesk.store.work import ClubSession


@dataclass(frozen=True, slots=True)
class AtApparatus:
    """One apparatus in one session of the day.

    ``order`` is the start order that is under way, else the next one; None once all are over.
    ``rotation_ids`` are all of its rotations. ``station_id`` is the station that is open there, if
    any.
    """

    session: MeetSession
    apparatus: str
    is_out_of_use: bool
    rotation_ids: tuple[int, ...]
    order: OrderLine | None
    is_under_way: bool
    station_id: int | None


@dataclass(frozen=True, slots=True)
class MeetDay:
    """A meet and what is on at it that day, session by session."""

    meet: Meet
    lines: tuple[AtApparatus, ...]


def of_day(
    session: ClubSession, day: date, meets: Iterable[tuple[int, MeetFacts]]
) -> list[MeetDay]:
    """Those of the meets that are on that day."""
    return [_day(session, meet_id, day) for meet_id, facts in meets if facts.begins_on <= day]


def _day(session: ClubSession, meet_id: int, day: date) -> MeetDay:
    meet = desk_meets.meet(session, meet_id)
    orders = start_orders.orders_at(session, meet)
    parts = [part for part in meet.sessions if part.held_on == day]
    runs: dict[int, list[RunLine]] = {}
    for run in run_list.of_rotations(session, [order.rotation_id for order in orders]):
        runs.setdefault(run.rotation_id, []).append(run)
    lines = [line for part in parts for line in _of_session(session, meet, part, orders, runs)]
    return MeetDay(meet, tuple(lines))


def _of_session(
    session: ClubSession,
    meet: Meet,
    part: MeetSession,
    orders: Sequence[OrderLine],
    runs: Mapping[int, Sequence[RunLine]],
) -> Iterator[AtApparatus]:
    mine = [order for order in orders if order.session.id == part.id]
    known = stations.of_session(session, meet, part.id)
    out_of_use = {stands.piece.id for stands in meet.pieces if stands.piece.withdrawal}
    opened = {station.apparatus_id: station.id for station in known if station.is_open}
    for apparatus_id in dict.fromkeys(order.apparatus_id for order in mine):
        here = [order for order in mine if order.apparatus_id == apparatus_id]
        under_way, next_one = _now_and_next(here, runs)
        yield AtApparatus(
            session=part,
            apparatus=here[0].apparatus,
            is_out_of_use=apparatus_id in out_of_use,
            rotation_ids=tuple(order.rotation_id for order in here),
            order=under_way or next_one,
            is_under_way=under_way is not None,
            station_id=opened.get(apparatus_id),
        )


def _now_and_next(
    orders: Sequence[OrderLine], runs: Mapping[int, Sequence[RunLine]]
) -> tuple[OrderLine | None, OrderLine | None]:
    of_each = {order: runs.get(order.rotation_id, ()) for order in orders}
    under_way = (order for order in orders if any(run.over_at is None for run in of_each[order]))
    not_begun = (order for order in orders if not of_each[order])
    return next(under_way, None), next(not_begun, None)
