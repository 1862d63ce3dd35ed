"""Rows moved from SQLite to a server and back: all of them, each value as it was, or none."""

import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from sqlalchemy import Connection, create_engine, text

from settingsdesk.store import migrate
from settingsdesk.store.base import Base
from settingsdesk.store.engine import database_url, open_engine
from settingsdesk.store.errors import (
    DatabaseIsNotOurs,
    MoveUnfinished,
    NotTheSame,
    OthersReferToOurs,
    RowsNotTaken,
    ServerHasADesk,
    ValueNotKept,
)
from settingsdesk.store.migrate import State
from tests.databases import Databases, Where, on_server

pytestmark = on_server

Rows = dict[str, list[str]]

CLUB = "INSERT INTO club (id, name, length_unit, guests_kept_days, days_seen, created_at,"
CLUB += " records_revision, runs_revision, second_factor_needed)"
CLUB += " VALUES (?, ?, 'cm', 30, ?, ?, ?, ?, ?)"
ATHLETE = "INSERT INTO athlete (id, family_name, given_name, printed_name, group_name,"
ATHLETE += " start_number, taken_into_id, left_on, created_at, created_by, searched, in_order,"
ATHLETE += " heard_name, club_id) VALUES (?, '', '', '', '', '', ?, ?, ?, '', '', ?, '', 1)"
MOMENT = "2026-11-30 06:45:00.000001"


@pytest.fixture(scope="session")
def new_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An SQLite file with this version's tables."""
    file = tmp_path_factory.mktemp("new_file") / "desk.sqlite3"
    migrate.upgrade(file)
    return file


@pytest.fixture
def file(new_file: Path, tmp_path: Path) -> Path:
    """One of the test's own, with a club."""
    own = tmp_path / "here.sqlite3"
    own.write_bytes(new_file.read_bytes())
    write(own, CLUB, (1, "Harbour Gymnastics", "[]", MOMENT, 1, 2, 0))
    return own


@pytest.fixture
def bare_server(databases: Databases, tmp_path: Path) -> str:
    """A database without tables."""
    return str(databases.made(tmp_path / "bare.sqlite3", lambda where: None))


def write(file: Path, statement: str, *rows: tuple[Any, ...]) -> None:
    """What nothing but SQLite has looked at."""
    with closing(sqlite3.connect(file)) as connection, connection:
        connection.executemany(statement, rows)


def all_of(file: Path) -> Rows:
    """Every value of a file, as SQLite gives it."""
    with closing(sqlite3.connect(file)) as connection:
        names = [row[0] for row in connection.execute("SELECT name FROM sqlite_master")]
        tables = [name for name in names if name in Base.metadata.tables]
        return {
            name: sorted(map(repr, connection.execute(f'SELECT * FROM "{name}"')))  # noqa: S608
            for name in tables
        }


def as_the_desk_reads(where: Path | str) -> Rows:
    """Every value, as units of work get it, by another way than the one by which it was moved."""
    engine = open_engine(where)
    try:
        with engine.connect() as connection:
            return {
                table.name: sorted(map(repr, connection.execute(table.select())))
                for table in Base.metadata.sorted_tables
            }
    finally:
        engine.dispose()


def there_and_back(file: Path, server: str) -> Path:
    there = migrate.put_on_server(file, server)
    back = file.with_name("back.sqlite3")
    assert migrate.copy_rows(server, back) == there
    return back


texts = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"))
numbers = st.integers(-(2**63), 2**63 - 1)
fractions = st.floats(allow_nan=False, allow_infinity=False)
parts = st.recursive(
    st.none() | st.booleans() | numbers | fractions | st.text(),  # a NUL is written as an escape
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(texts, inner, max_size=4),
    max_leaves=8,
)
moments = st.datetimes().map(lambda moment: moment.isoformat(" ", "microseconds"))


