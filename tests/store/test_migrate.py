"""The tables come from revisions: always whole, never behind the models, never at a loss."""

import re
import shutil
import signal
import sqlite3
import stat
import subprocess
import sys
from contextlib import closing
from datetime import date
from importlib.resources import files
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import select, text

from settingsdesk.config import DataFolder
from settingsdesk.desk.cards import card_keys
from settingsdesk.desk.hall import usual_deviations
from settingsdesk.desk.lists import handing_over
from settingsdesk.desk.meets import retention
from settingsdesk.desk.meets.retention import Keeping
from settingsdesk.domain.base.names import heard, usual_name
from settingsdesk.store import guest_clubs, migrate, record
from settingsdesk.store.athletes import Athlete, heard_as, search
from settingsdesk.store.base import Base
from settingsdesk.store.clubs import Account, Club, Membership, installation_owners
from settingsdesk.store.engine import copy_database, open_engine
from settingsdesk.store.errors import (
    CopyIsDamaged,
    DatabaseIsNewer,
    DatabaseIsNotOurs,
    DatabaseNotWritable,
    UpgradeRefused,
)
from settingsdesk.store.failed_tries import FailedTry
from settingsdesk.store.migrate import State
from settingsdesk.store.parts import Part
from settingsdesk.store.sign_ins import SignIn
from settingsdesk.store.stations import StationLetIn
from settingsdesk.store.work import Store

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


@pytest.fixture
def without(tmp_path: Path):
    """Makes a folder of the revisions as they were before one of them."""

    def as_before(revision: str) -> str:
        folder = tmp_path / "revisions of an earlier version"
        shutil.copytree(str(files("settingsdesk.store") / "migrations"), folder)
        for file in (folder / "versions").glob("[0-9]*.py"):
            if file.name >= revision:
                file.unlink()
        return str(folder)

    return as_before


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

    def test_checks_and_names_are_the_same_too(self, database: Path, tmp_path: Path):
        """The comparison above does not see a CHECK constraint; this one does."""
        engine = open_engine(tmp_path / "from_models.sqlite3")
        Base.metadata.create_all(engine)
        engine.dispose()
        from_models = dump(tmp_path / "from_models.sqlite3")
        assert dump(database) == from_models
        assert any("CHECK" in line for line in from_models["club"])


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

    def test_one_from_before_the_revisions_gets_them_and_keeps_its_clubs(
        self, tmp_path: Path, without
    ):
        """Nothing was kept of it before, so any number is as good as another."""
        file = tmp_path / "desk.sqlite3"
        migrate.upgrade(file, without("0006_revisions.py"))
        with closing(sqlite3.connect(file)) as connection, connection:
            connection.execute(
                "INSERT INTO club (name, length_unit, created_at)"
                " VALUES ('Hillside', 'in', '2026-11-01 10:00:00')"
            )
        migrate.upgrade(file)
        with closing(sqlite3.connect(file)) as connection:
            found = connection.execute(
                "SELECT name, length_unit, records_revision, runs_revision FROM club"
            ).fetchall()
        assert found == [("Hillside", "in", 0, 0)]
        assert migrate.state(file) is State.CURRENT

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
        assert refused.value.rows == 4  # two values in each of two clubs
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


class TestNamesInOrder:
    @pytest.mark.parametrize("revision", ["0007_names_in_order.py", "0014_order_of_names.py"])
    def test_a_squad_from_before_is_kept_and_found_in_order_without_sorting(
        self, tmp_path: Path, without, revision: str
    ) -> None:
        """A club of many years has thousands of names, and the lists show sixty of them."""
        file = tmp_path / "desk.sqlite3"
        migrate.upgrade(file, without(revision))
        add_squad(file, "Ørn", "Zoll", "Яценко", "Ask", "Єва", "O’Neil", "Ozawa")

        migrate.upgrade(file)

        store = Store(file)
        with store.work(1, writes=False) as session:
            in_order = ["Ask", "O’Neil", "Ørn", "Ozawa", "Zoll", "Єва", "Яценко"]
            assert [one.family_name for one in search(session)] == in_order
        store.close()
        left = "club_id = 1 AND meet_id IS NULL AND left_on IS NOT NULL"
        for those in (PRESENT, f"{PRESENT} AND group_name = 'Girls'", left):
            assert "TEMP B-TREE" not in plan_of_names(file, those)


