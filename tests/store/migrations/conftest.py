"""A desk as it was before a revision, and what was written into it then."""

import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from importlib.resources import files
from pathlib import Path

import pytest

from settingsdesk.store import migrate

Before = Callable[[str], Path]


@pytest.fixture
def before(tmp_path: Path) -> Before:
    """Makes a database by the revisions that came before one of them."""

    def made(revision: str) -> Path:
        folder, file = tmp_path / "revisions of an earlier version", tmp_path / "desk.sqlite3"
        shutil.copytree(str(files("settingsdesk.store") / "migrations"), folder)
        for later in (folder / "versions").glob("[0-9]*.py"):
            if later.stem >= revision:
                later.unlink()
        migrate.upgrade(file, str(folder))
        return file

    return made


def write(file: Path, rows: str) -> None:
    """Write rows by a script of statements."""
    with closing(sqlite3.connect(file)) as connection, connection:
        connection.executescript(rows)


def add_club(file: Path) -> None:
    """A club, as every version of the desk wrote it."""
    with closing(sqlite3.connect(file)) as connection, connection:
        connection.execute(
            "INSERT INTO club (name, length_unit, created_at)"
            " VALUES ('Harbour', 'cm', '2026-01-01')"
        )


def add_squad(file: Path, *family_names: str) -> None:
    """A club and its athletes, as the first version of the desk wrote them."""
    with closing(sqlite3.connect(file)) as connection, connection:
        connection.execute(
            "INSERT INTO club (name, length_unit, created_at)"
            " VALUES ('Harbour', 'cm', '2026-01-01')"
        )
        connection.executemany(
            "INSERT INTO athlete (club_id, family_name, given_name, printed_name, group_name,"
            " start_number, created_at, created_by, searched)"
            " VALUES (1, ?, 'X', '', '', '', '2026-01-01', 'coach', ?)",
            [(name, f"{name.lower()} x") for name in family_names],
        )


def plan_of_names(file: Path, those: str) -> str:
    """How SQLite would find the first names of those athletes."""
    return plan_of(file, f"SELECT * FROM athlete WHERE {those} ORDER BY in_order, id LIMIT 60")  # noqa: S608 -- of this test


def plan_of(file: Path, question: str) -> str:
    """How SQLite would answer a question."""
    with closing(sqlite3.connect(file)) as connection:
        return " ".join(row[3] for row in connection.execute("EXPLAIN QUERY PLAN " + question))
