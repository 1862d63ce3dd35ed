"""A desk on a PostgreSQL server, served by several workers, as those meet it who come over HTTP."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from functools import cached_property
from http.client import HTTPConnection
from pathlib import Path
from typing import TYPE_CHECKING, Any, Self

from flask import Flask
from werkzeug.test import Client

from settingsdesk.config import DataFolder
from tests.own_port import HERE, own_port
from tests.web.pages import Reader

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIEnvironment

WITHIN_S = 60.0


def until(holds: Callable[[], object], most_s: float = WITHIN_S) -> None:
    """Wait for something that another process brings about; how long is not what is tested."""
    ends_at = time.monotonic() + most_s
    while not holds():
        assert time.monotonic() < ends_at, "it did not come about"
        time.sleep(0.05)


class ServedByWorkers:
    """``settingsdesk serve --workers``, and a way to each of them."""

    def __init__(self, data: DataFolder, workers: int) -> None:
        self.port = own_port()
        self._many = workers
        told = {"SETTINGSDESK_DATA": str(data.path), "SETTINGSDESK_DATABASE_URL": data.server}
        command = [sys.executable, "-m", "settingsdesk", "serve", "--port", str(self.port)]
        self.process = subprocess.Popen(
            [*command, "--workers", str(workers)],
            env={**os.environ, **told},
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
        )

    def __enter__(self) -> Self:
        """Wait until all of them are there."""
        try:
            until(self._are_all_there)
        except BaseException:
            self.__exit__()
            raise
        return self

    def __exit__(self, *_: object) -> None:
        """End all of it, however it stands."""
        if self.process.poll() is None:
            self.process.terminate()
        self.process.communicate(timeout=WITHIN_S)

    def workers(self) -> list[int]:
        """The processes that answer."""
        return sorted(children_of(self.process.pid))

    def _are_all_there(self) -> bool:
        assert self.process.poll() is None, self.process.communicate()[0].decode()
        return len(self.workers()) == self._many and self.is_well()

    def is_well(self) -> bool:
        """Whether any of them says so."""
        try:
            line = HTTPConnection(HERE, self.port, timeout=WITHIN_S)
            line.request("GET", "/health")
            return line.getresponse().status == 200
        except OSError:
            return False
        finally:
            line.close()

    def line_to(self, worker: int) -> HTTPConnection:
        """A connection that this worker has taken: it alone is awake while it is opened."""
        line = HTTPConnection(HERE, self.port, timeout=WITHIN_S)
        with self._alone(worker):
            line.request("GET", "/health")
            assert line.getresponse().read() == b"well\n"
        return line

    @contextmanager
    def _alone(self, worker: int) -> Iterator[None]:
        others = [pid for pid in self.workers() if pid != worker]
        try:
            for pid in others:
                os.kill(pid, signal.SIGSTOP)
            until(lambda: all(_state(pid) == "T" for pid in others))
            yield
        finally:
            for pid in others:
                os.kill(pid, signal.SIGCONT)

    def kill(self, worker: int) -> None:
        """As when memory runs out; comes back when another one is in its place."""
        os.kill(worker, signal.SIGKILL)
        until(lambda: worker not in self.workers() and self._are_all_there())


class OverHttp(Reader):
    """A browser that asks a desk in another process, over one connection.

    The application beside it knows the same addresses, and answers nothing.
    """

    def __init__(self, app: Flask, line: HTTPConnection) -> None:
        super().__init__(app)
        self._line = line

    @cached_property
    def client(self) -> Client:  # type: ignore[override]  # the same, not inside the process
        """What holds the cookies."""
        return Client(self._hand_on)

    def close(self) -> None:
        """End its connection."""
        self._line.close()

    def _hand_on(
        self, environ: "WSGIEnvironment", start_response: "StartResponse"
    ) -> Iterable[bytes]:
        size = int(environ.get("CONTENT_LENGTH") or 0)
        query = f"?{environ['QUERY_STRING']}" if environ["QUERY_STRING"] else ""
        self._line.request(
            environ["REQUEST_METHOD"],
            environ["PATH_INFO"] + query,
            environ["wsgi.input"].read(size),
            dict(_headers(environ)),
        )
        answer = self._line.getresponse()
        body = answer.read()
        start_response(f"{answer.status} {answer.reason}", answer.getheaders())
        return [body]


class Over(OverHttp):
    """A browser that asks one worker, and another one after ``to``."""

    def __init__(self, app: Flask, served: ServedByWorkers, worker: int) -> None:
        super().__init__(app, served.line_to(worker))
        self._served = served

    def to(self, worker: int | None = None) -> "Over":
        """From now on ask that one; without one, whichever takes the connection."""
        self._line.close()
        self._line = (
            HTTPConnection(HERE, self._served.port, timeout=WITHIN_S)
            if worker is None
            else self._served.line_to(worker)
        )
        return self


def _headers(environ: dict[str, Any]) -> Iterator[tuple[str, str]]:
    if environ.get("CONTENT_TYPE"):
        yield "Content-Type", environ["CONTENT_TYPE"]
    for name, value in environ.items():
        if name.startswith("HTTP_"):
            yield name.removeprefix("HTTP_").replace("_", "-"), value


def children_of(parent: int) -> set[int]:
    """The processes that any thread of one has begun and that are still there."""
    told = Path(f"/proc/{parent}/task").glob("*/children")
    return {int(pid) for file in told for pid in _read(file).split()}


def _state(pid: int) -> str:
    """What the system says it does: T while it is stopped; empty where it is gone."""
    told = _read(Path(f"/proc/{pid}/stat")).rpartition(")")[2].split()
    return told[0] if told else ""


def _read(file: Path) -> str:
    try:
        return file.read_text()
    except OSError:
        return ""  # it ended while we looked
