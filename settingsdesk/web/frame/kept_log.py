"""Where the log lies: a file for each day in a folder of its owner, each gone some days later.

No file is ever renamed, and a line is written whole by one call: so no line is lost where one day's
file ends and the next begins, nor where a second desk is started on the same folder.
"""

import contextlib
import logging
import os
import re
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

KEPT_DAYS = 30
"""So long an address of a client stays in it."""
MOST_FILE_BYTES = 10_000_000
"""A file that is larger is followed by another one of the same day."""
MOST_FILES = 60
"""However much happens in a day: the oldest go first."""

NAME = re.compile(r"(\d{4}-\d\d-\d\d)\.(\d{3,})\.jsonl")


class KeptLog(logging.Handler):
    """Writes each record as a line into the file of its day (UTC), and lets go of old files."""

    def __init__(self, folder: Path) -> None:
        super().__init__()
        self.folder = folder
        folder.mkdir(mode=0o700, exist_ok=True)
        self._file: int | None = None
        self._day: date | None = None
        self._number = self._bytes = 0

    def emit(self, record: logging.LogRecord) -> None:
        """Write it; where the disk takes nothing, the record is told to standard error instead."""
        try:
            line = (self.format(record) + "\n").encode()
            file = self._file_for(datetime.fromtimestamp(record.created, UTC).date())
            os.write(file, line)
            self._bytes = os.fstat(file).st_size  # other workers write into it too
        except Exception:
            self.handleError(record)

    def close(self) -> None:
        """Let go of the file."""
        self._let_go()
        super().close()

    def _file_for(self, day: date) -> int:
        """The open file for a line of that day."""
        if self._file is not None and day == self._day and self._bytes < MOST_FILE_BYTES:
            return self._file
        self._let_go()
        today = [number for on, number, _ in self._files() if on == day]
        self._day, self._number = day, max(today, default=1)
        while (path := self._path()).exists() and path.stat().st_size >= MOST_FILE_BYTES:
            self._number += 1
        self._file = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
        self._bytes = os.fstat(self._file).st_size
        self._clear(day)
        return self._file

    def _path(self) -> Path:
        return self.folder / f"{self._day}.{self._number:03}.jsonl"

    def _let_go(self) -> None:
        if self._file is not None:
            os.close(self._file)
            self._file = None

    def _clear(self, day: date) -> None:
        """Delete the files whose days are over, and the oldest of too many; none but ours."""
        files = self._files()
        too_many = len(files) - MOST_FILES
        for at, (on, _, path) in enumerate(files):
            if on < day - timedelta(days=KEPT_DAYS) or at < too_many:
                path.unlink(missing_ok=True)

    def _files(self) -> list[tuple[date, int, Path]]:
        """Every file of the log by day and number."""
        found = []
        for path in self.folder.iterdir():
            if matched := NAME.fullmatch(path.name):
                with contextlib.suppress(ValueError):  # 2026-02-31 is no file of ours
                    found.append((date.fromisoformat(matched[1]), int(matched[2]), path))
        return sorted(found)
