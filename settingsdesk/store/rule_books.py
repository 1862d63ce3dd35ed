"""Rule books: limits and allowances with their sources, as the club keeps them."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import UniqueConstraint, select
from sqlalchemy.orm import Mapped, Session, mapped_column

from settingsdesk.store.base import Base, ClubOwned, row_by_id, utc_now


class RuleBook(ClubOwned, Base):
    """One rule book under one name; its definition is replaced whole when it is edited."""

    __tablename__ = "rule_book"
    __table_args__ = (UniqueConstraint("club_id", "name"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str]
    definition: Mapped[dict[str, Any]]
    edited_at: Mapped[datetime] = mapped_column(default=utc_now)
    edited_by: Mapped[str]


def by_id(session: Session, rule_book_id: int) -> RuleBook:
    """The rule book, or ``NotInThisClub``."""
    return row_by_id(session, RuleBook, rule_book_id)


def all_rule_books(session: Session) -> Sequence[RuleBook]:
    """The club's rule books by name."""
    return session.scalars(select(RuleBook).order_by(RuleBook.name)).all()


def has_any(session: Session, club_id: int) -> bool:
    """Whether a club keeps a rule book; for ``Store.installation``, where clubs are made."""
    kept = select(RuleBook.id).where(RuleBook.club_id == club_id).limit(1)
    return session.scalars(kept).first() is not None
