"""Indexes that give a large squad's names in order, some at a time."""

import sqlalchemy as sa
from alembic import op

from settingsdesk.store.migrations.columns import index

revision = "0007"
down_revision = "0006"


def upgrade() -> None:
    """Put the new indexes in the place of those that they begin with."""
    index("athlete", "club_id", "meet_id", "left_on", "searched")
    index("athlete", "club_id", "meet_id", "left_on", "group_name", "searched")
    index("athlete", "club_id", "meet_id", "searched", only=sa.column("left_on").is_not(None))
    index("setting", "club_id", "model_id", "athlete_id")
    op.drop_index("ix_athlete_club_id_searched", "athlete")
    op.drop_index("ix_athlete_club_id_meet_id", "athlete")
    op.drop_index("ix_setting_club_id_model_id", "setting")
