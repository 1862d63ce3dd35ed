"""The first tables. Constraints and indexes take their names from the metadata's convention."""

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

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make every table, parents before children."""
    _clubs()
    _athletes()
    _apparatus()
    _settings()
    _rotations()
    _cards()


def _clubs() -> None:
    op.create_table(
        "club",
        number(),
        words("name"),
        words("length_unit"),
        moment("created_at"),
        sa.CheckConstraint("length_unit IN ('cm', 'in')", name="length_unit"),
    )
    op.create_table(
        "coach",
        number(),
        *club(),
        words("sign_in_name"),
        words("shown_name"),
        words("password_hash"),
        moment("created_at"),
        sa.UniqueConstraint("club_id", "id"),
        sa.UniqueConstraint("sign_in_name"),
    )
    op.create_table(
        "sign_in",
        number(),
        *club(),
        *parent("coach_id", "coach"),
        words("stamp_hash"),
        moment("began_at"),
        sa.UniqueConstraint("stamp_hash"),
    )
    index("sign_in", "club_id", "coach_id")
    op.create_table(
        "rule_book",
        number(),
        *club(),
        words("name"),
        json("definition"),
        moment("edited_at"),
        words("edited_by"),
        sa.UniqueConstraint("club_id", "name"),
    )


def _athletes() -> None:
    op.create_table(
        "athlete",
        number(),
        *club(),
        words("family_name"),
        words("given_name"),
        words("printed_name"),
        words("group_name"),
        words("start_number"),
        sa.Column("left_on", sa.Date()),
        moment("created_at"),
        words("created_by"),
        words("searched"),
        sa.UniqueConstraint("club_id", "id"),
    )
    index("athlete", "club_id", "searched")


def _apparatus() -> None:
    op.create_table(
        "apparatus_model",
        number(),
        *club(),
        words("name"),
        words("kind"),
        sa.UniqueConstraint("club_id", "id"),
        sa.UniqueConstraint("club_id", "name"),
    )
    op.create_table(
        "apparatus_model_version",
        number(),
        *club(),
        *parent("model_id", "apparatus_model"),
        whole("version"),
        json("definition"),
        moment("recorded_at"),
        words("recorded_by"),
        words("reason"),
        sa.UniqueConstraint("club_id", "model_id", "version"),
        sa.CheckConstraint("version >= 1", name="version"),
    )
    op.create_table(
        "apparatus",
        number(),
        *club(),
        *parent("model_id", "apparatus_model"),
        words("name"),
        words("place"),
        whole("mat_mm"),
        moment("created_at"),
        sa.UniqueConstraint("club_id", "id"),
        sa.UniqueConstraint("club_id", "name"),
        sa.CheckConstraint("mat_mm >= 0", name="mat_mm"),
    )
    index("apparatus", "club_id", "model_id")
    op.create_table(
        "apparatus_setup",
        number(),
        *club(),
        *parent("apparatus_id", "apparatus"),
        json("stops"),
        moment("stood_at"),
        words("recorded_by"),
        words("how"),
    )
    index("apparatus_setup", "club_id", "apparatus_id", "stood_at")
    op.create_table(
        "calibration",
        number(),
        *club(),
        *parent("apparatus_id", "apparatus"),
        words("axis"),
        json("measurements"),
        json("fitted"),
        sa.Column("taken_on", sa.Date(), nullable=False),
        moment("recorded_at"),
        words("recorded_by"),
        words("note"),
        sa.Column("set_aside_at", sa.DateTime(timezone=True)),
        sa.Column("set_aside_by", sa.String()),
    )
    index("calibration", "club_id", "apparatus_id", "axis", "taken_on")


def _settings() -> None:
    op.create_table(
        "setting",
        number(),
        *club(),
        *parent("athlete_id", "athlete"),
        *parent("model_id", "apparatus_model"),
        whole("version"),
        moment("recorded_at"),
        words("recorded_by"),
        words("reason"),
        sa.UniqueConstraint("club_id", "id"),
        sa.UniqueConstraint("club_id", "athlete_id", "model_id", "version"),
        sa.CheckConstraint("version >= 1", name="version"),
    )
    index("setting", "club_id", "model_id")
    op.create_table(
        "setting_value",
        number(),
        *club(),
        *parent("setting_id", "setting"),
        words("axis"),
        whole("wanted_mm"),
        whole("accepts_mm"),
        whole("weight"),
        words("as_read"),
        sa.UniqueConstraint("club_id", "setting_id", "axis"),
        sa.CheckConstraint("accepts_mm >= 0", name="accepts_mm"),
        sa.CheckConstraint("weight >= 0", name="weight"),
    )


def _rotations() -> None:
    op.create_table(
        "rotation",
        number(),
        *club(),
        *parent("apparatus_id", "apparatus"),
        words("name"),
        sa.Column("held_on", sa.Date(), nullable=False),
        json("asked"),
        moment("created_at"),
        words("created_by"),
        sa.UniqueConstraint("club_id", "id"),
    )
    index("rotation", "club_id", "apparatus_id")
    index("rotation", "club_id", "held_on")
    op.create_table(
        "rotation_turn",
        number(),
        *club(),
        *parent("rotation_id", "rotation"),
        *parent("athlete_id", "athlete"),
        whole("listed_place"),
        sa.UniqueConstraint("club_id", "rotation_id", "listed_place"),
        sa.UniqueConstraint("club_id", "rotation_id", "athlete_id"),
        sa.CheckConstraint("listed_place >= 1", name="listed_place"),
    )
    index("rotation_turn", "club_id", "athlete_id")
    op.create_table(
        "rotation_plan",
        number(),
        *club(),
        *parent("rotation_id", "rotation"),
        moment("made_at"),
        words("made_by"),
        json("result"),
    )
    index("rotation_plan", "club_id", "rotation_id")


def _cards() -> None:
    op.create_table(
        "card",
        sa.Column("id", sa.String(), primary_key=True),
        *club(),
        *parent("athlete_id", "athlete"),
        *parent("apparatus_id", "apparatus"),
        whole("version"),
        json("content"),
        words("code_hash"),
        words("short_code_mark"),
        moment("issued_at"),
        words("issued_by"),
        sa.Column("superseded_at", sa.DateTime(timezone=True)),
        sa.Column("revoked_at", sa.DateTime(timezone=True)),
        sa.UniqueConstraint("code_hash"),
        sa.UniqueConstraint("short_code_mark"),
        sa.UniqueConstraint("club_id", "athlete_id", "apparatus_id", "version"),
        sa.CheckConstraint("version >= 1", name="version"),
        sa.CheckConstraint("length(id) >= 22", name="id_is_long"),
    )
    index("card", "club_id", "apparatus_id")
