"""Checks, findings, photos, check lists and parts."""

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Make the tables, parents before children."""
