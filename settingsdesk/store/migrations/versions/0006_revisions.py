"""The numbers that say whether anything was written since (see ``store/revisions.py``)."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"


def upgrade() -> None:
    """Give every club its two numbers."""
    with op.batch_alter_table("club") as table:
        for name in ("records_revision", "runs_revision"):
            table.add_column(sa.Column(name, sa.BigInteger(), nullable=False, server_default="0"))
