"""The server: who may hold a connection, for how long, and what is taken in over it.

Waitress reads heads and bodies on one thread and answers on others, so that nobody who is slow
holds up anybody who is not. What it leaves open is bounded here: places, times and bytes. And it
looks at every connection before it waits for the next event; here only at those that stirred,
since most of a few hundred say nothing.
"""

import logging
import re
import selectors
import socket
import sys
import threading
import time
from contextlib import suppress
from functools import partial
from math import inf
from operator import itemgetter
from typing import Any, cast

from flask import Flask
from waitress import wasyncore
from waitress.adjustments import Adjustments
from waitress.channel import HTTPChannel
from waitress.parser import HTTPRequestParser, ParsingError
from waitress.server import TcpWSGIServer
from waitress.task import ErrorTask, WSGITask
from waitress.utilities import Error

from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.web.frame.bare_page import bare_page
from settingsdesk.web.frame.bodies import MOST_FORM_BYTES, most_bytes_of
from settingsdesk.web.frame.errors import HEADINGS, WAYS_ON
from settingsdesk.web.frame.hosts import LOCAL_ADDRESS

if sys.platform != "win32":  # there a program may have as many files open as it asks for
    import resource

THREADS = 8
MOST_CONNECTIONS = 2000
OTHER_FILES = 200
"""Besides connections: databases, searches, bodies on their way; a service has 1024 in all."""
MOST_OF_WINDOWS = 400
"""Its ``select`` takes 512."""

HEAD_SECONDS = 10
"""From the first byte of a head to its last, and from opening a connection to its first head."""
SILENT_SECONDS = 10
"""Nothing of a body, or nothing of an answer taken."""
SLOWEST_BODY_BYTES_PER_SECOND = 4096
"""A hall with a poor network sends 12 megabytes within an hour."""
KEPT_SECONDS = 75
"""Between two questions over one connection; phones at a station ask each second."""
YOUNG_SECONDS = 1
"""A head that was sent at once is whole by then."""
STOPS_WITHIN_SECONDS = 20
"""So long what is on its way when the desk is stopped may take."""

MOST_HEAD_BYTES = 32 * 1024
MOST_BODIES_BYTES = 250_000_000
"""Of all files that are sent in at the same time: they lie on the disk until they are whole."""
MOST_DROPPED_BYTES = 100_000_000
"""Of a file that was refused: read and not kept, since a browser shows no answer before."""

MANY_FILES = Sentence("Many files are being sent in just now. Send yours once more in a minute.")


_LENGTH, _CODING = (
    re.compile(rb"\n" + name + rb"[ \t]*:", re.IGNORECASE)
    for name in (rb"content-length", rb"transfer-encoding")
)


class ManyFiles(Error):
    """More files are on their way than there is room for."""

    code, reason = 503, "Service Unavailable"


class Request(HTTPRequestParser):
    """A request on its way in, of which no more is kept than its page takes."""

    headers: dict[str, str]
    path: str

    def __init__(self, adjustments: Adjustments, connection: "Connection"):
        super().__init__(adjustments)
        self._connection, self._most_bytes = connection, inf

    @property
    def body_bytes(self) -> int:
        """What it will have brought in all, as far as that is known."""
        return max(self.content_length, self.body_bytes_received)

    def received(self, data: bytes) -> int:
        """How much of the data belongs to it; all, where the rest of it is not wanted."""
        head_was_whole = self.headers_finished
        taken: int = super().received(data)
        self._connection.has_asked |= self.headers_finished and not self.empty
        if self.error is None and self.body_rcv is not None and not head_was_whole:
            self._most_bytes = self._connection.server.most_bytes(self)
        if self.error is None and self.body_bytes <= self._most_bytes:
            return taken
        self._connection.drops_rest = True
        if self.error is None:
            self._refuse()
        return len(data)

    def parse_header(self, header_plus: bytes) -> None:
        """Read the head; an address that is none is a mistake of whoever sent it.

        Two lengths of one body too: a server in front may go by the other one, and would then pass
        on as a second request what it took for the first one's body (RFC 9112, 6.1).
        """
        if _LENGTH.search(header_plus) and _CODING.search(header_plus):
            raise ParsingError("Two lengths of one body")
        try:
            super().parse_header(header_plus)
        except ValueError as error:
            raise ParsingError("Bad URI") from error

    def _refuse(self) -> None:
        """Let the application see how large it is, and nothing of it."""
        self.close()
        self.body_rcv = None
        self.headers["CONTENT_LENGTH"] = str(max(self.body_bytes, int(self._most_bytes) + 1))
        self.headers["CONNECTION"] = "close"
        self.expect_continue = False
        self.completed = True