class TestCountedByIndex:
    def test_a_squad_from_before_is_counted_and_searched_without_reading_its_rows(
        self, tmp_path: Path, without
    ) -> None:
        """A list says how many there are, and leads to its last page, in a club of any size."""
        file = tmp_path / "desk.sqlite3"
        migrate.upgrade(file, without("0016_counted_by_index.py"))
        with closing(sqlite3.connect(file)) as connection, connection:
            connection.executescript(A_SQUAD_IN_ORDER)

        migrate.upgrade(file)

        store = Store(file)
        with store.work(1, writes=False) as session:
            assert [one.family_name for one in search(session)] == ["Ask", "Zoll"]
        store.close()
        for those in (PRESENT, f"{PRESENT} AND searched LIKE '%ask%'"):
            question = f"SELECT count(id) FROM athlete WHERE {those}"  # noqa: S608 -- of this test
            assert "COVERING INDEX" in plan_of(file, question)


class TestNamesTypedElsewhere:
    def test_those_from_before_are_found_by_them(self, tmp_path: Path, without) -> None:
        """Whoever was in the squad already is found like those who come."""
        file = tmp_path / "desk.sqlite3"
        migrate.upgrade(file, without("0009_names_typed_elsewhere.py"))
        add_squad(file, "O’Neil", "Mueller", "Ask")

        migrate.upgrade(file)

        store = Store(file)
        with store.work(1, writes=False) as session:
            assert [one.family_name for one in search(session, "Müller")] == ["Mueller"]
            assert [one.family_name for one in search(session, "oneil")] == ["O’Neil"]
        store.close()


class TestEndsOfAnApparatus:
    def test_an_apparatus_from_before_has_no_names_for_its_ends(self, tmp_path: Path) -> None:
        """Until the hall gives them, its steps go on to say front and back."""
        file, revisions = tmp_path / "desk.sqlite3", tmp_path / "revisions before"
        shutil.copytree(str(files("settingsdesk.store") / "migrations"), revisions)
        for later in (revisions / "versions").glob("*.py"):
            if later.name[:4] >= "0008":
                later.unlink()
        migrate.upgrade(file, str(revisions))
        with closing(sqlite3.connect(file)) as connection, connection:
            connection.execute(
                "INSERT INTO club (name, length_unit, created_at)"
                " VALUES ('Harbour', 'cm', '2026-01-01')"
            )
            connection.execute(
                "INSERT INTO apparatus_model (club_id, kind, name)"
                " VALUES (1, 'uneven_bars', 'Frame')"
            )
            connection.execute(
                "INSERT INTO apparatus (club_id, model_id, name, place, mat_mm, created_at)"
                " VALUES (1, 1, 'Bars 1', 'Hall', 200, '2026-01-01')"
            )

        migrate.upgrade(file)

        with closing(sqlite3.connect(file)) as connection:
            found = "SELECT name, place, mat_mm, first_end, second_end FROM apparatus"
            assert connection.execute(found).fetchall() == [("Bars 1", "Hall", 200, "", "")]
            assert not connection.execute("PRAGMA foreign_key_check").fetchall()


A_START_ORDER = """
    INSERT INTO club (name, length_unit, created_at) VALUES ('Harbour', 'cm', '2026-01-01');
    INSERT INTO apparatus_model (club_id, kind, name) VALUES (1, 'uneven_bars', 'Frame');
    INSERT INTO apparatus (club_id, model_id, name, place, mat_mm, created_at)
      VALUES (1, 1, 'Bars 1', 'Hall', 200, '2026-01-01');
    INSERT INTO rotation (club_id, apparatus_id, name, held_on, asked, created_by, created_at)
      VALUES (1, 1, 'R', '2026-01-01', '{}', 'Runa', '2026-01-01');
    INSERT INTO meet (club_id, name, hall, begins_on, ends_on, cards_until, note, created_by,
        created_at)
      VALUES (1, 'Cup', '', '2026-01-01', '2026-01-01', '2026-01-02', '', 'Runa', '2026-01-01');
    INSERT INTO meet_session (club_id, meet_id, number, name, held_on, begins_at)
      VALUES (1, 1, 1, '', '2026-01-01', '');
    INSERT INTO start_order (club_id, rotation_id, session_id, apparatus_id, number, came_by,
        set_at, set_by)
      VALUES (1, 1, 1, 1, 1, 'typed', '2026-01-01', 'Runa');
"""


