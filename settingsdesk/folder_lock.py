"""One desk at a time serves a data folder: the system's own lock, let go of when a process ends."""

import os
import sys
from pathlib import Path
from typing import Self

from settingsdesk.domain.base.errors import SettingsDeskError

FILE = "desk.lock"
LOCKED_BYTES = 1
"""Where locks are mandatory, what follows can still be read."""
MOST_BYTES = 200


class FolderInUse(SettingsDeskError):
    """Another process holds the data folder."""

    def __init__(self, path: Path, holder: str):
        self.path, self.holder = path, holder

    def __str__(self) -> str:
        held = f" ({self.holder})" if self.holder else ""
        return (
            f"Another settingsdesk uses {self.path} now{held}. Stop that one first, or name another"
            " folder in SETTINGSDESK_DATA"
        )


class FolderLock:
    """The right to be the only one that serves or replaces what is in a data folder.

    Held from entering to leaving. A process that dies lets go of it; a folder that is copied is
    not locked. ``FolderInUse`` where somebody else holds it.
    """

    def __init__(self, folder: Path, what_for: str):
        """``what_for`` is told to whoever comes second, such as "serving at 127.0.0.1:8000"."""
        self._folder, self._what_for = folder, what_for
        self._descriptor, self._process = -1, 0

    def __enter__(self) -> Self:
        file = self._folder / FILE
        descriptor = os.open(file, os.O_RDWR | os.O_CREAT, 0o600)
        if not lock(descriptor):
            os.lseek(descriptor, LOCKED_BYTES, os.SEEK_SET)
            holder = os.read(descriptor, MOST_BYTES).decode("utf-8", "replace").strip()
            os.close(descriptor)
            raise FolderInUse(self._folder, holder)
        self._descriptor, self._process = descriptor, os.getpid()
        os.ftruncate(descriptor, 0)
        os.lseek(descriptor, 0, os.SEEK_SET)
        os.write(descriptor, f"\n{self._what_for}, process {os.getpid()}\n".encode())
        return self

    def __exit__(self, *_: object) -> None:
        if self._process != os.getpid():
            return  # a process that was forked from the one that holds it
        # The file stays: whoever deleted it could let in two that wait for it.
        os.ftruncate(self._descriptor, 0)
        os.close(self._descriptor)


if sys.platform == "win32":
    import msvcrt

    def lock(descriptor: int, *, waits: bool = False) -> bool:
        """Lock an open file until it is closed; False where another has it.

        With ``waits`` it comes back with the lock, if need be after a while.
        """
        try:
            os.lseek(descriptor, 0, os.SEEK_SET)
            msvcrt.locking(descriptor, msvcrt.LK_LOCK if waits else msvcrt.LK_NBLCK, LOCKED_BYTES)
        except OSError:
            return waits and lock(descriptor, waits=True)
        return True

else:
    import fcntl

    def lock(descriptor: int, *, waits: bool = False) -> bool:
        """Lock an open file until it is closed; False where another has it.

        With ``waits`` it comes back with the lock, if need be after a while.
        """
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | (0 if waits else fcntl.LOCK_NB))
        except BlockingIOError:
            return False
        return True
