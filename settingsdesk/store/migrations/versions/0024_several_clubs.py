"""Clubs that are closed, and who makes and closes them."""

import sqlalchemy as sa
from alembic import op

revision = "0024"
down_revision = "0023"


def upgrade() -> None:
    """Every club is open; whoever has been an owner for longest owns the installation too."""
    op.add_column("club", sa.Column("closed_at", sa.DateTime(timezone=True)))
    op.add_column(
        "account",
        sa.Column("owns_installation", sa.Boolean(), server_default="0", nullable=False),
    )
    op.execute(
        "UPDATE account SET owns_installation = TRUE WHERE id = (SELECT account_id FROM membership"
        " WHERE role = 'owner' AND disabled_at IS NULL ORDER BY id LIMIT 1)"
    )