A_RAISE = """
    INSERT INTO athlete (club_id, family_name, given_name, printed_name, group_name, start_number,
        created_at, created_by, searched)
      VALUES (1, 'Ask', 'Ea', '', '', '', '2026-01-01', 'Runa', 'ask ea');
    INSERT INTO entry (club_id, meet_id, athlete_id, from_club, start_number, division, entered_at,
        entered_by)
      VALUES (1, 1, 1, '', '', '', '2026-01-01', 'Runa');
    INSERT INTO raise_request (club_id, entry_id, apparatus_id, step, raise_mm, told_by, told_on,
        remark, recorded_at, recorded_by)
      VALUES (1, 1, 1, 'granted', 50, 'The jury', '2026-01-01', '', '2026-01-01', 'Runa');
"""


class TestPrintedCrewSheets:
    def test_a_start_order_from_before_was_never_printed_here(self, tmp_path: Path, without):
        """Nobody is told to print anew what was not printed by this desk."""
        file = tmp_path / "desk.sqlite3"
        migrate.upgrade(file, without("0010_printed_crew_sheets.py"))
        with closing(sqlite3.connect(file)) as connection, connection:
            connection.executescript(A_START_ORDER)

        migrate.upgrade(file)

        with closing(sqlite3.connect(file)) as connection:
            found = "SELECT number, came_by, set_by, printed_version FROM start_order"
            assert connection.execute(found).fetchall() == [(1, "typed", "Runa", "")]
            assert not connection.execute("PRAGMA foreign_key_check").fetchall()


class TestUsualDeviations:
    def test_a_club_from_before_accepts_nothing_of_its_own(self, tmp_path: Path, without):
        """Its athletes' settings say what they said, and its apparatus stand as they stood."""
        file = tmp_path / "desk.sqlite3"
        migrate.upgrade(file, without("0011_usual_deviations.py"))
        with closing(sqlite3.connect(file)) as connection, connection:
            connection.execute(
                "INSERT INTO club (name, length_unit, created_at)"
                " VALUES ('Harbour', 'cm', '2026-01-01')"
            )

        migrate.upgrade(file)

        store = Store(file)
        with store.work(1, writes=False) as session:
            assert usual_deviations.usual(session) == {}
        store.close()


class TestOneAthlete:
    def test_an_athlete_from_before_counts_by_their_own_entry(self, tmp_path: Path, without):
        """Nobody is taken in to anybody until a coach says so."""
        file = tmp_path / "desk.sqlite3"
        migrate.upgrade(file, without("0012_one_athlete.py"))
        with closing(sqlite3.connect(file)) as connection, connection:
            connection.execute(
                "INSERT INTO club (name, length_unit, created_at)"
                " VALUES ('Harbour', 'cm', '2026-01-01')"
            )
            connection.execute(
                "INSERT INTO athlete (club_id, family_name, given_name, printed_name, group_name,"
                " start_number, created_at, created_by, searched)"
                " VALUES (1, 'Ask', 'Ada', '', '', '', '2026-01-01', 'Ida', 'ask ada')"
            )

        migrate.upgrade(file)

        with closing(sqlite3.connect(file)) as connection:
            found = "SELECT family_name, left_on, taken_into_id FROM athlete"
            assert connection.execute(found).fetchall() == [("Ask", None, None)]
            assert not connection.execute("PRAGMA foreign_key_check").fetchall()