class TestEveryValue:
    # Each example is a whole database there and back: none is made smaller where one fails.
    @settings(
        max_examples=4,
        phases=[Phase.generate],
        suppress_health_check=[HealthCheck.function_scoped_fixture],
    )
    @given(
        st.lists(
            st.tuples(texts, st.lists(parts), moments, numbers, numbers, st.booleans()), max_size=40
        ),
        st.lists(st.tuples(st.binary(), st.dates() | st.none()), max_size=40),
    )
    def test_is_the_same_there_and_back(
        self, file: Path, database: Where, clubs: list[Any], others: list[Any]
    ) -> None:
        """Whatever somebody wrote, in whichever language, and each byte of a picture."""
        write(file, "DELETE FROM athlete WHERE ?", (1,))
        write(file, "DELETE FROM club WHERE id > ?", (1,))
        write(
            file,
            CLUB,
            *(
                (number, name, json.dumps(part, ensure_ascii=number % 2 == 0), *more)
                for number, (name, part, *more) in enumerate(clubs, 2)
            ),
        )
        write(
            file,
            ATHLETE,
            *(
                (number, None, day and day.isoformat(), MOMENT, content)
                for number, (content, day) in enumerate(others, 1)
            ),
        )

        back = there_and_back(file, str(database))

        assert all_of(back) == all_of(file)
        assert as_the_desk_reads(str(database)) == as_the_desk_reads(file)

    def test_of_rows_that_refer_to_later_ones(self, file: Path, bare_server: str) -> None:
        """An entry that was taken in goes to the one that counts, whichever was made first."""
        write(
            file,
            ATHLETE,
            *((7, 1_000, None, MOMENT, b""), (2_000_000_000, 7, None, MOMENT, b"")),
            (1_000, None, None, MOMENT, b""),
        )
        assert all_of(there_and_back(file, bare_server)) == all_of(file)

    def test_nothing_and_the_json_of_nothing_are_two(self, file: Path, database: Where) -> None:
        write(file, "UPDATE club SET last_cleared = ?", ("null",))
        write(file, CLUB, (2, "x", "[]", MOMENT, 1, 2, 0))
        assert all_of(there_and_back(file, str(database))) == all_of(file)

    def test_the_next_row_has_the_next_number(self, file: Path, bare_server: str) -> None:
        """On a printed card, and in the list of erasures, a number means one row for good."""
        write(file, CLUB, (41, "x", "[]", MOMENT, 1, 2, 0))
        migrate.put_on_server(file, bare_server)
        engine = create_engine(database_url(bare_server))
        with engine.begin() as connection:
            number = connection.scalar(
                text(
                    "INSERT INTO club (name, length_unit, guests_kept_days, days_seen, created_at,"
                    " records_revision, runs_revision, second_factor_needed) VALUES ('y', 'cm', 30,"
                    " '[]', now(), 1, 2, false) RETURNING id"
                )
            )
            account = connection.scalar(text("SELECT nextval('account_id_seq')"))
            known = connection.scalar(
                text("SELECT reltuples FROM pg_class WHERE oid = 'club'::regclass")
            )
        engine.dispose()
        assert (number, account) == (42, 1)
        assert known == 2  # the server knows how many there are, and need not guess till it looks


class TestWhatAServerCannotKeep:
    @pytest.mark.parametrize(
        ("column", "value"),
        [
            ("name", "a\0b"),
            ("guests_kept_days", 2**31),
            ("guests_kept_days", "many"),
            ("second_factor_needed", 2),
            ("created_at", "yesterday"),
            ("created_at", "2026-11-30 06:45"),
            ("records_revision", 1.5),
        ],
    )
    def test_is_named_and_nothing_is_moved(
        self, file: Path, database: Where, column: str, value: object
    ) -> None:
        """Never another value in its place: SQLite keeps anything in any column."""
        write(file, f"UPDATE club SET {column} = ?", (value,))  # noqa: S608 -- our names
        with pytest.raises(ValueNotKept, match=column.replace("_", " ") + " of club 1 cannot"):
            migrate.put_on_server(file, str(database))
        assert not any(as_the_desk_reads(str(database)).values())

    def test_and_what_it_refuses_itself_is_said(self, file: Path, database: Where) -> None:
        write(file, "UPDATE club SET days_seen = ?", ("[NaN]",))
        with pytest.raises(RowsNotTaken, match=r"did not take the rows of club .*json"):
            migrate.put_on_server(file, str(database))
        assert not any(as_the_desk_reads(str(database)).values())


class TestARowThatArrivesOtherwise:
    @pytest.mark.parametrize(
        "on_its_way", ["NEW.name := NEW.name || ' '; RETURN NEW", "RETURN NULL"]
    )
    def test_is_found(self, file: Path, database: Where, on_its_way: str) -> None:
        """The comparison would find a fault, of the desk or of the server: here is one."""
        engine = create_engine(database_url(str(database)))
        with engine.begin() as connection:
            connection.execute(
                text(
                    "CREATE FUNCTION otherwise() RETURNS trigger LANGUAGE plpgsql AS"
                    f" 'BEGIN {on_its_way.replace(chr(39), chr(39) * 2)}; END'"
                )
            )
            connection.execute(
                text(
                    "CREATE TRIGGER otherwise BEFORE INSERT ON club FOR EACH ROW EXECUTE FUNCTION"
                    " otherwise()"
                )
            )
        with pytest.raises(NotTheSame, match=r"Of 1 rows of club [01] arrived"):
            migrate.put_on_server(file, str(database))
        with engine.connect() as connection:
            assert connection.scalar(text("SELECT count(*) FROM club")) == 0
        engine.dispose()


class TestAMove:
    def test_goes_to_no_database_with_a_desk(self, file: Path, store, ours, database) -> None:
        with pytest.raises(ServerHasADesk, match="already, and it was left as it is"):
            migrate.put_on_server(file, str(database), "this")
        with store.work(ours.club, writes=False) as session:
            assert session.info is not None

    def test_that_was_not_ended_is_opened_by_nobody_and_begun_again(
        self, file: Path, bare_server: str
    ) -> None:
        """What is there may be whole or not, and older than the desk that it came from."""
        migrate.put_on_server(file, bare_server, "first")
        for open_it in (migrate.state, migrate.upgrade):
            with pytest.raises(MoveUnfinished, match="cut off before its end"):
                open_it(bare_server)
        write(file, "UPDATE club SET name = ?", ("Later",))

        migrate.put_on_server(file, bare_server, "second")
        migrate.end_move(bare_server, "first")
        with pytest.raises(MoveUnfinished):
            migrate.state(bare_server)
        migrate.end_move(bare_server, "second")

        assert migrate.state(bare_server) is State.CURRENT
        assert as_the_desk_reads(bare_server) == as_the_desk_reads(file)

    def test_that_is_only_tried_changes_nothing(self, file: Path, bare_server: str) -> None:
        migrate.put_on_server(file, bare_server, only_try=True)
        assert migrate.state(bare_server) is State.EMPTY


