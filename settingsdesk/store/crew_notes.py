"""Notes for the crew: what whoever sets a model for an athlete should know besides the marks."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime

from sqlalchemy import Index, UniqueConstraint, select
from sqlalchemy.orm import Mapped, Session, mapped_column

from settingsdesk.store.base import Base, ClubOwned, of_same_club, utc_now


class CrewNote(ClubOwned, Base):
    """The note of one athlete for one model; without one there is no row."""

    __tablename__ = "crew_note"
    __table_args__ = (
        of_same_club("athlete_id", "athlete"),
        of_same_club("model_id", "apparatus_model"),
        UniqueConstraint("club_id", "athlete_id", "model_id"),
        Index(None, "club_id", "model_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    athlete_id: Mapped[int]
    model_id: Mapped[int]
    words: Mapped[str]
    written_at: Mapped[datetime] = mapped_column(default=utc_now)
    written_by: Mapped[str]


def of_athletes(session: Session, athlete_ids: Iterable[int]) -> Sequence[CrewNote]:
    """The notes of those athletes, as they were written for themselves."""
    asked = select(CrewNote).where(CrewNote.athlete_id.in_(list(athlete_ids)))
    return session.scalars(asked.order_by(CrewNote.id)).all()


def find(session: Session, athlete_id: int, model_id: int) -> CrewNote | None:
    """The note of an athlete for a model, if there is one."""
    asked = select(CrewNote).where(CrewNote.athlete_id == athlete_id, CrewNote.model_id == model_id)
    return session.scalar(asked)
