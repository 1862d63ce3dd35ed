"""The devices on which coaches are signed in."""

from datetime import datetime

from sqlalchemy import Index, bindparam, delete, select
from sqlalchemy.orm import Mapped, Session, mapped_column

from settingsdesk.store.base import Base, ClubOwned, of_same_club, utc_now
from settingsdesk.store.clubs import REVISION, Club, Coach


class SignIn(ClubOwned, Base):
    """One coach signed in on one device, from signing in there until signing out.

    A cookie without its row is worth nothing, however well it is signed.
    """

    __tablename__ = "sign_in"
    __table_args__ = (of_same_club("coach_id", "coach"), Index(None, "club_id", "coach_id"))

    id: Mapped[int] = mapped_column(primary_key=True)
    coach_id: Mapped[int]
    stamp_hash: Mapped[str] = mapped_column(unique=True)
    """Of the stamp in the cookie, so that a copy of the database signs nobody in."""
    began_at: Mapped[datetime] = mapped_column(default=utc_now)


OF_STAMP = (
    select(
        SignIn.began_at,
        Coach.id.label("coach_id"),
        Coach.sign_in_name,
        Coach.shown_name,
        Club.id.label("club_id"),
        Club.name.label("club_name"),
        Club.length_unit,
        *REVISION,
    )
    .join(Coach, Coach.id == SignIn.coach_id)
    .join(Club, Club.id == SignIn.club_id)
    .where(SignIn.stamp_hash == bindparam("stamp_hash"))
)
"""For ``Store.row``: the coach and the club of a cookie, none once its sign-in has ended."""


def end_one(session: Session, stamp_hash: str) -> None:
    """Sign out on one device; nothing happens where that has been done."""
    session.execute(delete(SignIn).where(SignIn.stamp_hash == stamp_hash))


def end_all(session: Session, coach_id: int) -> None:
    """Sign the coach out on every device."""
    session.execute(delete(SignIn).where(SignIn.coach_id == coach_id))


def end_older(session: Session, moment: datetime) -> None:
    """Let go of every sign-in that began before that moment."""
    session.execute(delete(SignIn).where(SignIn.began_at < moment))
