"""What every table has in common: names, moments, the club, and being final once written."""

from collections.abc import Sequence
from datetime import UTC, datetime
from functools import cache
from typing import Any, ClassVar, TypeVar

from sqlalchemy import (
    JSON,
    DateTime,
    Dialect,
    ForeignKey,
    ForeignKeyConstraint,
    MetaData,
    Select,
    TypeDecorator,
    UniqueConstraint,
    bindparam,
    inspect,
    select,
)
from sqlalchemy.orm import (
    DeclarativeBase,
    Mapped,
    Relationship,
    Session,
    mapped_column,
    relationship,
)
from sqlalchemy.orm.interfaces import ORMOption

from settingsdesk.store.errors import NotInThisClub

NAMES = {
    "pk": "pk_%(table_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
}


class Moment(TypeDecorator[datetime]):
    """A point in time: goes in with its time zone, is kept and comes back in UTC.

    A datetime without a time zone is refused, because nobody can tell later which hour was meant.
    """

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"{value.isoformat()} has no time zone")
        return value.astimezone(UTC)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        # SQLite keeps no time zone; what was bound above was UTC.
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


class Base(DeclarativeBase):
    """The declarative base. JSON columns hold plain values; assign them whole, never in place."""

    metadata = MetaData(naming_convention=NAMES)
    type_annotation_map = {  # noqa: RUF012 -- SQLAlchemy reads it once, when the class is made
        datetime: Moment,
        dict[str, Any]: JSON,
        list[dict[str, Any]]: JSON,
        list[int]: JSON,
        list[str]: JSON,
    }

    @classmethod
    def spoken(cls) -> str:
        """What a row of this table is called in a message: ``apparatus model version``."""
        return str(cls.__tablename__).replace("_", " ")


Row = TypeVar("Row", bound=Base)


class ClubOwned:
    """A row that belongs to one club for good; ``store.work`` keeps the clubs apart by it."""

    club_id: Mapped[int] = mapped_column(ForeignKey("club.id", ondelete="RESTRICT"))


class InstallationWide:
    """A row that belongs to no club; ``store.work`` finds none of them inside one."""


class AppendOnly:
    """A row that is never changed or deleted once written (see ``append_only``).

    ``part_of`` names the row of which it is nothing but a part, where there is one: with that row,
    which nothing else may hang on, it goes.
    """

    part_of: ClassVar[str] = ""


def of_same_club(column: str, parent: str) -> ForeignKeyConstraint:
    """A reference by ``column`` that only a ``parent`` row of the same club can satisfy."""
    return ForeignKeyConstraint(
        ["club_id", column], [f"{parent}.club_id", f"{parent}.id"], ondelete="RESTRICT"
    )


def referred_to() -> UniqueConstraint:
    """What a table needs so that ``of_same_club`` may point at it."""
    return UniqueConstraint("club_id", "id")


def parent_by(column: str, parent: str, *, back: str | None = None) -> Relationship[Any]:
    """The row of ``parent`` that ``column`` ("Setting.athlete_id") refers to.

    ``back`` is the name of the other side, where it has one.

    Joined by the number alone: that both are of one club is what ``of_same_club`` holds, and the
    club must not be written a second time by way of the reference.
    """
    return relationship(primaryjoin=_join(column, parent), back_populates=back)


def children_by(
    column: str,
    parent: str,
    *,
    order_by: str | None = None,
    back: str | None = None,
    owned: bool = False,
) -> Relationship[Any]:
    """The rows whose ``column`` refers to a row of ``parent``, in order of their numbers.

    ``order_by`` names another order. They go with the row where they are ``owned``; else it cannot
    be deleted while there are any.
    """
    return relationship(
        primaryjoin=_join(column, parent),
        order_by=order_by or f"{column.partition('.')[0]}.id",
        back_populates=back,
        cascade="all, delete-orphan" if owned else "save-update, merge",
        passive_deletes=False if owned else "all",
    )


def _join(column: str, parent: str) -> str:
    return f"{parent}.id == foreign({column})"


def utc_now() -> datetime:
    """The present moment, with its time zone."""
    return datetime.now(UTC)


GREATEST_NUMBER = 2**31 - 1
"""That a row can have on every database."""

_READ_BY_NUMBER = "settingsdesk_read_by_number"
"""A session itself forgets each row that nobody else holds."""


def row_by_id(
    session: Session, entity: type[Row], number: int | str, whole: Sequence[ORMOption] = ()
) -> Row:
    """The row with that number, or ``NotInThisClub``; ``whole`` says what is read with it.

    It stays in its unit of work, so that asking for it again does not read it again.
    """
    can_be = not isinstance(number, int) or number <= GREATEST_NUMBER
    found = _found(session, entity, number, whole) if can_be else None
    if found is None:
        raise NotInThisClub(entity.spoken(), number)
    session.info.setdefault(_READ_BY_NUMBER, set()).add(found)
    return found


def _found(
    session: Session, entity: type[Row], number: int | str, whole: Sequence[ORMOption]
) -> Row | None:
    if whole or inspect(entity).identity_key_from_primary_key((number,)) in session.identity_map:
        return session.get(entity, number, options=whole)
    found: Row | None = session.scalar(_by_number(entity), {"number": number})
    return found


@cache  # nearly every page asks it, and to put it together takes longer than the answer
def _by_number(entity: type[Row]) -> Select[Row]:
    [column] = inspect(entity).primary_key
    return select(entity).where(column == bindparam("number"))