class TestTablesOfOthers:
    """A server is looked after by somebody, and a desk is seldom all that is on it."""

    @pytest.fixture
    def beside(self, database: Where) -> Iterator[Connection]:
        """Where a kitchen keeps tables beside those of the desk, one of them with such a name."""
        engine = create_engine(database_url(str(database)), isolation_level="AUTOCOMMIT")
        with engine.connect() as connection:
            for line in (
                "CREATE TABLE recipes (id integer PRIMARY KEY, name text)",
                "INSERT INTO recipes VALUES (1, 'soup')",
                "CREATE SCHEMA kitchen CREATE TABLE club (id integer)",
                "INSERT INTO kitchen.club VALUES (7)",
            ):
                connection.execute(text(line))
            yield connection
        engine.dispose()

    def test_stay_as_they_are_when_a_desk_comes(
        self, file: Path, ours, database: Where, beside: Connection
    ) -> None:
        assert "recipes" not in migrate.put_on_server(file, str(database))
        for asked in ("SELECT id FROM recipes", "SELECT id - 6 FROM kitchen.club"):
            assert beside.scalar(text(asked)) == 1

    def test_that_have_rows_in_ours_keep_them_and_nothing_comes(
        self, file: Path, ours, database: Where, beside: Connection
    ) -> None:
        beside.execute(text("CREATE TABLE guests (menu text) INHERITS (club)"))
        beside.execute(text("INSERT INTO guests SELECT *, 'soup' FROM club LIMIT 1"))
        with pytest.raises(NotTheSame):
            migrate.put_on_server(file, str(database))
        assert beside.scalar(text("SELECT menu FROM guests")) == "soup"

    def test_go_into_no_backup(
        self, file: Path, database: Where, beside: Connection, tmp_path: Path
    ) -> None:
        migrate.put_on_server(file, str(database))
        migrate.copy_rows(str(database), tmp_path / "back.sqlite3")
        assert all_of(tmp_path / "back.sqlite3") == all_of(file)

    def test_that_refer_to_the_desks_are_named_and_nothing_is_replaced(
        self, file: Path, ours, database: Where, beside: Connection
    ) -> None:
        before = as_the_desk_reads(str(database))
        beside.execute(text("CREATE TABLE kitchen.meals (of integer REFERENCES athlete (id))"))
        with pytest.raises(OthersReferToOurs, match=r"program \(kitchen.meals\) refer to those"):
            migrate.put_on_server(file, str(database))
        assert as_the_desk_reads(str(database)) == before

    @pytest.mark.parametrize("revision", ["0001", "9999", "3f2a"])
    def test_that_are_numbered_by_the_same_means_are_no_desk(
        self, file: Path, bare_server: str, revision: str
    ) -> None:
        engine = create_engine(database_url(bare_server))
        with engine.begin() as connection:
            connection.execute(text("CREATE TABLE alembic_version (version_num text)"))
            connection.execute(text(f"INSERT INTO alembic_version VALUES ('{revision}')"))  # noqa: S608
            connection.execute(text("CREATE TABLE recipes (id integer)"))
        engine.dispose()
        for asked in (
            lambda: migrate.state(bare_server),
            lambda: migrate.upgrade(bare_server),
            lambda: migrate.put_on_server(file, bare_server, "move"),
        ):
            with pytest.raises(DatabaseIsNotOurs, match="another database in SETTINGSDESK_DATA"):
                asked()


class TestACopyOfAServersDatabase:
    def test_is_one_file_of_one_moment(self, store, ours, database, tmp_path: Path) -> None:
        """Whoever writes meanwhile neither waits nor comes into it by halves."""
        with store.work(ours.club, by="coach", writes=True):
            migrate.copy(database, tmp_path / "copy.sqlite3")
        assert [file.name for file in tmp_path.glob("copy*")] == ["copy.sqlite3"]
        assert as_the_desk_reads(tmp_path / "copy.sqlite3") == as_the_desk_reads(str(database))
        assert migrate.state(tmp_path / "copy.sqlite3") is State.CURRENT

    def test_leaves_nothing_where_it_cannot_be_made(
        self, database: Where, file: Path, tmp_path: Path
    ) -> None:
        migrate.put_on_server(file, str(database), "unfinished")
        with pytest.raises(MoveUnfinished):
            migrate.copy(database, tmp_path / "copy.sqlite3")
        assert not list(tmp_path.glob("copy*"))
