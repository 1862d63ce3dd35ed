"""PostgreSQL: one database for several processes. Everything that only it knows is in this module.

What SQLite gives for nothing is asked for here. A unit of work that reads sees one moment
(REPEATABLE READ). One that writes waits for its turn in its club by an advisory lock, so that what
it read still holds when it writes, and no two ever wait for each other.
"""

import os
import secrets
import socket
from collections.abc import Iterable, Sequence
from contextlib import suppress
from hashlib import sha256
from typing import Any, Self

from sqlalchemy import (
    URL,
    Column,
    Connection,
    Engine,
    ExceptionContext,
    Integer,
    MetaData,
    String,
    Table,
    bindparam,
    create_engine,
    event,
    func,
    make_url,
    select,
)
from sqlalchemy.exc import SQLAlchemyError
from sqlalchemy.pool import NullPool

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.store.errors import (
    CharacterNotKept,
    DatabaseDoesNotAnswer,
    DatabaseInUse,
    DeskIsBusy,
    DriverMissing,
    GivenUpForOthers,
    NoRoomLeft,
    OthersReferToOurs,
    RowsNotTaken,
)

DRIVER = "postgresql+psycopg"

CONNECTIONS = 10
"""One for each thread that serves, and some that work by themselves."""
CONNECT_SECONDS = 5

ALL_CLUBS = 0
LOCKS = 0x5E77
"""The first of the two numbers of every lock of ours; the second is the club's."""
UPGRADING, SERVING = -1, -2
SHOWN_BYTES = 63
"""Of what a connection is called: PostgreSQL shows no more."""

UNFINISHED_MOVE = Table("unfinished_move", MetaData(), Column("move", String, nullable=False))
"""Is there while a database comes to the server and may not be worked in; which move it is."""

LOCK_NOT_AVAILABLE, DISK_FULL = "55P03", "53100"
GIVEN_UP = frozenset({"40001", "40P01"})
NO_CHARACTER = frozenset({"22021", "22P05"})
"""PostgreSQL, appendix A, error codes."""


def open_engine(url: URL, wait_seconds: float) -> Engine:
    """An engine for daily work; ``DriverMissing`` without psycopg."""
    engine = _made(
        url,
        isolation_level="REPEATABLE READ",
        pool_size=CONNECTIONS,
        pool_pre_ping=True,
    )
    _say_errors_in_words(engine, wait_seconds)
    return engine


def for_writing(engine: Engine) -> Engine:
    """The same pool, for transactions that see what was written before they had their turn."""
    return engine.execution_options(isolation_level="READ COMMITTED")


def for_looking(engine: Engine) -> Engine:
    """The same pool, for single statements that read."""
    return engine.execution_options(isolation_level="AUTOCOMMIT")


def open_for_upgrade(url: URL, wait_seconds: float) -> Engine:
    """An engine for one upgrade; another one that begins meanwhile waits for its end."""
    engine = for_writing(_made(url, poolclass=NullPool))
    _say_errors_in_words(engine, wait_seconds)

    @event.listens_for(engine, "begin")
    def _wait_for_others(connection: Connection) -> None:
        connection.exec_driver_sql(f"SET LOCAL lock_timeout = {round(wait_seconds * 1000)}")
        connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({LOCKS}, {UPGRADING})")

    return engine


def take_turn(connection: Connection, club_id: int | None) -> None:
    """Wait until nobody else writes in that club; with None, until nobody writes in any."""
    if club_id is None:
        connection.execute(_LOCK_ALL)
    else:
        connection.execute(_LOCK_CLUB, {"club": club_id})


class DatabaseLock:
    """The right to be the only desk that serves or replaces what is in a server's database.

    Held from entering to leaving, by a connection of its own: a process that dies lets go of it at
    once, a machine that is switched off within half a minute. ``DatabaseInUse`` where another desk
    has it. Processes that are forked from the one that entered belong to the same desk.
    """

    def __init__(self, address: str, home: str, what_for: str):
        """``home`` is the desk's machine and folder.

        ``what_for`` is told to whoever comes second, such as "serving at 127.0.0.1, port 8000".
        """
        self._mark = f"desk {_short(home)}{secrets.token_hex(4)} "
        called = f"{self._mark}{what_for}, {socket.gethostname()}"
        shown = called.encode("ascii", "replace")[:SHOWN_BYTES].decode()
        self._engine = _for_the_lock(address, shown)
        self._connections: list[tuple[int, Connection]] = []

    def __enter__(self) -> Self:
        if (other := self.taken_by()) is not None:
            raise DatabaseInUse(str(self._engine.url.database), other)
        return self

    def __exit__(self, *_: object) -> None:
        for process, connection in self._connections:
            if process == os.getpid():  # another one's is left to it, open as it is
                with suppress(SQLAlchemyError, SettingsDeskError):
                    connection.close()

    def taken_by(self) -> str | None:
        """What the other desk is there for, where one has it; None where this one has.

        A connection that was cut let go of it: then it is taken again, unless somebody was quicker.
        """
        connection = self._engine.connect()
        if connection.scalar(_TRY_TO_SERVE):
            # While its machine is away the server would hold it for two hours.
            for name, value in (("idle", 10), ("interval", 5), ("count", 3)):
                connection.exec_driver_sql(f"SET tcp_keepalives_{name} = {value}")
            self._connections.append((os.getpid(), connection))
            return None
        holder = _holder(connection)
        connection.close()
        return None if holder.startswith(self._mark) else _what_for(holder)


