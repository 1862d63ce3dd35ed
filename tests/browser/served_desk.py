"""A desk in a process of its own, that is stopped, killed and started as in a hall."""

import os
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

STARTS_WITHIN_S = 120


class ServedDesk:
    """One data folder, served always at the same address."""

    def __init__(self, folder: Path) -> None:
        with socket.create_server(("127.0.0.1", 0)) as free:
            self.port = free.getsockname()[1]
        self.address = f"http://127.0.0.1:{self.port}"
        self._folder = folder
        self._process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Serve, and come back once it answers."""
        self._process = subprocess.Popen(
            [sys.executable, "-m", "settingsdesk", "serve", "--port", str(self.port)],
            env={**os.environ, "SETTINGSDESK_DATA": str(self._folder)},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        until = time.monotonic() + STARTS_WITHIN_S
        while time.monotonic() < until:
            try:
                with socket.create_connection(("127.0.0.1", self.port), timeout=5):
                    return
            except OSError:
                time.sleep(0.1)
        raise TimeoutError(self.address)

    def kill(self) -> None:
        """As when somebody pulls the plug."""
        if self._process is not None:
            self._process.kill()
            self._process.wait()
            self._process = None

    def freeze(self) -> None:
        """As a network that swallows what is sent: nothing is refused, nothing is answered."""
        self._signal(signal.SIGSTOP)

    def thaw(self) -> None:
        """Go on, with all that was sent meanwhile."""
        self._signal(signal.SIGCONT)

    def _signal(self, which: signal.Signals) -> None:
        assert self._process is not None
        self._process.send_signal(which)
