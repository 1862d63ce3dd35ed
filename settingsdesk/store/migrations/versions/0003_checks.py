"""Checks, findings, photos, check lists and parts."""

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

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Make the tables, parents before children."""
    _lists()
    _photos()
    _findings()
    _checks()
    _parts()


def _lists() -> None:
    op.create_table(
        "check_list_version",
        number(),
        *club(),
        words("kind"),
        words("occasion"),
        whole("version"),
        _yes_or_no("shipped"),
        json("items"),
        whole("interval_months"),
        moment("recorded_at"),
        words("recorded_by"),
        sa.UniqueConstraint("club_id", "kind", "occasion", "version"),
        sa.CheckConstraint("version >= 1", name="version"),
        sa.CheckConstraint("interval_months >= 0", name="interval_months"),
    )


def _photos() -> None:
    op.create_table(
        "photo",
        number(),
        *club(),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        whole("width_px"),
        whole("height_px"),
        moment("recorded_at"),
        words("recorded_by"),
        sa.UniqueConstraint("club_id", "id"),
    )


def _findings() -> None:
    op.create_table(
        "finding",
        number(),
        *club(),
        *parent("apparatus_id", "apparatus"),
        words("item"),
        words("words"),
        _yes_or_no("withdraws"),
        words("press_key"),
        moment("recorded_at"),
        words("recorded_by"),
        sa.UniqueConstraint("club_id", "id"),
        sa.UniqueConstraint("club_id", "press_key"),
    )
    index("finding", "club_id", "apparatus_id")
    op.create_table(
        "finding_step",
        number(),
        *club(),
        *parent("finding_id", "finding"),
        words("step"),
        words("remark"),
        *_perhaps("photo_id", "photo"),
        moment("recorded_at"),
        words("recorded_by"),
        sa.UniqueConstraint("club_id", "finding_id", "step"),
    )


def _checks() -> None:
    op.create_table(
        "apparatus_check",
        number(),
        *club(),
        *parent("apparatus_id", "apparatus"),
        words("occasion"),
        whole("list_version"),
        sa.Column("made_on", sa.Date(), nullable=False),
        words("place"),
        words("made_by"),
        words("address"),
        words("second_by"),
        words("remark"),
        words("recheck"),
        sa.Column("recheck_on", sa.Date()),
        words("press_key"),
        moment("recorded_at"),
        words("recorded_by"),
        sa.UniqueConstraint("club_id", "id"),
        sa.UniqueConstraint("club_id", "press_key"),
    )
    index("apparatus_check", "club_id", "apparatus_id", "made_on")
    op.create_table(
        "check_answer",
        number(),
        *club(),
        *parent("check_id", "apparatus_check"),
        whole("place"),
        words("item"),
        words("group_key"),
        words("words"),
        words("source"),
        words("answer"),
        _yes_or_no("together"),
        words("remark"),
        *_perhaps("photo_id", "photo"),
        *_perhaps("finding_id", "finding"),
        sa.UniqueConstraint("club_id", "check_id", "item"),
    )
    index("check_answer", "club_id", "finding_id")


def _parts() -> None:
    op.create_table(
        "part",
        number(),
        *club(),
        words("name"),
        words("kind"),
        whole("minimum"),
        moment("created_at"),
        words("created_by"),
        sa.UniqueConstraint("club_id", "id"),
        sa.UniqueConstraint("club_id", "name"),
        sa.CheckConstraint("minimum >= 0", name="minimum"),
    )
    op.create_table(
        "part_count",
        number(),
        *club(),
        *parent("part_id", "part"),
        whole("counted"),
        words("remark"),
        moment("recorded_at"),
        words("recorded_by"),
        sa.CheckConstraint("counted >= 0", name="counted"),
    )
    index("part_count", "club_id", "part_id")


def _yes_or_no(name: str) -> sa.Column[bool]:
    return sa.Column(name, sa.Boolean(), nullable=False)


def _perhaps(column: str, table: str) -> tuple[sa.Column[int], sa.ForeignKeyConstraint]:
    """A reference to a row of the same club, or to none."""
    _, reference = parent(column, table)
    return sa.Column(column, sa.Integer()), reference
