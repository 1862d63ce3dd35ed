"""Settings that a coach confirmed, growth that a coach noted, and how long a season is."""

import sqlalchemy as sa
from alembic import op

from settingsdesk.store.migrations.columns import club, index, moment, number, parent, whole, words

revision = "0028"
down_revision = "0026"


def upgrade() -> None:
    """Nobody is known to have grown, and every setting was tried; the season is as usual."""
    with op.batch_alter_table("club") as table:
        table.add_column(sa.Column("season_days", sa.Integer(), server_default="180"))
        table.create_check_constraint("season_days", "season_days >= 0")
    op.add_column("setting", sa.Column("looked_at", sa.DateTime(timezone=True)))
    op.add_column(
        "setting", sa.Column("answers_growth", sa.Integer(), nullable=False, server_default="0")
    )
    op.add_column("setting", sa.Column("untried", sa.Boolean(), nullable=False, server_default="0"))
    op.create_table(
        "growth",
        number(),
        *club(),
        *parent("athlete_id", "athlete"),
        whole("number"),
        moment("recorded_at"),
        words("recorded_by"),
    )
    index("growth", "club_id", "athlete_id")
    op.create_table(
        "setting_confirmation",
        number(),
        *club(),
        *parent("athlete_id", "athlete"),
        *parent("setting_id", "setting"),
        moment("recorded_at"),
        words("recorded_by"),
        whole("answers_growth"),
    )
    index("setting_confirmation", "club_id", "athlete_id")
    index("setting_confirmation", "club_id", "setting_id")
