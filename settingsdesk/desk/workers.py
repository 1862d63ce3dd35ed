"""Who serves one desk together: one process, or several workers on one machine.

A desk with a file of SQLite is served by one process, and what it keeps for a while is in its
memory. Where a server keeps the database several may serve it. They share the data folder, so what
must be the same whichever answers lies there, in a folder of its own: locks of the system, which a
process that is killed lets go of, and small notes that are changed under one. It is not in the
database, since nobody needs it any more when the desk has stopped, and it belongs in no backup.
"""

import errno
import json
import os
import secrets
import sys
import threading
from collections import defaultdict
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager, suppress
from pathlib import Path
from typing import Any, Protocol

from settingsdesk.config import DataFolder
from settingsdesk.folder_lock import lock
from settingsdesk.store.errors import NoRoomLeft

FOLDER = "workers"
"""In the data folder."""

Notes = dict[str, Any]
"""What of them all processes read alike: whatever JSON can say, by words."""


class Workers(Protocol):
    """All processes that serve a desk, seen from one of them; usable from any thread."""

    @property
    def me(self) -> str:
        """By which this process is known to the others."""
        ...

    @property
    def folder(self) -> Path | None:
        """Where they have files in common; None where one process is alone."""
        ...

    def is_there(self, worker: str) -> bool:
        """Whether the process that was known so still runs."""
        ...

    def is_first(self) -> bool:
        """Whether it falls to this one to do what is to be done once for all of them."""
        ...

    def turn(self, what: str) -> AbstractContextManager[None]:
        """A block that one at a time is in, of all threads of all of them; not to be nested."""
        ...

    def changing(self, what: str) -> AbstractContextManager[Notes]:
        """A turn with the notes of that name; as they are at its end they are kept."""
        ...

    def tell(self, what: str) -> None:
        """Let all of them know that something has happened."""
        ...

    def told(self, what: str) -> object:
        """Another value after each time that it has happened."""
        ...


def workers_of(data: DataFolder) -> Workers:
    """Who serves the desk of that folder; on Windows always one process, see ``cli.serving``."""
    may_be_several = data.server and sys.platform != "win32"
    return SeveralWorkers(data.path / FOLDER) if may_be_several else OneWorker()


class OneWorker:
    """A process that serves a desk alone."""

    me = "alone"
    folder = None

    def __init__(self) -> None:
        self._locks = defaultdict[str, threading.Lock](threading.Lock)
        self._notes = defaultdict[str, Notes](dict)
        self._told = defaultdict[str, int](int)

    def is_there(self, worker: str) -> bool:
        """As in ``Workers``."""
        return worker == self.me

    def is_first(self) -> bool:
        """As in ``Workers``."""
        return True

    @contextmanager
    def turn(self, what: str) -> Iterator[None]:
        """As in ``Workers``."""
        with self._locks[what]:
            yield

    @contextmanager
    def changing(self, what: str) -> Iterator[Notes]:
        """As in ``Workers``."""
        with self._locks[what]:
            yield self._notes[what]

    def tell(self, what: str) -> None:
        """As in ``Workers``."""
        self._told[what] += 1

    def told(self, what: str) -> object:
        """As in ``Workers``."""
        return self._told[what]


class SeveralWorkers:
    """One of several processes that share a folder.

    A file is opened anew for each lock: one that was open before a fork would be locked for both.
    """

    def __init__(self, folder: Path):
        self._folder = folder
        self._mine = threading.Lock()
        self._me, self._process = "", 0
        self._first: int | None = None

    @property
    def me(self) -> str:
        """As in ``Workers``; known to the system by a lock for as long as the process lives."""
        with self._mine:
            if self._process != os.getpid():
                name = secrets.token_hex(8)
                with self.turn("living"):
                    self._forget_the_dead()
                    lock(self._opened(_living(name)))
                self._me, self._process, self._first = name, os.getpid(), None
            return self._me

    @property
    def folder(self) -> Path:
        """As in ``Workers``."""
        self._folder.mkdir(mode=0o700, exist_ok=True)
        return self._folder

    def is_there(self, worker: str) -> bool:
        """As in ``Workers``; the file of one that is gone goes too."""
        return worker == self.me or _is_living(self._folder / _living(worker))

    def is_first(self) -> bool:
        """As in ``Workers``: who came first, until its process ends; then who asks next."""
        _ = self.me
        with self._mine:
            if self._first is None:
                descriptor = self._opened("first.lock")
                if lock(descriptor):
                    self._first = descriptor
                else:
                    os.close(descriptor)
            return self._first is not None

    @contextmanager
    def turn(self, what: str) -> Iterator[None]:
        """As in ``Workers``."""
        descriptor = self._opened(f"{what}.lock")
        try:
            lock(descriptor, waits=True)
            yield
        finally:
            os.close(descriptor)

    @contextmanager
    def changing(self, what: str) -> Iterator[Notes]:
        """As in ``Workers``; what cannot be read is taken for nothing, as after an upgrade."""
        file = self.folder / f"{what}.json"
        with self.turn(what):
            before = "{}"
            notes: Notes = {}
            with suppress(FileNotFoundError, ValueError):
                before = file.read_text(encoding="utf-8")
                notes = json.loads(before)
            yield notes
            after = json.dumps(notes)
            if after != before:
                self._replace(file, after)

    def tell(self, what: str) -> None:
        """As in ``Workers``."""
        with self.turn(what):
            self._replace(self.folder / what, secrets.token_hex(8))

    def told(self, what: str) -> object:
        """As in ``Workers``."""
        with suppress(FileNotFoundError):
            return (self._folder / what).read_text(encoding="ascii")
        return None

    def _forget_the_dead(self) -> None:
        for file in self.folder.glob(_living("*")):
            _is_living(file)

    def _opened(self, name: str) -> int:
        return os.open(self.folder / name, os.O_RDWR | os.O_CREAT, 0o600)

    def _replace(self, file: Path, text: str) -> None:
        part = file.with_name(f"{file.name}.part")
        opened = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        try:
            with os.fdopen(opened, "w", encoding="utf-8") as out:
                out.write(text)
        except OSError as error:
            if error.errno == errno.ENOSPC:
                raise NoRoomLeft from error
            raise
        part.replace(file)


def _is_living(file: Path) -> bool:
    """Whether the process lives that has locked it; else the file goes too."""
    try:
        descriptor = os.open(file, os.O_RDWR)
    except FileNotFoundError:
        return False
    try:
        if not lock(descriptor):
            return True
        file.unlink(missing_ok=True)
        return False
    finally:
        os.close(descriptor)


def _living(worker: str) -> str:
    return f"{worker}.living"
