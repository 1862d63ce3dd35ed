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
    account = sa.table("account", sa.column("id"), sa.column("owns_installation", sa.Boolean()))
    member = sa.table("membership", *map(sa.column, ("id", "account_id", "role", "disabled_at")))
    owners = sa.select(member.c.account_id).where(
        member.c.role == "owner", member.c.disabled_at.is_(None)
    )
    first = owners.order_by(member.c.id).limit(1).scalar_subquery()
    op.execute(account.update().where(account.c.id == first).values(owns_installation=True))
