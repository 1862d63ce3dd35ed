"""A unit of work is done wholly or not at all, and nobody writes over somebody else."""

import gc
import shutil
import threading
from contextlib import suppress
from pathlib import Path

import pytest
from sqlalchemy import func, select, text, update

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.store.athletes import Athlete, by_id
from settingsdesk.store.engine import for_writing, open_engine
from settingsdesk.store.errors import (
    DatabaseIsDamaged,
    DatabaseIsElsewhere,
    DatabaseNotWritable,
    DeskIsBusy,
    JournalNotPossible,
    NobodyActs,
    NoRoomLeft,
    OpenedForReading,
)
from settingsdesk.store.rotations import RotationTurn
from settingsdesk.store.work import Store
from tests.databases import of_files


class SomethingWentWrongError(Exception):
    """Stands for anything that ends a unit of work early."""


def rename(session, athlete_id: int, name: str) -> None:
    session.get(Athlete, athlete_id).family_name = name


def rename_and_fail(session, athlete_id: int) -> None:
    rename(session, athlete_id, "Birk")
    session.flush()
    raise SomethingWentWrongError


def go_on_after_a_refusal(session, athlete_id: int) -> None:
    with suppress(SomethingWentWrongError), session.or_nothing():
        rename_and_fail(session, athlete_id)
    rename(session, athlete_id, "Birk")


def name_of(store: Store, athlete_id: int) -> str:
    with store.installation(writes=False) as session:
        return session.get(Athlete, athlete_id).family_name


class TestWhoActs:
    def test_is_known_to_all_that_is_put_on_record_in_it(self, store: Store, ours):
        with store.work(ours.club, by="Edda Quill", writes=True) as session:
            assert session.by == "Edda Quill"

    def test_nothing_is_put_on_record_by_nobody(self, store: Store, ours):
        with store.work(ours.club, writes=True) as session, pytest.raises(NobodyActs):
            _ = session.by


class TestUnitOfWork:
    def test_what_was_changed_is_kept_when_the_block_ends(self, store: Store, ours):
        with store.work(ours.club, writes=True) as session:
            rename(session, ours.athlete, "Birk")
        assert name_of(store, ours.athlete) == "Birk"

    def test_nothing_is_kept_when_anything_goes_wrong(self, store: Store, ours):
        """A coach never has half a change to tidy up."""
        with pytest.raises(SomethingWentWrongError), store.work(ours.club, writes=True) as session:
            rename_and_fail(session, ours.athlete)
        assert name_of(store, ours.athlete) == "Ask"

    def test_where_a_block_was_refused_the_rest_may_read_and_nothing_is_kept(
        self, store: Store, ours
    ):
        """A form that is refused is shown again with all that it offers."""
        with store.work(ours.club, writes=True) as session:
            before = session.get(Athlete, ours.athlete)
            with pytest.raises(SomethingWentWrongError), session.or_nothing():
                rename_and_fail(session, ours.athlete)
            assert session.scalar(select(func.count(Athlete.id))) == 1
        assert before.club_id == ours.club
        assert name_of(store, ours.athlete) == "Ask"

    def test_after_such_a_block_nothing_more_can_be_written(self, store: Store, ours):
        """It would be lost with the rest, and nobody would be told."""
        with pytest.raises(OpenedForReading), store.work(ours.club, writes=True) as session:
            go_on_after_a_refusal(session, ours.athlete)
        assert name_of(store, ours.athlete) == "Ask"

    def test_what_was_read_can_still_be_shown_after_the_end(self, store: Store, ours):
        """A page is drawn after the unit of work has ended."""
        with store.work(ours.club, writes=False) as session:
            athlete = session.get(Athlete, ours.athlete)
        assert athlete.family_name == "Ask"
        with store.work(ours.club, writes=True) as session:
            athlete = session.get(Athlete, ours.athlete)
            athlete.family_name = "Birk"
        assert athlete.family_name == "Birk"

    def test_what_is_asked_for_again_by_its_number_is_not_read_again(self, store: Store, ours):
        """A press first looks who is meant, and then changes it."""
        with store.work(ours.club, writes=False) as session:
            by_id(session, ours.athlete)
            gc.collect()  # of what nobody holds a session keeps nothing
            session.connection().execute(text("UPDATE athlete SET family_name = 'Birk'"))

            assert by_id(session, ours.athlete).family_name != "Birk"

    def test_reading_refuses_to_write_instead_of_forgetting_it(self, store: Store, ours):
        """A page that only shows must not seem to save."""
        with pytest.raises(OpenedForReading), store.work(ours.club, writes=False) as session:
            rename(session, ours.athlete, "Birk")
        with pytest.raises(OpenedForReading), store.installation(writes=False) as session:
            session.execute(update(Athlete).values(family_name="Birk"))
        assert name_of(store, ours.athlete) == "Ask"


