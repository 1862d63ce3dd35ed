"""For how long athletes are kept, and whose data were erased."""

import sqlalchemy as sa
from alembic import op

revision = "0022"
down_revision = "0021"


def upgrade() -> None:
    """Nobody is erased; guests go after the usual time, those who left when somebody says so."""
    op.add_column("athlete", sa.Column("erased_on", sa.Date()))
    with op.batch_alter_table("club") as table:
        table.add_column(
            sa.Column("guests_kept_days", sa.Integer(), nullable=False, server_default="30")
        )
        table.add_column(sa.Column("left_kept_days", sa.Integer()))
        table.add_column(sa.Column("days_seen", sa.JSON(), nullable=False, server_default="[]"))
        table.add_column(sa.Column("last_cleared", sa.JSON()))
        table.create_check_constraint("guests_kept_days", "guests_kept_days >= 0")
        table.create_check_constraint("left_kept_days", "left_kept_days >= 0")
