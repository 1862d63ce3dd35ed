"""Several workers for one desk, on one machine, of a database that a server keeps.

Gunicorn begins them, ends them, and puts another in the place of one that was killed. Each answers
by ``serving.Server`` as a process alone does, so all that is said there about connections, times
and bytes holds here; what the workers have in common is in ``desk.workers``.
"""

import gc
import logging
import os
import signal
import socket
from types import FrameType

from flask import Flask
from gunicorn.app.base import BaseApplication  # type: ignore[import-untyped]  # it ships no types
from gunicorn.workers.base import Worker  # type: ignore[import-untyped]

from settingsdesk.store.server import DatabaseLock
from settingsdesk.web.frame.work import OURS, Desk
from settingsdesk.web.rounds import rounds_of
from settingsdesk.web.serving import Server

STOPS_WITHIN_SECONDS = 45
"""A worker that takes longer is killed: what was asked is answered, searches are kept."""
SILENT_SECONDS = 60
"""A worker that gives no sign of life for so long is killed, and another one takes its place."""


def serve(
    app: Flask,
    listening: socket.socket,
    workers: int,
    passphrase: str | None,
    held: DatabaseLock | None,
) -> None:
    """Serve with so many workers until stopped; ends the process.

    SIGTERM and Ctrl-C stop them all when what was asked is answered, SIGHUP puts new ones in their
    place, SIGTTIN and SIGTTOU add and take away one.
    """
    desk: Desk = app.extensions[OURS]
    desk.store.close()  # no connection is to be shared by two processes
    gc.freeze()  # looked through for garbage, what they have in common would become each one's own
    _Serving(app, listening.detach(), workers, passphrase, held).run()


class _Serving(BaseApplication):  # type: ignore[misc]  # gunicorn has no types
    """What gunicorn is told."""

    def __init__(
        self,
        app: Flask,
        number: int,
        workers: int,
        passphrase: str | None,
        held: DatabaseLock | None,
    ):
        self._told = {
            "bind": f"fd://{number}",
            "workers": workers,
            "worker_class": DeskWorker,
            "preload_app": True,
            "timeout": SILENT_SECONDS,
            "graceful_timeout": STOPS_WITHIN_SECONDS,
            "loglevel": "warning",
            "control_socket_disable": True,
            "proc_name": "settingsdesk",
        }
        self.passphrase, self.held = passphrase, held
        super().__init__()
        self.callable = app

    def load_config(self) -> None:
        """Tell gunicorn."""
        for name, value in self._told.items():
            self.cfg.set(name, value)

    def load(self) -> Flask:
        """The application, which is made before the first worker is."""
        app: Flask = self.callable
        return app


class DeskWorker(Worker):  # type: ignore[misc]  # gunicorn has no types
    """One worker."""

    _server: "_WatchedServer | None" = None

    def run(self) -> None:
        """Serve until it is to stop."""
        app: Flask = self.app.wsgi()
        with rounds_of(app.extensions[OURS], self.app.passphrase, self.app.held):
            self._server = _WatchedServer(app, self.sockets[0].sock, self)
            if self.alive:
                self._server.run()
        logging.shutdown()
        os._exit(0)  # to take apart what it has in common with the others took seconds

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """Stop when what was asked is answered."""
        self.alive = False
        if self._server is not None:
            self._server.stop()

    # Ctrl-C at a terminal reaches each worker too: it is no reason to answer nobody.
    handle_quit = handle_exit


class _WatchedServer(Server):
    """A server that gives a sign of life each second, and ends with the process over it."""

    def __init__(self, app: Flask, listening: socket.socket, worker: DeskWorker):
        super().__init__(app, listening)
        self._worker, self._kept = worker, app.extensions[OURS].kept

    def maintenance(self, now: float) -> None:
        """Also look whether anybody has told something."""
        super().maintenance(now)
        self._worker.notify()
        self._kept.forget_where_told()
        if self._worker.ppid != os.getppid():
            signal.raise_signal(signal.SIGTERM)
