"""More or less mat under an apparatus on one day."""

import sqlalchemy as sa
from alembic import op

from settingsdesk.store.migrations.columns import club, number, parent, whole

revision = "0031"
down_revision = "0030"


def upgrade() -> None:
    """Make the table; no apparatus from before has other mats on any day."""
    op.create_table(
        "mats_of_day",
        number(),
        *club(),
        *parent("apparatus_id", "apparatus"),
        sa.Column("day", sa.Date(), nullable=False),
        whole("more_mm"),
        sa.UniqueConstraint("club_id", "apparatus_id", "day"),
        sa.CheckConstraint("more_mm <> 0", name="more_mm"),
    )
