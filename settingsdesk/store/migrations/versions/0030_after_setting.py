"""After which of a club's settings something was made: which came first is told by numbers."""

from bisect import bisect_right
from collections import defaultdict
from itertools import accumulate
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0030"
down_revision = "0028"

MADE = {
    "card": "issued_at",
    "raise_request": "recorded_at",
    "setting_draft": "kept_at",
    "handed_over": "sent_at",
}
"""By table, when a row was made."""


def upgrade() -> None:
    """What is there came after the settings of moments before, as it was told until now."""
    for name in MADE:
        with op.batch_alter_table(name) as table:
            table.add_column(
                sa.Column("after_setting", sa.Integer(), nullable=False, server_default="0")
            )
    # Moments are compared as the database gives them, on SQLite as texts of one form.
    recorded: dict[int, list[tuple[Any, int]]] = defaultdict(list)
    for club_id, number, moment in _rows("setting", "recorded_at"):
        recorded[club_id].append((moment, number))
    moments, greatest = {}, {}
    for club_id, rows in recorded.items():
        rows.sort()
        moments[club_id] = [moment for moment, _ in rows]
        greatest[club_id] = [0, *accumulate((number for _, number in rows), max)]
    for name, made_at in MADE.items():
        numbered = [
            {"row": row, "after": greatest[club_id][bisect_right(moments[club_id], moment)]}
            for club_id, row, moment in _rows(name, made_at)
            if club_id in recorded
        ]
        if numbered:
            own = sa.table(name, sa.column("id"), sa.column("after_setting"))
            change = sa.update(own).where(own.c.id == sa.bindparam("row"))
            op.get_bind().execute(change.values(after_setting=sa.bindparam("after")), numbered)


def _rows(table: str, made_at: str) -> list[tuple[int, Any, Any]]:
    """The club, the number and the moment of each row."""
    own = sa.table(table, sa.column("club_id"), sa.column("id"), sa.column(made_at))
    asked = sa.select(own.c.club_id, own.c.id, own.c[made_at])
    return [(row[0], row[1], row[2]) for row in op.get_bind().execute(asked)]
