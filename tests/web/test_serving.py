"""The server as somebody meets it who has nothing but a socket."""

import socket
import threading
from collections.abc import Iterator
from contextlib import closing

import pytest
from flask import Flask

from settingsdesk.web.serving import Server

HERE = "127.0.0.1"


@pytest.fixture
def port(app: Flask) -> Iterator[int]:
    """Where the desk is served."""
    listening = socket.create_server((HERE, 0))
    server = Server(app, listening)
    serving = threading.Thread(target=server.run)
    serving.start()
    yield listening.getsockname()[1]
    server.stop()
    serving.join()


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
