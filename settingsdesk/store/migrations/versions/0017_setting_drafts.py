"""What is known of settings that are not whole yet."""

from alembic import op

from settingsdesk.store.migrations.columns import club, index, json, moment, number, parent, words

revision = "0017"
down_revision = "0016"


def upgrade() -> None:
    """Make the table; nothing of a list from before is known."""
    op.create_table(
        "setting_draft",
        number(),
        *club(),
        *parent("athlete_id", "athlete"),
        *parent("model_id", "apparatus_model"),
        json("axes"),
        words("marks_of"),
        moment("kept_at"),
        words("kept_by"),
    )
    index("setting_draft", "club_id", "athlete_id")
    index("setting_draft", "club_id", "model_id")
