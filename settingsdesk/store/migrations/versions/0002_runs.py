"""Rotations under way: runs and their events."""

import sqlalchemy as sa
from alembic import op

from settingsdesk.store.migrations.columns import (
    club,
    index,
    json,
    moment,
    number,
    parent,
    whole,
    words,
)

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Make the tables, parents before children."""
    op.create_table(
        "run",
        number(),
        *club(),
        *parent("rotation_id", "rotation"),
        *parent("apparatus_id", "apparatus"),
        whole("model_version"),
        moment("begun_at"),
        sa.Column("over_at", sa.DateTime(timezone=True)),
        sa.UniqueConstraint("club_id", "id"),
        sa.CheckConstraint("model_version >= 1", name="model_version"),
    )
    index("run", "club_id", "apparatus_id")
    index("run", "club_id", "rotation_id")
    op.create_table(
        "run_event",
        number(),
        *club(),
        *parent("run_id", "run"),
        whole("number"),
        words("word"),
        json("told"),
        moment("at"),
        words("by"),
        sa.UniqueConstraint("club_id", "run_id", "number"),
        sa.CheckConstraint("number >= 1", name="number"),
    )
