"""Rotations: who shares an apparatus for one period, in which order, and the plans made for it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from functools import cache
from typing import Any

from sqlalchemy import (
    BindParameter,
    CheckConstraint,
    Index,
    Row,
    Select,
    UniqueConstraint,
    and_,
    bindparam,
    exists,
    func,
    or_,
    select,
)
from sqlalchemy.orm import Mapped, Session, aliased, joinedload, mapped_column, selectinload

from settingsdesk.store.apparatus import Apparatus
from settingsdesk.store.athletes import Athlete
from settingsdesk.store.base import (
    AppendOnly,
    Base,
    ClubOwned,
    children_by,
    of_same_club,
    parent_by,
    referred_to,
    utc_now,
)
from settingsdesk.store.errors import NotInThisClub
from settingsdesk.store.meets import Entry, MeetSession, RaiseRequest


class Rotation(ClubOwned, Base):
    """One period at one apparatus."""

    __tablename__ = "rotation"
    __table_args__ = (
        referred_to(),
        of_same_club("apparatus_id", "apparatus"),
        Index(None, "club_id", "apparatus_id"),
        Index(None, "club_id", "held_on"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    apparatus_id: Mapped[int]
    name: Mapped[str]
    held_on: Mapped[date]
    asked: Mapped[dict[str, Any]]
    """What the coach asks besides who is on it: turns, rest, hands, wishes, further apparatus."""
    created_at: Mapped[datetime] = mapped_column(default=utc_now)
    created_by: Mapped[str]

    apparatus: Mapped[Apparatus] = parent_by("Rotation.apparatus_id", "Apparatus")
    turns: Mapped[list[RotationTurn]] = children_by(
        "RotationTurn.rotation_id",
        "Rotation",
        order_by="RotationTurn.listed_place",
        back="rotation",
        owned=True,
    )
    plans: Mapped[list[RotationPlan]] = children_by(
        "RotationPlan.rotation_id", "Rotation", back="rotation"
    )


class RotationTurn(ClubOwned, Base):
    """An athlete's place on the coach's list; ``relist`` writes the list."""

    __tablename__ = "rotation_turn"
    __table_args__ = (
        of_same_club("rotation_id", "rotation"),
        of_same_club("athlete_id", "athlete"),
        UniqueConstraint("club_id", "rotation_id", "listed_place"),
        UniqueConstraint("club_id", "rotation_id", "athlete_id"),
        Index(None, "club_id", "athlete_id"),
        CheckConstraint("listed_place >= 1", name="listed_place"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    rotation_id: Mapped[int]
    athlete_id: Mapped[int]
    listed_place: Mapped[int]

    rotation: Mapped[Rotation] = parent_by("RotationTurn.rotation_id", "Rotation", back="turns")
    athlete: Mapped[Athlete] = parent_by("RotationTurn.athlete_id", "Athlete")


class StartOrder(ClubOwned, Base):
    """The place of a rotation in a meet: which session's, and the how-manieth on its apparatus.

    The rotation's list is the start order, and nothing re-arranges it. ``printed_version`` tells
    what its crew sheet said when it was last printed; empty before that.
    """

    __tablename__ = "start_order"
    __table_args__ = (
        of_same_club("rotation_id", "rotation"),
        of_same_club("session_id", "meet_session"),
        of_same_club("apparatus_id", "apparatus"),
        UniqueConstraint("club_id", "rotation_id"),
        UniqueConstraint("club_id", "session_id", "apparatus_id", "number"),
        CheckConstraint("number >= 1", name="number"),
        CheckConstraint("came_by IN ('typed', 'imported', 'drawn')", name="came_by"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    rotation_id: Mapped[int]
    session_id: Mapped[int]
    apparatus_id: Mapped[int]
    number: Mapped[int]
    came_by: Mapped[str]
    set_at: Mapped[datetime] = mapped_column(default=utc_now)
    set_by: Mapped[str]
    printed_version: Mapped[str] = mapped_column(default="", server_default="")

    rotation: Mapped[Rotation] = parent_by("StartOrder.rotation_id", "Rotation")
    meet_session: Mapped[MeetSession] = parent_by("StartOrder.session_id", "MeetSession")


class RotationPlan(AppendOnly, ClubOwned, Base):
    """One answer of the planner for the rotation; the latest one counts."""

    __tablename__ = "rotation_plan"
    __table_args__ = (
        of_same_club("rotation_id", "rotation"),
        Index(None, "club_id", "rotation_id"),
    )

    part_of = "rotation"

    id: Mapped[int] = mapped_column(primary_key=True)
    rotation_id: Mapped[int]
    made_at: Mapped[datetime] = mapped_column(default=utc_now)
    made_by: Mapped[str]
    result: Mapped[dict[str, Any]]

    rotation: Mapped[Rotation] = parent_by("RotationPlan.rotation_id", "Rotation", back="plans")


def by_id(session: Session, rotation_id: int) -> Rotation:
    """The rotation with its apparatus, model, turns and athletes, or ``NotInThisClub``.

    In two queries, also where a list of rotations was read before, which has no athletes.
    """
    found = session.scalar(_by_id(), {"rotation_id": rotation_id})
    if found is None:
        raise NotInThisClub(Rotation.spoken(), rotation_id)
    return found


@cache  # many pages ask it, and to put it together takes longer than the answer
def _by_id() -> Select[Rotation]:
    asked = select(Rotation).where(Rotation.id == bindparam("rotation_id"))
    whole = asked.options(
        joinedload(Rotation.apparatus, innerjoin=True).joinedload(Apparatus.model, innerjoin=True),
        selectinload(Rotation.turns).joinedload(RotationTurn.athlete, innerjoin=True),
    )
    return whole.execution_options(populate_existing=True)


def recent(session: Session, limit: int) -> Sequence[Rotation]:
    """The last ``limit`` rotations with apparatus and turns, the latest day first.

    Start orders of meets are left out; they have lists of their own.
    """
    asked = select(Rotation).options(
        joinedload(Rotation.apparatus, innerjoin=True), selectinload(Rotation.turns)
    )
    asked = asked.where(~exists().where(StartOrder.rotation_id == Rotation.id))
    latest_first = asked.order_by(Rotation.held_on.desc(), Rotation.id.desc())
    return session.scalars(latest_first.limit(limit)).all()


def on_day(session: Session, day: date) -> Sequence[Rotation]:
    """The rotations of a day with apparatus, turns and athletes, the first made first.

    Start orders of meets are left out; they have lists of their own.
    """
    asked = select(Rotation).options(
        joinedload(Rotation.apparatus, innerjoin=True).joinedload(Apparatus.model, innerjoin=True),
        selectinload(Rotation.turns).joinedload(RotationTurn.athlete, innerjoin=True),
    )
    asked = asked.where(~exists().where(StartOrder.rotation_id == Rotation.id))
    return session.scalars(asked.where(Rotation.held_on == day).order_by(Rotation.id)).all()


def names_on(session: Session, day: date) -> Sequence[str]:
    """The names of the rotations of a day that are no start orders."""
    asked = select(Rotation.name).where(Rotation.held_on == day)
    return session.scalars(
        asked.where(~exists().where(StartOrder.rotation_id == Rotation.id))
    ).all()


def relist(session: Session, rotation: Rotation, athlete_ids: Iterable[int]) -> None:
    """Make these athletes the rotation's list, in this order.

    Old turns go out before new ones go in, so that no two ever stand on the same place.
    """
    rotation.turns.clear()
    session.flush()
    rotation.turns.extend(listed(athlete_ids))
    session.flush()


def listed(athlete_ids: Iterable[int]) -> list[RotationTurn]:
    """Those athletes as the list of a rotation, in this order."""
    return [
        RotationTurn(athlete_id=athlete_id, listed_place=place)
        for place, athlete_id in enumerate(athlete_ids, start=1)
    ]


def times_listed(session: Session, athlete_ids: Iterable[int]) -> dict[int, int]:
    """For how many rotations each of those athletes is listed; nobody who is for none."""
    asked = select(RotationTurn.athlete_id, func.count().label("times"))
    asked = asked.where(RotationTurn.athlete_id.in_(list(athlete_ids)))
    found = session.execute(asked.group_by(RotationTurn.athlete_id))
    return {row.athlete_id: row.times for row in found}


def latest_plan(session: Session, rotation_id: int) -> RotationPlan | None:
    """The plan that counts; None where none was made."""
    asked = select(RotationPlan).where(RotationPlan.rotation_id == rotation_id)
    return session.scalar(asked.order_by(RotationPlan.id.desc()).limit(1))


def latest_plans(session: Session, rotation_ids: Iterable[int]) -> dict[int, RotationPlan]:
    """The plan that counts of each of those rotations that has one."""
    numbers = select(func.max(RotationPlan.id)).group_by(RotationPlan.rotation_id)
    numbers = numbers.where(RotationPlan.rotation_id.in_(list(rotation_ids)))
    asked = select(RotationPlan).where(RotationPlan.id.in_(numbers))
    return {plan.rotation_id: plan for plan in session.scalars(asked)}


def start_orders(
    session: Session, session_ids: Iterable[int], apparatus_id: int | None = None
) -> Sequence[StartOrder]:
    """The start orders of those sessions of meets with their turns, by number and apparatus.

    Of one apparatus, where it is given.
    """
    given: dict[str, object] = {"session_ids": list(session_ids)}
    if apparatus_id is not None:
        given["apparatus_id"] = apparatus_id
    return session.scalars(_of_sessions(of_one=apparatus_id is not None), given).all()


@cache  # as the rotation of a number
def _of_sessions(*, of_one: bool) -> Select[StartOrder]:
    those: BindParameter[int] = bindparam("session_ids", expanding=True)
    asked = _start_orders().where(StartOrder.session_id.in_(those))
    if of_one:
        asked = asked.where(StartOrder.apparatus_id == bindparam("apparatus_id"))
    return asked.order_by(StartOrder.session_id, StartOrder.number, StartOrder.apparatus_id)


def start_orders_of(session: Session, rotation_ids: Iterable[int]) -> Sequence[StartOrder]:
    """The places of those rotations in their meets, without their turns."""
    asked = select(StartOrder).where(StartOrder.rotation_id.in_(list(rotation_ids)))
    return session.scalars(asked).all()


def start_order_of(session: Session, rotation_id: int) -> StartOrder | None:
    """The place of a rotation in a meet, with its turns; None where it belongs to none."""
    return session.scalar(_of_rotation(), {"rotation_id": rotation_id})


@cache  # as the rotation of a number
def _of_rotation() -> Select[StartOrder]:
    return _start_orders().where(StartOrder.rotation_id == bindparam("rotation_id"))


def beside(session: Session, rotation_id: int) -> Sequence[StartOrder]:
    """A rotation's place in a meet, and those of the same number in its session, with athletes.

    Nothing where it belongs to no meet. Athletes come also where the rows were read before without.
    """
    return session.scalars(_beside(), {"rotation_id": rotation_id}).all()


@cache  # as the rotation of a number
def _beside() -> Select[StartOrder]:
    own = aliased(StartOrder)
    at_once = (StartOrder.session_id == own.session_id) & (StartOrder.number == own.number)
    whole = _start_orders().options(
        joinedload(StartOrder.rotation, innerjoin=True)
        .selectinload(Rotation.turns)
        .joinedload(RotationTurn.athlete, innerjoin=True)
    )
    asked = whole.join(own, at_once).where(own.rotation_id == bindparam("rotation_id"))
    return asked.execution_options(populate_existing=True)


def _start_orders() -> Select[StartOrder]:
    return select(StartOrder).options(
        joinedload(StartOrder.meet_session, innerjoin=True),
        joinedload(StartOrder.rotation, innerjoin=True).options(
            joinedload(Rotation.apparatus, innerjoin=True).joinedload(
                Apparatus.model, innerjoin=True
            ),
            selectinload(Rotation.turns),
        ),
    )


def listed_at(session: Session, session_id: int, apparatus_id: int) -> dict[int, tuple[int, ...]]:
    """Who is on each start order of a session on an apparatus, by the rotation's number.

    Two columns of one query: the phones of a station ask for it every second.
    """
    found: dict[int, tuple[int, ...]] = {}
    given = {"session_id": session_id, "apparatus_id": apparatus_id}
    for rotation_id, athlete_id in session.execute(_listed_at(), given):
        found[rotation_id] = (*found.get(rotation_id, ()), athlete_id)
    return found


@cache  # as the rotation of a number
def _listed_at() -> Select[int, int]:
    at = StartOrder.apparatus_id == bindparam("apparatus_id")
    return (
        select(StartOrder.rotation_id, RotationTurn.athlete_id)
        .join(RotationTurn, RotationTurn.rotation_id == StartOrder.rotation_id)
        .where(StartOrder.session_id == bindparam("session_id"), at)
        .order_by(StartOrder.number, RotationTurn.listed_place)
    )


def entries_in(session: Session, rotation_id: int, athlete_ids: Iterable[int]) -> Sequence[Entry]:
    """The entries of those athletes for the meet of a rotation; none where it is of no meet."""
    asked = (
        select(Entry)
        .join(MeetSession, MeetSession.meet_id == Entry.meet_id)
        .join(StartOrder, StartOrder.session_id == MeetSession.id)
        .where(StartOrder.rotation_id == rotation_id, Entry.athlete_id.in_(list(athlete_ids)))
    )
    return session.scalars(asked).all()


def withdrawn_from(session: Session, rotation_id: int) -> list[int]:
    """Who is on the list of a rotation and does not come to its meet, in the order of the list.

    Their entry was withdrawn, or went with all else about them.
    """
    return list(session.scalars(_withdrawn_from(), {"rotation_id": rotation_id}))


@cache  # as the rotation of a number
def _withdrawn_from() -> Select[int]:
    asked = (
        select(RotationTurn.athlete_id)
        .join(StartOrder, StartOrder.rotation_id == RotationTurn.rotation_id)
        .join(MeetSession, MeetSession.id == StartOrder.session_id)
        .outerjoin(
            Entry,
            and_(
                Entry.meet_id == MeetSession.meet_id,
                Entry.athlete_id == RotationTurn.athlete_id,
            ),
        )
        .where(RotationTurn.rotation_id == bindparam("rotation_id"))
        .where(or_(Entry.id.is_(None), Entry.withdrawn_at.is_not(None)))
    )
    return asked.order_by(RotationTurn.listed_place)


def raises_in(
    session: Session, rotation_id: int, apparatus_id: int, athlete_ids: Iterable[int]
) -> Sequence[Row[int, RaiseRequest]]:
    """The requests of those athletes for one apparatus at a rotation's meet, the oldest first.

    Each with the athlete's number.
    """
    given = {
        "rotation_id": rotation_id,
        "apparatus_id": apparatus_id,
        "athlete_ids": list(athlete_ids),
    }
    return session.execute(_raises_in(), given).all()


@cache  # as the rotation of a number
def _raises_in() -> Select[int, RaiseRequest]:
    those: BindParameter[int] = bindparam("athlete_ids", expanding=True)
    asked = (
        select(Entry.athlete_id, RaiseRequest)
        .join(RaiseRequest, RaiseRequest.entry_id == Entry.id)
        .join(MeetSession, MeetSession.meet_id == Entry.meet_id)
        .join(StartOrder, StartOrder.session_id == MeetSession.id)
        .where(StartOrder.rotation_id == bindparam("rotation_id"))
        .where(RaiseRequest.apparatus_id == bindparam("apparatus_id"))
        .where(Entry.athlete_id.in_(those))
    )
    return asked.order_by(RaiseRequest.id)