class Asked(WSGITask):
    """One request, which the application is also told at which address of this machine it came."""

    channel: "Connection"

    def get_environment(self) -> dict[str, Any]:
        """What WSGI says of a request."""
        if self.channel.server.ends:
            self.set_close_on_finish()
        environ: dict[str, Any] = super().get_environment()
        environ[LOCAL_ADDRESS] = self.channel.local_address
        return environ


class NotUnderstood(ErrorTask):
    """The answer to what the application never hears of."""

    request: Any
    response_headers: list[tuple[str, str]]

    def execute(self) -> None:
        """Send it, and end the connection."""
        error = self.request.error
        sentence = MANY_FILES if isinstance(error, ManyFiles) else WAYS_ON[400]
        heading = HEADINGS.get(error.code, HEADINGS[400])
        page = bare_page(error.code, heading, sentence)
        if isinstance(error, ManyFiles):
            page.headers["Retry-After"] = "60"
        body = page.get_data()
        self.status = f"{error.code} {error.reason}"
        self.response_headers.extend(page.headers)
        self.set_close_on_finish()
        self.content_length = len(body)
        self.write(body)


class Connection(HTTPChannel):
    """One connection of a client, and what it may still wait for."""

    task_class = Asked
    error_task_class = NotUnderstood
    server: "Server"
    request: Request | None
    requests: list[Request]
    requests_lock: threading.Lock
    _fileno: int

    def __init__(self, server: "Server", sock: socket.socket, *of_waitress: Any, **more: Any):
        self.local_address: str = sock.getsockname()[0]
        self.parser_class = partial(Request, connection=self)  # type: ignore[assignment]
        self.drops_rest = self.has_asked = self._is_dropping = False
        self._began_at = self._heard_at = self._moved_at = time.monotonic()
        self._dropped_bytes = self._unsent_bytes = 0
        super().__init__(server, sock, *of_waitress, **more)

    @property
    def body_bytes(self) -> int:
        """What of bodies it holds or will hold."""
        held = [*self.requests, *([self.request] if self.request else [])]
        return sum(request.body_bytes for request in held)

    @property
    def is_settled(self) -> bool:
        """Whether nothing but what the client sends can stir it; to be asked under its lock."""
        return not self.requests and not self.writable()

    def received(self, data: bytes) -> bool:
        """Take in what came, and remember since when we wait for what comes next."""
        waited_for, now = self._waits_for(), time.monotonic()
        taken: bool = super().received(data)
        self._heard_at = now
        if self._waits_for() != waited_for:
            self._began_at = now
        return taken

    @property
    def number(self) -> int:
        """Of its file, by which it is looked at."""
        return self._fileno

    @property
    def waits_for(self) -> int:
        """What it can do next, as events of ``selectors``."""
        reads = selectors.EVENT_READ if self.readable() else 0
        return reads | (selectors.EVENT_WRITE if self.writable() else 0)

    def ends_at(self, now: float) -> float:
        """When it is dropped unless something happens before, by the clock of ``monotonic``."""
        if self.total_outbufs_len != self._unsent_bytes:
            self._unsent_bytes, self._moved_at = self.total_outbufs_len, now
        if self.requests:
            return inf
        if self.total_outbufs_len:
            return self._moved_at + SILENT_SECONDS
        if self._is_dropping:
            return self._paced(self._dropped_bytes)
        if self.request is None and self.has_asked:
            return self._heard_at + KEPT_SECONDS
        if self.request is None or not self.request.headers_finished:
            return self._began_at + HEAD_SECONDS
        return self._paced(self.request.body_bytes_received)

    @property
    def is_being_answered(self) -> bool:
        """Whether somebody asks over it, or waits for the rest of an answer."""
        if self.requests or self.total_outbufs_len:
            return True
        if self._is_dropping or (self.request is None and self.has_asked):
            return False
        if self.request is not None and self.request.headers_finished:
            return True
        return time.monotonic() - self._began_at < YOUNG_SECONDS

    def gives_way(self, now: float) -> tuple[int, float] | None:
        """Its place in the order in which connections go where others need them; None: it stays."""
        if self.requests or self.total_outbufs_len:
            return None
        if self.request is None and self.has_asked:
            return 1, self._heard_at
        if self.request is None or not self.request.headers_finished:
            return 0 if now - self._began_at > YOUNG_SECONDS else 2, self._began_at
        return 3, self._began_at

    def readable(self) -> bool:
        """Also while the rest of what was refused comes."""
        return not self.will_close if self._is_dropping else bool(super().readable())

    def handle_read(self) -> None:
        """Take in what is there."""
        if not self._is_dropping:
            super().handle_read()
            return
        self._dropped_bytes += len(self.recv(64 * 1024))
        self._heard_at = time.monotonic()
        self.will_close |= self._dropped_bytes > MOST_DROPPED_BYTES

    def handle_close(self) -> None:
        """End it; where a body was refused, hear it out first, or the answer would not be read."""
        if not (self.drops_rest and self.will_close) or self._is_dropping:
            super().handle_close()
            return
        self._is_dropping, self.will_close = True, False
        self._began_at = self._heard_at = time.monotonic()
        try:
            cast("socket.socket", self.socket).shutdown(socket.SHUT_WR)
        except OSError:
            super().handle_close()

    def add_channel(self, map: Any = None) -> None:  # noqa: A002 - waitress's name
        """Begin to look at it."""
        super().add_channel(map)
        self.server.stirred.add(self)

    def del_channel(self, map: Any = None) -> None:  # noqa: A002 - waitress's name
        """Look at it no more."""
        self.server.forget(self)
        super().del_channel(map)

    def _waits_for(self) -> tuple[int, bool]:
        """The request that is on its way, and whether its body is."""
        return id(self.request), self.request is not None and bool(self.request.headers_finished)

    def _paced(self, received_bytes: int) -> float:
        allowed = SILENT_SECONDS + received_bytes / SLOWEST_BODY_BYTES_PER_SECOND
        return min(self._heard_at + SILENT_SECONDS, self._began_at + allowed)


