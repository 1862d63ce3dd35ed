"""Bringing the tables of a database to what this version needs, and whole databases elsewhere."""

from collections.abc import Mapping
from datetime import UTC, datetime
from enum import Enum
from functools import cache
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import URL, Connection, column, inspect, select, table

from settingsdesk.store import moving
from settingsdesk.store.base import Base
from settingsdesk.store.engine import (
    LOGS,
    UNFINISHED,
    broken_references,
    copy_database,
    database_file,
    database_url,
    open_engine,
    open_for_upgrade,
)
from settingsdesk.store.errors import (
    DatabaseIsNewer,
    DatabaseIsNotOurs,
    MoveUnfinished,
    ServerHasADesk,
    UpgradeRefused,
)
from settingsdesk.store.server import UNFINISHED_MOVE
from settingsdesk.store.work import Store

REVISIONS = "settingsdesk:store/migrations"
"""Where the revisions are; another folder serves to try an upgrade that is still to come."""

ALWAYS_THERE = "club"
"""A table that every version has."""


class State(Enum):
    """How the tables of a database stand to this version of settingsdesk."""

    EMPTY = "empty"
    CURRENT = "current"
    OLDER = "older"
    NEWER = "newer"


def state(where: str | Path, revisions: str = REVISIONS) -> State:
    """How the database stands; one that is not there is EMPTY, and is not made by asking.

    Raises ``DatabaseIsNotOurs`` where the tables are another program's, and ``MoveUnfinished``.
    """
    url = database_url(where)
    file = database_file(url)
    if file is not None and not file.exists():
        return State.EMPTY
    engine = open_engine(url)
    try:
        with engine.connect() as connection:
            _must_be_whole(connection)
            return _state(connection, _config(revisions))
    finally:
        engine.dispose()


def tables_of_others(store: Store) -> list[str]:
    """The names of the tables beside those of a desk of this version, which it leaves alone."""
    with store.installation(writes=False) as session:
        there = inspect(session.connection()).get_table_names()
    return sorted(set(there) - set(Base.metadata.tables) - moving.NO_ROWS_OF_OURS)


def is_current(store: Store) -> bool:
    """Whether an open database answers and is of this version, by one statement."""
    found = store.row(select(column("version_num")).select_from(table("alembic_version")))
    return found is not None and found[0] == _newest()


@cache
def _newest() -> str | None:
    return ScriptDirectory.from_config(_config(REVISIONS)).get_current_head()


def upgrade(
    where: str | Path, revisions: str = REVISIONS, *, folder: Path | None = None
) -> Path | None:
    """Make or upgrade the tables: all of it or nothing, however often and from however many.

    A database with tables in it is copied first, a server's into that folder, where there is one;
    the answer is that copy's file, or None where none was made. Raises ``DatabaseIsNewer``,
    ``DatabaseIsNotOurs``, ``MoveUnfinished``, ``UpgradeRefused`` or ``CopyIsDamaged``, and leaves
    the database as it was then.
    """
    url = database_url(where)
    engine = open_for_upgrade(url)
    try:
        with engine.begin() as connection:
            _must_be_whole(connection)
            return _upgrade(connection, url, _config(revisions), folder)
    finally:
        engine.dispose()


def upgraded(where: str | Path, folder: Path | None = None) -> Store:
    """The store on that database, its tables made or upgraded first: see ``upgrade``.

    ``folder`` keeps what lies beside a server's database.
    """
    upgrade(where, folder=folder)
    return Store(where, folder=folder)


def copy(where: str | Path, file: Path) -> None:
    """A checked copy of a database as it is committed now: one file, its owner's only.

    It may be made while others write, and has the tables of the revision that it was copied from.
    Raises ``CopyIsDamaged`` and ``NoRoomLeft``, of a server's also what ``moving.carry`` raises,
    and leaves no copy then.
    """
    url = database_url(where)
    if source := database_file(url):
        copy_database(source, file)
        return
    rows = file.with_name(f"{file.name}.rows{UNFINISHED}")
    try:
        copy_rows(where, rows)
        copy_database(rows, file)
    finally:
        _remove(rows)


def copy_rows(server: str | Path, file: Path) -> Mapping[str, int]:
    """A new file with the tables and all rows of a server's database; how many rows, by table."""
    _remove(file)
    config = _config(REVISIONS)
    source, target = open_engine(server), open_for_upgrade(file)
    try:
        with source.connect() as there, target.begin() as here:
            _must_be_whole(there)
            if _state(there, config) is State.NEWER:
                raise _newer(there)
            config.attributes["connection"] = here
            command.upgrade(config, str(_revision(there)))
            counts = moving.carry(there, here)
            if broken := broken_references(here):
                raise UpgradeRefused(str(database_url(server).database), broken)
            return counts
    finally:
        source.dispose()
        target.dispose()


