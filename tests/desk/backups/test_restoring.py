"""A backup in the place of a desk: all of it or nothing, and what was there stays beside it."""

import contextlib
import errno
import os
import shutil
import stat
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from settingsdesk.config import DataFolder
from settingsdesk.desk.backups import archive, restoring
from settingsdesk.desk.backups.refusals import BackupDoesNotFit, BackupIsDamaged
from settingsdesk.desk.meets import erasing
from settingsdesk.desk.opening import make_ready
from settingsdesk.desk.squad import athletes
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.folder_lock import FolderInUse, FolderLock
from settingsdesk.store import migrate
from settingsdesk.store.engine import damage_of
from settingsdesk.store.errors import NoRoomLeft
from settingsdesk.store.migrate import upgraded
from settingsdesk.store.work import Store
from tests.conftest import DemoClub
from tests.databases import SERVER, of_files

MOMENT = datetime(2026, 11, 30, 6, 45, tzinfo=UTC)
ASIDE = "before-restoring-20261130T064500Z"


@pytest.fixture
def backup(demo_club: DemoClub, tmp_path: Path) -> Path:
    """A backup of the demo club, which has gone on since: one athlete more, another address."""
    make_ready(demo_club.store, demo_club.data)
    demo_club.data.remember_public_url("https://desk.example.org")
    file = archive.write(demo_club.data, tmp_path / "desk.zip", MOMENT)
    with demo_club.work(writes=True) as session:
        athletes.add(session, Person("Neu", "Ana"))
    demo_club.data.remember_public_url("https://other.example.org")
    demo_club.store.close()
    return file


def restore(data: DataFolder, file: Path) -> Path | None:
    with restoring.tried(data, file) as ready:
        return restoring.put_in(data, ready, MOMENT)


def names_in(data: DataFolder, club_id: int) -> set[str]:
    store = Store(data.where)
    with store.work(club_id, writes=False) as session:
        found = {member.listed_name for member in athletes.find(session)}
    store.close()
    return found


class TestARestoredDesk:
    def test_is_as_it_was_and_the_other_one_lies_beside_it(
        self, demo_club: DemoClub, backup: Path
    ) -> None:
        data, club_id = demo_club.data, demo_club.account.club_id
        went_on = names_in(data, club_id)

        aside = restore(data, backup)

        assert aside == data.path / ASIDE
        assert names_in(data, club_id) == went_on - {"Neu, Ana"}
        assert data.public_url() == "https://desk.example.org"
        assert aside in data.copies()
        if data.server:  # its rows lie there as a backup
            [replaced] = aside.glob("settingsdesk-*.zip")
            before = DataFolder.at(aside.with_name("as it was"))
            restore(before, replaced)
        else:
            before = DataFolder(aside)
        assert names_in(before, club_id) == went_on
        assert before.public_url() == "https://other.example.org"

    def test_opens_the_cards_that_were_printed_before(
        self, demo_club: DemoClub, backup: Path
    ) -> None:
        """Its key came back with it; a desk that was begun anew meanwhile had another."""
        key = demo_club.data.card_key()
        shutil.rmtree(demo_club.data.path)
        data = DataFolder.at(demo_club.data.path)
        make_ready(store := upgraded(data.where), data)
        store.close()
        assert data.card_key() != key

        restore(data, backup)
        assert data.card_key() == key
        make_ready(store := Store(data.where), data)
        store.close()

    def test_begins_in_an_empty_folder_too(self, backup: Path, tmp_path: Path) -> None:
        data = DataFolder.at(tmp_path / "another machine")
        assert restore(data, backup) is None
        assert damage_of(data.database) is None

    def test_is_for_its_owner_only_and_nothing_else_is_left(
        self, backup: Path, tmp_path: Path
    ) -> None:
        data = DataFolder.at(tmp_path / "another machine")
        restore(data, backup)

        names = {file.name for file in data.path.iterdir()}
        assert names <= {"settingsdesk.sqlite3", "card.key", "public_url", "desk.lock"}
        if os.name == "posix":
            assert [f for f in data.path.iterdir() if stat.S_IMODE(f.stat().st_mode) & 0o077] == []

    def test_nobody_comes_back_who_was_erased_since(
        self, demo_club: DemoClub, backup: Path, tmp_path: Path
    ) -> None:
        """Here by this desk's list, on a new machine by the one that lies beside the backup."""
        data = demo_club.data
        with demo_club.work(writes=True) as session:
            gone = next(one for one in athletes.find(session) if one.listed_name != "Neu, Ana")
            erasing.erase(session, gone.id)
        demo_club.store.close()
        elsewhere = DataFolder.at(tmp_path / "another machine")
        shutil.copy(data.path / "erased", backup.with_name("erased"))

        for folder in (data, elsewhere):
            restore(folder, backup)
            assert gone.listed_name not in names_in(folder, demo_club.account.club_id)


