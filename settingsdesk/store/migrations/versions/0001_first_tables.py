"""The first tables. Constraints and indexes take their names from the metadata's convention."""

import sqlalchemy as sa
from alembic import op

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
        _number(),
        _text("name"),
        _text("length_unit"),
        _moment("created_at"),
        sa.CheckConstraint("length_unit IN ('cm', 'in')", name="length_unit"),
    )
    op.create_table(
        "coach",
        _number(),
        *_club(),
        _text("sign_in_name"),
        _text("shown_name"),
        _text("password_hash"),
        _moment("created_at"),
        sa.UniqueConstraint("club_id", "id"),
        sa.UniqueConstraint("sign_in_name"),
    )
    op.create_table(
        "sign_in",
        _number(),
        *_club(),
        *_parent("coach_id", "coach"),
        _text("stamp_hash"),
        _moment("began_at"),
        sa.UniqueConstraint("stamp_hash"),
    )
    _index("sign_in", "club_id", "coach_id")
    op.create_table(
        "rule_book",
        _number(),
        *_club(),
        _text("name"),
        _json("definition"),
        _moment("edited_at"),
        _text("edited_by"),
        sa.UniqueConstraint("club_id", "name"),
    )


def _athletes() -> None:
    op.create_table(
        "athlete",
        _number(),
        *_club(),
        _text("family_name"),
        _text("given_name"),
        _text("printed_name"),
        _text("group_name"),
        _text("start_number"),
        sa.Column("left_on", sa.Date()),
        _moment("created_at"),
        _text("created_by"),
        _text("searched"),
        sa.UniqueConstraint("club_id", "id"),
    )
    _index("athlete", "club_id", "searched")


def _apparatus() -> None:
    op.create_table(
        "apparatus_model",
        _number(),
        *_club(),
        _text("name"),
        _text("kind"),
        sa.UniqueConstraint("club_id", "id"),
        sa.UniqueConstraint("club_id", "name"),
    )
    op.create_table(
        "apparatus_model_version",
        _number(),
        *_club(),
        *_parent("model_id", "apparatus_model"),
        _whole("version"),
        _json("definition"),
        _moment("recorded_at"),
        _text("recorded_by"),
        _text("reason"),
        sa.UniqueConstraint("club_id", "model_id", "version"),
        sa.CheckConstraint("version >= 1", name="version"),
    )
    op.create_table(
        "apparatus",
        _number(),
        *_club(),
        *_parent("model_id", "apparatus_model"),
        _text("name"),
        _text("place"),
        _whole("mat_mm"),
        _moment("created_at"),
        sa.UniqueConstraint("club_id", "id"),
        sa.UniqueConstraint("club_id", "name"),
        sa.CheckConstraint("mat_mm >= 0", name="mat_mm"),
    )
    _index("apparatus", "club_id", "model_id")
    op.create_table(
        "apparatus_setup",
        _number(),
        *_club(),
        *_parent("apparatus_id", "apparatus"),
        _json("stops"),
        _moment("stood_at"),
        _text("recorded_by"),
        _text("how"),
    )
    _index("apparatus_setup", "club_id", "apparatus_id", "stood_at")
    op.create_table(
        "calibration",
        _number(),
        *_club(),
        *_parent("apparatus_id", "apparatus"),
        _text("axis"),
        _json("measurements"),
        _json("fitted"),
        sa.Column("taken_on", sa.Date(), nullable=False),
        _moment("recorded_at"),
        _text("recorded_by"),
        _text("note"),
        sa.Column("set_aside_at", sa.DateTime(timezone=True)),
        sa.Column("set_aside_by", sa.String()),
    )
    _index("calibration", "club_id", "apparatus_id", "axis", "taken_on")


