"""The file of a backup: a ZIP of the database, the keys and the addresses, with their checksums.

The database is an SQLite file in it also where it comes from a server: what was backed up there
can be restored into a folder, and the other way.
Any program for ZIP files opens it (APPNOTE 6.3); one that is closed with a passphrase is an age
file (age-encryption.org/v1), which any program for those opens. ``CONTENTS`` says what is in it.
"""

import errno
import hashlib
import io
import json
import os
import re
import tempfile
import zipfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path
from typing import IO, BinaryIO

import pyrage  # type: ignore[import-untyped]  # it ships no types

from settingsdesk import config
from settingsdesk.config import DataFolder
from settingsdesk.desk.backups.refusals import (
    BackupIsDamaged,
    BackupIsOfAnotherProgram,
    BackupNotWritten,
    FileIsThere,
    NothingToBackUp,
    PassphraseNeeded,
    PassphraseTooShort,
    PassphraseWrong,
)
from settingsdesk.store import erased_numbers, migrate
from settingsdesk.store.engine import UNFINISHED, write_through
from settingsdesk.store.errors import NoRoomLeft
from settingsdesk.store.migrate import State

CONTENTS = "settingsdesk-backup.json"
"""In the archive: the format, when it was made and by which version, size and SHA-256 of each."""
FORMAT = 1
NAME = "settingsdesk-%Y%m%dT%H%M%SZ.zip"
"""What a backup is called in a folder, by the moment in UTC."""

OF_THE_DESK = (
    *(config.SESSION_KEY, config.CARD_KEY, config.NEXT, erased_numbers.FILE),
    *(config.PUBLIC_URL, config.FRONT, config.SERVED, config.HOME),
)
"""What makes a desk what it is, besides the database and keys of former cards."""
FORMER_KEYS = (config.FORMER, config.PUT_ASIDE)

CLOSED = b"age-encryption.org/v1\n"
LEAST_SIGNS = 12
"""Of a passphrase: whoever has the file may try as often as they like."""
CHUNK_BYTES = 1 << 20
LEVEL = 1
"""Photos get no smaller by any, the rest little by more, and it takes a third less time."""
MOST_CONTENTS_BYTES = 1_000_000
TRIES = 5


@dataclass(frozen=True, slots=True)
class Contents:
    """What a backup says of itself: when it was made, by which version, and of which files."""

    made_at: datetime
    program: str
    sums: Mapping[str, tuple[int, str]]
    """Bytes and SHA-256 by name."""


def name_of(moment: datetime, *, closed: bool) -> str:
    """What a backup of that moment is called in a folder."""
    return moment.astimezone(UTC).strftime(NAME) + (".age" if closed else "")


def moment_in(name: str) -> datetime | None:
    """The moment in the name of a backup; None where it has another name."""
    try:
        return datetime.strptime(name.removesuffix(".age"), NAME).replace(tzinfo=UTC)
    except ValueError:
        return None


def belongs(name: str) -> bool:
    """Whether a file of that name is one that makes a desk what it is."""
    return name in (*OF_THE_DESK, config.DATABASE) or name.startswith(FORMER_KEYS)


def write(data: DataFolder, target: Path, moment: datetime, passphrase: str | None = None) -> Path:
    """Back the desk up while it is served; gives the file, which is whole or not there.

    ``target`` is a file that is not there yet, or a folder in which it gets its usual name. With a
    passphrase it is closed; that takes memory of about twice its size. Raises
    ``NothingToBackUp``, ``FileIsThere``, ``PassphraseTooShort``, ``CopyIsDamaged`` and
    ``BackupNotWritten``.
    """
    if passphrase is not None and len(passphrase) < LEAST_SIGNS:
        raise PassphraseTooShort(LEAST_SIGNS)
    data.must_be_kept_so()
    if migrate.state(data.where) is State.EMPTY if data.server else not data.database.exists():
        raise NothingToBackUp(data.path, on_server=bool(data.server))
    file = target / name_of(moment, closed=passphrase is not None) if target.is_dir() else target
    if file.exists():
        raise FileIsThere(file)
    unfinished = file.with_name(file.name + UNFINISHED)
    try:
        with tempfile.TemporaryDirectory(dir=data.path, suffix=UNFINISHED) as copies:
            small, database = _copied(data, Path(copies))
            with _private(unfinished) as out:
                if passphrase is None:
                    _zip(out, small, database, moment)
                else:
                    whole = io.BytesIO()
                    _zip(whole, small, database, moment)
                    out.write(pyrage.passphrase.encrypt(whole.getvalue(), passphrase))
        write_through(unfinished)
        unfinished.replace(file)
        write_through(file.parent)
    except OSError as error:
        unfinished.unlink(missing_ok=True)
        raise BackupNotWritten(file, str(error.strerror)) from error
    return file


@contextmanager
def opened(file: Path, passphrase: str | None = None) -> Iterator["Archive"]:
    """A backup, to look at and to unpack.

    Raises ``BackupIsOfAnotherProgram``, ``BackupIsDamaged``, ``PassphraseNeeded`` or
    ``PassphraseWrong``, and ``NoRoomLeft`` where there is none to unpack it.
    """
    try:
        with file.open("rb") as source, _zip_in(source, file, passphrase) as archive:
            yield Archive(file, archive, _contents(file, archive))
    except (zipfile.BadZipFile, EOFError) as error:
        raise BackupIsDamaged(file, str(error)) from error
    except RuntimeError as error:  # zipfile's, for what only other programs put into such files
        raise BackupIsOfAnotherProgram(file) from error
    except OSError as error:
        if error.errno == errno.ENOSPC:
            raise NoRoomLeft from error
        raise BackupIsDamaged(file, str(error.strerror or error)) from error