class TestTurnsToWrite:
    def test_a_second_writer_waits_and_is_then_told_that_the_desk_is_busy(self, store: Store, ours):
        """Two coaches who save at once: the second keeps the page and tries again."""
        with (
            store.work(ours.club, writes=True),
            pytest.raises(DeskIsBusy) as refused,
            store.work(ours.club, writes=True),
        ):
            pytest.fail("two writers at once")
        assert "nothing was changed" in str(refused.value)
        assert refused.value.waited_seconds == 0.05

    def test_another_process_that_writes_is_waited_for_too(
        self, database: Path, store: Store, ours
    ):
        """A second store on the same file is to the first what another process is."""
        other = Store(database, wait_seconds=0.05)
        with (
            other.work(ours.club, writes=True),
            pytest.raises(DeskIsBusy) as refused,
            store.work(ours.club, writes=True),
        ):
            pytest.fail("two writers at once")
        assert isinstance(refused.value, SettingsDeskError)
        other.close()

    def test_the_turn_is_given_back_after_a_failure(self, store: Store, ours):
        with pytest.raises(SomethingWentWrongError), store.work(ours.club, writes=True):
            raise SomethingWentWrongError
        with store.work(ours.club, writes=True) as session:
            rename(session, ours.athlete, "Birk")
        assert name_of(store, ours.athlete) == "Birk"

    def test_readers_go_on_while_somebody_writes_and_see_the_state_before(self, store: Store, ours):
        with store.work(ours.club, writes=True) as session:
            rename(session, ours.athlete, "Birk")
            session.flush()
            assert name_of(store, ours.athlete) == "Ask"

    def test_sixteen_at_once_lose_nothing(self, database: Path, ours):
        """Read, decide, write: whoever comes second must see what the first one wrote."""
        stores = [Store(database, wait_seconds=60), Store(database, wait_seconds=60)]

        def one_more(store: Store) -> None:
            for _ in range(5):
                with store.work(ours.club, writes=True) as session:
                    place = session.scalar(select(func.max(RotationTurn.listed_place)))
                    session.scalars(select(RotationTurn)).one().listed_place = place + 1

        threads = [threading.Thread(target=one_more, args=(stores[n % 2],)) for n in range(16)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        with stores[0].work(ours.club, writes=False) as session:
            assert session.scalar(select(RotationTurn.listed_place)) == 1 + 16 * 5
        for store in stores:
            store.close()


@of_files
class TestConnections:
    WANTED = {  # noqa: RUF012 -- never changed
        "journal_mode": "wal",
        "synchronous": 2,  # FULL: on the disk before it is acknowledged
        "foreign_keys": 1,
        "trusted_schema": 0,
        "secure_delete": 1,
        "busy_timeout": 5000,
    }

    def test_every_connection_of_the_pool_is_set_up(self, database: Path):
        """Killing the program cannot tell whether this is so; only a power cut could."""
        engine = open_engine(database)
        connections = [engine.connect() for _ in range(4)]
        for connection in connections:
            found = {
                name: connection.exec_driver_sql(f"PRAGMA {name}").scalar() for name in self.WANTED
            }
            assert found == self.WANTED
        for connection in connections:
            connection.close()
        with engine.connect() as again:
            assert again.exec_driver_sql("PRAGMA foreign_keys").scalar() == 1
        engine.dispose()

    def test_a_transaction_for_writing_holds_the_right_to_write_from_its_beginning(
        self, database: Path
    ):
        """Otherwise a reader that turns writer is refused although nobody else is writing."""
        engine = open_engine(database, wait_seconds=0)
        with for_writing(engine).begin(), engine.begin() as reader:
            reader.execute(text("SELECT count(*) FROM club"))
            with pytest.raises(DeskIsBusy):
                reader.execute(text("DELETE FROM club"))
        engine.dispose()


@of_files
class TestTroubleWithTheDisk:
    def test_a_full_disk_is_said_in_words_and_changes_nothing(self, database: Path, ours):
        """The page limit stands in for the disk's end: SQLite reports both alike."""
        engine = open_engine(database)
        with engine.connect() as connection:
            pages = connection.exec_driver_sql("PRAGMA page_count").scalar()
            connection.exec_driver_sql(f"PRAGMA max_page_count = {pages}")
            with pytest.raises(NoRoomLeft, match="Make room"):
                connection.execute(
                    text("UPDATE athlete SET printed_name = :long"), {"long": "x" * 1_000_000}
                )
        engine.dispose()

    def test_a_folder_that_is_not_there_is_named(self, tmp_path: Path):
        store = Store(tmp_path / "nowhere" / "desk.sqlite3")
        with pytest.raises(DatabaseNotWritable) as refused, store.installation(writes=True):
            pytest.fail("opened")
        assert str(tmp_path / "nowhere" / "desk.sqlite3") in str(refused.value)

    def test_a_file_that_is_no_database_is_named_and_kept(self, tmp_path: Path):
        file = tmp_path / "desk.sqlite3"
        file.write_bytes(b"a letter to the club " * 100)
        store = Store(file)
        with pytest.raises(DatabaseIsDamaged) as refused, store.installation(writes=True):
            pytest.fail("opened")
        assert str(file) in str(refused.value)
        assert file.read_bytes().startswith(b"a letter")

    @pytest.mark.parametrize("is_replaced", [False, True], ids=["gone", "replaced"])
    def test_nothing_is_written_to_a_file_that_went_while_it_was_open(
        self, database: Path, is_replaced: bool
    ):
        """The system lets a program write on into a file that nobody will ever find again."""
        store, elsewhere = Store(database), database.with_name("elsewhere.sqlite3")
        with store.installation(writes=True):
            pass
        database.rename(elsewhere)
        if is_replaced:
            shutil.copy(elsewhere, database)

        with (
            pytest.raises(DatabaseIsElsewhere, match="nothing was saved"),
            store.installation(writes=True),
        ):
            pytest.fail("opened")

        elsewhere.rename(database)
        with store.installation(writes=True):
            pass
        store.close()

    def test_a_database_that_cannot_keep_a_log_is_refused(self):
        """In memory there is no log, as on some network disks; both could lose what was saved."""
        with pytest.raises(JournalNotPossible, match="local disk"):
            open_engine("sqlite://").connect()
