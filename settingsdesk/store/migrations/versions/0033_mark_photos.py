"""Where the marks of a model are read, in a line and a photo."""

import sqlalchemy as sa
from alembic import op

from settingsdesk.store.migrations.columns import club, moment, number, parent, words

revision = "0033"
down_revision = "0032"


def upgrade() -> None:
    """Make the table; no model has a line or a photo yet."""
    op.create_table(
        "mark_photo",
        number(),
        *club(),
        *parent("model_id", "apparatus_model"),
        words("axis"),
        words("words"),
        sa.Column("photo_id", sa.Integer()),
        moment("changed_at"),
        words("changed_by"),
        sa.ForeignKeyConstraint(
            ["club_id", "photo_id"], ["photo.club_id", "photo.id"], ondelete="RESTRICT"
        ),
        sa.UniqueConstraint("club_id", "model_id", "axis"),
    )
