"""What was left out of a club's list for a meet, until it is settled."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Index, select
from sqlalchemy.orm import Mapped, Session, mapped_column

from settingsdesk.store.base import Base, ClubOwned, of_same_club, row_by_id, utc_now
from settingsdesk.store.work import add_rows


class LeftOut(ClubOwned, Base):
    """One cell, setting or athlete of a list that was not taken, and by whom that was settled.

    ``athlete_id`` is empty where it is about nobody who is entered, ``place`` where it is about no
    one cell. A newer list of the same club and layout settles the lines of the one before.
    """

    __tablename__ = "left_out"
    __table_args__ = (
        of_same_club("meet_id", "meet"),
        of_same_club("athlete_id", "athlete"),
        Index(None, "club_id", "meet_id"),
        Index(None, "club_id", "athlete_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    meet_id: Mapped[int]
    athlete_id: Mapped[int | None]
    sent_by: Mapped[str]
    layout_key: Mapped[str]
    place: Mapped[str]
    """Where in the list: "sheet 'Entries', row 5, column D"."""
    read: Mapped[str]
    why: Mapped[str]
    told_at: Mapped[datetime] = mapped_column(default=utc_now)
    told_by: Mapped[str]
    settled_at: Mapped[datetime | None]
    settled_by: Mapped[str | None]


def add_all(session: Session, rows: Sequence[Mapping[str, Any]]) -> None:
    """Further lines, by column."""
    add_rows(session, LeftOut, rows)


def by_id(session: Session, line_id: int) -> LeftOut:
    """The line, or ``NotInThisClub``."""
    return row_by_id(session, LeftOut, line_id)


def of_athlete(session: Session, athlete_id: int) -> Sequence[LeftOut]:
    """The lines about an athlete, settled or not."""
    return session.scalars(select(LeftOut).where(LeftOut.athlete_id == athlete_id)).all()


def still_open(session: Session, meet_id: int) -> Sequence[LeftOut]:
    """The lines of a meet that nobody has settled, as they stood in the lists."""
    asked = select(LeftOut).where(LeftOut.meet_id == meet_id, LeftOut.settled_at.is_(None))
    return session.scalars(asked.order_by(LeftOut.id)).all()