@dataclass(frozen=True, slots=True)
class Archive:
    """An open backup."""

    file: Path
    within: zipfile.ZipFile
    contents: Contents

    def unpack(self, folder: Path) -> None:
        """Write its files into an empty folder, on the disk and for their owner only.

        ``BackupIsDamaged`` where one is not what its checksum says.
        """
        for name, (size_bytes, checksum) in self.contents.sums.items():
            with self.within.open(name) as source, _private(folder / name) as out:
                if _poured(source, out, size_bytes) != checksum:
                    raise BackupIsDamaged(self.file, f"{name} is not what its checksum says")
            write_through(folder / name)
        write_through(folder)


def _copied(data: DataFolder, folder: Path) -> tuple[Mapping[str, bytes], Path]:
    """The small files and a copy of the database that belong together.

    While a key is changed there is a moment at which they do not.
    """
    copy = folder / config.DATABASE
    for _ in range(TRIES):
        before = _small(data)
        migrate.copy(data.where, copy)
        if _small(data) == before:
            return before, copy
    raise BackupNotWritten(copy, "the keys were being changed all the time")


def _small(data: DataFolder) -> Mapping[str, bytes]:
    files = [file for file in sorted(data.path.iterdir()) if belongs(file.name)]
    return {file.name: file.read_bytes() for file in files if file.name != config.DATABASE}


def _zip(out: IO[bytes], small: Mapping[str, bytes], database: Path, moment: datetime) -> None:
    sums = {}
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=LEVEL) as archive:
        for name, content in small.items():
            archive.writestr(name, content)
            sums[name] = (len(content), hashlib.sha256(content).hexdigest())
        size_bytes = database.stat().st_size
        with database.open("rb") as source, archive.open(config.DATABASE, "w") as member:
            sums[config.DATABASE] = (size_bytes, _poured(source, member, size_bytes))
        said = {
            "format": FORMAT,
            "made_at": moment.astimezone(UTC).isoformat(timespec="seconds"),
            "program": version("settingsdesk"),
            "files": {
                name: {"bytes": size_bytes, "sha256": checksum}
                for name, (size_bytes, checksum) in sums.items()
            },
        }
        archive.writestr(CONTENTS, json.dumps(said, indent=1) + "\n")


@contextmanager
def _zip_in(source: BinaryIO, file: Path, passphrase: str | None) -> Iterator[zipfile.ZipFile]:
    within: IO[bytes] = source
    if source.read(len(CLOSED)) == CLOSED:
        if passphrase is None:
            raise PassphraseNeeded(file)
        source.seek(0)
        try:
            within = io.BytesIO(pyrage.passphrase.decrypt(source.read(), passphrase))
        except pyrage.DecryptError as error:
            raise PassphraseWrong(file) from error
    try:
        archive = zipfile.ZipFile(within)
    except zipfile.BadZipFile as error:
        raise BackupIsOfAnotherProgram(file) from error
    with archive:
        yield archive


def _contents(file: Path, archive: zipfile.ZipFile) -> Contents:
    names = archive.namelist()
    if CONTENTS not in names:
        raise BackupIsOfAnotherProgram(file)
    try:
        with archive.open(CONTENTS) as source:
            said = json.loads(source.read(MOST_CONTENTS_BYTES))
        if said["format"] != FORMAT:
            raise BackupIsOfAnotherProgram(file)
        contents = Contents(
            datetime.fromisoformat(said["made_at"]),
            str(said["program"]),
            {str(n): (int(f["bytes"]), str(f["sha256"])) for n, f in said["files"].items()},
        )
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise BackupIsDamaged(file, f"{CONTENTS} cannot be read") from error
    if sorted(names) != sorted((*contents.sums, CONTENTS)):
        raise BackupIsDamaged(file, "it does not hold the files that it names")
    if config.DATABASE not in contents.sums or not all(map(belongs, contents.sums)):
        raise BackupIsOfAnotherProgram(file)
    if not all(re.fullmatch(r"[a-z0-9._-]+", name) for name in contents.sums):
        raise BackupIsOfAnotherProgram(file)
    return contents


def _poured(source: IO[bytes], out: IO[bytes], most_bytes: int) -> str:
    """Pour up to so many bytes from one into the other; their SHA-256."""
    checksum, left = hashlib.sha256(), most_bytes
    while left and (chunk := source.read(min(CHUNK_BYTES, left))):
        checksum.update(chunk)
        out.write(chunk)
        left -= len(chunk)
    return checksum.hexdigest()


@contextmanager
def _private(file: Path) -> Iterator[BinaryIO]:
    """A new file that only its owner may read, where the disk knows that."""
    descriptor = os.open(file, os.O_CREAT | os.O_TRUNC | os.O_WRONLY, 0o600)
    with os.fdopen(descriptor, "wb") as out:
        yield out
