"""Every row of one database in another, value by value the same: from SQLite to a server and back.

Two databases know values by different types. What is compared is the form in which SQLite keeps
one: a whole number, a fraction, a text, bytes or nothing; moments and days are texts there, and
what is JSON stays the text that was written. What was read out of the one and what is read anew
out of the other are counted and summed up table by table, and both must be the same.
"""

from collections.abc import Callable, Generator, Iterator, Mapping
from contextlib import closing
from datetime import UTC, date, datetime
from hashlib import sha256
from itertools import islice
from typing import Any, NamedTuple

from sqlalchemy import (
    JSON,
    BigInteger,
    Boolean,
    Column,
    Connection,
    Date,
    DateTime,
    Float,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    TableClause,
    Text,
    cast,
    column,
    func,
    insert,
    inspect,
    select,
    table,
)

from settingsdesk.store import server
from settingsdesk.store.base import Base
from settingsdesk.store.errors import NotTheSame, ValueNotKept

NO_ROWS_OF_OURS = frozenset({"alembic_version", server.UNFINISHED_MOVE.name})
"""Tables that say something of the database itself."""

AT_ONCE = 200
"""So many rows are in memory."""

SUMS = 1 << 256
NUL = "\0"

Values = tuple[Any, ...]


class _Form(NamedTuple):
    """How a value goes to a server and comes back as SQLite keeps it; ``ValueError`` if not."""

    to_server: Callable[[Any], Any]
    kept: Callable[[Any], Any]


def carry(source: Connection, target: Connection) -> Mapping[str, int]:
    """Put all rows of one database into the other; how many there are now, by table.

    What the server's tables of ours had goes, and no other table is touched; a file's are new. One
    of the two is SQLite and the other a server, both with tables of one revision. Each of the
    connections is in one transaction, the source's sees one moment. Nothing is committed here.
    Raises ``ValueNotKept``, ``NotTheSame`` and ``OthersReferToOurs``.
    """
    to_server = target.dialect.name != "sqlite"
    tables = _tables_of_ours(target) if to_server else _tables_of_ours(source, as_in=target)
    if to_server:
        server.empty(target, tables)
    counts = {}
    for one in tables:
        forms = {c.name: _form(c) for c in one.columns}
        # Closed here: where it is not read to its end, whoever hears why would keep it open.
        with closing(
            _kept_rows(source, one) if to_server else _server_rows(source, one, forms)
        ) as rows:
            put = _Tally(rows)
            if to_server:
                server.pour(target, one.name, list(forms), _for_server(one, forms, put))
                server.count_on(target, one)
                found = _server_rows(target, one, forms)
            else:
                while some := [dict(zip(forms, r, strict=True)) for r in islice(put, AT_ONCE)]:
                    target.execute(insert(_as_kept(one)), some)
                found = _kept_rows(target, one)
        there = _Tally(found)
        for _ in there:
            pass
        if (there.rows, there.total) != (put.rows, put.total):
            raise NotTheSame(one.name, put.rows, there.rows)
        counts[one.name] = there.rows
    if to_server:
        server.gather_statistics(target, tables)
    return counts


def has_a_desk(connection: Connection) -> bool:
    """Whether there is a club or an account in a database of this version."""
    return any(
        connection.scalar(select(func.count()).select_from(table(name)))
        for name in ("club", "account")
    )


def _tables_of_ours(server: Connection, as_in: Connection | None = None) -> list[Table]:
    """As the server has them; first those that others refer to.

    They have the names of this version's, or those of a new file that has nothing else: another
    program may have tables beside them.
    """
    names = inspect(as_in).get_table_names() if as_in else Base.metadata.tables
    ours = frozenset(names) - NO_ROWS_OF_OURS
    found = MetaData()
    found.reflect(server, only=lambda name, _: name in ours, resolve_fks=False)
    return found.sorted_tables


