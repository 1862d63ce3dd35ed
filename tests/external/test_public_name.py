"""The set-up for a public name that README shows, as it stands in scripts/public, with real nginx.

Where there is no nginx it is skipped and says so; with SETTINGSDESK_REQUIRE_NGINX=1 it fails.
"""

import os
import re
import shlex
import shutil
import signal
import socket
import ssl
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import ExitStack, closing
from dataclasses import dataclass
from email.message import Message
from http.client import HTTPConnection, HTTPResponse, HTTPSConnection
from http.cookies import SimpleCookie
from pathlib import Path

import pytest

from tests.own_port import HERE, own_port

PUBLIC = Path(__file__).parents[2] / "scripts" / "public"
NAME = "desk.example.org"
FORM = "application/x-www-form-urlencoded"
CODE = "ABCDEFGHJKMNPQRSTUVWXYZ234"
STARTS_WITHIN_S = 60


def await_port(port: int) -> None:
    until = time.monotonic() + STARTS_WITHIN_S
    while time.monotonic() < until:
        try:
            socket.create_connection((HERE, port), timeout=5).close()
        except OSError:
            time.sleep(0.05)
        else:
            return
    raise TimeoutError(port)


@dataclass(frozen=True)
class Answer:
    """What came back."""

    status: int
    headers: Message
    text: str


@dataclass(frozen=True)
class Front:
    """Where nginx listens, what the desk behind it is, and where nginx writes its log."""

    http_port: int
    https_port: int
    desk_port: int
    folder: Path

    def ask(
        self, path: str, *, name: str = NAME, tls: bool = True, form: str = "", **headers: str
    ) -> Answer:
        """The answer to somebody who asks by that name, or sends a form."""
        trusting = ssl.create_default_context(cafile=self.folder / "own.pem")
        port = self.https_port if tls else self.http_port
        with (
            closing(socket.create_connection((HERE, port), timeout=30)) as plain,
            ExitStack() as to,
        ):
            line = plain
            if tls:
                line = to.enter_context(trusting.wrap_socket(plain, server_hostname=name))
            about = "".join(f"{key}: {value}\r\n" for key, value in headers.items())
            if form:
                about += f"Content-Type: {FORM}\r\nContent-Length: {len(form)}\r\n"
            head = f"{'POST' if form else 'GET'} {path} HTTP/1.1\r\nHost: {name}\r\n{about}"
            line.sendall(f"{head}Connection: close\r\n\r\n{form}".encode())
            with closing(HTTPResponse(line)) as answer:
                answer.begin()
                return Answer(answer.status, answer.headers, answer.read().decode())

    def log(self, until: str) -> str:
        """All that nginx has written; it writes a line a moment after its answer."""
        patience = time.monotonic() + STARTS_WITHIN_S
        while time.monotonic() < patience:
            told = "".join(file.read_text() for file in self.folder.glob("*.log"))
            if re.search(until, told, re.MULTILINE):
                return told
            time.sleep(0.05)
        raise TimeoutError(until)


def nginx() -> str:
    found = shutil.which("nginx", path=f"{os.environ['PATH']}:/usr/sbin")
    if found is None:
        if os.environ.get("SETTINGSDESK_REQUIRE_NGINX"):
            pytest.fail("nginx is missing: apt-get install nginx-light")
        pytest.skip("nginx is missing: apt-get install nginx-light")
    return found


def as_here(told: str, folder: Path, http_port: int, https_port: int, desk_port: int) -> str:
    """The file for a server in full, with the ports and folders of a test."""
    told = re.sub(r"listen 80\b", f"listen {HERE}:{http_port}", told)
    told = re.sub(r"listen 443\b", f"listen {HERE}:{https_port}", told)
    told = told.replace("127.0.0.1:5000", f"{HERE}:{desk_port}")
    told = told.replace("/var/log/nginx", str(folder))
    told = re.sub(r"/etc/letsencrypt/\S*/fullchain.pem", f"{folder}/own.pem", told)
    told = re.sub(r"/etc/letsencrypt/\S*/privkey.pem", f"{folder}/own.key", told)
    places = ("client_body", "proxy", "fastcgi", "uwsgi", "scgi")
    own = "".join(f"{place}_temp_path {folder}/{place};\n" for place in places)
    return f"pid {folder}/nginx.pid;\nevents {{}}\nhttp {{\n{own}access_log off;\n{told}\n}}\n"


def make_certificate(folder: Path) -> None:
    subprocess.run(
        [
            *("openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2"),
            *("-keyout", str(folder / "own.key"), "-out", str(folder / "own.pem")),
            *("-subj", f"/CN={NAME}", "-addext", f"subjectAltName=DNS:{NAME}"),
        ],
        check=True,
        capture_output=True,
    )


def options_of_the_service() -> list[str]:
    """What the unit starts ``settingsdesk`` with."""
    unit = (PUBLIC / "settingsdesk.service").read_text(encoding="utf-8")
    [started] = re.findall(r"^ExecStart=\S+/settingsdesk (.*)$", unit, re.MULTILINE)
    return shlex.split(started)