class TestMarksThatIncludeARaise:
    def test_of_a_raise_from_before_nobody_has_said_it(self, tmp_path: Path, without):
        file = tmp_path / "desk.sqlite3"
        migrate.upgrade(file, without("0013_marks_include_a_raise.py"))
        with closing(sqlite3.connect(file)) as connection, connection:
            connection.executescript(A_START_ORDER + A_RAISE)

        migrate.upgrade(file)

        with closing(sqlite3.connect(file)) as connection:
            found = "SELECT step, raise_mm, told_by, marks_include FROM raise_request"
            assert connection.execute(found).fetchall() == [("granted", 50, "The jury", None)]
            assert not connection.execute("PRAGMA foreign_key_check").fetchall()


class TestNamesAsHeard:
    def test_those_from_before_are_told_apart_by_them(self, tmp_path: Path, without) -> None:
        """Whoever was in the squad already is told apart from those who come."""
        file = tmp_path / "desk.sqlite3"
        migrate.upgrade(file, without("0014_order_of_names.py"))
        add_squad(file, "Ørn", "Ask")

        migrate.upgrade(file)

        store = Store(file)
        with store.work(1, writes=False) as session:
            [found] = heard_as(session, [], [heard(usual_name("Ostrem", "X"))])
            assert found.family_name == "Ørn"
        store.close()


PRESENT = "club_id = 1 AND meet_id IS NULL AND left_on IS NULL AND taken_into_id IS NULL"
"""What every list of a squad asks for."""
A_SQUAD_IN_ORDER = """
    INSERT INTO club (id, name, length_unit, created_at) VALUES (1, 'Harbour', 'cm', '2026-01-01');
    INSERT INTO athlete (club_id, family_name, given_name, printed_name, group_name, start_number,
        created_at, created_by, searched, in_order, heard_name)
    VALUES (1, 'Zoll', 'X', '', '', '', '2026-01-01', 'coach', 'zoll x', x'02', 'x z'),
        (1, 'Ask', 'X', '', '', '', '2026-01-01', 'coach', 'ask x', x'01', 'x a');
"""


class TestSettingDrafts:
    def test_a_desk_from_before_can_have_them(self, tmp_path: Path, without) -> None:
        """Nothing is known of lists that came before; from now on half a row is kept."""
        file = tmp_path / "desk.sqlite3"
        migrate.upgrade(file, without("0017_setting_drafts.py"))
        with closing(sqlite3.connect(file)) as connection, connection:
            connection.executescript(A_START_ORDER)
            connection.execute(
                "INSERT INTO athlete (club_id, family_name, given_name, printed_name, group_name,"
                " start_number, created_at, created_by, searched, in_order, heard_name)"
                " VALUES (1, 'Ask', 'Ea', '', '', '', '2026-01-01', 'Runa', 'ask ea', '', 'ea a')"
            )

        migrate.upgrade(file)

        draft = "INSERT INTO setting_draft VALUES (1, 1, 1, ?, '{}', '', '2026-01-01', 'coach')"
        with closing(sqlite3.connect(file)) as connection, connection:
            connection.execute("PRAGMA foreign_keys = ON")
            assert connection.execute("SELECT count(*) FROM setting_draft").fetchone() == (0,)
            connection.execute(draft, [1])
            with pytest.raises(sqlite3.IntegrityError):
                connection.execute(draft.replace("(1,", "(2,", 1), [2])  # no such model


class TestCardKeys:
    def test_a_desk_from_before_has_no_fingerprint_until_its_next_start(
        self, tmp_path: Path, without
    ) -> None:
        """The key is not in the database: only a start with its folder can tell which it is."""
        file = tmp_path / "desk.sqlite3"
        migrate.upgrade(file, without("0021_card_keys.py"))
        add_club(file)

        migrate.upgrade(file)

        assert counts(file)["card_key"] == 0
        data = DataFolder.at(tmp_path)
        card_keys.must_fit(Store(file), data)
        with closing(sqlite3.connect(file)) as connection:
            [(kept,)] = connection.execute("SELECT fingerprint FROM card_key")
        assert kept == card_keys.fingerprint(data.card_key())


