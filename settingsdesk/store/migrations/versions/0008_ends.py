"""What a hall calls the ends of an apparatus."""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"


def upgrade() -> None:
    """Give every apparatus two ends without names."""
    with op.batch_alter_table("apparatus") as table:
        for name in ("first_end", "second_end"):
            table.add_column(sa.Column(name, sa.String(), nullable=False, server_default=""))
