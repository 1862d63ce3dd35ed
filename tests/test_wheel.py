"""What is installed is what stands in the repository: the wheel carries templates and seed."""

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
VISIBLE = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "settingsdesk",
    "templates",
    "tests",
    "seed",
    "scripts",
}


@pytest.fixture(scope="module")
def in_the_wheel(tmp_path_factory: pytest.TempPathFactory) -> set[str]:
    """The names of the wheel's files; it is built without a network."""
    out = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(out)]
    subprocess.run(command, cwd=ROOT, check=True, capture_output=True)
    [wheel] = out.glob("*.whl")
    return set(zipfile.ZipFile(wheel).namelist())


class TestTheWheel:
    @pytest.mark.parametrize("name", ["templates", "seed"])
    def test_it_carries_every_file_of_the_folder(self, in_the_wheel: set[str], name: str) -> None:
        """A build that leaves one out says nothing: an installed desk would fail on that page."""
        files = [file for file in (ROOT / name).rglob("*") if file.is_file()]

        assert files
        for file in files:
            assert f"settingsdesk/{file.relative_to(ROOT).as_posix()}" in in_the_wheel

    @pytest.mark.parametrize("ending", [".css", ".js", ".ttf", ".svg", ".pot"])
    def test_it_carries_what_lies_beside_the_code(
        self, in_the_wheel: set[str], ending: str
    ) -> None:
        files = list((ROOT / "settingsdesk").rglob(f"*{ending}"))

        assert files
        for file in files:
            assert file.relative_to(ROOT).as_posix() in in_the_wheel

    def test_it_carries_the_migrations(self, in_the_wheel: set[str]) -> None:
        assert any(
            name.startswith("settingsdesk/store/migrations/versions/") for name in in_the_wheel
        )


class TestTheTopLevel:
    def test_it_has_the_eight_entries_and_no_other_in_sight(self) -> None:
        """Starting, testing and building leave nothing behind."""
        seen = {entry.name for entry in ROOT.iterdir() if not entry.name.startswith(".")}

        assert seen == VISIBLE


class TestTheCommands:
    @pytest.mark.parametrize("script", ["start", "test"])
    def test_each_explains_itself_without_setting_anything_up(self, script: str) -> None:
        shown = subprocess.run(
            ["sh", f"scripts/{script}", "--help"], cwd=ROOT, capture_output=True, text=True
        )

        assert shown.returncode == 0
        assert f"sh scripts/{script}" in shown.stdout
        assert shown.stderr == ""
