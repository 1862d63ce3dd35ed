"""Which key the codes on cards are made with."""

import sqlalchemy as sa
from alembic import op

from settingsdesk.store.migrations.columns import moment, number, words

revision = "0021"
down_revision = "0020"


def upgrade() -> None:
    """Make the table; the next start writes the fingerprint of the key that is there."""
    op.create_table(
        "card_key",
        number(),
        words("fingerprint"),
        moment("used_since"),
        sa.Column("former_until", sa.Date()),
        sa.UniqueConstraint("fingerprint"),
    )
