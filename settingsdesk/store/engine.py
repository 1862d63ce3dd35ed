"""The database engine. Everything that only SQLite knows is in this module.

SQLite is kept with a write-ahead log and every commit on the disk before it is acknowledged;
transactions begin here and not in the driver, because a plain BEGIN cannot be turned into a
writing one once somebody else has written in between. What a server does otherwise is in
``store.server``.
"""

import os
import sqlite3
import time
from collections.abc import Iterable
from contextlib import closing
from pathlib import Path
from typing import Any, cast

from sqlalchemy import (
    URL,
    Connection,
    Engine,
    ExceptionContext,
    Table,
    create_engine,
    event,
    make_url,
)
from sqlalchemy.dialects import registry
from sqlalchemy.dialects.sqlite.pysqlite import SQLiteDialect_pysqlite
from sqlalchemy.pool import NullPool
from sqlalchemy.sql.compiler import InsertmanyvaluesSentinelOpts

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.store import server
from settingsdesk.store.errors import (
    CopyIsDamaged,
    DatabaseIsDamaged,
    DatabaseIsElsewhere,
    DatabaseNotWritable,
    DeskIsBusy,
    JournalNotPossible,
    NoRoomLeft,
)

WAIT_SECONDS = 5.0
"""How long a writer waits for its turn."""

UPGRADE_WAIT_SECONDS = 60.0
"""How long an upgrade waits for another upgrade to end."""

MOST_IN_ONE_INSERT = 4_000
"""So many rows go into one statement, fewer where they have many columns."""

READING, WRITING, LOOKING = "BEGIN", "BEGIN IMMEDIATE", ""
"""By which words a transaction begins; a single statement that reads needs none."""

DRIVER = "sqlite+desk"
OPENED = "settingsdesk_opened"
"""Which file a connection has open."""

UNFINISHED = ".unfinished"
"""Ends the name of a copy that is being made."""

LOGS = ("-wal", "-shm")
"""What SQLite keeps beside a database: it must never meet another one."""


def database_url(where: str | Path | URL) -> URL:
    """The address of a database: a path means an SQLite file, a text is an address already."""
    if isinstance(where, Path):
        return URL.create("sqlite", database=str(where))
    url = make_url(where)
    return url.set(drivername=server.DRIVER) if url.drivername == "postgresql" else url


def database_file(url: URL) -> Path | None:
    """The file of an SQLite database; None where the database is a server's."""
    return Path(url.database) if _is_sqlite(url) and url.database else None


def open_engine(where: str | Path | URL, *, wait_seconds: float = WAIT_SECONDS) -> Engine:
    """An engine for daily work; its transactions read, those of ``for_writing`` write."""
    url = database_url(where)
    if not _is_sqlite(url):
        return server.open_engine(url, wait_seconds)
    engine = _engine(url, READING, wait_seconds)
    _set_up_connections(engine, wait_seconds, foreign_keys=True)
    return engine


def for_writing(engine: Engine) -> Engine:
    """The same pool, with transactions that hold the right to write from their beginning."""
    if not _is_sqlite(engine.url):
        return server.for_writing(engine)
    return _of_the_same_pool(engine, WRITING)


def for_looking(engine: Engine) -> Engine:
    """The same pool, for single statements that read: each sees one moment without a BEGIN."""
    if not _is_sqlite(engine.url):
        return server.for_looking(engine)
    return _of_the_same_pool(engine, LOOKING)


def open_for_upgrade(where: str | Path | URL) -> Engine:
    """An engine for one upgrade; a new database file is readable by its owner only.

    Foreign keys are off from before the transaction begins: rebuilding a table would otherwise
    delete what refers to it. ``broken_references`` takes their place before the commit.
    """
    url = database_url(where)
    if not _is_sqlite(url):
        return server.open_for_upgrade(url, UPGRADE_WAIT_SECONDS)
    engine = _engine(url, WRITING, UPGRADE_WAIT_SECONDS, poolclass=NullPool)
    _make_private(Path(str(url.database)))
    _set_up_connections(engine, UPGRADE_WAIT_SECONDS, foreign_keys=False)
    return engine


