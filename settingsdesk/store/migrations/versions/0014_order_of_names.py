"""Names stand in the order of the Unicode Collation Algorithm."""

import sqlalchemy as sa
from alembic import op

from settingsdesk.store.migrations.columns import index
from settingsdesk.store.order_of_names import place_in_order

revision = "0014"
down_revision = "0013"

NAMES = ("family_name", "given_name", "printed_name", "group_name", "start_number")


def upgrade() -> None:
    """Say of each athlete what lists are sorted by, and find names in that order."""
    op.add_column("athlete", sa.Column("in_order", sa.LargeBinary()))
    athlete = sa.table("athlete", sa.column("id"), sa.column("in_order"), *map(sa.column, NAMES))
    connection = op.get_bind()
    filled = [
        {"its_id": row.id, "place": place_in_order(*(getattr(row, name) for name in NAMES))}
        for row in connection.execute(sa.select(athlete)).all()
    ]
    if filled:
        place = sa.bindparam("place", type_=sa.LargeBinary())
        its_own = athlete.c.id == sa.bindparam("its_id")
        connection.execute(sa.update(athlete).where(its_own).values(in_order=place), filled)
    for name in ("", "_group_name"):
        op.drop_index(f"ix_athlete_club_id_meet_id_left_on{name}_searched", "athlete")
    op.drop_index("ix_athlete_club_id_meet_id_searched", "athlete")
    with op.batch_alter_table("athlete") as table:
        table.alter_column("in_order", existing_type=sa.LargeBinary(), nullable=False)
    index("athlete", "club_id", "meet_id", "left_on", "in_order")
    index("athlete", "club_id", "meet_id", "left_on", "group_name", "in_order")
    index("athlete", "club_id", "meet_id", "in_order", only=sa.column("left_on").is_not(None))