def _settings() -> None:
    op.create_table(
        "setting",
        _number(),
        *_club(),
        *_parent("athlete_id", "athlete"),
        *_parent("model_id", "apparatus_model"),
        _whole("version"),
        _moment("recorded_at"),
        _text("recorded_by"),
        _text("reason"),
        sa.UniqueConstraint("club_id", "id"),
        sa.UniqueConstraint("club_id", "athlete_id", "model_id", "version"),
        sa.CheckConstraint("version >= 1", name="version"),
    )
    _index("setting", "club_id", "model_id")
    op.create_table(
        "setting_value",
        _number(),
        *_club(),
        *_parent("setting_id", "setting"),
        _text("axis"),
        _whole("wanted_mm"),
        _whole("accepts_mm"),
        _whole("weight"),
        _text("as_read"),
        sa.UniqueConstraint("club_id", "setting_id", "axis"),
        sa.CheckConstraint("accepts_mm >= 0", name="accepts_mm"),
        sa.CheckConstraint("weight >= 0", name="weight"),
    )


def _rotations() -> None:
    op.create_table(
        "rotation",
        _number(),
        *_club(),
        *_parent("apparatus_id", "apparatus"),
        _text("name"),
        sa.Column("held_on", sa.Date(), nullable=False),
        _json("asked"),
        _moment("created_at"),
        _text("created_by"),
        sa.UniqueConstraint("club_id", "id"),
    )
    _index("rotation", "club_id", "apparatus_id")
    _index("rotation", "club_id", "held_on")
    op.create_table(
        "rotation_turn",
        _number(),
        *_club(),
        *_parent("rotation_id", "rotation"),
        *_parent("athlete_id", "athlete"),
        _whole("listed_place"),
        sa.UniqueConstraint("club_id", "rotation_id", "listed_place"),
        sa.UniqueConstraint("club_id", "rotation_id", "athlete_id"),
        sa.CheckConstraint("listed_place >= 1", name="listed_place"),
    )
    _index("rotation_turn", "club_id", "athlete_id")
    op.create_table(
        "rotation_plan",
        _number(),
        *_club(),
        *_parent("rotation_id", "rotation"),
        _moment("made_at"),
        _text("made_by"),
        _json("result"),
    )
    _index("rotation_plan", "club_id", "rotation_id")


def _cards() -> None:
    op.create_table(
        "card",
        sa.Column("id", sa.String(), primary_key=True),
        *_club(),
        *_parent("athlete_id", "athlete"),
        *_parent("apparatus_id", "apparatus"),
        _whole("version"),
        _json("content"),
        _text("code_hash"),
        _text("short_code_mark"),
        _moment("issued_at"),
        _text("issued_by"),
        sa.Column("superseded_at", sa.DateTime(timezone=True)),
        sa.Column("revoked_at", sa.DateTime(timezone=True)),
        sa.UniqueConstraint("code_hash"),
        sa.UniqueConstraint("short_code_mark"),
        sa.UniqueConstraint("club_id", "athlete_id", "apparatus_id", "version"),
        sa.CheckConstraint("version >= 1", name="version"),
        sa.CheckConstraint("length(id) >= 22", name="id_is_long"),
    )
    _index("card", "club_id", "apparatus_id")


def _number() -> sa.Column[int]:
    return sa.Column("id", sa.Integer(), primary_key=True)


def _whole(name: str) -> sa.Column[int]:
    return sa.Column(name, sa.Integer(), nullable=False)


def _text(name: str) -> sa.Column[str]:
    return sa.Column(name, sa.String(), nullable=False)


def _json(name: str) -> sa.Column[object]:
    return sa.Column(name, sa.JSON(), nullable=False)


def _moment(name: str) -> sa.Column[object]:
    return sa.Column(name, sa.DateTime(timezone=True), nullable=False)


def _club() -> tuple[sa.Column[int], sa.ForeignKeyConstraint]:
    return (
        _whole("club_id"),
        sa.ForeignKeyConstraint(["club_id"], ["club.id"], ondelete="RESTRICT"),
    )


def _parent(column: str, parent: str) -> tuple[sa.Column[int], sa.ForeignKeyConstraint]:
    return (
        _whole(column),
        sa.ForeignKeyConstraint(
            ["club_id", column], [f"{parent}.club_id", f"{parent}.id"], ondelete="RESTRICT"
        ),
    )


def _index(table: str, *columns: str) -> None:
    op.create_index(None, table, list(columns))
