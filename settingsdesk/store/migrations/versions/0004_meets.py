"""Meets, start orders, stations, remarks about cards, and how lists are read."""

import sqlalchemy as sa
from alembic import op

from settingsdesk.store.migrations.columns import (
    club,
    index,
    json,
    moment,
    number,
    parent,
    whole,
    words,
)

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    """Make the tables, parents before children, and give old ones their new columns."""
    _meets()
    _athletes_and_cards()
    _entries()
    _start_orders()
    _stations()
    _remarks_and_lists()


def _meets() -> None:
    op.create_table(
        "meet",
        number(),
        *club(),
        words("name"),
        words("hall"),
        _day("begins_on"),
        _day("ends_on"),
        _day("cards_until"),
        words("note"),
        moment("created_at"),
        words("created_by"),
        sa.UniqueConstraint("club_id", "id"),
        sa.CheckConstraint("ends_on >= begins_on", name="days"),
    )
    index("meet", "club_id", "begins_on")
    op.create_table(
        "meet_session",
        number(),
        *club(),
        *parent("meet_id", "meet"),
        whole("number"),
        words("name"),
        _day("held_on"),
        words("begins_at"),
        sa.UniqueConstraint("club_id", "id"),
        sa.UniqueConstraint("club_id", "meet_id", "number"),
        sa.CheckConstraint("number >= 1", name="number"),
    )
    op.create_table(
        "meet_apparatus",
        number(),
        *club(),
        *parent("meet_id", "meet"),
        *parent("apparatus_id", "apparatus"),
        words("rule_book"),
        words("level"),
        sa.UniqueConstraint("club_id", "meet_id", "apparatus_id"),
    )
    index("meet_apparatus", "club_id", "apparatus_id")


def _athletes_and_cards() -> None:
    with op.batch_alter_table("athlete") as table:
        table.add_column(sa.Column("meet_id", sa.Integer()))
        table.create_foreign_key(
            op.f("fk_athlete_club_id_meet_id_meet"),
            "meet",
            ["club_id", "meet_id"],
            ["club_id", "id"],
            ondelete="RESTRICT",
        )
    index("athlete", "club_id", "meet_id")
    with op.batch_alter_table("card") as table:
        table.add_column(sa.Column("counts_until", sa.Date()))


def _entries() -> None:
    op.create_table(
        "entry",
        number(),
        *club(),
        *parent("meet_id", "meet"),
        *parent("athlete_id", "athlete"),
        words("from_club"),
        words("start_number"),
        words("division"),
        moment("entered_at"),
        words("entered_by"),
        _perhaps_moment("withdrawn_at"),
        sa.Column("withdrawn_by", sa.String()),
        sa.UniqueConstraint("club_id", "id"),
        sa.UniqueConstraint("club_id", "meet_id", "athlete_id"),
    )
    index("entry", "club_id", "athlete_id")
    op.create_table(
        "raise_request",
        number(),
        *club(),
        *parent("entry_id", "entry"),
        *parent("apparatus_id", "apparatus"),
        words("step"),
        whole("raise_mm"),
        words("told_by"),
        _day("told_on"),
        words("remark"),
        moment("recorded_at"),
        words("recorded_by"),
        sa.CheckConstraint("raise_mm >= 0", name="raise_mm"),
        sa.CheckConstraint("step IN ('asked', 'granted', 'refused', 'dropped')", name="step"),
    )
    index("raise_request", "club_id", "entry_id")


def _start_orders() -> None:
    op.create_table(
        "start_order",
        number(),
        *club(),
        *parent("rotation_id", "rotation"),
        *parent("session_id", "meet_session"),
        *parent("apparatus_id", "apparatus"),
        whole("number"),
        words("came_by"),
        moment("set_at"),
        words("set_by"),
        sa.UniqueConstraint("club_id", "rotation_id"),
        sa.UniqueConstraint("club_id", "session_id", "apparatus_id", "number"),
        sa.CheckConstraint("number >= 1", name="number"),
        sa.CheckConstraint("came_by IN ('typed', 'imported', 'drawn')", name="came_by"),
    )


def _stations() -> None:
    op.create_table(
        "station",
        number(),
        *club(),
        *parent("session_id", "meet_session"),
        *parent("apparatus_id", "apparatus"),
        sa.Column("key", sa.String(), nullable=False, unique=True),
        sa.Column("code_hash", sa.String(), nullable=False, unique=True),
        sa.Column("short_code_mark", sa.String(), nullable=False, unique=True),
        moment("opened_at"),
        words("opened_by"),
        moment("until"),
        _perhaps_moment("closed_at"),
        sa.Column("closed_by", sa.String()),
        sa.UniqueConstraint("club_id", "id"),
    )
    index("station", "club_id", "session_id")
    index("station", "club_id", "apparatus_id")
    op.create_table(
        "station_phone",
        number(),
        *club(),
        *parent("station_id", "station"),
        words("shown_name"),
        sa.Column("stamp_hash", sa.String(), nullable=False, unique=True),
        moment("let_in_at"),
        _perhaps_moment("put_out_at"),
    )
    index("station_phone", "club_id", "station_id")


def _remarks_and_lists() -> None:
    op.create_table(
        "card_remark",
        number(),
        *club(),
        *parent("athlete_id", "athlete"),
        *parent("apparatus_id", "apparatus"),
        whole("card_version"),
        words("said"),
        moment("received_at"),
        words("answer"),
        _perhaps_moment("answered_at"),
        sa.Column("answered_by", sa.String()),
        sa.CheckConstraint("card_version >= 1", name="card_version"),
    )
    index("card_remark", "club_id", "athlete_id")
    op.create_table(
        "list_mapping",
        number(),
        *club(),
        words("sent_by"),
        words("layout_key"),
        json("mapping"),
        moment("kept_at"),
        words("kept_by"),
        sa.UniqueConstraint("club_id", "sent_by", "layout_key"),
    )


def _day(name: str) -> sa.Column[object]:
    return sa.Column(name, sa.Date(), nullable=False)


def _perhaps_moment(name: str) -> sa.Column[object]:
    return sa.Column(name, sa.DateTime(timezone=True))
