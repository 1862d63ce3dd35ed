"""Links by which somebody gets an account of a club, or a new password for the one they have."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy import CheckConstraint, Index, String, select
from sqlalchemy.orm import Mapped, Session, mapped_column

from settingsdesk.store.base import Base, ClubOwned, of_same_club, row_by_id, utc_now
from settingsdesk.store.clubs import ROLES, RoleName


class Invitation(ClubOwned, Base):
    """A link that works once and ends; of its code only the hash is kept.

    With ``membership_id`` it is for somebody who lost the password, else for somebody new.
    """

    __tablename__ = "invitation"
    __table_args__ = (
        of_same_club("membership_id", "membership"),
        CheckConstraint(ROLES, name="role"),
        Index(None, "club_id", "membership_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    role: Mapped[RoleName] = mapped_column(String)
    shown_name: Mapped[str]
    code_hash: Mapped[str] = mapped_column(unique=True)
    made_at: Mapped[datetime] = mapped_column(default=utc_now)
    made_by: Mapped[str]
    until: Mapped[datetime]
    used_at: Mapped[datetime | None]
    membership_id: Mapped[int | None]


def by_code_hash(session: Session, code_hash: str) -> Invitation | None:
    """The invitation of a link, used or ended or not."""
    return session.scalar(select(Invitation).where(Invitation.code_hash == code_hash))


def by_id(session: Session, invitation_id: int) -> Invitation:
    """The invitation, or ``NotInThisClub``."""
    return row_by_id(session, Invitation, invitation_id)


def waiting(session: Session, moment: datetime) -> Sequence[Invitation]:
    """Those that nobody has used and that have not ended, the newest first."""
    asked = select(Invitation).where(Invitation.used_at.is_(None), Invitation.until > moment)
    return session.scalars(asked.order_by(Invitation.id.desc())).all()


def last_invited(session: Session) -> str:
    """The name of whom the newest link was for, used or not; empty where none was made."""
    newest = select(Invitation.shown_name).order_by(Invitation.id.desc()).limit(1)
    return session.scalar(newest) or ""
