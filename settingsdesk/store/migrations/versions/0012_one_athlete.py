"""Two entries of one athlete become one: which entry was taken in to which."""

import sqlalchemy as sa
from alembic import op

from settingsdesk.store.migrations.columns import index

revision = "0012"
down_revision = "0011"


def upgrade() -> None:
    """Let an athlete's entry say to which other one of the club it was taken in."""
    with op.batch_alter_table("athlete") as table:
        table.add_column(sa.Column("taken_into_id", sa.Integer()))
        table.create_foreign_key(
            None,
            "athlete",
            ["club_id", "taken_into_id"],
            ["club_id", "id"],
            ondelete="RESTRICT",
        )
    index("athlete", "club_id", "taken_into_id")
