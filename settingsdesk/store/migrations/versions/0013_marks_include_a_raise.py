"""Whether an athlete's marks include a raise that was granted, as somebody said it."""

import sqlalchemy as sa
from alembic import op

revision = "0013"
down_revision = "0012"


def upgrade() -> None:
    """Nobody has said it of what was granted before."""
    with op.batch_alter_table("raise_request") as table:
        table.add_column(sa.Column("marks_include", sa.Boolean(), nullable=True))
