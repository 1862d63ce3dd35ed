"""Rotations under way: runs and their events."""

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Make the tables, parents before children."""
