"""Clubs of one desk that enter for a meet of another without files."""

import sqlalchemy as sa
from alembic import op

from settingsdesk.store.migrations.columns import club, index, moment, number, parent, whole, words

revision = "0025"
down_revision = "0024"


def upgrade() -> None:
    """Make the tables; no meet has a guest club yet."""
    _at_the_host()
    _at_the_guest()


def _at_the_host() -> None:
    op.create_table(
        "meet_guest",
        number(),
        *club(),
        *parent("meet_id", "meet"),
        words("entered_as"),
        words("code_hash"),
        moment("made_at"),
        words("made_by"),
        moment("until"),
        sa.Column("guest_club", sa.Integer()),
        sa.Column("accepted_at", sa.DateTime(timezone=True)),
        sa.Column("ended_at", sa.DateTime(timezone=True)),
        sa.UniqueConstraint("club_id", "id"),
        sa.UniqueConstraint("code_hash"),
    )
    index("meet_guest", "club_id", "meet_id")
    op.create_table(
        "meet_delivery",
        number(),
        *club(),
        *parent("meet_guest_id", "meet_guest"),
        moment("at"),
        words("recorded_by"),
        *(whole(name) for name in ("entered", "settings", "left_out")),
    )
    index("meet_delivery", "club_id", "meet_guest_id")


def _at_the_guest() -> None:
    op.create_table(
        "meet_away",
        number(),
        *club(),
        whole("host_club"),
        whole("meet_guest"),
        words("host_name"),
        words("meet_name"),
        sa.Column("ends_on", sa.Date(), nullable=False),
        moment("accepted_at"),
        sa.UniqueConstraint("club_id", "id"),
        sa.UniqueConstraint("host_club", "meet_guest"),
    )
    op.create_table(
        "handed_over",
        number(),
        *club(),
        *parent("meet_away_id", "meet_away"),
        *parent("athlete_id", "athlete"),
        whole("entry"),
        moment("sent_at"),
        sa.Column("withdrawn_at", sa.DateTime(timezone=True)),
        sa.UniqueConstraint("club_id", "meet_away_id", "athlete_id"),
    )
    index("handed_over", "club_id", "athlete_id")
