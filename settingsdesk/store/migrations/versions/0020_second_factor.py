"""A second factor beside the password."""

import sqlalchemy as sa
from alembic import op

from settingsdesk.store.migrations.columns import index, number, whole, words

revision = "0020"
down_revision = "0019"


def upgrade() -> None:
    """Make the columns and the table; nobody has one yet, and no club needs one."""
    op.add_column("account", sa.Column("second_factor_salt", sa.String()))
    op.add_column("account", sa.Column("second_factor_step", sa.Integer()))
    for table, column in (("club", "second_factor_needed"), ("sign_in", "waits_for_code")):
        op.add_column(table, sa.Column(column, sa.Boolean(), server_default="0", nullable=False))
    op.create_table(
        "recovery_code",
        number(),
        whole("account_id"),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], ondelete="RESTRICT"),
        words("code_hash"),
        sa.UniqueConstraint("code_hash"),
    )
    index("recovery_code", "account_id")
