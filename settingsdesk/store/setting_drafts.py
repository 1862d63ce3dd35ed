"""What is known of a setting that is not whole yet, so that nobody types it a second time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Index, or_, select
from sqlalchemy.orm import Mapped, Session, mapped_column

from settingsdesk.store.apparatus_models import ApparatusModel
from settingsdesk.store.athletes import Athlete
from settingsdesk.store.base import Base, ClubOwned, of_same_club, parent_by, utc_now
from settingsdesk.store.settings import LAST
from settingsdesk.store.work import add_rows


class SettingDraft(ClubOwned, Base):
    """The axes of one athlete's setting on one model that a list told, where it lacks another.

    It is nothing any more once a whole setting is kept; a newer list of theirs takes its place.
    """

    __tablename__ = "setting_draft"
    __table_args__ = (
        of_same_club("athlete_id", "athlete"),
        of_same_club("model_id", "apparatus_model"),
        Index(None, "club_id", "athlete_id"),
        Index(None, "club_id", "model_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    athlete_id: Mapped[int]
    model_id: Mapped[int]
    axes: Mapped[dict[str, Any]]
    """By axis: "length_mm", canonical, or "mark"; and "as_read", as it stands in the list."""
    marks_of: Mapped[str]
    """On whose scale marks are, as ``desk/lists/mark_scales`` has it; empty where nobody said."""
    kept_at: Mapped[datetime] = mapped_column(default=utc_now)
    kept_by: Mapped[str]
    after_setting: Mapped[int] = mapped_column(default=LAST, server_default="0")
    """Settings with greater numbers were kept after it."""

    athlete: Mapped[Athlete] = parent_by("SettingDraft.athlete_id", "Athlete")
    model: Mapped[ApparatusModel] = parent_by("SettingDraft.model_id", "ApparatusModel")


def of_athlete(session: Session, athlete_id: int) -> Sequence[SettingDraft]:
    """The newest draft of an athlete for each model, of entries that were taken in, too."""
    theirs = select(Athlete.id).where(
        or_(Athlete.id == athlete_id, Athlete.taken_into_id == athlete_id)
    )
    asked = select(SettingDraft).where(SettingDraft.athlete_id.in_(theirs))
    newest = {row.model_id: row for row in session.scalars(asked.order_by(SettingDraft.id))}
    return list(newest.values())


def add_all(session: Session, rows: Sequence[Mapping[str, Any]]) -> None:
    """Further drafts, by column."""
    add_rows(session, SettingDraft, rows)
