"""What every table has in common: names, moments, the club, and being final once written."""

import unicodedata
from datetime import UTC, datetime
from typing import Any, TypeVar

from sqlalchemy import (
    JSON,
    DateTime,
    Dialect,
    ForeignKey,
    ForeignKeyConstraint,
    MetaData,
    TypeDecorator,
    UniqueConstraint,
)
from sqlalchemy.orm import DeclarativeBase, Mapped, Session, mapped_column

from settingsdesk.store.errors import NotInThisClub

NAMES = {
    "pk": "pk_%(table_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
}

# Letters that Unicode does not take apart into a letter and an accent.
PLAIN_LETTERS = str.maketrans(
    {"æ": "ae", "ð": "d", "đ": "d", "ħ": "h", "ı": "i", "ł": "l", "ø": "o", "œ": "oe", "þ": "th"}
)


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
    }

    @classmethod
    def spoken(cls) -> str:
        """What a row of this table is called in a message: ``apparatus model version``."""
        return str(cls.__tablename__).replace("_", " ")


Row = TypeVar("Row", bound=Base)


class ClubOwned:
    """A row that belongs to one club for good; ``store.work`` keeps the clubs apart by it."""

    club_id: Mapped[int] = mapped_column(ForeignKey("club.id", ondelete="RESTRICT"))


class AppendOnly:
    """A row that is never changed or deleted once written (see ``append_only``)."""


def of_same_club(column: str, parent: str) -> ForeignKeyConstraint:
    """A reference by ``column`` that only a ``parent`` row of the same club can satisfy."""
    return ForeignKeyConstraint(
        ["club_id", column], [f"{parent}.club_id", f"{parent}.id"], ondelete="RESTRICT"
    )


def referred_to() -> UniqueConstraint:
    """What a table needs so that ``of_same_club`` may point at it."""
    return UniqueConstraint("club_id", "id")


def utc_now() -> datetime:
    """The present moment, with its time zone."""
    return datetime.now(UTC)


def folded(text: str) -> str:
    """The text as searched and sorted: lower case, without accents, blanks made single."""
    apart = unicodedata.normalize("NFKD", text.casefold())
    plain = "".join(letter for letter in apart if not unicodedata.combining(letter))
    return " ".join(plain.translate(PLAIN_LETTERS).split())


def one(session: Session, entity: type[Row], number: int | str) -> Row:
    """The row with that number, or ``NotInThisClub``."""
    found = session.get(entity, number)
    if found is None:
        raise NotInThisClub(entity.spoken(), number)
    return found
