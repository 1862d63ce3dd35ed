"""Who changed what."""

import sqlalchemy as sa
from alembic import op

from settingsdesk.store.migrations.columns import club, index, json, moment, number, words

revision = "0023"
down_revision = "0022"


def upgrade() -> None:
    """Make the table; of what came before nothing is known."""
    op.create_table(
        "change",
        number(),
        *club(),
        moment("at"),
        sa.Column("account", sa.Integer()),
        words("by"),
        json("lines"),
        sa.CheckConstraint("account IS NULL OR account >= 1", name="account"),
    )
    index("change", "club_id", "id")
