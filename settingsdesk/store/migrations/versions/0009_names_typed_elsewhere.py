"""Names are found as they are typed elsewhere, too: ae for ä, without apostrophes."""

import sqlalchemy as sa
from alembic import op

from settingsdesk.domain.base.names import findable

revision = "0009"
down_revision = "0008"

NAMES = ("family_name", "given_name", "printed_name", "group_name", "start_number")


def upgrade() -> None:
    """Fill anew what athletes are found by, where that changes anything."""
    athlete = sa.table("athlete", sa.column("id"), sa.column("searched"), *map(sa.column, NAMES))
    connection = op.get_bind()
    changed = [
        {"its_id": row.id, "found_by": found_by}
        for row in connection.execute(sa.select(athlete)).all()
        if (found_by := findable(getattr(row, name) for name in NAMES)) != row.searched
    ]
    if changed:
        its_own = athlete.c.id == sa.bindparam("its_id")
        filled = sa.update(athlete).where(its_own).values(searched=sa.bindparam("found_by"))
        connection.execute(filled, changed)