class Server(TcpWSGIServer):
    """Waitress's server on a socket that listens already, for one application."""

    channel_class = Connection
    active_channels: dict[int, Connection]  # type: ignore[assignment]  # by its number
    _map: dict[int, Any]
    _fileno: int

    def __init__(self, application: Flask, listening: socket.socket, places: int | None = None):
        """``places``: so many connections at once; None for as many as the machine allows."""
        self.stirred: set[Connection] = set()
        self._places = places or _places()
        self._flask = application
        # A hall that asks each second queues all the time: that is no warning.
        logging.getLogger("waitress.queue").setLevel(logging.ERROR)
        self._selector = selectors.DefaultSelector()
        self._watched: dict[int, int] = {}
        self._tidies_at = 0.0
        self._is_full = self.ends = False
        adjustments = Adjustments(
            sockets=[listening],
            threads=THREADS,
            max_request_header_size=MOST_HEAD_BYTES,
            max_request_body_size=sys.maxsize,  # most_bytes says it, page by page
            # Of what a server in front says, web/frame/hosts.py decides what is believed.
            clear_untrusted_proxy_headers=False,
            ident=None,
        )
        about = (listening.family, listening.type, listening.proto, listening.getsockname())
        super().__init__(
            application, {}, True, listening, adj=adjustments, sockinfo=about, bind_socket=False
        )

    def run(self) -> None:
        """Serve until ``stop``, or an interrupt from the keyboard; what is asked is answered."""
        for number, one in self._map.items():  # itself, and what other threads wake it by
            self._selector.register(number, selectors.EVENT_READ, one)
            self._watched[number] = selectors.EVENT_READ
        try:
            with suppress(KeyboardInterrupt):
                while not self.ends:
                    self._turn()
            self.ends = True
            self._answer_what_was_asked()
        except KeyboardInterrupt:  # who presses twice does not want to wait
            pass
        self.task_dispatcher.shutdown()
        wasyncore.close_all(self._map)
        self._selector.close()

    def stop(self) -> None:
        """End serving, from a signal or from another thread."""
        self.ends = True
        self.pull_trigger()

    def most_bytes(self, request: Request) -> float:
        """How large the body of a request may be of which the head is there."""
        environ = {
            "REQUEST_METHOD": request.command,
            "PATH_INFO": "/" + request.path.lstrip("/"),
            "QUERY_STRING": "",
            "SERVER_NAME": "localhost",
            "SERVER_PORT": "80",
            "wsgi.url_scheme": "http",
            "HTTP_COOKIE": request.headers.get("COOKIE", ""),
        }
        most = most_bytes_of(self._flask, environ)
        wanted = most if request.chunked else min(most, request.content_length)
        if wanted > MOST_FORM_BYTES:
            held = sum(one.body_bytes for one in self.active_channels.values())
            if held + wanted > MOST_BODIES_BYTES:
                request.error, request.completed = ManyFiles(""), True
        return most

    @property
    def number(self) -> int:
        """Of its file, by which it is looked at."""
        return self._fileno

    def readable(self) -> bool:
        """Whether another connection is taken."""
        return bool(self.accepting) and not self._is_full

    def handle_accept(self) -> None:
        """Take a connection, where need be in the place of one that nobody misses."""
        if len(self.active_channels) >= self._places and not self._make_room():
            self._is_full = True
            return
        super().handle_accept()

    def forget(self, connection: Connection) -> None:
        """A connection is being closed."""
        self.stirred.discard(connection)
        self._is_full = False
        number = connection.number
        if self._watched.pop(number, 0):
            self._selector.unregister(number)

    def maintenance(self, now: float) -> None:
        """Drop what has waited too long."""
        for connection in list(self.active_channels.values()):
            if connection.ends_at(now) < now:
                connection.handle_close()

    def _answer_what_was_asked(self) -> None:
        """Go on for whoever has asked already, also where nobody has taken their connection yet."""
        until = time.monotonic() + STOPS_WITHIN_SECONDS
        number = self.number
        with selectors.DefaultSelector() as waiting:
            waiting.register(number, selectors.EVENT_READ)
            while waiting.select(0) and len(self.active_channels) < self._places:
                super().handle_accept()
        if self._watched.pop(number, 0):
            self._selector.unregister(number)
        wasyncore.dispatcher.close(self)  # waitress's own would end its threads' way to wake us
        self._turn(most_seconds=0)
        while time.monotonic() < until and any(
            connection.is_being_answered for connection in self.active_channels.values()
        ):
            self._turn(most_seconds=0.1)

    def _turn(self, most_seconds: float = 1) -> None:
        """Wait for what happens next, and let it happen."""
        if not self.ends:
            self._watch(self)
        for connection in list(self.stirred):
            self._watch(connection)
        for key, events in self._selector.select(most_seconds):
            for event, happen in HAPPENINGS:
                if events & event and self._is_open(key):
                    happen(key.data)
            if isinstance(key.data, Connection) and self._is_open(key):
                self.stirred.add(key.data)
        now = time.monotonic()
        if now >= self._tidies_at:
            self._tidies_at, self._is_full = now + 1, False
            self.maintenance(now)

    def _is_open(self, key: selectors.SelectorKey) -> bool:
        """Whether what happened before has not closed it; its number may be another's by now."""
        return self._map.get(key.fd) is key.data

    def _watch(self, one: "Connection | Server") -> None:
        """Look for what it waits for now, until it stirs again."""
        number = one.number
        if isinstance(one, Connection):
            with one.requests_lock:
                if one.is_settled:
                    self.stirred.discard(one)
                waits_for = one.waits_for
        else:
            waits_for = selectors.EVENT_READ if one.readable() else 0
        watched = self._watched.get(number, 0)
        if waits_for == watched:
            return
        if not watched:
            self._selector.register(number, waits_for, one)
        elif waits_for:
            self._selector.modify(number, waits_for, one)
        else:
            self._selector.unregister(number)
        self._watched[number] = waits_for

    def _make_room(self) -> bool:
        """Close what others need the place of; False where everything is busy.

        Several at once, since looking through all of them takes as long as many questions.
        """
        now = time.monotonic()
        places = ((one.gives_way(now), one) for one in self.active_channels.values())
        ranked = sorted(((place, one) for place, one in places if place), key=itemgetter(0))
        waiting = [one for (order, _), one in ranked if order < 2]
        for one in waiting[: self._places // 20 + 1] or [one for _, one in ranked[:1]]:
            one.handle_close()
        return bool(ranked)


HAPPENINGS = ((selectors.EVENT_READ, wasyncore.read), (selectors.EVENT_WRITE, wasyncore.write))


def _places() -> int:
    """How many connections this machine lets the desk hold: it asks for as many as it needs."""
    if sys.platform == "win32":
        return MOST_OF_WINDOWS
    wanted = MOST_CONNECTIONS + OTHER_FILES
    may, most = resource.getrlimit(resource.RLIMIT_NOFILE)
    if resource.RLIM_INFINITY in (may, most) or most >= wanted:
        if 0 <= may < wanted:
            resource.setrlimit(resource.RLIMIT_NOFILE, (wanted, most))
        return MOST_CONNECTIONS
    resource.setrlimit(resource.RLIMIT_NOFILE, (most, most))
    return max(most - OTHER_FILES, most // 2)
