"""Databases for tests: made once and copied for each test, as files or on a PostgreSQL server.

SETTINGSDESK_TEST_SERVER is the address of a server on which tests may make and drop databases, such
as postgresql://postgres@127.0.0.1:5432/postgres. Without it they are files.
"""

import os
import shutil
from collections.abc import Callable, Iterator
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any, Protocol

import pytest
from sqlalchemy import URL, Engine, create_engine, inspect, make_url, select, table, text
from sqlalchemy.pool import NullPool

from settingsdesk.store.engine import UNFINISHED
from settingsdesk.store.server import DRIVER

ENDS = "SETTINGSDESK_TEST_SERVER_ENDS" in os.environ
"""The server is gone after the tests: to drop a database takes longer than to make one."""

SERVER = os.environ.get("SETTINGSDESK_TEST_SERVER", "")

of_files = pytest.mark.skipif(bool(SERVER), reason="about files; these databases are a server's")
on_server = pytest.mark.skipif(
    not SERVER, reason="SETTINGSDESK_TEST_SERVER names no PostgreSQL server"
)


def bytes_of(where: "Where") -> dict[str, bytes]:
    """Every byte that a database keeps, by file; of a server's what lies in its own files."""
    if isinstance(where, Path):
        return {file.name: file.read_bytes() for file in where.parent.glob(f"{where.name}*")}
    url = make_url(where).set(drivername=DRIVER)
    engine = create_engine(url, isolation_level="AUTOCOMMIT", poolclass=NullPool)
    place = "'base/' || oid FROM pg_database WHERE datname = current_database()"
    with engine.connect() as connection:
        connection.execute(text("CHECKPOINT"))
        folder = connection.scalar(text(f"SELECT {place}"))
        files = connection.scalars(text("SELECT pg_ls_dir(:folder)"), {"folder": folder})
        read = text("SELECT pg_read_binary_file(:file, 0, 1000000000, true)")
        return {
            name: bytes(connection.scalar(read, {"file": f"{folder}/{name}"}) or b"")
            for name in files.all()
        }


def server_wrote() -> int:
    """How far the server has come in its log: further after each change of any of its databases."""
    engine = create_engine(make_url(SERVER).set(drivername=DRIVER), poolclass=NullPool)
    with engine.connect() as connection:
        place = text("SELECT pg_wal_lsn_diff(pg_current_wal_insert_lsn(), '0/0')")
        return int(connection.scalar(place) or 0)


Where = Path | str
"""What a store is opened with."""


def rows_in(where: Where) -> dict[str, list[dict[str, Any]]]:
    """Every row of every table, by column, in an order that hangs on nothing but what they hold."""
    file = URL.create("sqlite", database=str(where))
    url = file if isinstance(where, Path) else make_url(where).set(drivername=DRIVER)
    engine = create_engine(url, poolclass=NullPool)
    with engine.connect() as connection:
        found = {}
        for name in sorted(inspect(connection).get_table_names()):
            rows = connection.execute(select(text("*")).select_from(table(name))).mappings()
            found[name] = sorted((dict(row) for row in rows), key=repr)
        return found


class Databases(Protocol):
    """Where databases of tests are kept."""

    def made(self, file: Path, make: Callable[[Where], object]) -> Where:
        """A database to be copied from, known by that file."""
        ...

    def copied(self, template: Where, file: Path) -> Where:
        """A copy of it, known by that file; one that was known by it is gone."""
        ...

    def known_by(self, file: Path) -> Where:
        """What is known by that file."""
        ...

    def forget(self, file: Path) -> None:
        """Nobody asks any more for what is known by that file."""
        ...


class Files:
    """Files of SQLite."""

    def made(self, file: Path, make: Callable[[Where], object]) -> Where:
        make(file)
        return file

    def copied(self, template: Where, file: Path) -> Where:
        return Path(shutil.copy(template, file))

    def known_by(self, file: Path) -> Where:
        return file

    def forget(self, file: Path) -> None:
        """It is in the folder of its test."""


class OnServer:
    """Databases of a server, named by the files that they would be.

    They are dropped with their process, or are gone with the server.
    """

    def __init__(self, address: str):
        self._address = make_url(address).set(drivername=DRIVER)
        self._engine: Engine = create_engine(
            self._address, isolation_level="AUTOCOMMIT", poolclass=NullPool
        )
        self._names = set[str]()

    def made(self, file: Path, make: Callable[[Where], object]) -> Where:
        where = self._new(file, "template0")
        self._names.discard(str(self._url(file).database))  # other processes copy it
        make(where)
        file.touch()
        return where

    def copied(self, template: Where, file: Path) -> Where:
        return self._new(file, str(make_url(str(template)).database))

    def forget(self, file: Path) -> None:
        name = str(self._url(file).database)
        self._names.discard(name)
        self._drop(name)

    def known_by(self, file: Path) -> str:
        """The address of what is known by a file."""
        return self._url(file).render_as_string(hide_password=False)

    def drop_all(self) -> None:
        """Drop what this process made."""
        for name in self._names:
            self._drop(name)

    def _drop(self, name: str) -> None:
        with self._engine.connect() as connection:
            connection.execute(text(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)"))

    def _url(self, file: Path) -> URL:
        known = str(file).removesuffix(UNFINISHED)
        return self._address.set(database=f"test_{sha256(known.encode()).hexdigest()[:24]}")

    def _new(self, file: Path, template: str) -> str:
        name = str(self._url(file).database)
        with self._engine.connect() as connection:
            connection.execute(text(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)"))
            # Its files are copied: to write each page into the log takes three times as long.
            connection.execute(
                text(f"CREATE DATABASE {name} TEMPLATE {template} STRATEGY FILE_COPY")
            )
        self._names.add(name)
        return self.known_by(file)


@cache
def here() -> Databases:
    """Where this process keeps its databases: files, or that server."""
    return OnServer(SERVER) if SERVER else Files()


def databases() -> Iterator[Databases]:
    """The same for the time of a process; what it made on a server that stays is dropped then."""
    kept = here()
    yield kept
    if isinstance(kept, OnServer) and not ENDS:
        kept.drop_all()
