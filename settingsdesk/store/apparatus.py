"""Apparatus in the hall: what stands where, at which stops, and how it was measured."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from functools import cache
from typing import Any, ClassVar

from sqlalchemy import (
    BindParameter,
    CheckConstraint,
    Index,
    Select,
    UniqueConstraint,
    bindparam,
    func,
    select,
)
from sqlalchemy.orm import (
    Mapped,
    MappedSQLExpression,
    Session,
    column_property,
    joinedload,
    mapped_column,
)

from settingsdesk.store.apparatus_models import ApparatusModel
from settingsdesk.store.base import (
    AppendOnly,
    Base,
    ClubOwned,
    children_by,
    of_same_club,
    parent_by,
    referred_to,
    row_by_id,
    utc_now,
)
from settingsdesk.store.json_sql import ObjectOf


class UsualDeviation(ClubOwned, Base):
    """What a club usually accepts of an axis, where an athlete's setting says nothing."""

    __tablename__ = "usual_deviation"
    __table_args__ = (
        UniqueConstraint("club_id", "kind", "axis"),
        CheckConstraint("accepts_mm > 0", name="accepts_mm"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    kind: Mapped[str]
    axis: Mapped[str]
    accepts_mm: Mapped[int]


class MatsOfDay(ClubOwned, Base):
    """How much more mat lies under an apparatus on one day than on record; below 0, less."""

    __tablename__ = "mats_of_day"
    __table_args__ = (
        of_same_club("apparatus_id", "apparatus"),
        UniqueConstraint("club_id", "apparatus_id", "day"),
        CheckConstraint("more_mm <> 0", name="more_mm"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    apparatus_id: Mapped[int]
    day: Mapped[date]
    more_mm: Mapped[int]


class Apparatus(ClubOwned, Base):
    """One physical piece on one floor."""

    __tablename__ = "apparatus"
    __table_args__ = (
        referred_to(),
        of_same_club("model_id", "apparatus_model"),
        UniqueConstraint("club_id", "name"),
        Index(None, "club_id", "model_id"),
        CheckConstraint("mat_mm >= 0", name="mat_mm"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    model_id: Mapped[int]
    name: Mapped[str]
    place: Mapped[str] = mapped_column(default="")
    mat_mm: Mapped[int] = mapped_column(default=0)
    """Thickness of the mats under the apparatus."""
    first_end: Mapped[str] = mapped_column(default="", server_default="")
    """What the hall calls its front or left end; empty where it has no names for the ends."""
    second_end: Mapped[str] = mapped_column(default="", server_default="")
    created_at: Mapped[datetime] = mapped_column(default=utc_now)

    usual_by_axis: ClassVar[MappedSQLExpression[dict[str, int] | None]]
    """``UsualDeviation`` of its kind, millimetres by axis."""
    more_by_day: ClassVar[MappedSQLExpression[dict[str, int] | None]]
    """``MatsOfDay`` of it, millimetres by day."""

    model: Mapped[ApparatusModel] = parent_by("Apparatus.model_id", "ApparatusModel")
    setups: Mapped[list[ApparatusSetup]] = children_by(
        "ApparatusSetup.apparatus_id",
        "Apparatus",
        order_by="ApparatusSetup.id",
        back="apparatus",
    )
    calibrations: Mapped[list[Calibration]] = children_by(
        "Calibration.apparatus_id",
        "Apparatus",
        order_by="Calibration.taken_on, Calibration.id",
        back="apparatus",
    )


class ApparatusSetup(AppendOnly, ClubOwned, Base):
    """The stops at which all axes stood from one moment on; the latest is what stands there now."""

    __tablename__ = "apparatus_setup"
    __table_args__ = (
        of_same_club("apparatus_id", "apparatus"),
        Index(None, "club_id", "apparatus_id", "stood_at"),
    )

    part_of = "apparatus"

    id: Mapped[int] = mapped_column(primary_key=True)
    apparatus_id: Mapped[int]
    stops: Mapped[list[int]]
    """One stop number per axis, in the order of the model's axes; none while nobody knows."""
    stood_at: Mapped[datetime] = mapped_column(default=utc_now)
    recorded_by: Mapped[str]
    how: Mapped[str] = mapped_column(default="")
    """How it is known: read off the marks, confirmed after a change-over, …"""

    apparatus: Mapped[Apparatus] = parent_by(
        "ApparatusSetup.apparatus_id", "Apparatus", back="setups"
    )


class Calibration(ClubOwned, Base):
    """Stops of one axis measured by tape on one apparatus, and the scale fitted to them."""

    __tablename__ = "calibration"
    __table_args__ = (
        of_same_club("apparatus_id", "apparatus"),
        Index(None, "club_id", "apparatus_id", "axis", "taken_on"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    apparatus_id: Mapped[int]
    axis: Mapped[str]
    measurements: Mapped[list[dict[str, Any]]]
    fitted: Mapped[dict[str, Any]]
    taken_on: Mapped[date]
    recorded_at: Mapped[datetime] = mapped_column(default=utc_now)
    recorded_by: Mapped[str]
    note: Mapped[str] = mapped_column(default="")
    set_aside_at: Mapped[datetime | None]
    """Since when it is not used any more; empty while it may be used."""
    set_aside_by: Mapped[str | None]

    apparatus: Mapped[Apparatus] = parent_by(
        "Calibration.apparatus_id", "Apparatus", back="calibrations"
    )


def by_id(session: Session, apparatus_id: int) -> Apparatus:
    """The apparatus, or ``NotInThisClub``."""
    return row_by_id(session, Apparatus, apparatus_id)


def by_name(session: Session, name: str) -> Apparatus | None:
    """The apparatus of exactly that name."""
    return session.scalar(select(Apparatus).where(Apparatus.name == name))


Apparatus.usual_by_axis = column_property(  # read with the row: pages ask for it all the time
    select(ObjectOf(UsualDeviation.axis, UsualDeviation.accepts_mm))
    .where(
        UsualDeviation.club_id == Apparatus.club_id,
        UsualDeviation.kind
        == select(ApparatusModel.kind)
        .where(ApparatusModel.id == Apparatus.model_id)
        .correlate(Apparatus)
        .scalar_subquery(),
    )
    .correlate(Apparatus)
    .scalar_subquery(),
    expire_on_flush=False,
)


Apparatus.more_by_day = column_property(
    select(ObjectOf(MatsOfDay.day, MatsOfDay.more_mm))
    .where(MatsOfDay.club_id == Apparatus.club_id, MatsOfDay.apparatus_id == Apparatus.id)
    .correlate(Apparatus)
    .scalar_subquery(),
    expire_on_flush=False,
)


def usual_of(row: Apparatus) -> dict[str, int]:
    """What its club usually accepts of an apparatus's kind: millimetres by axis."""
    usual: dict[str, int] = row.usual_by_axis or {}
    return usual


def more_mat_of(row: Apparatus) -> dict[date, int]:
    """How much more mat lies under an apparatus on some days than on record, in millimetres."""
    kept: dict[str, int] = row.more_by_day or {}
    return {date.fromisoformat(day): kept[day] for day in sorted(kept)}


def mats_of_days(session: Session, apparatus_id: int) -> Sequence[MatsOfDay]:
    """The days on which other mats lie under an apparatus than on record, by day."""
    asked = select(MatsOfDay).where(MatsOfDay.apparatus_id == apparatus_id)
    return session.scalars(asked.order_by(MatsOfDay.day)).all()


def usual_deviations(session: Session) -> Sequence[UsualDeviation]:
    """All that the club usually accepts."""
    return session.scalars(select(UsualDeviation)).all()


def all_apparatus(session: Session) -> Sequence[Apparatus]:
    """The club's apparatus by name, each with its model, in one query."""
    return session.scalars(_with_models()).all()


def of_kind(session: Session, kind: str) -> Sequence[Apparatus]:
    """The club's apparatus of one kind by name, each with its model, in one query."""
    return session.scalars(_of_kind(), {"kind": kind}).all()


@cache  # as the latest setups
def _of_kind() -> Select[Apparatus]:
    return _with_models().where(Apparatus.model.has(ApparatusModel.kind == bindparam("kind")))


def those(session: Session, apparatus_ids: Iterable[int]) -> Sequence[Apparatus]:
    """The apparatus of those numbers by name, each with its model, in one query."""
    return session.scalars(_with_models().where(Apparatus.id.in_(list(apparatus_ids)))).all()


def _with_models() -> Select[Apparatus]:
    asked = select(Apparatus).options(joinedload(Apparatus.model, innerjoin=True))
    return asked.order_by(Apparatus.name)


def latest_setups(session: Session, apparatus_ids: Iterable[int]) -> dict[int, ApparatusSetup]:
    """The present marks, in one query; an apparatus never read off is left out."""
    latest = session.scalars(_latest_setups(), {"apparatus_ids": list(apparatus_ids)})
    return {found.apparatus_id: found for found in latest}


@cache  # nearly every page asks it, and to put it together takes longer than the answer
def _latest_setups() -> Select[ApparatusSetup]:
    # By number and never by moment: a clock may be put back, and what stands there may not.
    setup = ApparatusSetup
    those: BindParameter[int] = bindparam("apparatus_ids", expanding=True)
    latest = select(func.max(setup.id)).where(setup.apparatus_id.in_(those))
    return select(setup).where(setup.id.in_(latest.group_by(setup.apparatus_id)))


def setup_history(session: Session, apparatus_id: int, limit: int) -> Sequence[ApparatusSetup]:
    """The last ``limit`` setups of the apparatus, the newest first."""
    setup = ApparatusSetup
    asked = select(setup).where(setup.apparatus_id == apparatus_id)
    return session.scalars(asked.order_by(setup.id.desc()).limit(limit)).all()


def calibration_by_id(session: Session, calibration_id: int) -> Calibration:
    """The calibration, or ``NotInThisClub``."""
    return row_by_id(session, Calibration, calibration_id)


def calibrations(session: Session, apparatus_id: int) -> Sequence[Calibration]:
    """Every calibration of the apparatus, set aside or not, the newest first."""
    asked = select(Calibration).where(Calibration.apparatus_id == apparatus_id)
    newest_first = asked.order_by(Calibration.taken_on.desc(), Calibration.id.desc())
    return session.scalars(newest_first).all()


def calibrations_in_use(
    session: Session, apparatus_ids: Iterable[int]
) -> dict[int, dict[str, Calibration]]:
    """By apparatus and axis the newest calibration that is not set aside, in one query.

    An axis without one is left out.
    """
    in_use: dict[int, dict[str, Calibration]] = {number: {} for number in apparatus_ids}
    for calibration in session.scalars(_not_set_aside(), {"apparatus_ids": list(in_use)}):
        in_use[calibration.apparatus_id].setdefault(calibration.axis, calibration)
    return in_use


@cache  # as the latest setups
def _not_set_aside() -> Select[Calibration]:
    those: BindParameter[int] = bindparam("apparatus_ids", expanding=True)
    asked = select(Calibration).where(
        Calibration.apparatus_id.in_(those), Calibration.set_aside_at.is_(None)
    )
    return asked.order_by(Calibration.taken_on.desc(), Calibration.id.desc())
