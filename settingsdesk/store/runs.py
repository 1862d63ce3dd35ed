"""Rotations under way at an apparatus, as the events that were confirmed there."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from datetime import datetime
from functools import cache
from typing import Any

from sqlalchemy import (
    BindParameter,
    CheckConstraint,
    Index,
    Select,
    UniqueConstraint,
    bindparam,
    exists,
    func,
    select,
)
from sqlalchemy.orm import Mapped, Session, joinedload, mapped_column, selectinload

from settingsdesk.store.apparatus import Apparatus
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
from settingsdesk.store.rotations import Rotation, RotationTurn


class Run(ClubOwned, Base):
    """One rotation carried out on one apparatus."""

    __tablename__ = "run"
    __table_args__ = (
        referred_to(),
        of_same_club("rotation_id", "rotation"),
        of_same_club("apparatus_id", "apparatus"),
        Index(None, "club_id", "apparatus_id"),
        Index(None, "club_id", "rotation_id"),
        CheckConstraint("model_version >= 1", name="model_version"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    rotation_id: Mapped[int]
    apparatus_id: Mapped[int]
    model_version: Mapped[int]
    """The version of the apparatus's model by whose steps and times the run goes on to its end."""
    begun_at: Mapped[datetime] = mapped_column(default=utc_now)
    over_at: Mapped[datetime | None]
    """Since when no turn is left or the run was ended; empty while it is under way."""

    rotation: Mapped[Rotation] = parent_by("Run.rotation_id", "Rotation")
    apparatus: Mapped[Apparatus] = parent_by("Run.apparatus_id", "Apparatus")
    events: Mapped[list[RunEvent]] = children_by(
        "RunEvent.run_id", "Run", order_by="RunEvent.number", back="run"
    )


