"""What holders of cards say is wrong with them, and what the coach answered."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import datetime
from functools import cache

from sqlalchemy import BindParameter, CheckConstraint, Index, Select, bindparam, func, select
from sqlalchemy.orm import Mapped, Session, joinedload, mapped_column
from sqlalchemy.orm.interfaces import ORMOption

from settingsdesk.store.apparatus import Apparatus
from settingsdesk.store.apparatus_models import ApparatusModel
from settingsdesk.store.athletes import Athlete
from settingsdesk.store.base import Base, ClubOwned, of_same_club, parent_by, row_by_id, utc_now


class CardRemark(ClubOwned, Base):
    """Something is wrong, as somebody says who holds a card; no account, no name."""

    __tablename__ = "card_remark"
    __table_args__ = (
        of_same_club("athlete_id", "athlete"),
        of_same_club("apparatus_id", "apparatus"),
        Index(None, "club_id", "athlete_id"),
        CheckConstraint("card_version >= 1", name="card_version"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    athlete_id: Mapped[int]
    apparatus_id: Mapped[int]
    card_version: Mapped[int]
    said: Mapped[str]
    received_at: Mapped[datetime] = mapped_column(default=utc_now)
    answer: Mapped[str] = mapped_column(default="")
    answered_at: Mapped[datetime | None]
    answered_by: Mapped[str | None]

    athlete: Mapped[Athlete] = parent_by("CardRemark.athlete_id", "Athlete")
    apparatus: Mapped[Apparatus] = parent_by("CardRemark.apparatus_id", "Apparatus")


def by_id(session: Session, remark_id: int) -> CardRemark:
    """The remark, or ``NotInThisClub``."""
    return row_by_id(session, CardRemark, remark_id, _whole())


def unanswered(session: Session) -> Sequence[CardRemark]:
    """Every remark that no coach has answered, the oldest first."""
    asked = select(CardRemark).options(*_whole()).where(CardRemark.answered_at.is_(None))
    return session.scalars(asked.order_by(CardRemark.id)).all()


def of_athlete(session: Session, athlete_id: int) -> Sequence[CardRemark]:
    """Every remark about an athlete's cards, the newest first."""
    asked = select(CardRemark).options(*_whole()).where(CardRemark.athlete_id == athlete_id)
    return session.scalars(asked.order_by(CardRemark.id.desc())).all()


def waiting_about(
    session: Session, athlete_ids: Collection[int], kinds: Collection[str]
) -> set[int]:
    """About whom of these a remark on a card for apparatus of such a kind has no answer yet."""
    if not athlete_ids:
        return set()
    given = {"athlete_ids": list(athlete_ids), "kinds": list(kinds)}
    return set(session.scalars(_waiting_about(), given))


@cache  # every page that shows marks asks it, and to put it together takes longer than the answer
def _waiting_about() -> Select[int]:
    athletes: BindParameter[int] = bindparam("athlete_ids", expanding=True)
    kinds: BindParameter[str] = bindparam("kinds", expanding=True)
    return select(CardRemark.athlete_id).where(
        CardRemark.athlete_id.in_(athletes),
        CardRemark.answered_at.is_(None),
        CardRemark.apparatus.has(Apparatus.model.has(ApparatusModel.kind.in_(kinds))),
    )


def received_since(session: Session, athlete_id: int, moment: datetime) -> int:
    """How many remarks about an athlete's cards came in after a moment."""
    asked = select(func.count()).select_from(CardRemark)
    asked = asked.where(CardRemark.athlete_id == athlete_id, CardRemark.received_at > moment)
    return session.scalar(asked) or 0


def _whole() -> tuple[ORMOption, ...]:
    return (
        joinedload(CardRemark.athlete, innerjoin=True),
        joinedload(CardRemark.apparatus, innerjoin=True),
    )
