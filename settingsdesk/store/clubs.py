"""Clubs, and the coaches who may sign in."""

import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

from sqlalchemy import BigInteger, CheckConstraint, Row, String, select
from sqlalchemy.orm import Mapped, Session, mapped_column, validates

from settingsdesk.store.base import Base, ClubOwned, referred_to, row_by_id, utc_now

LengthUnit = Literal["cm", "in"]


class Club(Base):
    """One club on this installation; everything else in the store belongs to one."""

    __tablename__ = "club"
    __table_args__ = (
        CheckConstraint("length_unit IN ('cm', 'in')", name="length_unit"),
        CheckConstraint("guests_kept_days >= 0", name="guests_kept_days"),
        CheckConstraint("left_kept_days >= 0", name="left_kept_days"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str]
    length_unit: Mapped[LengthUnit] = mapped_column(String, default="cm")
    """The unit in which this club reads and types lengths; they are kept in millimetres."""
    guests_kept_days: Mapped[int] = mapped_column(default=30, server_default="30")
    """How many days after a meet's last day its guests are kept."""
    left_kept_days: Mapped[int | None]
    """How many days after they left athletes are kept; empty for as long as nobody erases them."""
    days_seen: Mapped[list[str]] = mapped_column(default=list, server_default="[]")
    """The last days on which the desk looked whose time is over, the oldest first."""
    last_cleared: Mapped[dict[str, Any] | None]
    """On which day that was last done for somebody, and for how many."""
    created_at: Mapped[datetime] = mapped_column(default=utc_now)
    records_revision: Mapped[int] = mapped_column(BigInteger, server_default="0")
    """Another number after every change but those of the next (see ``revisions``)."""
    runs_revision: Mapped[int] = mapped_column(BigInteger, server_default="0")
    """Another number after whatever happens in runs and at the apparatus."""


REVISION = (Club.records_revision, Club.runs_revision)
"""What a statement asks for besides, where ``Revision.of`` is to read its row."""


@dataclass(frozen=True, slots=True)
class Revision:
    """A club's numbers at one moment: where they are equal, nothing was written in between."""

    records: int
    runs: int

    @staticmethod
    def of(row: "Club | Row[*tuple[Any, ...]]") -> "Revision":
        """The numbers as the row has them that was read."""
        return Revision(row.records_revision, row.runs_revision)


class Coach(ClubOwned, Base):
    """Somebody who may sign in for the club.

    Records name who made them in words (``recorded_by``), so that they stay readable after a
    coach has gone.
    """

    __tablename__ = "coach"
    __table_args__ = (referred_to(),)

    id: Mapped[int] = mapped_column(primary_key=True)
    sign_in_name: Mapped[str] = mapped_column(unique=True)
    """Kept case-folded; no two coaches of the whole installation share one."""
    shown_name: Mapped[str]
    password_hash: Mapped[str]
    created_at: Mapped[datetime] = mapped_column(default=utc_now)

    @validates("sign_in_name")
    def _fold(self, _key: str, name: str) -> str:
        return sign_in_key(name)


def sign_in_key(name: str) -> str:
    """The sign-in name as it is kept: case, width and blanks around it do not matter."""
    return unicodedata.normalize("NFKC", name).strip().casefold()


def all_clubs(session: Session) -> Sequence[Club]:
    """Every club the session may see: all of them only in ``Store.installation``."""
    return session.scalars(select(Club).order_by(Club.name, Club.id)).all()


def this_club(session: Session) -> Club:
    """The club that the session is fenced in to: only inside ``Store.work``."""
    return session.scalars(select(Club)).one()


def club_by_id(session: Session, club_id: int) -> Club:
    """The club, or ``NotInThisClub``."""
    return row_by_id(session, Club, club_id)


def coach_by_id(session: Session, coach_id: int) -> Coach:
    """The coach, or ``NotInThisClub``."""
    return row_by_id(session, Coach, coach_id)


def coach_by_sign_in_name(session: Session, typed: str) -> Coach | None:
    """The coach who signs in by that name, however its letters are cased."""
    return session.scalar(select(Coach).where(Coach.sign_in_name == sign_in_key(typed)))


def coaches_by_ids(session: Session, numbers: Iterable[int]) -> dict[int, str]:
    """How those coaches are called, by number; who is not there any more is left out."""
    asked = select(Coach.id, Coach.shown_name).where(Coach.id.in_(list(numbers)))
    return {number: name for number, name in session.execute(asked)}  # noqa: C416 -- rows, not pairs
