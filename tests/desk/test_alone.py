"""One desk at a time has a folder and the database that it names, wherever the other one is."""

import logging
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from sqlalchemy import create_engine, text

from settingsdesk.config import DataFolder
from settingsdesk.desk.alone import StaysAlone, alone_with
from settingsdesk.desk.backups import archive, moving, restoring
from settingsdesk.desk.clock import now
from settingsdesk.desk.examination import examine
from settingsdesk.folder_lock import FolderInUse
from settingsdesk.store.engine import database_url
from settingsdesk.store.errors import DatabaseInUse
from settingsdesk.store.server import DatabaseLock
from tests.conftest import DemoClub
from tests.databases import on_server

SERVING = "serving at 0.0.0.0, port 8000"
HOLDS_IT = (
    "import sys\n"
    "from settingsdesk.store.server import DatabaseLock\n"
    "with DatabaseLock(sys.argv[1], 'there', 'serving elsewhere'):\n"
    "    print('held', flush=True)\n"
    "    sys.stdin.read()\n"
)


@pytest.fixture
def data(demo_club: DemoClub) -> DataFolder:
    return demo_club.data


@pytest.fixture
def elsewhere(data: DataFolder, tmp_path: Path) -> DataFolder:
    """The folder of another machine that names the same database."""
    return replace(DataFolder.at(tmp_path / "elsewhere"), server=data.server)


def cut_all(data: DataFolder) -> None:
    """As when the server is started anew."""
    engine = create_engine(database_url(data.server))
    with engine.begin() as connection:
        connection.execute(
            text(
                "SELECT pg_terminate_backend(pid, 5000) FROM pg_stat_activity"
                " WHERE datname = current_database() AND pid <> pg_backend_pid()"
            )
        )
    engine.dispose()


class TestAFolder:
    def test_is_used_by_one(self, data: DataFolder) -> None:
        with alone_with(data, SERVING), pytest.raises(FolderInUse), alone_with(data, SERVING):
            pytest.fail("let in")


@on_server
class TestADatabaseOnAServer:
    def test_is_served_from_one_folder_and_the_other_is_told_from_where(
        self, data: DataFolder, elsewhere: DataFolder
    ) -> None:
        told = pytest.raises(DatabaseInUse, match=rf"now \({SERVING}, .+\)\. Stop that one")
        with alone_with(data, SERVING), told, alone_with(elsewhere, SERVING):
            pytest.fail("let in")
        with alone_with(elsewhere, SERVING):
            pass

    def test_the_doctor_of_the_other_says_so(self, data: DataFolder, elsewhere: DataFolder) -> None:
        def told(of: DataFolder) -> list[str]:
            return [point.words for point in examine(of) if "one desk at a time" in point.words]

        assert told(data) == told(elsewhere) == []
        with alone_with(data, SERVING):
            assert told(data) == []
            [words] = told(elsewhere)
        assert SERVING in words

    def test_is_not_replaced_nor_moved_under_a_desk_that_serves_it(
        self, data: DataFolder, elsewhere: DataFolder, tmp_path: Path
    ) -> None:
        """Whoever sits at the other machine sees no lock in their own folder."""
        file = archive.write(data, tmp_path / "desk.zip", now())
        with alone_with(data, SERVING):
            with restoring.tried(elsewhere, file) as ready, pytest.raises(DatabaseInUse):
                restoring.put_in(elsewhere, ready, now())
            for move in (moving.to_server, moving.to_folder):
                with pytest.raises(DatabaseInUse):
                    move(elsewhere)

    def test_is_free_as_soon_as_the_process_is_gone(self, data: DataFolder) -> None:
        """However it went."""
        other = subprocess.Popen(
            [sys.executable, "-c", HOLDS_IT, data.server],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
        )
        with other:
            assert other.stdout is not None
            assert other.stdout.readline() == b"held\n"
            lock = DatabaseLock(data.server, data.own_home, SERVING)
            assert str(lock.taken_by()).startswith("serving elsewhere, ")
            other.kill()
            other.wait()
        while lock.taken_by() is not None:
            pass  # the server sees it in a moment of its own
        with lock:
            pass

    def test_is_taken_again_after_the_server_was_started_anew(
        self, data: DataFolder, elsewhere: DataFolder
    ) -> None:
        with alone_with(data, SERVING) as held:
            assert held is not None
            cut_all(data)
            assert held.taken_by() is None
            with pytest.raises(DatabaseInUse), alone_with(elsewhere, SERVING):
                pytest.fail("let in")

    def test_one_that_somebody_else_took_meanwhile_is_told(
        self, data: DataFolder, elsewhere: DataFolder, caplog: pytest.LogCaptureFixture
    ) -> None:
        with alone_with(data, SERVING) as held:
            assert held is not None
            cut_all(data)
            with alone_with(elsewhere, "serving at the hall"):
                assert str(held.taken_by()).startswith("serving at the hall, ")
                with caplog.at_level(logging.ERROR):
                    StaysAlone(held)._do()
        assert "another settingsdesk serves this database too" in caplog.text

    @pytest.mark.skipif(not hasattr(os, "fork"), reason="this system does not fork")
    def test_a_worker_is_of_the_same_desk_and_takes_nothing_with_it(
        self, data: DataFolder, elsewhere: DataFolder
    ) -> None:
        with alone_with(data, SERVING) as held:
            assert held is not None
            worker = os.fork()
            if not worker:
                found = held.taken_by()
                held.__exit__()
                os._exit(0 if found is None else 1)
            assert os.waitstatus_to_exitcode(os.waitpid(worker, 0)[1]) == 0
            with pytest.raises(DatabaseInUse), alone_with(elsewhere, SERVING):
                pytest.fail("let in")
