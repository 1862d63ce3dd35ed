"""What the doctor finds: what is well, what is not, and what to do; it changes nothing."""

import http.server
import os
import socket
import threading
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import text

from settingsdesk.config import BackupNotes, DataFolder
from settingsdesk.desk import examination
from settingsdesk.desk.clock import now
from settingsdesk.desk.examination import examine
from settingsdesk.desk.opening import make_ready
from tests.conftest import DemoClub
from tests.databases import of_files, on_server

rights = pytest.mark.skipif(os.name != "posix", reason="files have no such rights here")


@pytest.fixture
def data(demo_club: DemoClub) -> DataFolder:
    """A desk that was opened before, and is closed to others."""
    make_ready(demo_club.store, demo_club.data)
    demo_club.data.remember_backups(BackupNotes(None, now(), Path("stick/desk.zip")))
    for file in demo_club.data.path.rglob("*"):
        file.chmod(0o600)
    return demo_club.data


def not_well(data: DataFolder) -> list[str]:
    return [point.words for point in examine(data) if not point.is_well]


class TestExamining:
    def test_a_desk_that_is_well(self, data: DataFolder) -> None:
        assert not_well(data) == []
        assert len(examine(data)) >= 4

    @rights
    def test_a_folder_that_others_can_look_into_is_named(self, data: DataFolder) -> None:
        """Names of children, and the keys."""
        data.path.chmod(0o755)
        [found] = not_well(data)
        assert found.startswith(f"Others can read {data.path}.")

    @rights
    @of_files
    def test_a_file_that_others_can_read_is_named(self, data: DataFolder) -> None:
        data.database.chmod(0o640)
        [found] = not_well(data)
        assert str(data.database) in found

    def test_a_key_that_is_gone(self, data: DataFolder) -> None:
        (data.path / "card.key").unlink()
        [found] = not_well(data)
        assert "Put the copy of it back" in found
        assert not (data.path / "card.key").exists()

    def test_a_copy_in_which_erased_people_may_be(self, data: DataFolder) -> None:
        copy = data.path / "settingsdesk-before-upgrade-from-0016-x.sqlite3"
        copy.touch(mode=0o600)
        os.utime(copy, (1, 1))
        assert not_well(data) == []

        (data.path / "erased").touch(mode=0o600)
        [found] = not_well(data)
        assert found.startswith(copy.name)

    @on_server
    def test_tables_of_another_program_in_the_same_database_are_told(
        self, data: DataFolder, demo_club: DemoClub
    ) -> None:
        with demo_club.store.installation(writes=True) as session:
            session.connection().execute(text("CREATE TABLE recipes (id integer)"))
        assert not_well(data) == []
        [told] = [point.words for point in examine(data) if "other programs" in point.words]
        assert told.endswith("are left alone: recipes")

    def test_an_empty_desk_says_how_to_begin_and_stays_empty(self, tmp_path: Path) -> None:
        data = DataFolder.at(tmp_path / "empty")
        [found] = not_well(data)
        assert "settingsdesk init" in found
        assert list(data.path.iterdir()) == []

    def test_a_database_of_another_program(self, tmp_path: Path) -> None:
        data = DataFolder.at(tmp_path / "other")
        data.database.write_bytes(b"no database at all" * 100)
        data.database.chmod(0o600)
        assert "cannot be read" in not_well(data)[0]

    def test_nothing_backed_up(self, data: DataFolder) -> None:
        data.remember_backups(BackupNotes())
        [found] = not_well(data)
        assert found.startswith("Nothing is backed up. Make one now: settingsdesk backup FILE")

    @of_files
    def test_a_database_that_is_damaged(self, data: DataFolder, demo_club: DemoClub) -> None:
        """Pages that nobody asked for lately are read, too."""
        demo_club.store.close()
        content = bytearray(data.database.read_bytes())
        content[-8192:-4096] = b"x" * 4096
        data.database.write_bytes(content)
        assert any("settingsdesk restore FILE" in found for found in not_well(data))

    def test_a_clock_that_went_back(
        self, data: DataFolder, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(examination, "now", lambda: now() - timedelta(hours=1))
        [found] = not_well(data)
        assert found.startswith("The clock of this machine says")

    def test_the_address_on_cards_is_asked(self, data: DataFolder) -> None:
        """A desk that was moved to another machine prints cards that lead nowhere."""
        with socket.create_server(("127.0.0.1", 0)) as taken:
            port = taken.getsockname()[1]
        data.remember_served("127.0.0.1", port)
        [found] = not_well(data)
        assert found.startswith(f"Nobody answers at http://127.0.0.1:{port}")

    def test_an_address_that_only_this_machine_reaches(self, data: DataFolder) -> None:
        class Well(http.server.BaseHTTPRequestHandler):
            def do_GET(self) -> None:
                self.send_response(200)
                self.end_headers()

            def log_message(self, *_: object) -> None:
                pass

        with http.server.HTTPServer(("127.0.0.1", 0), Well) as server:
            threading.Thread(target=server.handle_request).start()
            data.remember_served("127.0.0.1", server.server_port)
            [found] = not_well(data)
        assert "Only this computer reaches these pages" in found