@pytest.fixture(scope="module")
def in_front(
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[Front]:
    """The desk as the unit starts it, behind nginx as the file says."""
    program, folder = nginx(), tmp_path_factory.mktemp("public")
    made = Front(own_port(), own_port(), own_port(), folder)
    make_certificate(folder)
    told = (PUBLIC / "nginx.conf").read_text(encoding="utf-8")
    conf = folder / "nginx.conf"
    conf.write_text(as_here(told, folder, made.http_port, made.https_port, made.desk_port))
    environment = {**os.environ, "SETTINGSDESK_DATA": str(folder / "data")}
    desk = [sys.executable, "-m", "settingsdesk", *options_of_the_service()]
    with ExitStack() as running:
        for command in (
            [*desk, "--port", str(made.desk_port)],
            [program, "-c", str(conf), "-p", str(folder), "-g", "daemon off;"],
        ):
            with (folder / "said.txt").open("ab") as said:
                process = subprocess.Popen(command, env=environment, stdout=said, stderr=said)
            running.callback(process.wait)
            running.callback(process.send_signal, signal.SIGTERM)
        for port in (made.desk_port, made.https_port):
            await_port(port)
        yield made


class TestThePublicName:
    def test_the_cookie_travels_by_https_only(self, in_front: Front) -> None:
        answer = in_front.ask("/sign-in")
        cookie = SimpleCookie(answer.headers["Set-Cookie"])["__Host-settingsdesk"]

        assert answer.status == 200
        assert (cookie["secure"], cookie["httponly"], cookie["samesite"]) == (True, True, "Lax")
        assert (cookie["path"], cookie["domain"]) == ("/", "")

    def test_the_browser_stays_with_https_for_a_year(self, in_front: Front) -> None:
        policy = in_front.ask("/sign-in").headers["Strict-Transport-Security"]

        assert policy == "max-age=31536000; includeSubDomains"

    def test_who_comes_in_the_clear_is_led_to_https(self, in_front: Front) -> None:
        answer = in_front.ask("/sign-in?next=/", tls=False)

        assert answer.status == 308
        assert answer.headers["Location"] == f"https://{NAME}/sign-in?next=/"

    def test_a_form_is_taken_from_the_public_page(self, in_front: Front) -> None:
        """The token needs its cookie, and the page's origin is the public one."""
        page = in_front.ask("/sign-in")
        cookie = page.headers["Set-Cookie"].partition(";")[0]
        tokens = re.findall(r'name="csrf_token"[^>]*value="([^"]+)"', page.text)
        form = f"csrf_token={tokens[0]}&sign_in_name=nobody&password=nothing"

        answer = in_front.ask("/sign-in", form=form, Cookie=cookie, Origin=f"https://{NAME}").text
        assert "The sign-in name or the password is not right" in answer

    def test_the_limits_count_the_client_and_believe_nobody_about_it(self, in_front: Front) -> None:
        """A client is who nginx saw, whatever it writes; cards of another one are answered."""
        trusting = ssl.create_default_context(cafile=in_front.folder / "own.pem")
        with (
            socket.create_connection((HERE, in_front.https_port), timeout=30) as plain,
            closing(HTTPSConnection(HERE)) as line,
        ):
            line.sock = trusting.wrap_socket(plain, server_hostname=NAME)
            for number in range(900):
                about = {"Host": NAME, "X-Forwarded-For": f"192.0.2.{number % 250}"}
                line.request("GET", f"/C/{CODE}", headers=about)
                answer = line.getresponse()
                answer.read()
                if answer.status == 429:
                    break
            assert answer.status == 429

        as_nginx_says = {"Host": NAME, "X-Forwarded-For": "192.0.2.9"}
        with closing(HTTPConnection(HERE, in_front.desk_port)) as line:
            line.request("GET", f"/C/{CODE}", headers=as_nginx_says)
            assert line.getresponse().status == 404

    @pytest.mark.parametrize("path", [f"/C/{CODE}", f"/c/{CODE}", f"/%43/{CODE}", f"//S/{CODE}"])
    def test_no_log_keeps_a_code(self, in_front: Front, path: str) -> None:
        """Whoever reads the log could open the card."""
        in_front.ask(path)
        in_front.ask(path, tls=False)
        in_front.ask(f"{path}/remark")

        in_front.ask(f"/help/{len(path)}")

        log = in_front.log(f"/help/{len(path)} ")
        assert " a code " in log
        assert CODE not in log

    def test_what_is_no_code_is_logged_with_its_client(self, in_front: Front) -> None:
        in_front.ask("/help?x=secret")

        assert "secret" not in in_front.log(rf"^{HERE} \S+ GET /help 200$")

    def test_no_other_name_is_answered(self, in_front: Front) -> None:
        with pytest.raises(ssl.SSLError):
            in_front.ask("/sign-in", name="evil.example")
        with pytest.raises(OSError, match="closed connection"):
            in_front.ask("/sign-in", name="evil.example", tls=False)

    def test_nobody_is_told_which_versions_serve_it(self, in_front: Front) -> None:
        answer = in_front.ask("/sign-in")

        assert answer.headers["Server"] == "nginx"


class TestTheReadme:
    def test_it_names_the_files(self) -> None:
        readme = (PUBLIC.parents[1] / "README.md").read_text(encoding="utf-8")
        for file in PUBLIC.iterdir():
            assert f"scripts/public/{file.name}" in readme
