"""A desk in a process of its own, that is stopped, killed and started as in a hall."""

import multiprocessing
import os
import signal
import socket
import sys
import time
from multiprocessing.process import BaseProcess
from pathlib import Path

from settingsdesk.cli import main
from tests.own_port import HERE, own_port

STARTS_WITHIN_S = 120

READY = multiprocessing.get_context("forkserver")
"""Its processes are copies of one that has read the program already, which takes two seconds."""
READY.set_forkserver_preload(
    ["settingsdesk.__main__", __name__, "settingsdesk.web.app", "waitress.server"]
)


class ServedDesk:
    """One data folder, served always at the same address."""

    def __init__(self, folder: Path) -> None:
        self.port = own_port()
        self.address = f"http://{HERE}:{self.port}"
        self._folder = folder
        self._process: BaseProcess | None = None

    def start(self) -> None:
        """Serve, and come back once it answers."""
        self._process = READY.Process(target=_serve, args=(self._folder, self.port), daemon=True)
        self._process.start()
        until = time.monotonic() + STARTS_WITHIN_S
        while time.monotonic() < until:
            try:
                with socket.create_connection((HERE, self.port), timeout=5):
                    return
            except OSError:
                time.sleep(0.05)
        raise TimeoutError(self.address)

    def kill(self) -> None:
        """As when somebody pulls the plug."""
        if self._process is not None:
            self._process.kill()
            self._process.join()
            self._process = None

    def freeze(self) -> None:
        """As a network that swallows what is sent: nothing is refused, nothing is answered."""
        self._signal(signal.SIGSTOP)

    def thaw(self) -> None:
        """Go on, with all that was sent meanwhile."""
        self._signal(signal.SIGCONT)

    def _signal(self, which: signal.Signals) -> None:
        assert self._process is not None
        assert self._process.pid is not None
        os.kill(self._process.pid, which)


def _serve(folder: Path, port: int) -> None:
    """What ``settingsdesk serve`` does, told to nobody."""
    os.environ["SETTINGSDESK_DATA"] = str(folder)
    with open(os.devnull, "w", encoding="utf-8") as nobody:
        sys.stdout = sys.stderr = nobody
        main(["serve", "--port", str(port)])
