"""Backups by itself: each day one, fourteen at most, and the desk knows how the last one went."""

import os
import shutil
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from settingsdesk.config import BackupNotes, DataFolder
from settingsdesk.desk.backups import archive, daily
from settingsdesk.desk.backups.daily import DailyBackups, keep, ours_in
from settingsdesk.desk.backups.refusals import BackupNotWritten, FileIsThere
from settingsdesk.desk.clock import local_date
from tests.databases import of_files

NOON = datetime(2026, 11, 30, 12).astimezone(UTC)


@pytest.fixture
def stick(data: DataFolder, tmp_path: Path) -> Path:
    """The folder that was named for backups."""
    folder = tmp_path / "stick"
    folder.mkdir()
    data.remember_backups(BackupNotes(folder))
    return folder


@pytest.fixture
def at(monkeypatch: pytest.MonkeyPatch):
    """Sets the time of day, and the day with it."""

    def it_is(moment: datetime) -> None:
        monkeypatch.setattr(daily, "now", lambda: moment)
        monkeypatch.setattr(daily, "today", lambda: local_date(moment))

    it_is(NOON)
    return it_is


def days_of(folder: Path) -> list[str]:
    return [file.name[13:21] for file in ours_in(folder)]


@of_files  # it keeps many, and how one is made is not the subject
class TestTheDaysBackup:
    def test_is_made_once_a_day(self, data: DataFolder, stick: Path, at) -> None:
        assert keep(data) is not None
        at(NOON + timedelta(hours=3))
        assert keep(data) is None
        at(NOON + timedelta(days=1))
        assert keep(data) is not None

        assert days_of(stick) == ["20261130", "20261201"]

    def test_the_last_fourteen_stay(self, data: DataFolder, stick: Path, at) -> None:
        for days in range(16):
            at(NOON + timedelta(days=days))
            keep(data)
        assert days_of(stick) == [f"202612{day:02}" for day in range(2, 16)]

    def test_what_is_not_ours_is_left_alone(self, data: DataFolder, stick: Path, at) -> None:
        (stick / "settingsdesk-club-photos.zip").write_bytes(b"x")
        (stick / "settingsdesk-20250101T000000Z (copy).zip").write_bytes(b"x")
        for days in range(16):
            at(NOON + timedelta(days=days))
            keep(data)
        assert len(list(stick.iterdir())) == 14 + 2

    def test_a_clock_that_goes_back_loses_none(self, data: DataFolder, stick: Path, at) -> None:
        """After a battery change it is 2001 for an hour: fourteen real days stay, and one more."""
        for days in range(14):
            at(NOON + timedelta(days=days))
            keep(data)
        before = days_of(stick)
        at(datetime(2001, 1, 1, 12, tzinfo=UTC))
        keep(data)
        assert set(before[1:]) <= set(days_of(stick))
        assert "20010101" in days_of(stick)

    def test_nobody_asked_for_any(self, data: DataFolder, at) -> None:
        assert keep(data) is None
        assert data.backup_notes().made_at is None

    def test_who_was_erased_is_on_a_list_beside_them(
        self, data: DataFolder, stick: Path, at
    ) -> None:
        """Restored on another machine, the backup of yesterday still has them."""
        keep(data)
        for lines in ("1 2 2026-11-01T00:00:00+00:00\n", "1 2 2026-11-01T00:00:00+00:00\n1 3 x\n"):
            (data.path / "erased").write_text(lines)
            keep(data)
            assert (stick / "erased").read_text() == lines


class TestHowTheLastOneWent:
    def test_is_known_afterwards(self, data: DataFolder, stick: Path, at) -> None:
        file = keep(data)
        assert data.backup_notes() == BackupNotes(stick, NOON, file)

    def test_a_stick_that_was_pulled_out_is_told_until_one_is_made_again(
        self, data: DataFolder, stick: Path, at
    ) -> None:
        keep(data)
        stick.rename(away := stick.with_name("away"))
        at(later := NOON + timedelta(days=1))
        with pytest.raises(BackupNotWritten):
            keep(data)

        notes = data.backup_notes()
        assert (notes.made_at, notes.failed_at) == (NOON, later)
        assert str(stick) in notes.why
        assert not stick.exists()

        away.rename(stick)
        file = keep(data)
        assert data.backup_notes() == BackupNotes(stick, later, file)

    def test_one_that_was_made_by_hand_counts(self, data: DataFolder, tmp_path: Path, at) -> None:
        file = daily.make(data, tmp_path / "by-hand.zip")
        assert data.backup_notes() == BackupNotes(None, NOON, file)

    def test_a_name_that_is_taken_is_no_failed_backup(
        self, data: DataFolder, tmp_path: Path, at
    ) -> None:
        """The one that has it is good still."""
        file = daily.make(data, tmp_path / "by-hand.zip")
        with pytest.raises(FileIsThere):
            daily.make(data, file)
        assert data.backup_notes() == BackupNotes(None, NOON, file)

    def test_notes_that_cannot_be_read_say_that_nothing_is_sure(self, data: DataFolder) -> None:
        (data.path / "backups.json").write_text('{"made_at": "soon"')
        assert data.backup_notes() == BackupNotes()


@of_files
class TestWhatWasLeftUnfinished:
    def test_goes_after_an_hour(self, data: DataFolder, stick: Path) -> None:
        """A desk that is ended over a backup leaves a file as large as the database each time."""
        for folder in (data.path, stick):
            for name in ("old.unfinished", "new.unfinished"):
                (folder / name).mkdir()
                (folder / name / "part").touch()
            two_hours_ago = daily.now().timestamp() - 7200
            os.utime(folder / "old.unfinished", (two_hours_ago, two_hours_ago))
        shutil.copy(data.database, stick / archive.name_of(daily.now(), closed=False))

        rounds = DailyBackups(data, None)
        rounds.start()
        rounds.close()

        for folder in (data.path, stick):
            assert [one.name for one in folder.glob("*.unfinished")] == ["new.unfinished"]


def test_the_folder_can_be_named_anew(data: DataFolder, stick: Path, tmp_path: Path) -> None:
    notes = data.backup_notes()
    data.remember_backups(replace(notes, folder=tmp_path))
    assert data.backup_notes().folder == tmp_path
