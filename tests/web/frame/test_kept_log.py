"""The files of the log: each of a day, none for ever, none for others to read."""

import logging
import stat
import threading
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from settingsdesk.web.frame import kept_log
from settingsdesk.web.frame.kept_log import KEPT_DAYS, KeptLog

DAY = date(2026, 12, 5)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "log"


def told(log: KeptLog, words: str, on: date = DAY, hour: int = 12) -> None:
    """One line at an hour of a day."""
    record = logging.LogRecord("ours", logging.INFO, "", 0, words, None, None)
    record.created = datetime(on.year, on.month, on.day, hour, tzinfo=UTC).timestamp()
    log.handle(record)


def names(folder: Path) -> list[str]:
    return sorted(file.name for file in folder.iterdir())


class TestTheLogsFiles:
    def test_are_their_owners_only(self, folder: Path) -> None:
        told(KeptLog(folder), "one")

        assert stat.S_IMODE(folder.stat().st_mode) == 0o700
        assert {stat.S_IMODE(file.stat().st_mode) for file in folder.iterdir()} == {0o600}

    def test_one_for_each_day_and_a_restart_goes_on_in_it(self, folder: Path) -> None:
        told(KeptLog(folder), "one")
        log = KeptLog(folder)
        told(log, "two")
        told(log, "three", DAY + timedelta(days=1), hour=0)

        assert names(folder) == ["2026-12-05.001.jsonl", "2026-12-06.001.jsonl"]
        assert (folder / "2026-12-05.001.jsonl").read_text() == "one\ntwo\n"

    def test_are_gone_when_their_days_are_over(self, folder: Path) -> None:
        """The address of whoever came by is personal, and a page says how long it is kept."""
        log = KeptLog(folder)
        told(log, "one")
        told(log, "two", DAY + timedelta(days=KEPT_DAYS))
        assert len(names(folder)) == 2
        told(log, "three", DAY + timedelta(days=KEPT_DAYS + 1))

        assert "2026-12-05.001.jsonl" not in names(folder)
        assert len(names(folder)) == 2

    def test_hold_so_much_and_are_so_many_and_no_line_is_lost_between(
        self, folder: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(kept_log, "MOST_FILE_BYTES", 100)
        log = KeptLog(folder)
        for number in range(100):
            told(log, f"line {number:04}")

        lines = [line for name in names(folder) for line in (folder / name).read_text().split("\n")]
        assert [line for line in lines if line] == [f"line {number:04}" for number in range(100)]
        assert all(file.stat().st_size <= 110 for file in folder.iterdir())
        monkeypatch.setattr(kept_log, "MOST_FILES", 3)
        for number in range(40):
            told(log, f"more {number:04}")
        assert len(names(folder)) == 3
        assert "more 0039" in (folder / names(folder)[-1]).read_text()

    def test_of_several_workers_are_no_larger(
        self, folder: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(kept_log, "MOST_FILE_BYTES", 100)
        logs = [KeptLog(folder) for _ in range(4)]
        for number in range(100):
            told(logs[number % 4], f"line {number:04}")

        lines = [line for name in names(folder) for line in (folder / name).read_text().split("\n")]
        assert sorted(line for line in lines if line) == [f"line {n:04}" for n in range(100)]
        assert all(file.stat().st_size <= 140 for file in folder.iterdir())

    def test_take_whole_lines_of_many_threads_and_of_a_second_desk(self, folder: Path) -> None:
        logs = [KeptLog(folder), KeptLog(folder)]
        threads = [
            threading.Thread(target=lambda log=log: [told(log, "x" * 500) for _ in range(50)])
            for log in logs * 3
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()

        [name] = names(folder)
        assert (folder / name).read_text().splitlines() == ["x" * 500] * 300

    def test_nothing_else_in_the_folder_is_touched(self, folder: Path) -> None:
        folder.mkdir()
        (folder / "notes.txt").write_text("ours")
        told(KeptLog(folder), "one")

        assert "notes.txt" in names(folder)

    def test_a_line_that_cannot_be_kept_fails_no_request(
        self, folder: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        """Standard error has what is wrong; the page is answered."""
        log = KeptLog(folder)
        folder.rmdir()
        folder.write_text("in the way")
        told(log, "one")

        assert "Error" in capsys.readouterr().err
