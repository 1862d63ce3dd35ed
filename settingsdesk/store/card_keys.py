"""Which key the codes of cards and stations are made with: its fingerprint, never the key."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime

from sqlalchemy import or_, select, update
from sqlalchemy.orm import Mapped, Session, mapped_column

from settingsdesk.store.base import Base, utc_now
from settingsdesk.store.cards import Card
from settingsdesk.store.stations import Station


class CardKey(Base):
    """One key that the installation had, by its fingerprint; the last one is the present one."""

    __tablename__ = "card_key"

    id: Mapped[int] = mapped_column(primary_key=True)
    fingerprint: Mapped[str] = mapped_column(unique=True)
    used_since: Mapped[datetime] = mapped_column(default=utc_now)
    former_until: Mapped[date | None]
    """The last day on which the cards of the keys before this one count; empty for the first."""


def present(session: Session) -> CardKey | None:
    """The key that counts; None where the desk was not started since it keeps fingerprints."""
    return session.scalar(select(CardKey).order_by(CardKey.id.desc()).limit(1))


def some_codes(session: Session, most: int) -> Sequence[tuple[str, str]]:
    """The newest cards that were not revoked, of all clubs: each number and its code's hash."""
    asked = select(Card.id, Card.code_hash).where(Card.revoked_at.is_(None))
    newest = asked.order_by(Card.issued_at.desc(), Card.id).limit(most)
    return [(row.id, row.code_hash) for row in session.execute(newest)]


def end_cards(session: Session, last_day: date) -> None:
    """Let every card of today count until that day, or as long as it did where that is shorter."""
    longer = or_(Card.counts_until.is_(None), Card.counts_until > last_day)
    session.execute(update(Card).where(longer).values(counts_until=last_day))


def close_stations(session: Session, by: str) -> None:
    """Close every station that is open: nobody can make its codes again."""
    still_open = update(Station).where(Station.closed_at.is_(None))
    session.execute(still_open.values(closed_at=utc_now(), closed_by=by))