def put_on_server(
    file: Path, server: str, move: str | None = None, *, only_try: bool = False
) -> Mapping[str, int]:
    """Put all rows of a file of this version on a server: all of it or nothing; rows by table.

    What is there of a desk goes, and nothing else. Where it is a ``move``, so called, there must be
    no desk there but what a move left that was cut off; nobody opens it before ``end_move``.
    ``only_try`` takes it back at the end. Raises ``ServerHasADesk``, and what ``moving.carry`` and
    ``upgrade`` raise.
    """
    url = database_url(server)
    source, target = open_engine(file), open_for_upgrade(url)
    try:
        with source.connect() as here, target.connect() as there, there.begin() as all_of_it:
            left = _left_by_a_move(there)
            if left is not None:
                UNFINISHED_MOVE.drop(there)
            _upgrade(there, url, _config(REVISIONS), None)
            if move and left is None and moving.has_a_desk(there):
                raise ServerHasADesk(str(url.database))
            counts = moving.carry(here, there)
            if move:
                UNFINISHED_MOVE.create(there)
                there.execute(UNFINISHED_MOVE.insert().values(move=move))
            if only_try:
                all_of_it.rollback()
            return counts
    finally:
        source.dispose()
        target.dispose()


def end_move(server: str, move: str) -> None:
    """From now on the database of that move may be opened, if it is on the server."""
    engine = open_for_upgrade(server)
    try:
        with engine.begin() as connection:
            if _left_by_a_move(connection) == move:
                UNFINISHED_MOVE.drop(connection)
    finally:
        engine.dispose()


def _left_by_a_move(connection: Connection) -> str | None:
    if connection.dialect.name == "sqlite":
        return None  # a file gets its name when it is whole
    if not inspect(connection).has_table(UNFINISHED_MOVE.name):
        return None
    return connection.scalar(select(UNFINISHED_MOVE.c.move))


def _must_be_whole(connection: Connection) -> None:
    if _left_by_a_move(connection) is not None:
        raise MoveUnfinished(str(connection.engine.url.database))


def _upgrade(connection: Connection, url: URL, config: Config, folder: Path | None) -> Path | None:
    found = _state(connection, config)
    if found is State.CURRENT:
        return None
    if found is State.NEWER:
        raise _newer(connection)
    # Copied while this connection holds the right to write: nothing can come in between.
    made = None
    if found is State.OLDER:
        made = _copy_beside(url, _revision(connection), folder)
    config.attributes["connection"] = connection
    command.upgrade(config, "head")
    if rows := broken_references(connection):
        raise UpgradeRefused(str(url.database), rows)
    return made


def _state(connection: Connection, config: Config) -> State:
    revision, tables = _revision(connection), inspect(connection).get_table_names()
    if not tables:
        return State.EMPTY
    # Another program may number its tables by the same means.
    if revision is None or ALWAYS_THERE not in tables:
        url = connection.engine.url
        raise DatabaseIsNotOurs(str(url.database), tables, on_server=database_file(url) is None)
    scripts = ScriptDirectory.from_config(config)
    if revision == scripts.get_current_head():
        return State.CURRENT
    known = {script.revision for script in scripts.walk_revisions()}
    return State.OLDER if revision in known else State.NEWER


def _newer(connection: Connection) -> DatabaseIsNewer:
    url, revision = connection.engine.url, str(_revision(connection))
    return DatabaseIsNewer(str(url.database), revision, on_server=database_file(url) is None)


def _revision(connection: Connection) -> str | None:
    return MigrationContext.configure(connection).get_current_revision()


def _config(revisions: str) -> Config:
    config = Config()
    config.set_main_option("script_location", revisions.replace("%", "%%"))
    return config


def _copy_beside(url: URL, revision: str | None, folder: Path | None) -> Path | None:
    file = database_file(url) or (folder and folder / "server.sqlite3")
    if file is None:
        return None
    moment = datetime.now(UTC).strftime("%Y%m%dT%H%M%SZ")
    beside = file.with_name(f"{file.stem}-before-upgrade-from-{revision}-{moment}{file.suffix}")
    copy(database_file(url) or url.render_as_string(hide_password=False), beside)
    return beside


def _remove(file: Path) -> None:
    for one in (file, *(file.with_name(file.name + log) for log in LOGS)):
        one.unlink(missing_ok=True)
