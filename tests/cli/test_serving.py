"""The pages served until stopped."""

import os
import signal
import socket
import stat
import subprocess
import sys
import urllib.request
from dataclasses import replace

import pytest

from settingsdesk.cli import serving
from tests.cli.conftest import Run
from tests.conftest import DemoClub
from tests.own_port import own_port


class TestServing:
    def test_the_pages_are_served_until_an_end_signal_and_the_folder_is_private(
        self, demo_club: DemoClub
    ) -> None:
        """A service manager ends the desk with a plain signal; nothing in flight is dropped."""
        port = own_port()
        command = [sys.executable, "-m", "settingsdesk", "serve", "--port", str(port)]
        environment = {**os.environ, "SETTINGSDESK_DATA": str(demo_club.data.path)}
        with subprocess.Popen(
            command, env=environment, stdout=subprocess.PIPE, text=True
        ) as server:
            assert server.stdout is not None
            told = server.stdout.readline()
            assert f"http://127.0.0.1:{port}" in told
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/") as page:
                assert "Sign in" in page.read().decode()
            server.send_signal(signal.SIGTERM)
            assert server.wait(timeout=60) == 0
        assert demo_club.data.last_served() == ("127.0.0.1", port)
        for file in demo_club.data.path.iterdir():
            assert not stat.S_IMODE(file.stat().st_mode) & 0o077


class TestWhatIsNotServed:
    def test_an_open_folder_is_not_served(self, run: Run, demo_club: DemoClub) -> None:
        demo_club.data.path.chmod(0o750)
        shown = run("serve", "--port", str(own_port()))
        assert shown.exit_code == 2
        assert "chmod -R go=" in shown.output
        assert "--open-folder" in shown.output

    def test_a_port_in_use(self, run: Run) -> None:
        with socket.create_server(("127.0.0.1", 0)) as taken:
            port = taken.getsockname()[1]
            shown = run("serve", "--port", str(port))

        assert shown.exit_code == 2
        assert f"Port {port} of 127.0.0.1 cannot be used" in shown.output

    def test_several_workers_on_a_file(
        self, run: Run, demo_club: DemoClub, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """In a file of SQLite one writes at a time, and processes do not wait in line for it."""
        monkeypatch.setattr(serving, "data_folder", lambda: replace(demo_club.data, server=""))
        shown = run("serve", "--workers", "4")

        assert shown.exit_code == 2
        assert "Several workers need a database that a PostgreSQL server keeps" in shown.output

    @pytest.mark.parametrize(
        ("here", "sentence"),
        [
            (("win32", "gunicorn"), "There are no several workers on Windows"),
            (
                ("linux", None),
                "Several workers need gunicorn: pip install 'settingsdesk[postgres]'",
            ),
        ],
    )
    def test_several_workers_where_they_cannot_be(
        self,
        run: Run,
        demo_club: DemoClub,
        monkeypatch: pytest.MonkeyPatch,
        here: tuple[str, str | None],
        sentence: str,
    ) -> None:
        served = replace(demo_club.data, server="postgresql://desk@db.example/desk")
        monkeypatch.setattr(serving, "data_folder", lambda: served)
        monkeypatch.setattr(serving.sys, "platform", here[0])
        monkeypatch.setattr(serving, "find_spec", lambda _name: here[1])
        shown = run("serve", "--workers", "4")

        assert shown.exit_code == 2
        assert sentence in shown.output
