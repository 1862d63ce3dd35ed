"""What was left out of clubs' lists, until it is settled."""

import sqlalchemy as sa
from alembic import op

from settingsdesk.store.migrations.columns import club, index, moment, number, parent, words

revision = "0005"
down_revision = "0004"


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "left_out",
        number(),
        *club(),
        *parent("meet_id", "meet"),
        sa.Column("athlete_id", sa.Integer()),
        sa.ForeignKeyConstraint(
            ["club_id", "athlete_id"], ["athlete.club_id", "athlete.id"], ondelete="RESTRICT"
        ),
        words("sent_by"),
        words("layout_key"),
        words("place"),
        words("read"),
        words("why"),
        moment("told_at"),
        words("told_by"),
        sa.Column("settled_at", sa.DateTime(timezone=True)),
        sa.Column("settled_by", sa.String()),
    )
    index("left_out", "club_id", "meet_id")
    index("left_out", "club_id", "athlete_id")