def served_elsewhere(address: str, home: str) -> str | None:
    """What a desk of another folder or machine has the database for; None where none has."""
    engine = _for_the_lock(address, "settingsdesk")
    with engine.connect() as connection:
        holder = _holder(connection)
    return None if not holder or holder.startswith(f"desk {_short(home)}") else _what_for(holder)


def _for_the_lock(address: str, called: str) -> Engine:
    url = make_url(address).set(drivername=DRIVER)
    engine = _made(url, called, poolclass=NullPool, isolation_level="AUTOCOMMIT")
    _say_errors_in_words(engine, CONNECT_SECONDS)
    return engine


def _short(home: str) -> str:
    return sha256(home.encode()).hexdigest()[:8]


def _holder(connection: Connection) -> str:
    """What the connection that serves is called; empty where it has just gone."""
    return "".join(connection.exec_driver_sql(_WHO_SERVES, (LOCKS, SERVING)).scalars())


def _what_for(holder: str) -> str:
    return holder.partition(" ")[2].partition(" ")[2]


def empty(connection: Connection, tables: Iterable[Table]) -> None:
    """Take all rows out of those tables, and out of no other.

    ``OthersReferToOurs`` where a row of another table could be left without what it belongs to.
    """
    names = [_quoted(connection, table.name) for table in tables]
    if others := connection.exec_driver_sql(_OTHERS_THAT_REFER, (names,)).scalars().all():
        raise OthersReferToOurs(str(connection.engine.url.database), others)
    # ONLY: not what another table inherits from one of them.
    connection.exec_driver_sql(f"TRUNCATE {', '.join(f'ONLY {name}' for name in names)}")


def pour(
    connection: Connection, table: str, columns: Sequence[str], rows: Iterable[Sequence[Any]]
) -> None:
    """Put many rows into a table; they may refer to each other, in whatever order they come.

    Values go as they are, none is read as another type first. ``RowsNotTaken`` where the server
    refuses one, and what else it says in words.
    """
    import psycopg  # only where a server is used: it is an extra

    named = ", ".join(_quoted(connection, name) for name in columns)
    into = f"COPY {_quoted(connection, table)} ({named}) FROM STDIN"
    driver: Any = connection.connection.driver_connection
    try:
        with driver.cursor() as cursor, cursor.copy(into) as copy:
            for row in rows:
                copy.write_row(row)
    except psycopg.Error as error:
        # None of SQLAlchemy's own statements: it hands no error of these to its listeners.
        said = _in_words(error, CONNECT_SECONDS)
        raise (said or RowsNotTaken(table, str(error).splitlines()[0])) from error


def gather_statistics(connection: Connection, tables: Iterable[Table]) -> None:
    """Let the server see how many rows there are, by which it chooses how a question is answered.

    It looks by itself within a minute; until then a page of a large squad took most of one.
    """
    named = ", ".join(_quoted(connection, table.name) for table in tables)
    connection.exec_driver_sql(f"ANALYZE {named}")


def leave_no_traces(looking: Engine, tables: Iterable[Table], wait_seconds: float) -> None:
    """Write those tables and their indexes anew, without what was deleted from them.

    A row that was deleted lies there until nobody can see it any more, and its bytes until others
    are written over them: ``VACUUM FULL`` leaves both behind with the old file. The statistics, in
    which common values stand, are made anew too. ``DeskIsBusy`` while somebody sees an older
    moment, or reads for longer. What the server writes besides (its log, its copies elsewhere) is
    out of a client's reach.
    """
    with looking.connect() as connection:
        connection.exec_driver_sql(_WAIT_FOR_OLDER_MOMENTS.format(round(wait_seconds * 1000)))
        named = ", ".join(_quoted(connection, table.name) for table in tables)
        connection.exec_driver_sql(f"VACUUM (FULL, ANALYZE) {named}")


