"""In which language a club prints its cards and crew sheets."""

import sqlalchemy as sa
from alembic import op

revision = "0026"
down_revision = "0025"


def upgrade() -> None:
    """English, as all of them were printed."""
    language = sa.Column("paper_language", sa.String(), nullable=False, server_default="en")
    op.add_column("club", language)
