"""Tries in vain, and phones that are let in to a station by hand."""

import sqlalchemy as sa
from alembic import op

from settingsdesk.store.migrations.columns import club, index, moment, number, parent, words

revision = "0019"
down_revision = "0018"


def upgrade() -> None:
    """Make the tables; what was counted in memory before is forgotten by the restart."""
    op.create_table(
        "failed_try",
        number(),
        words("counted"),
        sa.Column("at_ms", sa.BigInteger(), nullable=False),
    )
    index("failed_try", "counted", "at_ms")
    index("failed_try", "at_ms")
    op.create_table(
        "station_let_in",
        number(),
        *club(),
        *parent("station_id", "station"),
        words("code_mark"),
        words("let_in_by"),
        moment("until"),
        sa.Column("used_at", sa.DateTime(timezone=True)),
        sa.UniqueConstraint("code_mark"),
    )
    index("station_let_in", "club_id", "station_id")
