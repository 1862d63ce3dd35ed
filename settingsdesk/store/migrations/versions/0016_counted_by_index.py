"""A squad is counted, and searched, by an index alone."""

from alembic import op

from settingsdesk.store.migrations.columns import index

revision = "0016"
down_revision = "0015"

PRESENT = ("club_id", "meet_id", "left_on")


def upgrade() -> None:
    """Let the indexes of names say who counts, and what they are found by."""
    for name in ("", "_group_name"):
        op.drop_index(f"ix_athlete_club_id_meet_id_left_on{name}_in_order", "athlete")
    index("athlete", *PRESENT, "taken_into_id", "in_order", "id", "searched")
    index("athlete", *PRESENT, "taken_into_id", "group_name", "in_order")
