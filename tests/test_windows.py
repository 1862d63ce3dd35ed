"""What Windows does otherwise, as far as it can be tried elsewhere."""

import importlib.util
import os
import subprocess
import sys
import time
import urllib.request
from pathlib import Path
from shutil import copy

import pytest

from settingsdesk.config import DataFolder, Front
from settingsdesk.desk.clock import now
from settingsdesk.desk.demo import club
from settingsdesk.resources import folder
from settingsdesk.store.erased_numbers import FILE, Erased, ErasedNumbers
from settingsdesk.store.migrate import upgraded
from tests.own_port import own_port

ROOT = Path(__file__).parents[1]
FOLDER = r"Müllers Daten # 100% \x"
"""Of a user whose name has letters and whose folders have signs that mean something elsewhere."""


@pytest.mark.skipif(sys.platform == "win32", reason="it is there already")
def test_a_desk_is_begun_backed_up_restored_and_served_without_what_only_unix_has(
    tmp_path: Path,
) -> None:
    """All of the program is read there, and nothing of it misses a lock, a signal or a right."""
    port = str(own_port())
    told = {**os.environ, "SETTINGSDESK_DATA": str(tmp_path / FOLDER)}
    commands = (
        *("demo", "--", "backup", "a copy.zip", "--", "restore", "a copy.zip", "--yes", "--"),
        *("serve", "--port", port),
    )
    quiet = (sys.executable, "-W", "ignore", "-m", "tests.as_on_windows")
    with subprocess.Popen(
        [*quiet, *commands],
        cwd=tmp_path,
        env={**told, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    ) as desk:
        try:
            until = time.monotonic() + 120
            while desk.poll() is None and time.monotonic() < until:
                try:
                    with urllib.request.urlopen(f"http://127.0.0.1:{port}/health") as answer:
                        assert answer.status == 200
                        break
                except OSError:
                    time.sleep(0.1)
        finally:
            desk.terminate()
            said, _ = desk.communicate()
    assert desk.returncode == 0, said
    assert "Restored. What was there is in" in said
    assert "(proven best)" in said


def with_their_endings(text: str) -> bytes:
    """The same with the ends of lines that editors write there."""
    return text.replace("\n", "\r\n").encode()


class TestEndsOfLines:
    def test_in_the_files_of_a_data_folder_make_no_difference(self, tmp_path: Path) -> None:
        """Somebody opened one to look, and the editor saved it."""
        data = DataFolder.at(tmp_path / "desk")
        keys = data.card_key(), data.secret_key()
        data.remember_public_url("https://desk.example.org")
        data.remember_front(Front(https=True, behind=1, names=frozenset({"desk.example"})))
        data.remember_served("192.0.2.7", 5000)
        data.remember_home()
        data.remember_kept_on("server", "a move")
        one = Erased(1, 2, now())
        ErasedNumbers(data.path / FILE).add([one, one._replace(athlete_id=3)])
        before = _told_by(data)

        for file in data.path.iterdir():
            file.write_bytes(with_their_endings(file.read_text(encoding="utf-8")))

        assert _told_by(data) == before
        assert (data.card_key(), data.secret_key()) == keys
        assert len(before[-1]) == 2

    def test_in_the_seed_make_no_difference(self, tmp_path: Path) -> None:
        """A repository that was fetched there may have them in every text."""
        seed = tmp_path / "seed"
        seed.mkdir()
        for file in folder("seed").iterdir():
            if file.suffix == ".png":
                copy(file, seed)
                continue
            (seed / file.name).write_bytes(with_their_endings(file.read_text(encoding="utf-8")))
        store = upgraded(tmp_path / "desk.sqlite3")
        try:
            made = club.load(store, seed, "seven lanterns over wet slates")
        finally:
            store.close()
        assert len(made.rotation_ids) == 2


def _told_by(data: DataFolder) -> tuple[object, ...]:
    erased = list(ErasedNumbers(data.path / FILE).all())
    return data.public_url(), data.front(), data.last_served(), data.home(), data.kept_on(), erased


class TestSettingUp:
    @pytest.mark.parametrize(
        ("system", "python"), [("nt", "Scripts/python.exe"), ("posix", "bin/python")]
    )
    def test_finds_the_python_of_its_environment(self, system: str, python: str) -> None:
        """Where it was made by the other system's rules nothing would start."""
        spec = importlib.util.spec_from_file_location("set_up", ROOT / "scripts" / "set_up.py")
        assert spec is not None
        assert spec.loader is not None
        set_up = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(set_up)
        assert set_up.python_of(system) == set_up.ENVIRONMENT / python
