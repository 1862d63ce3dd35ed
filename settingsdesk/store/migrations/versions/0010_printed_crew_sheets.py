"""What the crew sheet of a start order said when it was last printed."""

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"


def upgrade() -> None:
    """Nothing is known of what was printed before."""
    with op.batch_alter_table("start_order") as table:
        column = sa.Column("printed_version", sa.String(), nullable=False, server_default="")
        table.add_column(column)
