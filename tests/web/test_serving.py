"""The server as somebody meets it who has nothing but a socket."""

import socket
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack, closing, contextmanager, suppress

import pytest
from flask import Flask

from settingsdesk.web import serving
from settingsdesk.web.serving import Server
from tests.conftest import Account
from tests.desk.rotations.test_searches import until
from tests.web.conftest import signed_in

HERE = "127.0.0.1"


@contextmanager
def served(app: Flask, places: int | None = None) -> Iterator[int]:
    """Where that application is served."""
    listening = socket.create_server((HERE, 0))
    server = Server(app, listening, places)
    serving = threading.Thread(target=server.run)
    serving.start()
    try:
        yield listening.getsockname()[1]
    finally:
        server.stop()
        serving.join()


@pytest.fixture
def port(app: Flask) -> Iterator[int]:
    """Where the desk is served."""
    with served(app) as port:
        yield port


@pytest.fixture
def impatient(monkeypatch: pytest.MonkeyPatch) -> None:
    """Waits a tenth of what a desk waits for the slow."""
    monkeypatch.setattr(serving, "HEAD_SECONDS", serving.HEAD_SECONDS / 10)
    monkeypatch.setattr(serving, "SILENT_SECONDS", serving.SILENT_SECONDS / 10)


def opened(port: int, begun: bytes = b"") -> socket.socket:
    """A connection over which that was said, and nothing more."""
    line = socket.create_connection((HERE, port), timeout=30)
    line.sendall(begun)
    return line


def is_dropped(line: socket.socket) -> bool:
    """Whether the desk ends a connection without a word before the test gives up."""
    try:
        return line.recv(1) == b""
    except ConnectionResetError:
        return True


def said(port: int, *parts: bytes) -> bytes:
    """All that the desk answers to those bytes, until it ends the connection."""
    with closing(socket.create_connection((HERE, port), timeout=30)) as line:
        for part in parts:
            line.sendall(part)
        return b"".join(iter(lambda: line.recv(65536), b""))


def asked(port: int, *lines: str, body: bytes = b"") -> bytes:
    """The answer to a request with those lines."""
    return said(port, "\r\n".join((*lines, "Connection: close", "", "")).encode() + body)


class TestNames:
    @pytest.mark.parametrize(
        "lines",
        [
            ("GET /sign-in HTTP/1.1", "Host: localhost"),
            ("GET /sign-in HTTP/1.1", "hOST:   LOCALHOST.:1   "),
            ("GET http://localhost/sign-in HTTP/1.1", "Host: 127.0.0.1"),
            ("GET /sign-in HTTP/1.1", "Host: localhost", "X-Forwarded-Host: evil.example"),
            ("GET //sign-in HTTP/1.1", "Host: localhost"),
        ],
    )
    def test_the_desk_answers_under_its_own(self, port: int, lines: tuple[str, ...]) -> None:
        answer = asked(port, *lines)

        assert answer.startswith(b"HTTP/1.1 200 ")
        assert b"evil.example" not in answer

    @pytest.mark.parametrize(
        "lines",
        [
            ("GET /sign-in HTTP/1.1", "Host: evil.example"),
            ("GET /sign-in HTTP/1.1", "Host: localhost", "Host: evil.example"),
            ("GET /sign-in HTTP/1.1", "Host: localhost", "Host: localhost"),
            ("GET /sign-in HTTP/1.1",),
            ("GET /sign-in HTTP/1.0",),
            ("GET http://evil.example/sign-in HTTP/1.1", "Host: localhost"),
            ("GET http://localhost/sign-in HTTP/1.1", "Host: evil.example"),
            ("GET http://[/sign-in HTTP/1.1", "Host: localhost"),
            ("GET /sign-in HTTP/1.1", "Host: evil.example", "X-Forwarded-Host: localhost"),
            ("GET /sign-in HTTP/1.1", "Host: localhost\\@evil.example"),
            ("GET /sign-in HTTP/1.1", "Host: [::1]evil.example"),
            ("GET /sign-in HTTP/1.1", "Host : localhost"),
            ("GET /sign-in HTTP/1.1", "Host: localhost", " evil.example"),
        ],
    )
    def test_every_other_is_refused(self, port: int, lines: tuple[str, ...]) -> None:
        """As it comes over the wire, whatever a server or a framework makes of it."""
        answer = asked(port, *lines)

        assert answer.startswith((b"HTTP/1.1 400 ", b"HTTP/1.0 400 "))
        assert b"Traceback" not in answer
        assert b"evil.example" not in answer
        assert b"X-Content-Type-Options: nosniff" in answer

    def test_who_is_led_on_hears_no_name(self, port: int) -> None:
        answer = asked(port, "GET /c/ABC HTTP/1.1", "Host: localhost:99")

        assert b"\r\nLocation: /C/ABC\r\n" in answer
        assert b"localhost" not in answer

    def test_it_tells_nobody_what_serves_it(self, port: int) -> None:
        """OWASP ASVS 5.0.0, 13.4.6."""
        for line in ("GET /sign-in HTTP/1.1", "GET /nowhere HTTP/1.1", "nonsense"):
            answer = asked(port, line, "Host: localhost").lower()

            assert b"\r\nserver:" not in answer
            assert b"waitress" not in answer


