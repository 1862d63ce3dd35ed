"""The columns that the tables of every revision have in common."""

import sqlalchemy as sa
from alembic import op


def number() -> sa.Column[int]:
    """The row's own number."""
    return sa.Column("id", sa.Integer(), primary_key=True)


def whole(name: str) -> sa.Column[int]:
    """A whole number that must be there."""
    return sa.Column(name, sa.Integer(), nullable=False)


def words(name: str) -> sa.Column[str]:
    """Text that must be there, perhaps empty."""
    return sa.Column(name, sa.String(), nullable=False)


def json(name: str) -> sa.Column[object]:
    """Plain values as JSON."""
    return sa.Column(name, sa.JSON(), nullable=False)


def moment(name: str) -> sa.Column[object]:
    """A moment in UTC that must be there."""
    return sa.Column(name, sa.DateTime(timezone=True), nullable=False)


def club() -> tuple[sa.Column[int], sa.ForeignKeyConstraint]:
    """The club that the row belongs to."""
    return (
        whole("club_id"),
        sa.ForeignKeyConstraint(["club_id"], ["club.id"], ondelete="RESTRICT"),
    )


def parent(column: str, parent: str) -> tuple[sa.Column[int], sa.ForeignKeyConstraint]:
    """A reference to a row of the same club."""
    return (
        whole(column),
        sa.ForeignKeyConstraint(
            ["club_id", column], [f"{parent}.club_id", f"{parent}.id"], ondelete="RESTRICT"
        ),
    )


def index(table: str, *columns: str, only: sa.ColumnElement[bool] | None = None) -> None:
    """An index on those columns, named by the convention; of all rows, or of ``only`` some."""
    op.create_index(None, table, list(columns), sqlite_where=only, postgresql_where=only)
