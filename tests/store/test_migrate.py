"""The tables come from revisions: always whole, never behind the models, never at a loss."""

import re
import shutil
import signal
import sqlite3
import stat
import subprocess
import sys
from contextlib import closing
from importlib.resources import files
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import text

from settingsdesk.store import migrate
from settingsdesk.store.athletes import Athlete
from settingsdesk.store.base import Base
from settingsdesk.store.engine import copy_database, open_engine
from settingsdesk.store.errors import (
    CopyIsDamaged,
    DatabaseIsNewer,
    DatabaseIsNotOurs,
    DatabaseNotWritable,
    UpgradeRefused,
)
from settingsdesk.store.migrate import State
from tests.databases import of_files

NEXT = """
import os, signal
import sqlalchemy as sa
from alembic import op

revision = "next"
down_revision = "{head}"


def upgrade() -> None:
    with op.batch_alter_table("athlete") as table:
        table.add_column(sa.Column("nickname", sa.String(), nullable=False, server_default=""))
    {more}
"""


def head() -> str:
    config = Config()
    config.set_main_option("script_location", migrate.REVISIONS)
    return ScriptDirectory.from_config(config).get_current_head()


@pytest.fixture
def upcoming(tmp_path: Path):
    """Makes a folder of revisions with one more, which rebuilds the athletes' table."""

    def with_one_more(more: str = "pass") -> str:
        folder = tmp_path / "revisions with 100% more"
        shutil.copytree(str(files("settingsdesk.store") / "migrations"), folder)
        (folder / "versions" / "next.py").write_text(NEXT.format(head=head(), more=more))
        return str(folder)

    return with_one_more


def dump(file: Path) -> dict[str, set[str]]:
    """Every table and index with the parts of its definition, in no order.

    A table that a revision made anew has its name in quotes, and a column that was added later
    stands on another's line.
    """
    with closing(sqlite3.connect(file)) as connection:
        found = connection.execute("SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL")
        return {
            name: {
                part.strip()
                for line in sql.replace('"', "").splitlines()
                for part in re.split(r",(?![^(]*\))", line)
            }
            for name, sql in found
            if name != "alembic_version"
        }


def counts(file: Path) -> dict[str, int]:
    with closing(sqlite3.connect(file)) as connection:
        return {
            table: connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0]  # noqa: S608 -- names from the models
            for table in Base.metadata.tables
        }


def columns(file: Path, table: str) -> set[str]:
    with closing(sqlite3.connect(file)) as connection:
        return {row[1] for row in connection.execute(f"PRAGMA table_info({table})")}


def run_upgrade(file: Path, revisions: str) -> subprocess.Popen[bytes]:
    program = (
        "import sys; from pathlib import Path; from settingsdesk.store import migrate;"
        "migrate.upgrade(Path(sys.argv[1]), sys.argv[2])"
    )
    return subprocess.Popen([sys.executable, "-c", program, str(file), revisions])


class TestRevisionsAndModels:
    def test_there_is_one_line_of_revisions(self):
        """Two heads would leave it to chance which tables a club gets."""
        config = Config()
        config.set_main_option("script_location", migrate.REVISIONS)
        scripts = ScriptDirectory.from_config(config)
        assert len(scripts.get_heads()) == 1
        assert len(scripts.get_bases()) == 1

    def test_a_revision_is_named_as_its_file_begins(self):
        config = Config()
        config.set_main_option("script_location", migrate.REVISIONS)
        for script in ScriptDirectory.from_config(config).walk_revisions():
            assert Path(script.path).name.startswith(f"{script.revision}_")

    def test_the_revisions_make_what_the_models_say(self, database: Path):
        engine = open_engine(database)
        with engine.connect() as connection:
            context = MigrationContext.configure(connection, opts={"compare_type": True})
            assert compare_metadata(context, Base.metadata) == []
        engine.dispose()

    @of_files
    def test_checks_and_names_are_the_same_too(self, database: Path, tmp_path: Path):
        """The comparison above does not see a CHECK constraint; this one does."""
        engine = open_engine(tmp_path / "from_models.sqlite3")
        Base.metadata.create_all(engine)
        engine.dispose()
        from_models = dump(tmp_path / "from_models.sqlite3")
        assert dump(database) == from_models
        assert any("CHECK" in line for line in from_models["club"])


