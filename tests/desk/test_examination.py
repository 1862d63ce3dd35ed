"""What the doctor finds: what is well, what is not, and what to do; it changes nothing."""

import os
from pathlib import Path

import pytest

from settingsdesk.config import DataFolder
from settingsdesk.desk.examination import examine
from settingsdesk.desk.opening import make_ready
from tests.conftest import DemoClub

rights = pytest.mark.skipif(os.name != "posix", reason="files have no such rights here")


@pytest.fixture
def data(demo_club: DemoClub) -> DataFolder:
    """A desk that was opened before, and is closed to others."""
    make_ready(demo_club.store, demo_club.data)
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

    def test_an_empty_desk_says_how_to_begin_and_stays_empty(self, tmp_path: Path) -> None:
        data = DataFolder.at(tmp_path / "empty")
        [found] = not_well(data)
        assert "settingsdesk init" in found
        assert list(data.path.iterdir()) == []

    def test_a_database_of_another_program(self, tmp_path: Path) -> None:
        data = DataFolder.at(tmp_path / "other")
        data.database.write_bytes(b"no database at all" * 100)
        data.database.chmod(0o600)
        assert len(not_well(data)) == 1