def take_turn(connection: Connection, club_id: int | None) -> None:
    """Hold the right to write in a club, or with None in all of them, until the transaction ends.

    A transaction of SQLite holds it from its beginning. ``DeskIsBusy``.
    """
    if not _is_sqlite(connection.engine.url):
        server.take_turn(connection, club_id)


def broken_references(connection: Connection) -> int:
    """The number of rows that refer to a row that is not there."""
    if connection.dialect.name != "sqlite":
        return 0  # other databases check at once
    return len(connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall())


def leave_no_traces(looking: Engine, tables: Iterable[Table], wait_seconds: float) -> None:
    """Write the file anew without what was deleted, and empty its write-ahead log.

    ``secure_delete`` overwrites what is deleted, but not where a page was rearranged (what SQLite
    leaves between its cells), and the log keeps pages as they were until it is begun again.
    ``looking`` begins nothing by itself (``for_looking``). ``DeskIsBusy`` while somebody reads.
    A server does the same with those tables.
    """
    if not _is_sqlite(looking.url):
        server.leave_no_traces(looking, tables, wait_seconds)
        return
    with looking.connect() as connection:
        connection.exec_driver_sql("VACUUM")
        busy, *_ = connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)").one()
    if busy:
        raise DeskIsBusy(wait_seconds)


def copy_database(source: Path, target: Path) -> None:
    """A checked copy of the SQLite database as it is committed now, readable by its owner only.

    It may be made while others write. Raises ``CopyIsDamaged``, ``NoRoomLeft`` and what else keeps
    SQLite from it, and leaves no copy then.
    """
    unfinished = target.with_name(target.name + UNFINISHED)
    unfinished.unlink(missing_ok=True)
    unfinished.touch(mode=0o600)
    try:
        with (
            closing(sqlite3.connect(source)) as original,
            closing(sqlite3.connect(unfinished)) as copy,
        ):
            original.backup(copy)
            # A copy is one file: it must not need a log beside it.
            copy.execute("PRAGMA journal_mode = DELETE")
        finding = damage_of(unfinished)
    except sqlite3.Error as error:
        unfinished.unlink()
        raise (
            _in_words(error, str(source), WAIT_SECONDS) or CopyIsDamaged(source, str(error))
        ) from error
    if finding is not None:
        unfinished.unlink()
        raise CopyIsDamaged(source, finding)
    write_through(unfinished)
    unfinished.replace(target)
    write_through(target.parent)


def damage_of(file: Path) -> str | None:
    """What is wrong with an SQLite file that nobody has open; None where it is sound.

    Every page is read, every index compared with its table, every reference followed.
    """
    try:
        with closing(sqlite3.connect(file)) as database:
            (finding,) = database.execute("PRAGMA integrity_check").fetchone()
            if finding != "ok":
                return str(finding)
            broken = database.execute("PRAGMA foreign_key_check").fetchall()
            return f"{len(broken)} references lead nowhere" if broken else None
    except sqlite3.DatabaseError as error:
        return str(error)


def _which(file: str) -> tuple[int, int] | None:
    """What tells the file under that name from every other; None where there is none."""
    try:
        found = os.stat(file)
    except OSError:
        return None
    return found.st_dev, found.st_ino


def _is_sqlite(url: URL) -> bool:
    return url.get_backend_name() == "sqlite"


def _make_private(file: Path) -> None:
    """Make the file, empty and readable by its owner only, if it is not there yet."""
    try:
        file.touch(mode=0o600)
    except OSError as error:
        raise DatabaseNotWritable(str(file), str(error.strerror)) from error


def _into_write_ahead(connection: sqlite3.Connection, wait_seconds: float) -> str:
    """Switch the file to its write-ahead log; gives the journal that it has then.

    SQLite does not wait here as ``busy_timeout`` says: of two that open a new file at once, the
    second is refused while the first switches it. It is asked again until the time is over.
    """
    gives_up_at = time.monotonic() + wait_seconds
    while True:
        try:
            (journal,) = connection.execute("PRAGMA journal_mode = WAL").fetchone()
        except sqlite3.OperationalError as refusal:
            if "locked" not in str(refusal) or time.monotonic() > gives_up_at:
                raise
            time.sleep(0.02)
        else:
            return str(journal)