@of_files
class TestUpgrade:
    def test_a_database_that_is_not_there_is_empty_and_asking_does_not_make_it(
        self, tmp_path: Path
    ):
        assert migrate.state(tmp_path / "desk.sqlite3") is State.EMPTY
        assert list(tmp_path.iterdir()) == []

    def test_it_makes_the_tables_of_this_version(self, tmp_path: Path):
        file = tmp_path / "desk.sqlite3"
        assert migrate.upgrade(file) is None
        assert migrate.state(file) is State.CURRENT
        assert stat.S_IMODE(file.stat().st_mode) == 0o600

    def test_twice_is_harmless(self, database: Path, ours):
        before = counts(database)
        assert migrate.upgrade(database) is None
        assert counts(database) == before

    def test_an_older_database_keeps_every_row(self, database: Path, ours, theirs, upcoming):
        """Rebuilding a table with foreign keys on would lose what refers to it, without a word."""
        revisions = upcoming()
        before = counts(database)
        assert migrate.state(database, revisions) is State.OLDER
        migrate.upgrade(database, revisions)
        assert migrate.state(database, revisions) is State.CURRENT
        assert counts(database) == before
        assert "nickname" in columns(database, "athlete")

    def test_an_older_database_is_copied_first(self, database: Path, ours, upcoming):
        """Whoever regrets the upgrade has the file from before it."""
        before = counts(database)
        copy = migrate.upgrade(database, upcoming())
        assert copy.parent == database.parent
        assert f"before-upgrade-from-{head()}" in copy.name
        assert counts(copy) == before
        assert "nickname" not in columns(copy, "athlete")
        assert stat.S_IMODE(copy.stat().st_mode) == 0o600
        assert migrate.state(copy) is State.CURRENT

    def test_a_newer_database_is_refused_and_left_alone(self, database: Path, ours, upcoming):
        """Somebody started last year's program on this year's data."""
        migrate.upgrade(database, upcoming())
        before = dump(database)
        assert migrate.state(database) is State.NEWER
        with pytest.raises(DatabaseIsNewer) as refused:
            migrate.upgrade(database)
        assert str(database) in str(refused.value)
        assert "\n" not in str(refused.value)
        assert dump(database) == before

    def test_another_programs_database_is_refused_and_left_alone(self, tmp_path: Path):
        file = tmp_path / "other.sqlite3"
        with closing(sqlite3.connect(file)) as connection:
            connection.execute("CREATE TABLE recipes (id INTEGER)")
        with pytest.raises(DatabaseIsNotOurs, match="recipes"):
            migrate.state(file)
        with pytest.raises(DatabaseIsNotOurs, match="recipes"):
            migrate.upgrade(file)
        assert set(dump(file)) == {"recipes"}

    def test_a_folder_that_is_not_there_is_named(self, tmp_path: Path):
        with pytest.raises(DatabaseNotWritable, match="nowhere"):
            migrate.upgrade(tmp_path / "nowhere" / "desk.sqlite3")


@of_files
class TestUpgradeThatFails:
    def test_an_error_in_the_middle_leaves_the_version_before(self, database: Path, ours, upcoming):
        before = dump(database), counts(database)
        with pytest.raises(RuntimeError, match="half way"):
            migrate.upgrade(database, upcoming('raise RuntimeError("half way")'))
        assert (dump(database), counts(database)) == before
        assert migrate.state(database) is State.CURRENT

    def test_being_killed_in_the_middle_leaves_the_version_before(
        self, database: Path, ours, upcoming
    ):
        """The hall's power fails during the upgrade; it starts again from where it was."""
        before = dump(database), counts(database)
        revisions = upcoming("os.kill(os.getpid(), signal.SIGKILL)")
        assert run_upgrade(database, revisions).wait() == -signal.SIGKILL
        assert (dump(database), counts(database)) == before
        assert migrate.state(database, revisions) is State.OLDER

    def test_rows_left_without_what_they_belong_to_undo_it(self, database: Path, ours, upcoming):
        before = dump(database), counts(database)
        with pytest.raises(UpgradeRefused) as refused:
            migrate.upgrade(database, upcoming('op.execute("DELETE FROM setting")'))
        assert refused.value.rows == 6  # two values and a confirmation in each of two clubs
        assert (dump(database), counts(database)) == before

    @pytest.mark.parametrize("there", [True, False], ids=["older", "empty"])
    def test_two_at_once_both_end_well(self, tmp_path: Path, upcoming, there: bool):
        """Two workers start on the same data: one upgrades, the other finds it done."""
        file = tmp_path / "desk.sqlite3"
        if there:
            migrate.upgrade(file)
        revisions = upcoming()
        started = [run_upgrade(file, revisions) for _ in range(2)]
        assert [process.wait() for process in started] == [0, 0]
        assert migrate.state(file, revisions) is State.CURRENT
        assert len(list(tmp_path.glob("*before-upgrade*"))) == int(there)


@of_files
class TestCopy:
    def test_it_holds_what_is_committed_while_somebody_writes(self, database: Path, store, ours):
        with store.work(ours.club, writes=True) as session:
            session.get(Athlete, ours.athlete).family_name = "Birk"
            session.flush()
            copy_database(database, database.with_name("copy.sqlite3"))
        engine = open_engine(database.with_name("copy.sqlite3"))
        with engine.connect() as connection:
            assert connection.scalar(text("SELECT family_name FROM athlete")) == "Ask"
        engine.dispose()

    def test_a_damaged_database_gives_no_copy(self, database: Path, ours):
        """A copy that cannot be restored is worse than none, because somebody relies on it."""
        with closing(sqlite3.connect(database)) as connection:
            connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            (root,) = connection.execute(
                "SELECT rootpage FROM sqlite_master WHERE name = "
                "'ix_setting_club_id_model_id_athlete_id'"
            ).fetchone()
            (size,) = connection.execute("PRAGMA page_size").fetchone()
        with database.open("r+b") as raw:
            raw.seek((root - 1) * size)
            raw.write(b"\x0a" + b"\x00" * 7)  # an index page that says it is empty
        with pytest.raises(CopyIsDamaged):
            copy_database(database, database.with_name("copy.sqlite3"))
        assert not list(database.parent.glob("copy*"))
