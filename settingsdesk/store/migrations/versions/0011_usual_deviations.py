"""What a club usually accepts, where an athlete's setting says nothing."""

import sqlalchemy as sa
from alembic import op

from settingsdesk.store.migrations.columns import club, number, whole, words

revision = "0011"
down_revision = "0010"


def upgrade() -> None:
    """Make the table; no club accepts anything of its own to begin with."""
    op.create_table(
        "usual_deviation",
        number(),
        *club(),
        words("kind"),
        words("axis"),
        whole("accepts_mm"),
        sa.CheckConstraint("accepts_mm > 0", name="accepts_mm"),
        sa.UniqueConstraint("club_id", "kind", "axis"),
    )
