"""Bringing the tables of a database to what this version needs."""

from datetime import UTC, datetime
from enum import Enum
from functools import cache
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import URL, Connection, column, inspect, select, table

from settingsdesk.store.engine import (
    broken_references,
    copy_database,
    database_file,
    database_url,
    open_engine,
    open_for_upgrade,
)
from settingsdesk.store.errors import DatabaseIsNewer, DatabaseIsNotOurs, UpgradeRefused
from settingsdesk.store.work import Store

REVISIONS = "settingsdesk:store/migrations"
"""Where the revisions are; another folder serves to try an upgrade that is still to come."""


class State(Enum):
    """How the tables of a database stand to this version of settingsdesk."""

    EMPTY = "empty"
    CURRENT = "current"
    OLDER = "older"
    NEWER = "newer"


def state(where: str | Path, revisions: str = REVISIONS) -> State:
    """How the database stands; one that is not there is EMPTY, and is not made by asking.

    Raises ``DatabaseIsNotOurs`` where the tables are another program's.
    """
    url = database_url(where)
    file = database_file(url)
    if file is not None and not file.exists():
        return State.EMPTY
    engine = open_engine(url)
    try:
        with engine.connect() as connection:
            return _state(connection, _config(revisions))
    finally:
        engine.dispose()


def is_current(store: Store) -> bool:
    """Whether an open database answers and is of this version, by one statement."""
    found = store.row(select(column("version_num")).select_from(table("alembic_version")))
    return found is not None and found[0] == _newest()


@cache
def _newest() -> str | None:
    return ScriptDirectory.from_config(_config(REVISIONS)).get_current_head()


def upgrade(where: str | Path, revisions: str = REVISIONS) -> Path | None:
    """Make or upgrade the tables: all of it or nothing, however often and from however many.

    A database with tables in it is copied first; the answer is that copy's file, or None where
    none was needed. Raises ``DatabaseIsNewer``, ``DatabaseIsNotOurs``, ``UpgradeRefused`` or
    ``CopyIsDamaged``, and leaves the database as it was then.
    """
    url = database_url(where)
    engine = open_for_upgrade(url)
    try:
        with engine.begin() as connection:
            return _upgrade(connection, url, _config(revisions))
    finally:
        engine.dispose()


def upgraded(where: str | Path) -> Store:
    """The store on that database, its tables made or upgraded first: see ``upgrade``."""
    upgrade(where)
    return Store(where)


def _upgrade(connection: Connection, url: URL, config: Config) -> Path | None:
    found = _state(connection, config)
    if found is State.CURRENT:
        return None
    if found is State.NEWER:
        raise DatabaseIsNewer(str(url.database), str(_revision(connection)))
    # Copied while this connection holds the right to write: nothing can come in between.
    copy = _copy_beside(url, _revision(connection)) if found is State.OLDER else None
    config.attributes["connection"] = connection
    command.upgrade(config, "head")
    if rows := broken_references(connection):
        raise UpgradeRefused(str(url.database), rows)
    return copy


def _state(connection: Connection, config: Config) -> State:
    revision = _revision(connection)
    if revision is None:
        if tables := inspect(connection).get_table_names():
            raise DatabaseIsNotOurs(str(connection.engine.url.database), tables)
        return State.EMPTY
    scripts = ScriptDirectory.from_config(config)
    if revision == scripts.get_current_head():
        return State.CURRENT
    known = {script.revision for script in scripts.walk_revisions()}
    return State.OLDER if revision in known else State.NEWER


def _revision(connection: Connection) -> str | None:
    return MigrationContext.configure(connection).get_current_revision()


def _config(revisions: str) -> Config:
    config = Config()
    config.set_main_option("script_location", revisions.replace("%", "%%"))
    return config


def _copy_beside(url: URL, revision: str | None) -> Path | None:
    file = database_file(url)
    if file is None:
        return None  # a database server has its own way of being backed up
    moment = datetime.now(UTC).strftime("%Y%m%dT%H%M%SZ")
    copy = file.with_name(f"{file.stem}-before-upgrade-from-{revision}-{moment}{file.suffix}")
    copy_database(file, copy)
    return copy