@of_files
class TestNothingIsChanged:
    @pytest.fixture(autouse=True)
    def untouched(self, demo_club: DemoClub, backup: Path) -> Iterator[None]:
        """The desk is, byte by byte, what it was."""

        def content() -> dict[str, bytes]:
            files = (f for f in demo_club.data.path.iterdir() if f.name != "desk.lock")
            return {file.name: file.read_bytes() for file in files if file.is_file()}

        before = content()
        yield
        assert content() == before

    def test_by_looking_at_a_backup(self, demo_club: DemoClub, backup: Path) -> None:
        with restoring.tried(demo_club.data, backup) as ready:
            assert len(ready.found.clubs) == 1
            assert ready.found.athletes > 0
            assert ready.contents.made_at == MOMENT

    def test_where_a_desk_is_served(self, demo_club: DemoClub, backup: Path) -> None:
        with (
            FolderLock(demo_club.data.path, "serving at 127.0.0.1, port 8000"),
            pytest.raises(FolderInUse, match="port 8000"),
        ):
            restore(demo_club.data, backup)

    def test_by_a_database_that_is_damaged_under_right_checksums(
        self, demo_club: DemoClub, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Backed up by something else than this program, from a disk that was failing."""

        def spoilt(source: Path, target: Path) -> None:
            content = bytearray(source.read_bytes())
            content[8192:12288] = bytes(4096)
            target.write_bytes(content)

        monkeypatch.setattr(migrate, "copy", spoilt)
        file = archive.write(demo_club.data, tmp_path / "bad.zip", MOMENT)
        with pytest.raises(BackupIsDamaged, match="one before"):
            restore(demo_club.data, file)

    def test_by_a_disk_that_takes_no_more(
        self, demo_club: DemoClub, backup: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """The backup is sound, and is not said to be damaged."""

        def full(*_: object) -> None:
            raise OSError(errno.ENOSPC, "No space left on device")

        monkeypatch.setattr(archive, "write_through", full)
        with pytest.raises(NoRoomLeft):
            restore(demo_club.data, backup)

    def test_by_a_backup_without_the_key_of_its_cards(
        self, demo_club: DemoClub, tmp_path: Path
    ) -> None:
        other = DataFolder.at(tmp_path / "other")
        shutil.copy(demo_club.data.database, other.database)
        file = archive.write(other, tmp_path / "keyless.zip", MOMENT)
        with pytest.raises(BackupDoesNotFit, match=r"card\.key"):
            restore(demo_club.data, file)


class TestAnInterruptedRestoring:
    @pytest.mark.parametrize("moves", range(1, 9) if SERVER else range(12))
    def test_is_ended_by_whoever_opens_the_desk_next(
        self, demo_club: DemoClub, backup: Path, monkeypatch: pytest.MonkeyPatch, moves: int
    ) -> None:
        """Cut off before each move of a file: either the desk of before, or the one that came."""
        data, club_id = demo_club.data, demo_club.account.club_id
        went_on = names_in(data, club_id)

        class CutOffError(Exception):
            pass

        left = moves
        for name in ("replace", "rename"):
            move = getattr(Path, name)

            def counted(self: Path, target: Path, move=move) -> Path:
                nonlocal left
                if left == 0:
                    raise CutOffError
                left -= 1
                return move(self, target)

            monkeypatch.setattr(Path, name, counted)
        with contextlib.suppress(CutOffError):
            restore(data, backup)
        monkeypatch.undo()

        restoring.go_on(data)
        make_ready(store := upgraded(data.where), data)
        store.close()
        came = data.public_url() == "https://desk.example.org"
        assert names_in(data, club_id) == (went_on - {"Neu, Ana"} if came else went_on)
        # On a server what is there is backed up first, which moves two files.
        assert came is (moves > (2 if data.server else 0))
        assert not [file for file in data.path.iterdir() if file.name.startswith("restoring.")]