class _Tally:
    """Rows that go by: how many, and the sum of their SHA-256, in which their order is nothing."""

    def __init__(self, rows: Iterator[Values]):
        self._rows = rows
        self.rows = self.total = 0

    def __iter__(self) -> Iterator[Values]:
        return self

    def __next__(self) -> Values:
        row = next(self._rows)
        self.rows += 1
        self.total = (self.total + int.from_bytes(sha256(repr(row).encode()).digest())) % SUMS
        return row


def _as_kept(one: Table) -> TableClause:
    """The same table for SQLite, with values as they are kept."""
    return table(one.name, *(column(c.name) for c in one.columns))


def _kept_rows(connection: Connection, one: Table) -> Generator[Values]:
    with connection.execute(
        select(_as_kept(one)), execution_options={"yield_per": AT_ONCE}
    ) as found:
        yield from map(tuple, found)


def _server_rows(
    connection: Connection, one: Table, forms: Mapping[str, _Form]
) -> Generator[Values]:
    asked = select(*(cast(c, Text) if isinstance(c.type, JSON) else c for c in one.columns))
    kept = [form.kept for form in forms.values()]
    with connection.execute(asked, execution_options={"yield_per": AT_ONCE}) as found:
        for row in found:
            yield tuple(
                None if value is None else as_kept(value)
                for as_kept, value in zip(kept, row, strict=True)
            )


def _for_server(one: Table, forms: Mapping[str, _Form], rows: Iterator[Values]) -> Iterator[Values]:
    for row in rows:
        given = []
        for (name, form), value in zip(forms.items(), row, strict=True):
            try:
                given.append(None if value is None else form.to_server(value))
            except (ValueError, TypeError) as error:
                raise ValueNotKept(
                    one.name, name, dict(zip(forms, row, strict=True))["id"]
                ) from error
        yield tuple(given)


def _form(of: Column[Any]) -> _Form:
    """By the type that the server has for the column."""
    kind = of.type
    if isinstance(kind, JSON | String):
        return _Form(_text, str)
    for of_type, form in _FORMS.items():
        if isinstance(kind, of_type):
            return form
    raise TypeError(f"{of.table.name}.{of.name} has a type that is not moved: {kind!r}")


def _text(value: Any) -> str:
    if not isinstance(value, str) or NUL in value:
        raise ValueError("a server keeps no such text")
    return value


def _whole(bits: int) -> Callable[[Any], int]:
    def checked(value: Any) -> int:
        if type(value) is not int or not -(1 << bits - 1) <= value < 1 << bits - 1:
            raise ValueError("no whole number of that size")
        return value

    return checked


def _truth(value: Any) -> bool:
    if type(value) is not int or value not in (0, 1):
        raise ValueError("neither true nor false")
    return bool(value)


def _fraction(value: Any) -> float:
    if type(value) is not float:
        raise ValueError("no fraction")
    return value


def _bytes(value: Any) -> bytes:
    if type(value) is not bytes:
        raise ValueError("no bytes")
    return value


def _moment(value: Any) -> datetime:
    moment = datetime.fromisoformat(value).replace(tzinfo=UTC)
    if _moment_kept(moment) != value:
        raise ValueError("a moment in another form")
    return moment


def _moment_kept(moment: datetime) -> str:
    return moment.astimezone(UTC).replace(tzinfo=None).isoformat(" ", "microseconds")


def _day(value: Any) -> date:
    day = date.fromisoformat(value)
    if day.isoformat() != value:
        raise ValueError("a day in another form")
    return day


_FORMS: Mapping[type[Any], _Form] = {
    BigInteger: _Form(_whole(64), int),
    Integer: _Form(_whole(32), int),
    Boolean: _Form(_truth, int),
    DateTime: _Form(_moment, _moment_kept),
    Date: _Form(_day, date.isoformat),
    Float: _Form(_fraction, float),
    LargeBinary: _Form(_bytes, bytes),
}
"""A wider one stands before the narrower, which takes it for one of its own."""