class DeskSQLite(SQLiteDialect_pysqlite):
    """SQLite whose transactions begin by our words, and not by those of the driver.

    A listener for it would have SQLAlchemy look for listeners at every step of every statement.
    """

    supports_statement_cache = True

    def __init__(self, begins_by: str, wait_seconds: float, database: str, **settings: Any) -> None:
        super().__init__(**settings)
        self.begins_by, self.wait_seconds, self.database = begins_by, wait_seconds, database
        # Rows of one INSERT are numbered in the order of its VALUES, each one more than the
        # greatest number before (sqlite.org/autoinc.html), so the numbers tell which row is which.
        # Unless it is told so, SQLAlchemy inserts rows whose numbers it wants back one by one.
        self.insertmanyvalues_implicit_sentinel = InsertmanyvaluesSentinelOpts.AUTOINCREMENT

    def do_begin(self, dbapi_connection: Any) -> None:
        """Straight to the driver: by way of the connection it costs as much as a query."""
        if not self.begins_by:
            return
        if self.begins_by == WRITING and _which(self.database) != dbapi_connection.info[OPENED]:
            # It is still open under a name that is gone: what is written would be lost with it.
            raise DatabaseIsElsewhere(self.database)
        dbapi_connection.cursor().execute(self.begins_by)


registry.register(DRIVER.replace("+", "."), __name__, DeskSQLite.__name__)


def _engine(url: URL, begins_by: str, wait_seconds: float, **pool: Any) -> Engine:
    database = str(url.database)
    engine = create_engine(
        url.set(drivername=DRIVER),
        begins_by=begins_by,
        wait_seconds=wait_seconds,
        database=database,
        insertmanyvalues_page_size=MOST_IN_ONE_INSERT,
        hide_parameters=True,
        **pool,
    )

    @event.listens_for(engine, "handle_error")
    def _say_it_in_words(context: ExceptionContext) -> None:
        error = context.original_exception
        if isinstance(error, sqlite3.Error):
            said = _in_words(error, database, wait_seconds)
            if said is not None:
                raise said from error

    return engine


def _of_the_same_pool(engine: Engine, begins_by: str) -> Engine:
    wait_seconds = cast("DeskSQLite", engine.dialect).wait_seconds
    return _engine(engine.url, begins_by, wait_seconds, pool=engine.pool)


def _set_up_connections(engine: Engine, wait_seconds: float, *, foreign_keys: bool) -> None:
    database = str(engine.url.database)

    @event.listens_for(engine, "connect")
    def _prepare(connection: sqlite3.Connection, record: Any) -> None:
        connection.isolation_level = None  # the driver begins nothing by itself
        connection.execute(f"PRAGMA busy_timeout = {round(wait_seconds * 1000)}")
        journal = _into_write_ahead(connection, wait_seconds)
        if journal != "wal":
            raise JournalNotPossible(database, journal)
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute(f"PRAGMA foreign_keys = {'ON' if foreign_keys else 'OFF'}")
        connection.execute("PRAGMA trusted_schema = OFF")
        connection.execute("PRAGMA secure_delete = ON")
        record.info[OPENED] = _which(database)


def _in_words(error: sqlite3.Error, database: str, wait_seconds: float) -> SettingsDeskError | None:
    """What a coach can do about it; None where it is a mistake of the program."""
    # The low byte is the kind of error, the rest says where it arose.
    match getattr(error, "sqlite_errorcode", sqlite3.SQLITE_ERROR) & 0xFF:
        case sqlite3.SQLITE_BUSY:
            return DeskIsBusy(wait_seconds)
        case sqlite3.SQLITE_FULL:
            return NoRoomLeft()
        case sqlite3.SQLITE_CANTOPEN | sqlite3.SQLITE_READONLY | sqlite3.SQLITE_PERM:
            return DatabaseNotWritable(database, str(error))
        case sqlite3.SQLITE_NOTADB | sqlite3.SQLITE_CORRUPT:
            return DatabaseIsDamaged(database, str(error))
    return None


def write_through(path: Path) -> None:
    """Wait until the file or folder is on the disk."""
    if os.name == "nt" and path.is_dir():
        return  # it opens no folders
    descriptor = os.open(path, os.O_RDWR if os.name == "nt" else os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
