"""What commands write."""

import json
import os
import stat
from importlib.metadata import version
from pathlib import Path

import pytest
from click.testing import CliRunner

from settingsdesk.cli import main
from settingsdesk.desk.cards import card_keys
from settingsdesk.desk.rotations import rotation
from settingsdesk.desk.squad import athletes
from settingsdesk.desk.squad.athletes import Person
from tests.cli.conftest import Run
from tests.conftest import DemoClub


@pytest.mark.usefixtures("others_may_read_what_is_made")
class TestPrivateFiles:
    def test_cards_and_exports_are_their_owners_only(self, run: Run, tmp_path: Path) -> None:
        """Paper with the names of minors, in a folder that others look into."""
        files = [tmp_path / name for name in ("cards.pdf", "squad.csv", "squad.xlsx")]
        files[1].write_text("there before")
        run("cards", "1", str(files[0]))
        for file in files[1:]:
            run("export", str(file))

        assert [stat.S_IMODE(file.stat().st_mode) for file in files] == [0o600] * 3

    def test_a_file_that_is_none_is_written_to_as_it_is(self, run: Run, tmp_path: Path) -> None:
        pipe = tmp_path / "null.csv"
        pipe.symlink_to(os.devnull)
        assert run("export", str(pipe)).exit_code == 0
        assert stat.S_IMODE(Path(os.devnull).stat().st_mode) & 0o666 == 0o666


class TestRefusals:
    """One line in one voice, whoever refuses: the desk, or the words of the command."""

    @pytest.mark.parametrize(
        ("words", "why"),
        [
            (("order", "abc"), "[ROTATION]: enter a whole number, like 1; 'abc' was given"),
            (("order", "0"), "[ROTATION]: enter a whole number, like 1; '0' was given"),
            (("order", "9" * 4000), "enter a whole number, like 1"),
            (("cards", "1"), "FILE is missing. See `main cards -h`"),
            (("cards", "1", "out.txt"), "out.txt must end in .pdf"),
            (("cards", "1", "out.pdf", "--port", "70000"), "--port: enter a whole number from 1"),
            (("cards", "1", "out.pdf", "--size", "A7"), "--size: 'A7' is not one of"),
            (("ordre",), "No such command 'ordre'"),
            (("--colour", "order"), "No such option '--colour'"),
        ],
    )
    def test_a_word_that_is_none_is_told_with_where_the_help_is(
        self, run: Run, words: tuple[str, ...], why: str
    ) -> None:
        refused = run(*words)

        assert refused.exit_code == 2
        assert refused.output.count("\n") == 1
        assert why in refused.output
        assert "nvalid" not in refused.output

    @pytest.mark.parametrize(
        "words",
        [("order", "77"), ("order", "abc"), ("convert", "no", "such", "1"), ("order", "--anew")],
    )
    def test_a_program_gets_it_as_json(self, run: Run, words: tuple[str, ...]) -> None:
        refused = run(*words, "--json")

        assert refused.exit_code == 2
        assert list(json.loads(refused.output)) == ["refused"]

    def test_a_problem_file_that_is_none_too(self, run_empty: Run, tmp_path: Path) -> None:
        refused = run_empty("order", "--problem", str(tmp_path / "none.json"), "--json")

        assert refused.exit_code == 2
        assert "cannot be read" in json.loads(refused.output)["refused"]

    def test_the_version_is_the_packages(self, run_empty: Run) -> None:
        assert run_empty("--version").output == f"settingsdesk {version('settingsdesk')}\n"


class TestATerminalOfItsRegion:
    """A pipe or a file on Windows has 256 signs, and names are from everywhere."""

    @pytest.fixture(autouse=True)
    def _listed(self, demo_club: DemoClub, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setenv("SETTINGSDESK_DATA", str(demo_club.data.path))
        monkeypatch.setenv("SETTINGSDESK_DATABASE_URL", demo_club.data.server)
        card_keys.must_fit(demo_club.store, demo_club.data)
        with demo_club.work(writes=True) as session:
            listed = rotation.rotation(session, 1).listed
            athletes.change(session, listed[0].id, Person("Яценко", "Łucja"))

    def test_other_signs_are_told_by_their_numbers(self) -> None:
        answer = CliRunner(charset="cp1252").invoke(main, ["order", "1"])

        assert answer.exit_code == 0
        assert "\\u042f" in answer.output or "\\u0141" in answer.output

    def test_a_program_reads_them_as_they_are(self) -> None:
        answer = CliRunner(charset="cp1252").invoke(main, ["order", "1", "--json"])

        assert answer.exit_code == 0
        assert "Łucja" in str(json.loads(answer.output))
