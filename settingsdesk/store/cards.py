"""Cards: what was handed out to whom, and which of them still counts."""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Sequence
from datetime import date, datetime
from typing import Any

from sqlalchemy import CheckConstraint, Index, UniqueConstraint, bindparam, exists, func, select
from sqlalchemy.orm import Mapped, Session, joinedload, mapped_column

from settingsdesk.domain.settings.purposes import USUAL
from settingsdesk.store.apparatus import Apparatus
from settingsdesk.store.athletes import Athlete
from settingsdesk.store.base import Base, ClubOwned, of_same_club, parent_by, utc_now
from settingsdesk.store.clubs import REVISION, Club
from settingsdesk.store.errors import NotInThisClub
from settingsdesk.store.settings import LAST, Setting


def new_card_id() -> str:
    """128 random bits, 22 letters that are safe in an address."""
    return secrets.token_urlsafe(16)


class Card(ClubOwned, Base):
    """One issued card. Its codes are kept only as hashes, so the database cannot print them."""

    __tablename__ = "card"
    __table_args__ = (
        of_same_club("athlete_id", "athlete"),
        of_same_club("apparatus_id", "apparatus"),
        UniqueConstraint("club_id", "athlete_id", "apparatus_id", "version"),
        Index(None, "club_id", "apparatus_id"),
        CheckConstraint("version >= 1", name="version"),
        CheckConstraint("length(id) >= 22", name="id_is_long"),
    )

    id: Mapped[str] = mapped_column(primary_key=True, default=new_card_id)
    athlete_id: Mapped[int]
    apparatus_id: Mapped[int]
    version: Mapped[int]
    content: Mapped[dict[str, Any]]
    """What is printed on it, so that an old card can be compared with a new one."""
    code_hash: Mapped[str] = mapped_column(unique=True)
    short_code_mark: Mapped[str] = mapped_column(unique=True)
    """What the typed short code is found by; never the code itself."""
    issued_at: Mapped[datetime] = mapped_column(default=utc_now)
    after_setting: Mapped[int] = mapped_column(default=LAST, server_default="0")
    """Settings with greater numbers were kept after it was made."""
    issued_by: Mapped[str]
    superseded_at: Mapped[datetime | None]
    revoked_at: Mapped[datetime | None]
    counts_until: Mapped[date | None]
    """The last day on which its code opens anything; empty where it has no end."""

    athlete: Mapped[Athlete] = parent_by("Card.athlete_id", "Athlete")
    apparatus: Mapped[Apparatus] = parent_by("Card.apparatus_id", "Apparatus")


_printed_for = select(Athlete.id, Athlete.taken_into_id).subquery()
_HOLDER = (
    select(
        *(Card.id, Card.club_id, Card.revoked_at, Card.counts_until),
        *(Athlete.left_on, Club.closed_at, *REVISION),
    )
    .join(_printed_for, _printed_for.c.id == Card.athlete_id)
    .join(Athlete, Athlete.id == func.coalesce(_printed_for.c.taken_into_id, _printed_for.c.id))
    .join(Club, Club.id == Card.club_id)
)
HOLDER_OF = _HOLDER.where(Card.code_hash == bindparam("code_hash"))
"""For ``Store.row``: the card whose code was scanned, in whichever state it and its athlete are."""
HOLDER_OF_TYPED = _HOLDER.where(Card.short_code_mark == bindparam("mark"))
"""The same of the card whose short code was typed."""


def by_id(session: Session, card_id: str) -> Card:
    """The card with its athlete, apparatus and model, or ``NotInThisClub``."""
    apparatus = joinedload(Card.apparatus, innerjoin=True)
    whole = [
        joinedload(Card.athlete, innerjoin=True),
        apparatus.joinedload(Apparatus.model, innerjoin=True),
    ]
    found = session.get(Card, card_id, options=whole)
    if found is None:
        raise NotInThisClub(Card.spoken(), card_id)
    return found


def by_code_hash(session: Session, code_hash: str) -> Card | None:
    """The card whose code was scanned, in whichever state it is."""
    return session.scalar(select(Card).where(Card.code_hash == code_hash))


def by_short_code_mark(session: Session, mark: str) -> Card | None:
    """The card whose short code was typed, in whichever state it is."""
    return session.scalar(select(Card).where(Card.short_code_mark == mark))


def for_athletes(session: Session, athlete_ids: Iterable[int], apparatus_id: int) -> list[Card]:
    """Every card of those athletes for the apparatus, the newest first."""
    asked = select(Card).where(
        Card.athlete_id.in_(list(athlete_ids)), Card.apparatus_id == apparatus_id
    )
    return list(session.scalars(asked.order_by(Card.version.desc())))


def set_anew_since(session: Session, card_ids: Iterable[str]) -> Sequence[Athlete]:
    """Whose setting for the apparatus was recorded anew after one of those cards was made."""
    later = (
        (Setting.athlete_id == Athlete.id)
        & (Setting.model_id == Apparatus.model_id)
        & (Setting.purpose == USUAL)
        & (Setting.id > Card.after_setting)
    )
    asked = (
        select(Athlete)
        .join(Card, Card.athlete_id == Athlete.id)
        .join(Apparatus, Apparatus.id == Card.apparatus_id)
        .where(Card.id.in_(list(card_ids)), Card.revoked_at.is_(None), exists().where(later))
    )
    return session.scalars(asked.order_by(Athlete.in_order)).unique().all()


def of_athlete(session: Session, athlete_id: int) -> Sequence[Card]:
    """Every card of the athlete with its apparatus, the newest first.

    Those of entries that were taken in are among them.
    """
    taken_in = select(Athlete.id).where(Athlete.taken_into_id == athlete_id)
    asked = select(Card).where((Card.athlete_id == athlete_id) | Card.athlete_id.in_(taken_in))
    whole = asked.options(joinedload(Card.apparatus, innerjoin=True))
    return session.scalars(whole.order_by(Card.issued_at.desc(), Card.version.desc())).all()
