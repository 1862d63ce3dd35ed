"""Where the marks of a model are read: a line of words and a photo for each axis."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime

from sqlalchemy import Row, UniqueConstraint, select
from sqlalchemy.orm import Mapped, Session, mapped_column

from settingsdesk.store.base import Base, ClubOwned, of_same_club, utc_now
from settingsdesk.store.checks import Photo


class MarkPhoto(ClubOwned, Base):
    """How the mark of one axis of a model is read; the photo may be gone, or the words empty."""

    __tablename__ = "mark_photo"
    __table_args__ = (
        of_same_club("model_id", "apparatus_model"),
        of_same_club("photo_id", "photo"),
        UniqueConstraint("club_id", "model_id", "axis"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    model_id: Mapped[int]
    axis: Mapped[str]
    words: Mapped[str]
    photo_id: Mapped[int | None]
    changed_at: Mapped[datetime] = mapped_column(default=utc_now)
    changed_by: Mapped[str]


def of_models(
    session: Session, model_ids: Iterable[int]
) -> Sequence[Row[MarkPhoto, int | None, int | None]]:
    """Those of some models, each with the width and height of its photo in pixels."""
    asked = select(MarkPhoto, Photo.width_px, Photo.height_px).outerjoin(
        Photo, Photo.id == MarkPhoto.photo_id
    )
    return session.execute(asked.where(MarkPhoto.model_id.in_(list(model_ids)))).all()


def find(session: Session, model_id: int, axis: str) -> MarkPhoto | None:
    """That of one axis, if there is one."""
    asked = select(MarkPhoto).where(MarkPhoto.model_id == model_id, MarkPhoto.axis == axis)
    return session.scalar(asked)