class TestKeptUntil:
    def test_of_a_desk_from_before_nobody_is_erased_and_guests_have_the_usual_time(
        self, tmp_path: Path, without
    ) -> None:
        """An upgrade must not let anybody go whom the club has not been told of."""
        file = tmp_path / "desk.sqlite3"
        migrate.upgrade(file, without("0022_kept_until.py"))
        add_club(file)
        with closing(sqlite3.connect(file)) as connection, connection:
            connection.execute(
                "INSERT INTO athlete (club_id, family_name, given_name, printed_name, group_name,"
                " start_number, created_at, created_by, searched, in_order, heard_name, left_on)"
                " VALUES (1, 'Ask', 'Ea', '', '', '', '2020-01-01', 'Runa', 'ask', '', 'ea a',"
                " '2020-02-02')"
            )

        migrate.upgrade(file)

        with Store(file).work(1, writes=False) as session:
            assert retention.keeping(session) == Keeping(30, None)
            assert retention.last_cleared(session) is None
            assert session.get(Athlete, 1).erased_on is None
        assert retention.clear(Store(file), date(2026, 12, 5)) == 0


class TestChanges:
    def test_of_a_desk_from_before_nothing_is_known_and_what_comes_is_kept(
        self, tmp_path: Path, without
    ) -> None:
        """Whoever upgrades reads from then on who changed what."""
        file = tmp_path / "desk.sqlite3"
        migrate.upgrade(file, without("0023_changes.py"))
        add_club(file)

        migrate.upgrade(file)

        with Store(file).work(1, by="Runa", account=1, writes=True) as session:
            assert record.latest(session, 1) == []
            session.add(Part(name="Pin", kind="", minimum=1, created_by="Runa"))
        with Store(file).work(1, writes=False) as session:
            assert [line["table"] for line in record.latest(session, 1)[0].lines] == ["part"]


class TestSeveralClubs:
    def test_clubs_from_before_are_open_and_the_oldest_owner_makes_others(
        self, tmp_path: Path, without
    ) -> None:
        """Somebody has to be able to; who can sign in no more is passed over."""
        file = tmp_path / "desk.sqlite3"
        migrate.upgrade(file, without("0024_several_clubs.py"))
        add_club(file)
        with closing(sqlite3.connect(file)) as connection, connection:
            for number, (role, disabled) in enumerate(
                [("coach", None), ("owner", "2026-02-02"), ("owner", None), ("owner", None)], 1
            ):
                connection.execute(
                    "INSERT INTO account (id, sign_in_name, password_hash, created_at)"
                    " VALUES (?, ?, 'hash', '2026-01-01')",
                    (number, f"name {number}"),
                )
                connection.execute(
                    "INSERT INTO membership VALUES (?, 1, ?, ?, 'Edda', '2026-01-01', ?)",
                    (number, number, role, disabled),
                )

        migrate.upgrade(file)

        with Store(file).installation(writes=False) as session:
            assert [club.closed_at for club in session.scalars(select(Club))] == [None]
            assert [owner.id for owner in installation_owners(session)] == [3]


class TestGuestClubs:
    def test_meets_from_before_have_none_and_take_them_from_then_on(
        self, tmp_path: Path, without
    ) -> None:
        file = tmp_path / "desk.sqlite3"
        migrate.upgrade(file, without("0025_guest_clubs.py"))
        add_club(file)
        with closing(sqlite3.connect(file)) as connection, connection:
            connection.execute(
                "INSERT INTO meet (id, club_id, name, hall, begins_on, ends_on, cards_until, note,"
                " created_at, created_by) VALUES (1, 1, 'Cup', '', '2026-12-05', '2026-12-05',"
                " '2026-12-05', '', '2026-01-01', 'Runa')"
            )

        migrate.upgrade(file)

        with Store(file).work(1, by="Runa", writes=True) as session:
            assert guest_clubs.of_meet(session, 1) == []
            assert guest_clubs.all_away(session) == []
            handing_over.invite(session, b"k" * 32, 1, "Lakeside")
            assert [guest.entered_as for guest in guest_clubs.of_meet(session, 1)] == ["Lakeside"]


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


