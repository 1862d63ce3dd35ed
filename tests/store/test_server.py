"""A PostgreSQL server under the store: several processes, one turn to write in each club."""

import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import func, select, text

from settingsdesk.store import migrate
from settingsdesk.store.athletes import Athlete, by_id
from settingsdesk.store.errors import (
    CharacterNotKept,
    DatabaseDoesNotAnswer,
    DeskIsBusy,
    GivenUpForOthers,
    NotInThisClub,
)
from settingsdesk.store.migrate import State
from settingsdesk.store.rotations import Rotation
from settingsdesk.store.work import TRIES, Store
from tests.databases import Databases, Where, on_server

pytestmark = on_server


@pytest.fixture
def second(database: Where) -> Iterator[Store]:
    """Another process at the same database, as far as the database can tell."""
    opened = Store(database, wait_seconds=0.2)
    yield opened
    opened.close()


class TestTurnsToWrite:
    def test_whoever_comes_second_in_a_club_waits_and_is_told(
        self, store: Store, second: Store, ours
    ) -> None:
        with (
            store.work(ours.club, writes=True),
            pytest.raises(DeskIsBusy, match="Others were saving"),
            second.work(ours.club, writes=True),
        ):
            pytest.fail("let in")

    def test_another_club_does_not_wait(self, store: Store, second: Store, ours, theirs) -> None:
        with store.work(ours.club, writes=True), second.work(theirs.club, writes=True) as session:
            assert session.get(Athlete, theirs.athlete)

    def test_who_writes_over_all_clubs_waits_for_each(
        self, store: Store, second: Store, ours
    ) -> None:
        with (
            store.work(ours.club, writes=True),
            pytest.raises(DeskIsBusy),
            second.installation(writes=True),
        ):
            pytest.fail("let in")

    def test_nothing_that_many_add_to_at_once_is_lost(self, database: Where, ours) -> None:
        """Each reads what is there, and writes what follows from it."""
        failed: list[BaseException] = []

        def add(times: int) -> None:
            own = Store(database)
            try:
                for _ in range(times):
                    with own.work(ours.club, by="coach", writes=True) as session:
                        count = session.scalar(select(func.count()).select_from(Athlete))
                        session.add(
                            Athlete(family_name=f"{count}", given_name="", created_by="coach")
                        )
            except BaseException as error:
                failed.append(error)
                raise
            finally:
                own.close()

        writers = [threading.Thread(target=add, args=(10,)) for _ in range(4)]
        for one in writers:
            one.start()
        for one in writers:
            one.join()
        assert failed == []
        own = Store(database)
        with own.work(ours.club, writes=False) as session:
            names = session.scalars(select(Athlete.family_name)).all()
        own.close()
        assert len(names) == len(set(names)) == 41


class TestReading:
    def test_sees_one_moment(self, store: Store, second: Store, ours) -> None:
        """A page whose head says ten athletes lists ten."""
        count = select(func.count()).select_from(Athlete)
        with store.work(ours.club, writes=False) as session:
            before = session.scalar(count)
            with second.work(ours.club, by="coach", writes=True) as other:
                other.add(Athlete(family_name="Neu", given_name="", created_by="coach"))
            assert session.scalar(count) == before

    def test_a_number_that_no_row_can_have_is_not_there(self, store: Store, ours) -> None:
        with store.work(ours.club, writes=False) as session, pytest.raises(NotInThisClub):
            by_id(session, 2**40)


class TestACharacterThatIsNotKept:
    """Nobody types it, but whoever writes an address or a file may; a file of SQLite keeps it."""

    def test_is_refused_in_words_asked_for_and_written(self, store: Store, ours) -> None:
        with store.work(ours.club, writes=False) as session, pytest.raises(CharacterNotKept):
            session.scalars(select(Athlete).where(Athlete.group_name == "Girls\0")).all()
        with pytest.raises(CharacterNotKept), store.work(ours.club, writes=True) as session:
            session.get_one(Athlete, ours.athlete).group_name = "Girls\0"


class TestTheConnection:
    def test_one_that_was_cut_is_made_anew_unseen(self, store: Store, second: Store, ours) -> None:
        """The server was started anew in the night."""
        with store.work(ours.club, writes=False) as session:
            session.scalar(select(func.count()).select_from(Athlete))
        cut = text(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
            " WHERE datname = current_database() AND pid <> pg_backend_pid()"
        )
        with second.installation(writes=True) as session:
            session.connection().execute(cut)
        with store.work(ours.club, writes=False) as session:
            assert session.get(Athlete, ours.athlete)

    def test_a_server_that_is_away_is_told(self) -> None:
        store = Store("postgresql://nobody@127.0.0.1:1/desk")
        with pytest.raises(DatabaseDoesNotAnswer), store.installation(writes=False) as session:
            session.connection()


def waiting(store: Store) -> int:
    """How many wait for a lock."""
    with store._lookers.connect() as connection:
        asked = text("SELECT count(*) FROM pg_locks WHERE NOT granted")
        return int(connection.execute(asked).scalar_one())


class TestWhoWaitForEachOther:
    def test_what_the_server_gives_up_is_told_and_done_once_more_where_that_is_safe(
        self, store: Store, second: Store, ours
    ) -> None:
        """Somebody repairs a table by hand while the desk works."""
        tries: list[int] = []

        def by_hand() -> None:
            with second._writers.begin() as connection:
                for line in (
                    "SET LOCAL lock_timeout = 0",
                    "SET LOCAL deadlock_timeout = '60s'",
                    "LOCK TABLE rotation",
                    "LOCK TABLE athlete",
                ):
                    connection.execute(text(line))

        def rename() -> None:
            with store.work(ours.club, by="Runa", writes=True) as session:
                for line in ("SET LOCAL lock_timeout = 0", "SET LOCAL deadlock_timeout = '100ms'"):
                    session.connection().execute(text(line))
                by_id(session, ours.athlete).group_name = "Juniors"
                session.flush()
                if not tries:
                    hand.start()
                    while not waiting(second):
                        time.sleep(0.01)
                tries.append(1)
                session.scalar(select(func.count()).select_from(Rotation))

        hand = threading.Thread(target=by_hand)
        store.again(rename)
        hand.join()

        assert len(tries) == 2
        with store.work(ours.club, writes=False) as session:
            assert by_id(session, ours.athlete).group_name == "Juniors"

    def test_it_is_not_tried_for_ever(self, store: Store) -> None:
        tries: list[int] = []

        def never() -> None:
            tries.append(1)
            raise GivenUpForOthers

        with pytest.raises(GivenUpForOthers):
            store.again(never)

        assert len(tries) == TRIES


class TestUpgrades:
    def test_of_several_at_once_one_makes_the_tables(
        self, databases: Databases, tmp_path: Path
    ) -> None:
        where = databases.made(tmp_path / "empty.sqlite3", lambda _: None)
        failed: list[BaseException] = []

        def upgrade() -> None:
            try:
                migrate.upgrade(where)
            except BaseException as error:
                failed.append(error)
                raise

        both = [threading.Thread(target=upgrade) for _ in range(3)]
        for one in both:
            one.start()
        for one in both:
            one.join()
        assert failed == []
        assert migrate.state(where) is State.CURRENT
