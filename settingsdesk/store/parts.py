"""Spare parts: what should lie ready, at least how many, and every count."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy import CheckConstraint, Index, UniqueConstraint, select
from sqlalchemy.orm import Mapped, Session, mapped_column, selectinload

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


class Part(ClubOwned, Base):
    """A part that should lie in stock."""

    __tablename__ = "part"
    __table_args__ = (
        referred_to(),
        UniqueConstraint("club_id", "name"),
        CheckConstraint("minimum >= 0", name="minimum"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str]
    kind: Mapped[str]
    """The apparatus kind it is for; empty where it is for any."""
    minimum: Mapped[int]
    created_at: Mapped[datetime] = mapped_column(default=utc_now)
    created_by: Mapped[str]

    counts: Mapped[list[PartCount]] = children_by("PartCount.part_id", "Part", back="part")


class PartCount(AppendOnly, ClubOwned, Base):
    """How many there were when somebody counted."""

    __tablename__ = "part_count"
    __table_args__ = (
        of_same_club("part_id", "part"),
        Index(None, "club_id", "part_id"),
        CheckConstraint("counted >= 0", name="counted"),
    )

    part_of = "part"

    id: Mapped[int] = mapped_column(primary_key=True)
    part_id: Mapped[int]
    counted: Mapped[int]
    remark: Mapped[str]
    recorded_at: Mapped[datetime] = mapped_column(default=utc_now)
    recorded_by: Mapped[str]

    part: Mapped[Part] = parent_by("PartCount.part_id", "Part", back="counts")


def by_id(session: Session, part_id: int) -> Part:
    """The part with its counts, or ``NotInThisClub``."""
    return row_by_id(session, Part, part_id)


def by_name(session: Session, name: str) -> Part | None:
    """The part of exactly that name."""
    return session.scalar(select(Part).where(Part.name == name))


def all_parts(session: Session) -> Sequence[Part]:
    """The club's parts by name, each with its counts."""
    return session.scalars(
        select(Part).options(selectinload(Part.counts)).order_by(Part.name)
    ).all()
