"""Backing up and restoring at a terminal, and the drill as the README has it."""

import os
import re
import shlex
import shutil
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from sqlalchemy import make_url, text

from settingsdesk.cli import main
from settingsdesk.config import DataFolder
from settingsdesk.desk.cards import card_keys
from settingsdesk.folder_lock import FolderLock
from tests.conftest import DemoClub
from tests.databases import of_files, on_server

Run = Callable[..., Result]


@pytest.fixture
def run(demo_club: DemoClub, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Runs a command on the demo club, or on another folder."""
    card_keys.must_fit(demo_club.store, demo_club.data)

    def run_one(*words: str, data: Path = demo_club.data.path, typed: str | None = None) -> Result:
        monkeypatch.setenv("SETTINGSDESK_DATA", str(data))
        return CliRunner().invoke(main, list(words), input=typed)

    return run_one


@of_files  # of a desk on a server: TestOnAServer
class TestABackupByHand:
    def test_is_restored_elsewhere(self, run: Run, tmp_path: Path) -> None:
        file, other = tmp_path / "desk.zip", tmp_path / "other"
        made = run("backup", str(file))
        assert (made.exit_code, made.output) == (0, f"The backup is {file}.\n")

        restored = run("restore", str(file), data=other)
        assert restored.exit_code == 0, restored.output
        assert re.search(r"with \d+ athletes, of 20\d\d-", restored.output)
        assert restored.output.endswith("Restored.\n")
        assert run("order", data=other).output == run("order").output

    def test_asks_before_it_replaces_a_desk(self, run: Run, tmp_path: Path) -> None:
        """Whoever types the wrong folder has lost nothing."""
        run("backup", str(tmp_path / "desk.zip"))

        refused = run("restore", str(tmp_path / "desk.zip"), typed="n\n")
        assert refused.exit_code == 1
        assert "Replace it by the backup?" in refused.output
        taken = run("restore", str(tmp_path / "desk.zip"), typed="y\n")
        assert taken.exit_code == 0, taken.output
        assert "What was there is in " in taken.output

    def test_replaces_no_desk_that_is_served(
        self, run: Run, demo_club: DemoClub, tmp_path: Path
    ) -> None:
        run("backup", str(tmp_path / "desk.zip"))
        with FolderLock(demo_club.data.path, "serving at 127.0.0.1, port 5000"):
            refused = run("restore", str(tmp_path / "desk.zip"), "--yes")
        assert refused.exit_code == 2
        assert "Stop that one first" in refused.output

    def test_may_be_closed_with_a_passphrase(self, run: Run, tmp_path: Path) -> None:
        words = "four lanterns over wet slates\n"
        file = str(tmp_path / "desk.zip.age")
        assert run("backup", file, "--encrypt", typed=words * 2).exit_code == 0
        restored = run("restore", file, data=tmp_path / "other", typed=words)
        assert restored.exit_code == 0, restored.output

    @pytest.mark.parametrize(
        ("words", "said"),
        [
            (["backup", "/nowhere/desk.zip"], "has room"),
            (["restore", "/nowhere/desk.zip"], "Nothing was changed"),
        ],
        ids=["backup", "restore"],
    )
    def test_what_cannot_be_is_said_in_a_line(self, run: Run, words: list[str], said: str) -> None:
        shown = run(*words)
        assert shown.exit_code == 2
        assert said in shown.output


@contextmanager
def served(words: list[str], environment: dict[str, str], folder: Path) -> Iterator[list[str]]:
    """A desk that is served in a process of its own; what it said, once it was stopped."""
    desk = subprocess.Popen(
        words, env=environment, cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.STDOUT
    )
    said: list[str] = []
    try:
        yield said
    finally:
        desk.terminate()
        said.append(desk.communicate(timeout=60)[0].decode())


class TestOnAServer:
    pytestmark = on_server

    @pytest.fixture
    def named(self, demo_club: DemoClub, monkeypatch: pytest.MonkeyPatch) -> None:
        """Every command is told which server."""
        monkeypatch.setenv("SETTINGSDESK_DATABASE_URL", demo_club.data.server)

    def test_restoring_says_which_database_it_would_replace_and_where_that_is_kept(
        self, run: Run, demo_club: DemoClub, named: None, tmp_path: Path
    ) -> None:
        run("backup", str(tmp_path / "desk.zip"))
        name = make_url(demo_club.data.server).database
        refused = run("restore", str(tmp_path / "desk.zip"), typed="n\n")
        assert f"In the database {name} now: " in refused.output
        assert "athletes." in refused.output
        assert f"In {demo_club.data.path} now" not in refused.output

        taken = run("restore", str(tmp_path / "desk.zip"), "--yes")
        assert "What was in the database is a backup in " in taken.output

    def test_what_this_version_cannot_open_is_not_replaced_unasked(
        self, run: Run, demo_club: DemoClub, named: None, tmp_path: Path
    ) -> None:
        """A database of an earlier version, of which it cannot say more."""
        run("backup", str(tmp_path / "desk.zip"))
        with demo_club.store.installation(writes=True) as session:
            set_back = text("UPDATE alembic_version SET version_num = '0024'")
            session.connection().execute(set_back)

        refused = run("restore", str(tmp_path / "desk.zip"), typed="n\n")
        assert "now: something that this version cannot open as it is." in refused.output
        assert "Replace it by the backup?" in refused.output

    def test_tables_of_another_program_are_left_as_they_are(
        self, run: Run, demo_club: DemoClub, named: None, tmp_path: Path
    ) -> None:
        run("backup", str(tmp_path / "desk.zip"))
        with demo_club.store.installation(writes=True) as session:
            session.connection().execute(text("CREATE TABLE alone (id integer)"))
            session.connection().execute(text("DROP TABLE alembic_version"))

        refused = run("restore", str(tmp_path / "desk.zip"), "--yes")
        assert refused.exit_code == 2
        assert "which were left as they are" in refused.output


class TestMoving:
    def test_without_a_server_says_what_is_missing(self, run: Run) -> None:
        refused = run("move", "server")
        assert refused.exit_code == 2
        assert "SETTINGSDESK_DATABASE_URL" in refused.output

    @on_server
    def test_says_how_many_rows_came_and_where_the_desk_is_now(
        self, run: Run, demo_club: DemoClub, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setenv("SETTINGSDESK_DATABASE_URL", demo_club.data.server)
        before = run("order").output
        moved = run("move", "folder")
        assert moved.exit_code == 0, moved.output
        assert re.search(r"^ +\d+  athlete$", moved.output, re.MULTILINE)
        assert re.search(r"Moved [\d,]+ rows of \d+ tables, all the same", moved.output)
        assert "start everything without SETTINGSDESK_DATABASE_URL" in moved.output
        assert "is in that folder" in run("order").output

        monkeypatch.delenv("SETTINGSDESK_DATABASE_URL")
        assert run("order").output == before


@of_files  # it names the folder alone
class TestTheDrillOfTheReadme:
    def test_word_by_word(self, run: Run, demo_club: DemoClub, tmp_path: Path) -> None:
        """Whoever follows it in a hall has nobody to ask."""
        readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
        [drill] = re.findall(r"<!-- drill -->\n```\n(.*?)```", readme, re.DOTALL)
        *lines, last = drill.splitlines()
        demo_club.store.close()
        command = f"{sys.executable} -m settingsdesk"
        environment = {**os.environ, "SETTINGSDESK_DATA": str(demo_club.data.path)}
        script = "\n".join(["set -e", f'settingsdesk() {{ {command} "$@"; }}', *lines])

        done = subprocess.run(
            ["sh", "-c", script], env=environment, cwd=tmp_path, capture_output=True, text=True
        )
        assert done.returncode == 0, done.stderr
        assert "Restored.\n" in done.stdout
        assert "Tonight" in done.stdout

        told, *words = shlex.split(last)
        name, _, value = told.partition("=")
        assert words[:2] == ["settingsdesk", "serve"]
        with served([sys.executable, "-m", *words], {**environment, name: value}, tmp_path):
            assert answers(f"http://127.0.0.1:{words[-1]}/health") == b"well\n"


def answers(address: str) -> bytes:
    """What an address says once somebody answers there."""
    gives_up_at = time.monotonic() + 60
    while True:
        try:
            with urllib.request.urlopen(address) as answer:  # noqa: S310  -- our own
                return bytes(answer.read())
        except OSError:
            if time.monotonic() > gives_up_at:
                raise
            time.sleep(0.05)


class TestTwoDesks:
    def test_never_serve_the_same_folder(self, run: Run, demo_club: DemoClub) -> None:
        """On another port it would be let in, and both would answer for the same bars."""
        with FolderLock(demo_club.data.path, "serving at 127.0.0.1, port 5000"):
            refused = run("serve", "--port", "5997", "--open-folder")
        assert refused.exit_code == 2
        assert "(serving at 127.0.0.1, port 5000, process" in refused.output

    def test_of_a_folder_that_was_copied_the_second_is_told(
        self, demo_club: DemoClub, tmp_path: Path
    ) -> None:
        """The lock of one says nothing about the other; both look whole."""
        demo_club.data.remember_home()
        demo_club.store.close()
        copy = shutil.copytree(demo_club.data.path, tmp_path / "copy")
        environment = {**os.environ, "SETTINGSDESK_DATA": str(copy)}
        words = ["-m", "settingsdesk", "serve", "--open-folder", "--port", "5996"]
        with served([sys.executable, *words], environment, tmp_path) as said:
            assert answers("http://127.0.0.1:5996/health") == b"well\n"
        assert f"was served from {demo_club.data.own_home} before" in said[0]
        assert DataFolder(Path(copy)).home() == DataFolder(Path(copy)).own_home


class TestBackupsByThemselves:
    def test_a_folder_within_the_desks_own_is_refused(self, run: Run, demo_club: DemoClub) -> None:
        """What takes the desk would take its backups."""
        (demo_club.data.path / "copies").mkdir()
        shown = run("serve", "--backups", str(demo_club.data.path / "copies"), "--open-folder")
        assert shown.exit_code == 2
        assert "another disk" in shown.output

    def test_are_kept_while_the_desk_is_served(self, demo_club: DemoClub, tmp_path: Path) -> None:
        (stick := tmp_path / "stick").mkdir()
        demo_club.store.close()
        environment = {**os.environ, "SETTINGSDESK_DATA": str(demo_club.data.path)}
        words = "-m settingsdesk serve --open-folder --port 5998 --backups"
        with served([sys.executable, *words.split(), str(stick)], environment, tmp_path):
            gives_up_at = time.monotonic() + 60
            while not list(stick.glob("*.zip")) and time.monotonic() < gives_up_at:
                time.sleep(0.05)
        [file] = stick.glob("*.zip")
        assert DataFolder(demo_club.data.path).backup_notes().file == file
