"""Several settings of an athlete for one model: for competition, training and learning."""

import sqlalchemy as sa
from alembic import op

from settingsdesk.store.migrations.columns import index

revision = "0034"
down_revision = "0033"

PURPOSES = "purpose IN ('competition', 'training', 'learning')"


def upgrade() -> None:
    """Every setting there is, is the usual one: for competition."""
    with op.batch_alter_table("setting") as table:
        table.add_column(
            sa.Column("purpose", sa.String(), nullable=False, server_default="competition")
        )
        table.drop_constraint("uq_setting_club_id_athlete_id_model_id_version", type_="unique")
        table.create_unique_constraint(
            "uq_setting_club_id_athlete_id_model_id_purpose_version",
            ["club_id", "athlete_id", "model_id", "purpose", "version"],
        )
        table.create_check_constraint("purpose", PURPOSES)
    others = sa.column("purpose") != "competition"
    index("setting", "club_id", "purpose", only=others)