class RunEvent(AppendOnly, ClubOwned, Base):
    """One thing confirmed at the apparatus; no two of a run have the same number."""

    __tablename__ = "run_event"
    __table_args__ = (
        of_same_club("run_id", "run"),
        UniqueConstraint("club_id", "run_id", "number"),
        CheckConstraint("number >= 1", name="number"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    run_id: Mapped[int]
    number: Mapped[int]
    word: Mapped[str]
    """What kind of happening it is, by its word in ``domain.changeover.happenings``."""
    told: Mapped[dict[str, Any]]
    at: Mapped[datetime] = mapped_column(default=utc_now)
    by: Mapped[str]

    run: Mapped[Run] = parent_by("RunEvent.run_id", "Run", back="events")


def by_id(session: Session, run_id: int) -> Run:
    """The run with its rotation and its apparatus, or ``NotInThisClub``."""
    found = session.scalar(_by_id(), {"run_id": run_id})
    if found is None:
        raise NotInThisClub(Run.spoken(), run_id)
    return found


@cache  # every press asks it, and to put it together takes longer than the answer
def _by_id() -> Select[Run]:
    return (
        select(Run)
        .where(Run.id == bindparam("run_id"))
        .options(
            joinedload(Run.rotation, innerjoin=True),
            joinedload(Run.apparatus, innerjoin=True).joinedload(Apparatus.model, innerjoin=True),
        )
    )


def at_station(session: Session, rotation_ids: Iterable[int], apparatus_id: int) -> Sequence[Run]:
    """The runs of those rotations, and whatever else is under way on that apparatus.

    The latest begun first, each with its rotation.
    """
    given = {"rotation_ids": list(rotation_ids), "apparatus_id": apparatus_id}
    return session.scalars(_at_station(), given).all()


@cache  # as the run of a number
def _at_station() -> Select[Run]:
    those: BindParameter[int] = bindparam("rotation_ids", expanding=True)
    here = (Run.apparatus_id == bindparam("apparatus_id")) & Run.over_at.is_(None)
    asked = select(Run).options(joinedload(Run.rotation, innerjoin=True))
    return asked.where(here | Run.rotation_id.in_(those)).order_by(Run.id.desc())


def under_way(session: Session) -> Sequence[Run]:
    """The runs that are not over, the latest begun first, each with rotation and apparatus."""
    asked = select(Run).options(
        joinedload(Run.rotation, innerjoin=True), joinedload(Run.apparatus, innerjoin=True)
    )
    return session.scalars(asked.where(Run.over_at.is_(None)).order_by(Run.id.desc())).all()


def latest_of_words(session: Session, words: Collection[str]) -> Sequence[RunEvent]:
    """Of each run that is not over, the latest event of one of those words."""
    latest = select(func.max(RunEvent.id)).join(RunEvent.run)
    latest = latest.where(Run.over_at.is_(None), RunEvent.word.in_(words)).group_by(RunEvent.run_id)
    return session.scalars(select(RunEvent).where(RunEvent.id.in_(latest))).all()


def under_way_whole(session: Session) -> Sequence[Run]:
    """The runs that are not over with all their events, each with its rotation and list."""
    asked = select(Run).options(
        joinedload(Run.rotation, innerjoin=True).selectinload(Rotation.turns),
        selectinload(Run.events),
    )
    return session.scalars(asked.where(Run.over_at.is_(None)).order_by(Run.id.desc())).all()


def rotations_not_begun(session: Session, athlete_id: int) -> Sequence[Rotation]:
    """The rotations that an athlete is listed for and of which no run was begun, with turns."""
    begun = exists().where(Run.rotation_id == Rotation.id)
    asked = select(Rotation).where(Rotation.turns.any(RotationTurn.athlete_id == athlete_id))
    whole = asked.where(~begun).options(selectinload(Rotation.turns))
    return session.scalars(whole.order_by(Rotation.id)).all()


def under_way_on(session: Session, apparatus_id: int) -> Run | None:
    """The run that is not over on an apparatus."""
    asked = select(Run).options(joinedload(Run.rotation, innerjoin=True))
    asked = asked.where(Run.apparatus_id == apparatus_id, Run.over_at.is_(None))
    return session.scalar(asked.order_by(Run.id.desc()).limit(1))


def latest_on(session: Session, apparatus_id: int) -> Run | None:
    """The run that was begun last on an apparatus, with its events."""
    latest = select(func.max(Run.id)).where(Run.apparatus_id == apparatus_id)
    asked = select(Run).where(Run.id == latest.scalar_subquery())
    return session.scalars(asked.options(joinedload(Run.events))).unique().one_or_none()


def last_event_on(session: Session, apparatus_id: int) -> datetime | None:
    """The latest moment at which anything was confirmed in a run on that apparatus."""
    asked = select(func.max(RunEvent.at)).join(RunEvent.run)
    return session.scalar(asked.where(Run.apparatus_id == apparatus_id))


def is_followed(session: Session, run: Run) -> bool:
    """Whether anything happened in another run on its apparatus since the last event of a run."""
    asked = select(RunEvent.id).join(RunEvent.run)
    asked = asked.where(Run.apparatus_id == run.apparatus_id, Run.id != run.id)
    return session.scalar(asked.where(RunEvent.id > run.events[-1].id).limit(1)) is not None


def of_rotations(session: Session, rotation_ids: Iterable[int]) -> Sequence[Run]:
    """Every run of those rotations, the latest begun first."""
    asked = select(Run).options(
        joinedload(Run.rotation, innerjoin=True), joinedload(Run.apparatus, innerjoin=True)
    )
    return session.scalars(
        asked.where(Run.rotation_id.in_(list(rotation_ids))).order_by(Run.id.desc())
    ).all()


def of_rotations_whole(session: Session, rotation_ids: Iterable[int]) -> Sequence[Run]:
    """The same with all their events."""
    asked = select(Run).options(
        joinedload(Run.rotation, innerjoin=True),
        joinedload(Run.apparatus, innerjoin=True),
        selectinload(Run.events),
    )
    return session.scalars(
        asked.where(Run.rotation_id.in_(list(rotation_ids))).order_by(Run.id.desc())
    ).all()


def begins_of(session: Session, rotation_ids: Iterable[int]) -> Sequence[tuple[int, int, Any]]:
    """The first event of every run of those rotations, the first begun first.

    Each as the rotation's number, the run's, and what the event tells.
    """
    asked = select(Run.rotation_id, Run.id, RunEvent.told).join(RunEvent, RunEvent.run_id == Run.id)
    asked = asked.where(Run.rotation_id.in_(list(rotation_ids)), RunEvent.number == 1)
    return [(a, b, told) for a, b, told in session.execute(asked.order_by(Run.id))]


def told_at_begin(session: Session, run_ids: Collection[int]) -> dict[int, dict[str, Any]]:
    """What the first event of each of those runs tells, by the run's number."""
    asked = select(RunEvent.run_id, RunEvent.told)
    asked = asked.where(RunEvent.run_id.in_(run_ids), RunEvent.number == 1)
    return {run_id: told for run_id, told in session.execute(asked)}  # noqa: C416  # rows, no pairs


def of_model(session: Session, model_id: int, limit: int) -> Sequence[Run]:
    """The last ``limit`` runs on apparatus of a model with their events, the latest first."""
    asked = select(Run).options(selectinload(Run.events)).join(Run.apparatus)
    asked = asked.where(Apparatus.model_id == model_id).order_by(Run.id.desc())
    return session.scalars(asked.limit(limit)).all()