HALF_A_HEAD = b"GET /sign-in HTTP/1.1\r\nHost: localhost\r\nX-Slow: "
WHOLE = b"GET /help HTTP/1.1\r\nHost: localhost\r\n\r\n"


def is_answered(line: socket.socket) -> bool:
    """Whether a question over that connection has its answer; it stays open."""
    line.sendall(WHOLE)
    answer = b""
    while b"</html>" not in answer:
        if not (more := line.recv(65536)):
            return False
        answer += more
    return answer.startswith(b"HTTP/1.1 200 ")


class TestStrangersThatHoldConnections:
    def test_everybody_is_answered_beside_500_that_say_nothing_and_150_half_heads(
        self, port: int
    ) -> None:
        """As scripts/bench/strangers.py measures it; here only that nobody is left out."""
        with ExitStack() as held:
            for _ in range(500):
                held.enter_context(closing(opened(port)))
            for _ in range(150):
                held.enter_context(closing(opened(port, HALF_A_HEAD)))
            phones = [held.enter_context(closing(opened(port))) for _ in range(200)]

            assert all(is_answered(phone) for phone in phones)

    def test_where_all_places_are_taken_who_said_nothing_gives_way(
        self, app: Flask, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(serving, "YOUNG_SECONDS", 0)
        with served(app, places=20) as port, ExitStack() as held:
            strangers = [held.enter_context(closing(opened(port))) for _ in range(20)]
            phones = [held.enter_context(closing(opened(port))) for _ in range(10)]

            assert all(is_answered(phone) for phone in phones)
            assert is_dropped(strangers[0])

    def test_where_all_wait_for_their_next_question_the_longest_gives_way(self, app: Flask) -> None:
        """A browser opens its connection anew without a word to anybody."""
        with served(app, places=5) as port, ExitStack() as held:
            known = [held.enter_context(closing(opened(port))) for _ in range(5)]
            assert all(is_answered(line) for line in known)

            assert is_answered(held.enter_context(closing(opened(port))))
            assert is_dropped(known[0])
            assert is_answered(known[-1])

    @pytest.mark.usefixtures("impatient")
    @pytest.mark.parametrize("begun", [b"", HALF_A_HEAD, WHOLE[:5]])
    def test_a_head_that_does_not_come_is_dropped(self, port: int, begun: bytes) -> None:
        with closing(opened(port, begun)) as line:
            assert is_dropped(line)

    @pytest.mark.usefixtures("impatient")
    @pytest.mark.parametrize(
        "begun",
        [
            HALF_A_HEAD,
            b"POST /sign-in HTTP/1.1\r\nHost: localhost\r\nContent-Length: 60000\r\n\r\n",
        ],
    )
    def test_one_that_comes_in_drops_is_dropped_as_well(self, port: int, begun: bytes) -> None:
        """It is never silent, and would never end."""
        with closing(opened(port, begun)) as line, suppress(ConnectionError):
            for _ in range(600):
                time.sleep(0.05)
                line.sendall(b"x")
            pytest.fail("after half a minute it is still heard")

    @pytest.mark.usefixtures("impatient")
    def test_a_body_that_stops_is_dropped(self, port: int) -> None:
        head = b"POST /sign-in HTTP/1.1\r\nHost: localhost\r\nContent-Length: 60000\r\n\r\n"
        with closing(opened(port, head + b"x" * 50_000)) as line:
            assert is_dropped(line)

    def test_who_was_answered_may_ask_once_more_later(
        self, port: int, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """The time of a head begins with its first byte."""
        monkeypatch.setattr(serving, "HEAD_SECONDS", 0.5)
        with closing(opened(port)) as line:
            assert is_answered(line)
            time.sleep(2.5)
            assert is_answered(line)

    def test_a_slow_hall_sends_a_whole_sheet(self) -> None:
        """12 megabytes at 64 kilobits each second, the slowest there is over a telephone."""
        assert serving.SLOWEST_BODY_BYTES_PER_SECOND < 64_000 / 8

    def test_a_head_without_end_is_refused(self, port: int) -> None:
        answer = said(port, HALF_A_HEAD + b"x" * serving.MOST_HEAD_BYTES)

        assert answer.startswith(b"HTTP/1.0 431 ")


def posted(path: str, length: int | None, cookie: str = "") -> bytes:
    """The head of a form; no length, where it comes in pieces."""
    how = "Transfer-Encoding: chunked" if length is None else f"Content-Length: {length}"
    lines = (f"POST {path} HTTP/1.1", "Host: localhost", f"Cookie: {cookie}", how)
    return "\r\n".join(
        (*lines, "Content-Type: multipart/form-data; boundary=x", "Connection: close", "", "")
    ).encode()


class TestLargeBodies:
    @pytest.fixture
    def cookie(self, app: Flask, account: Account) -> str:
        """Of a coach who is signed in."""
        reader = signed_in(app, account)
        reader.get("/")
        found = reader.client.get_cookie("settingsdesk")
        assert found is not None
        return f"settingsdesk={found.value}"

    @pytest.mark.parametrize(
        "path", ["/sign-in", "/sheets/", "/findings/apparatus/1/new", "/nowhere"]
    )
    def test_nothing_of_a_strangers_file_is_read_before_the_answer(
        self, port: int, path: str
    ) -> None:
        """Whatever its page would take of a coach."""
        with closing(opened(port, posted(path, 200_000_000))) as line:
            answer = line.recv(65536)

        assert answer.startswith((b"HTTP/1.1 413 ", b"HTTP/1.1 404 "))
        assert b"\r\nConnection: close\r\n" in answer

    def test_who_sends_on_reads_the_answer_all_the_same(self, port: int) -> None:
        """A browser looks at the answer only when all is sent."""
        answer = said(port, posted("/sign-in", 5_000_000), *[b"x" * 50_000] * 100)

        assert answer.startswith(b"HTTP/1.1 413 ")
        assert b"The file is too large" in answer
        assert b"sign in, and send the form once more" in answer

    def test_pieces_without_a_length_are_counted(self, port: int) -> None:
        piece = b"%x\r\n" % 50_000 + b"x" * 50_000 + b"\r\n"
        answer = said(port, posted("/sign-in", None), piece, piece, piece)

        assert answer.startswith(b"HTTP/1.1 413 ")

    def test_who_asks_first_whether_to_send_is_told_no(self, port: int) -> None:
        head = posted("/sign-in", 5_000_000)[:-2] + b"Expect: 100-continue\r\n\r\n"
        with closing(opened(port, head)) as line:
            assert line.recv(65536).startswith(b"HTTP/1.1 413 ")

    def test_two_lengths_of_one_body_are_refused_and_end_the_connection(self, port: int) -> None:
        """A server in front that goes by the other one would let a question through unseen."""
        both = posted("/sign-in", None)[:-2] + b"Content-Length: 4\r\n\r\n"
        answer = said(port, both + b"0\r\n\r\n" + WHOLE)

        assert answer.partition(b" ")[2].startswith(b"400 ")
        assert answer.count(b"HTTP/1.") == 1

    def test_nothing_of_the_rest_is_taken_for_another_question(self, port: int) -> None:
        """What follows a refused head is its body, whatever it looks like."""
        answer = said(port, posted("/sign-in", 5_000_000) + WHOLE, b"x" * 10)

        assert answer.count(b"HTTP/1.1 ") == 1

    @pytest.mark.parametrize(
        ("path", "status"), [("/sheets/", b"400"), ("/account", b"413"), ("/sign-in", b"413")]
    )
    def test_a_coachs_sheet_is_read_where_sheets_are_taken(
        self, port: int, cookie: str, path: str, status: bytes
    ) -> None:
        """400: it was read, and lacks the form's token."""
        part = b'--x\r\nContent-Disposition: form-data; name="file"; filename="a.csv"\r\n\r\n'
        sheet = part + b"x" * 2_000_000 + b"\r\n--x--\r\n"
        answer = said(port, posted(path, len(sheet), cookie), sheet)

        assert answer.startswith(b"HTTP/1.1 " + status)

    def test_where_many_files_are_on_their_way_the_next_waits(
        self, port: int, cookie: str, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """They lie on the disk meanwhile."""
        monkeypatch.setattr(serving, "MOST_BODIES_BYTES", 5_000_000)
        with closing(opened(port, posted("/sheets/", 3_000_000, cookie) + b"x")):
            answer = said(port, posted("/sheets/", 3_000_000, cookie))

        assert answer.startswith(b"HTTP/1.1 503 ")
        assert b"\r\nRetry-After: 60\r\n" in answer
        assert b"Many files are being sent in" in answer


FORM = (
    b"POST /sign-in HTTP/1.1\r\nHost: localhost\r\nContent-Length: 19\r\n"
    b"Content-Type: application/x-www-form-urlencoded\r\n\r\n"
)


def is_open(port: int) -> bool:
    """Whether anybody listens there."""
    try:
        opened(port).close()
    except OSError:
        return False
    return True


class TestStopping:
    """What somebody has asked is answered, whenever the desk is stopped."""

    def test_a_body_that_is_on_its_way_is_awaited(self, app: Flask) -> None:
        listening = socket.create_server((HERE, 0))
        port = listening.getsockname()[1]
        server = Server(app, listening)
        serving = threading.Thread(target=server.run)
        serving.start()
        with closing(opened(port, FORM + b"sign_in_name=")) as line:
            until(lambda: [one for one in server.active_channels.values() if one.request])
            server.stop()
            until(lambda: not is_open(port))
            line.sendall(b"nobody")
            answer = b"".join(iter(lambda: line.recv(65536), b""))
        serving.join()

        assert answer.startswith(b"HTTP/1.1 400 ")
        assert b"\r\nConnection: close\r\n" in answer

    def test_who_only_keeps_a_connection_is_not_waited_for(self, app: Flask) -> None:
        with served(app) as port:
            line = opened(port)
            assert is_answered(line)

        assert is_dropped(line)
        line.close()

    def test_who_was_not_taken_yet_is_answered_too(self, app: Flask) -> None:
        """They came in the same moment, and the desk was looking at somebody else."""
        listening = socket.create_server((HERE, 0))
        server = Server(app, listening)
        with closing(opened(listening.getsockname()[1], WHOLE)) as line:
            server.stop()
            server.run()

            assert line.recv(65536).startswith(b"HTTP/1.1 200 ")
