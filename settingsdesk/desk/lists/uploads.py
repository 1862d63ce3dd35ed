"""Files sent in, kept between looking at what they would change and keeping it.

A file waits in a folder of its own in the data folder, for an hour at most. Its name there is
derived from a random key and the stamp of the sign-in it belongs to: only that coach, on that
device, with the key from the page, finds it again. Nothing of the file's own name is used as a
path.

Whichever worker of a desk is asked next finds it, since they share the data folder; in the database
each copy of it would have the names of people whom nobody has entered yet. It is in no backup.
"""

import os
import secrets
import time
from contextlib import suppress
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from settingsdesk.config import DataFolder, put_in_place
from settingsdesk.desk.rounds import Rounds
from settingsdesk.domain.base.errors import SettingsDeskError

LISTS, PHOTOS = "sent", "photos"
"""The folders in the data folder."""

WAITS_SECONDS = 3600
SWEPT_EVERY_SECONDS = 600.0
ANSWERS = ".answers"
MOST_WAITING = 40
"""So many files wait at once, of all coaches together; the oldest give way."""


@dataclass(frozen=True, slots=True)
class Upload:
    """A file as it was sent in: its name, never used as a path, and what is in it.

    ``answers`` is what somebody has said of it since; empty for nothing.
    """

    file_name: str
    content: bytes
    answers: str = ""


@dataclass(frozen=True, slots=True)
class WaitingFiles:
    """The files of one sign-in that wait in that folder."""

    folder: Path
    stamp: str

    def keep(self, upload: Upload) -> str:
        """Let a file wait; gives the key by which it is found again."""
        self.folder.mkdir(mode=0o700, exist_ok=True)
        self._clear()
        key = secrets.token_urlsafe(32)
        name = upload.file_name.encode("utf-8", "replace").replace(b"\n", b" ")
        _write(self._file(key), name + b"\n", upload.content)
        return key

    def answer(self, key: str, answers: str) -> None:
        """Let what somebody says of a file wait with it; ``UploadGone`` where it waits no more."""
        self.find(key)
        _write(_answers_of(self._file(key)), answers.encode())

    def find(self, key: str) -> Upload:
        """The file of that key; ``UploadGone`` where it waited too long or is not this coach's."""
        file = self._file(key)
        try:
            waited_s = time.time() - file.stat().st_mtime
            name, _, content = file.read_bytes().partition(b"\n")
        except FileNotFoundError:
            raise UploadGone from None
        if waited_s > WAITS_SECONDS:
            raise UploadGone
        return Upload(name.decode("utf-8"), content, _told(_answers_of(file)))

    def discard(self, key: str) -> None:
        """Let go of a file that has been kept or is not wanted."""
        _remove(self._file(key))

    def _file(self, key: str) -> Path:
        return self.folder / sha256(f"{self.stamp} {key}".encode()).hexdigest()

    def _clear(self) -> None:
        """Remove what waited too long, and the oldest where too many wait."""
        there = [file for file in self.folder.iterdir() if file.suffix != ANSWERS]
        waiting = sorted(there, key=_age_s, reverse=True)
        for file in waiting[: max(len(waiting) + 1 - MOST_WAITING, 0)]:
            _remove(file)
        sweep(self.folder)


def sweep(folder: Path) -> None:
    """Remove what waits in a folder for too long, and what was said of it."""
    for file in folder.iterdir() if folder.is_dir() else ():
        if _age_s(file) > WAITS_SECONDS:
            _remove(file)


class Sweeping(Rounds):
    """Looks every ten minutes what waits for too long, for when nobody sends in the next file."""

    def __init__(self, data: DataFolder) -> None:
        def look() -> None:
            for name in (LISTS, PHOTOS):
                sweep(data.path / name)

        super().__init__("files that wait too long", look, SWEPT_EVERY_SECONDS)


def discard_all(folder: Path) -> None:
    """Let go of every file that waits in a folder, whoever sent it in."""
    for file in folder.iterdir() if folder.is_dir() else ():
        file.unlink(missing_ok=True)


def _write(file: Path, *parts: bytes) -> None:
    """Readable by its owner only, and found by nobody before it is whole."""
    part = file.with_name(f"{file.name}-{secrets.token_hex(4)}.part")
    with os.fdopen(os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "wb") as out:
        out.writelines(parts)
    try:
        put_in_place(part, file)
    except FileNotFoundError:  # somebody is erased just now, and with them whatever waits
        raise UploadGone from None


def _remove(file: Path) -> None:
    file.unlink(missing_ok=True)
    _answers_of(file).unlink(missing_ok=True)


def _answers_of(file: Path) -> Path:
    return file.with_suffix(ANSWERS)


def _told(file: Path) -> str:
    with suppress(FileNotFoundError):
        return file.read_text(encoding="utf-8")
    return ""


def _age_s(file: Path) -> float:
    with suppress(FileNotFoundError):
        return time.time() - file.stat().st_mtime
    return float("inf")


class UploadGone(SettingsDeskError):
    """The file that was to be kept is no longer waiting."""

    sentence = (
        "The file that was shown is no longer here: it has been saved or cancelled already, or"
        " it waited for more than an hour. Check the list of athletes, or choose the file"
        " again"
    )
