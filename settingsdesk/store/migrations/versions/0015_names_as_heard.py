"""Each athlete's name on cards is kept as it is heard, so that no two are printed alike."""

import sqlalchemy as sa
from alembic import op

from settingsdesk.domain.base.names import heard, usual_name
from settingsdesk.store.migrations.columns import index

revision = "0015"
down_revision = "0014"

NAMES = ("family_name", "given_name", "printed_name")


def upgrade() -> None:
    """Say of each athlete how the name on cards is heard, and find by it."""
    op.add_column("athlete", sa.Column("heard_name", sa.String()))
    athlete = sa.table("athlete", sa.column("id"), sa.column("heard_name"), *map(sa.column, NAMES))
    connection = op.get_bind()
    filled = [
        {
            "its_id": row.id,
            "as_heard": heard(row.printed_name or usual_name(row.family_name, row.given_name)),
        }
        for row in connection.execute(sa.select(athlete)).all()
    ]
    if filled:
        its_own = athlete.c.id == sa.bindparam("its_id")
        to_be = sa.update(athlete).where(its_own).values(heard_name=sa.bindparam("as_heard"))
        connection.execute(to_be, filled)
    with op.batch_alter_table("athlete") as table:
        table.alter_column("heard_name", existing_type=sa.String(), nullable=False)
    index("athlete", "club_id", "meet_id", "left_on", "heard_name")