class TestAccounts:
    def test_coaches_from_before_lose_nothing(self, tmp_path: Path, without) -> None:
        """They sign in as before and are signed in still; who was there first is the owner."""
        file = tmp_path / "desk.sqlite3"
        migrate.upgrade(file, without("0018_accounts.py"))
        coaches = [(3, 1, "edda"), (4, 1, "bo"), (5, 2, "cy")]
        day = "2026-03-01 18:00:00"
        with closing(sqlite3.connect(file)) as connection:
            for number in (1, 2):
                connection.execute(
                    "INSERT INTO club (id, name, length_unit, created_at) VALUES (?, ?, 'cm', ?)",
                    (number, f"Club {number}", day),
                )
            for number, club, name in coaches:
                connection.execute(
                    "INSERT INTO coach VALUES (?, ?, ?, ?, ?, ?)",
                    (number, club, name, name.title(), f"hash of {name}", day),
                )
                connection.execute(
                    "INSERT INTO sign_in VALUES (?, ?, ?, ?, ?)",
                    (number + 10, club, number, f"stamp of {name}", day),
                )
            connection.commit()

        migrate.upgrade(file)

        store = Store(file)
        with store.installation(writes=False) as session:
            kept = [
                (one.account.sign_in_name, one.account.password_hash, one.shown_name, one.role)
                for one in session.scalars(select(Membership).order_by(Membership.id))
            ]
            signed_in = [
                (one.club_id, one.account_id, one.stamp_hash, one.seen_at == one.began_at)
                for one in session.scalars(select(SignIn).order_by(SignIn.id))
            ]
        store.close()
        assert kept == [
            ("edda", "hash of edda", "Edda", "owner"),
            ("bo", "hash of bo", "Bo", "coach"),
            ("cy", "hash of cy", "Cy", "owner"),
        ]
        assert signed_in == [
            (1, 3, "stamp of edda", True),
            (1, 4, "stamp of bo", True),
            (2, 5, "stamp of cy", True),
        ]


class TestFailedTries:
    def test_a_desk_from_before_counts_them_from_now_on(self, tmp_path: Path, without) -> None:
        """And lets phones in by hand; its stations stay open meanwhile."""
        file = tmp_path / "desk.sqlite3"
        migrate.upgrade(file, without("0019_failed_tries.py"))

        migrate.upgrade(file)

        store = Store(file)
        with store.installation(writes=True) as session:
            session.add(FailedTry(counted="somebody", at_ms=1_772_000_000_000))
        with store.installation(writes=False) as session:
            assert session.scalars(select(FailedTry.counted)).all() == ["somebody"]
            assert session.scalars(select(StationLetIn)).all() == []
        store.close()


class TestSecondFactor:
    def test_accounts_from_before_have_none_and_stay_signed_in(
        self, tmp_path: Path, without
    ) -> None:
        file = tmp_path / "desk.sqlite3"
        migrate.upgrade(file, without("0020_second_factor.py"))
        day = "2026-03-01 18:00:00"
        with closing(sqlite3.connect(file)) as connection:
            connection.execute(
                "INSERT INTO club (id, name, length_unit, created_at) VALUES (1, 'A', 'cm', ?)",
                (day,),
            )
            connection.execute("INSERT INTO account VALUES (1, 'edda', 'hash', ?)", (day,))
            connection.execute(
                "INSERT INTO membership VALUES (1, 1, 1, 'owner', 'Edda', ?, NULL)", (day,)
            )
            connection.execute(
                "INSERT INTO sign_in VALUES (1, 1, 1, 'stamp', ?, ?, 'Firefox')", (day, day)
            )
            connection.commit()

        migrate.upgrade(file)

        store = Store(file)
        with store.installation(writes=False) as session:
            [account] = session.scalars(select(Account))
            [signed_in] = session.scalars(select(SignIn))
            assert account.second_factor_salt is None
            assert not signed_in.waits_for_code
            assert not session.get_one(Club, 1).second_factor_needed
        store.close()


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
