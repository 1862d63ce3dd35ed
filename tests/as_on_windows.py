"""Runs commands as if on Windows, as far as another system can pretend.

What Windows has not is taken away (modules, signals, functions of the system), the one module that
only it has is put in its place, and the program is read anew. What stays is this system's own:
how paths are written, and that a file may be replaced while somebody reads it.

    python -m tests.as_on_windows demo -- backup desk.zip -- serve --port 5000
"""

import fcntl
import importlib
import importlib.abc
import os
import pkgutil
import signal
import sys
import types
from collections.abc import Iterator
from itertools import groupby

import settingsdesk

NOT_THERE = ("fcntl", "grp", "gunicorn", "pwd", "resource", "termios")
"""Modules of the standard library for Unix alone, and the one library that we do without there."""
OF_UNIX = ("chown", "fchmod", "fork", "geteuid", "getuid", "killpg", "nice", "setsid", "WNOHANG")
SIGNALS_THERE = {"SIGABRT", "SIGFPE", "SIGILL", "SIGINT", "SIGSEGV", "SIGTERM"}
"""Python's library reference, signal: those of Windows, besides its own."""
NEEDS_GUNICORN = "settingsdesk.web.workers"


def modules() -> Iterator[str]:
    """Every module of the package but what several workers need, and the revisions."""
    for found in pkgutil.walk_packages(settingsdesk.__path__, "settingsdesk."):
        if found.name != NEEDS_GUNICORN and ".migrations." not in found.name:
            yield found.name


class Hidden(importlib.abc.MetaPathFinder):
    """Finds none of the modules that are not there."""

    def find_spec(self, name: str, path: object = None, target: object = None) -> None:
        if name.partition(".")[0] in NOT_THERE:
            raise ModuleNotFoundError(f"No module named {name!r}", name=name)


def pretend() -> None:
    """From now on this is Windows, and all of the program is read for it."""
    for name in modules():
        importlib.import_module(name)  # with it all that it uses, which is not looked at here
    for name in [*sys.modules]:
        if name.partition(".")[0] in ("settingsdesk", *NOT_THERE):
            del sys.modules[name]
    for name in OF_UNIX:
        delattr(os, name)
    for name in dir(signal):
        if name.startswith("SIG") and not name.startswith("SIG_") and name not in SIGNALS_THERE:
            delattr(signal, name)
    msvcrt = types.ModuleType("msvcrt")
    msvcrt.__dict__.update(LK_LOCK=fcntl.LOCK_EX, LK_NBLCK=fcntl.LOCK_EX | fcntl.LOCK_NB)
    msvcrt.__dict__["locking"] = lambda file, how, _bytes: fcntl.flock(file, how)
    sys.modules["msvcrt"] = msvcrt
    sys.meta_path.insert(0, Hidden())
    sys.platform = "win32"
    importlib.import_module("settingsdesk.config").__dict__["KNOWS_RIGHTS"] = False
    for name in modules():
        importlib.import_module(name)


if __name__ == "__main__":
    pretend()
    main = importlib.import_module("settingsdesk.cli").main
    for is_command, words in groupby(sys.argv[1:], lambda word: word != "--"):
        if is_command:
            main(list(words), standalone_mode=False)
