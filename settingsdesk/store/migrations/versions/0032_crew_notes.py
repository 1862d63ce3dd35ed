"""A note for the crew of each athlete and model."""

import sqlalchemy as sa
from alembic import op

from settingsdesk.store.migrations.columns import club, index, moment, number, parent, words

revision = "0032"
down_revision = "0031"


def upgrade() -> None:
    """Make the table; nobody has a note yet."""
    op.create_table(
        "crew_note",
        number(),
        *club(),
        *parent("athlete_id", "athlete"),
        *parent("model_id", "apparatus_model"),
        words("words"),
        moment("written_at"),
        words("written_by"),
        sa.UniqueConstraint("club_id", "athlete_id", "model_id"),
    )
    index("crew_note", "club_id", "model_id")