def count_on(connection: Connection, table: Table) -> None:
    """Have the next row of a table numbered after the greatest number in it."""
    number = table.c.get("id")
    if number is None or not isinstance(number.type, Integer):
        return
    sequence = func.pg_get_serial_sequence(_quoted(connection, table.name), number.name)
    # What is not called yet gives the value itself.
    after = func.coalesce(func.max(number) + 1, 1)
    connection.execute(select(func.setval(sequence, select(after).scalar_subquery(), False)))


def _quoted(connection: Connection, name: str) -> str:
    return connection.dialect.identifier_preparer.quote(name)


_OTHERS_THAT_REFER = (
    "WITH ours AS (SELECT %s::text[]::regclass[] AS tables)"
    " SELECT DISTINCT conrelid::regclass::text FROM pg_constraint, ours WHERE contype = 'f'"
    " AND confrelid = ANY(tables) AND conrelid <> ALL(tables) ORDER BY 1"
)
_WHO_SERVES = (
    "SELECT coalesce(application_name, '') FROM pg_locks LEFT JOIN pg_stat_activity USING (pid)"
    " WHERE locktype = 'advisory' AND granted AND objsubid = 2"
    " AND pg_locks.database = (SELECT oid FROM pg_database WHERE datname = current_database())"
    " AND classid = %s::integer::oid AND objid = %s::integer::oid"
)
_WAIT_FOR_OLDER_MOMENTS = f"""
DO $$
DECLARE
    began xid8 := pg_current_xact_id();
    gives_up_at timestamptz := clock_timestamp() + {{}} * interval '1 millisecond';
BEGIN
    COMMIT;
    WHILE pg_snapshot_xmin(pg_current_snapshot()) < began OR EXISTS (
        SELECT FROM pg_stat_activity WHERE datname = current_database()
        AND pid <> pg_backend_pid() AND backend_type = 'client backend'
        AND age(backend_xmin) > age(began::xid)
    ) LOOP
        IF clock_timestamp() > gives_up_at THEN
            RAISE 'somebody sees an older moment' USING ERRCODE = '{LOCK_NOT_AVAILABLE}';
        END IF;
        PERFORM pg_sleep(0.02);
        COMMIT;
    END LOOP;
END $$
"""
"""Until nobody writes since before, in any database of the server, or reads here what was there.

The server waits by itself, since each look would be another question; each is a transaction of its
own, or all of them would see what the first one saw.
"""
_TRY_TO_SERVE = select(func.pg_try_advisory_lock(LOCKS, SERVING))
_LOCK_ALL = select(func.pg_advisory_xact_lock(LOCKS, ALL_CLUBS))
_LOCK_CLUB = select(
    func.pg_advisory_xact_lock_shared(LOCKS, ALL_CLUBS),
    func.pg_advisory_xact_lock(LOCKS, bindparam("club", type_=Integer)),
)


def _made(url: URL, called: str = "settingsdesk", **settings: Any) -> Engine:
    try:
        return create_engine(
            url,
            hide_parameters=True,
            connect_args={
                "connect_timeout": CONNECT_SECONDS,
                "application_name": called,
                "client_encoding": "utf8",
            },
            **settings,
        )
    except ModuleNotFoundError as missing:
        raise DriverMissing from missing


def _say_errors_in_words(engine: Engine, wait_seconds: float) -> None:
    @event.listens_for(engine, "connect")
    def _wait_so_long(connection: Any, _record: Any) -> None:
        with connection.cursor() as cursor:
            cursor.execute(f"SET lock_timeout = {round(wait_seconds * 1000)}")
        connection.commit()

    @event.listens_for(engine, "handle_error")
    def _say_it(context: ExceptionContext) -> None:
        if context.is_pre_ping:
            return  # a connection that was cut while nobody used it is made anew
        error = context.original_exception
        said = _in_words(error, wait_seconds)
        if said is not None:
            raise said from error


def _in_words(error: BaseException, wait_seconds: float) -> SettingsDeskError | None:
    """What a coach can do about it; None where it is a mistake of the program."""
    import psycopg  # only where a server is used: it is an extra

    state = getattr(error, "sqlstate", None)
    if state == LOCK_NOT_AVAILABLE:
        return DeskIsBusy(wait_seconds)
    if state in GIVEN_UP:
        return GivenUpForOthers()
    if state == DISK_FULL:
        return NoRoomLeft()
    if state in NO_CHARACTER or (isinstance(error, psycopg.DataError) and "(0x00)" in str(error)):
        return CharacterNotKept()
    if isinstance(error, psycopg.OperationalError | psycopg.InterfaceError):
        return DatabaseDoesNotAnswer(str(error).strip().splitlines()[0] if str(error) else "")
    return None
