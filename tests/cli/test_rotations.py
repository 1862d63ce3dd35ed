"""Plans and cards of rotations at a terminal."""

import json
from pathlib import Path

import pypdfium2
import pytest

from settingsdesk.desk.checks.findings import add_finding
from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import mats_of_day
from tests.cli.conftest import Run
from tests.conftest import DemoClub


class TestOrder:
    def test_without_a_number_it_lists_the_rotations(self, run: Run) -> None:
        assert "Tonight, parallel bars, boys 1" in run("order").output

    def test_with_one_it_shows_turns_moves_and_the_proof(self, run: Run) -> None:
        shown = run("order", "1").output

        assert "  1. Jagna B." in shown
        assert "proven best" in shown

    def test_an_unknown_rotation_is_one_line_and_status_2(self, run: Run) -> None:
        shown = run("order", "99")

        assert shown.exit_code == 2
        assert len(shown.output.strip().splitlines()) == 1

    def test_a_number_that_no_database_counts_to_is_refused(self, run: Run) -> None:
        shown = run("order", "9" * 20)

        assert shown.exit_code == 2
        assert "9" * 20 in shown.output

    def test_what_does_not_go_together_is_refused_and_not_ignored(self, run: Run) -> None:
        assert run("order", "--anew").exit_code == 2
        assert run("order", "1", "--problem", "problem.json").exit_code == 2

    def test_a_withdrawn_apparatus_is_not_ordered_on_and_said_to_be_so(
        self, run: Run, demo_club: DemoClub
    ) -> None:
        """The command line is no way round the coach who withdrew it."""
        with demo_club.work(writes=True) as session:
            add_finding(session, 1, "Rail split", withdraws=True, press_key="x")

        refused = run("order", "1", "--anew")
        assert refused.exit_code == 2
        assert "has been out of use since" in refused.output
        assert "! Bars by the window has been out of use since" in run("order", "1").output
        told = json.loads(run("order", "1", "--json").output)
        assert told["withdrawn"] == ["Bars by the window"]

    def test_ordering_anew_counts(self, run: Run) -> None:
        assert run("order", "1", "--anew").exit_code == 0


class TestForPrograms:
    def test_the_rotations_are_told_by_number(self, run: Run) -> None:
        told = json.loads(run("order", "--json").output)

        assert {line["rotation"]: line["athletes"] for line in told} == {1: 12, 2: 8}

    def test_an_order_is_told_with_its_proof_and_every_turn(self, run: Run) -> None:
        told = json.loads(run("order", "1", "--json").output)["order"]

        assert told["proven"]
        assert told["change_over_s"] == told["bound_s"] < told["by_height_s"]
        turns = told["apparatus"][0]["turns"]
        assert len(turns) == 12
        assert sum(turn["change_over_s"] for turn in turns) == told["change_over_s"]


class TestCards:
    @pytest.mark.parametrize(("size", "pages"), [("A6", 12), ("ID-1", 2), ("A4", 3)])
    def test_a_rotations_cards_are_printed_in_every_size(
        self, run: Run, tmp_path: Path, size: str, pages: int
    ) -> None:
        shown = run("cards", "1", str(tmp_path / "cards.pdf"), "--size", size)

        assert shown.exit_code == 0
        assert len(pypdfium2.PdfDocument(tmp_path / "cards.pdf")) == pages

    def test_codes_lead_to_where_the_pages_were_served_last(
        self, run: Run, tmp_path: Path, demo_club: DemoClub
    ) -> None:
        """Cards printed at the terminal open the same desk as those printed from a page."""
        file = str(tmp_path / "cards.pdf")
        assert "http://127.0.0.1:5000" in run("cards", "1", file).output

        demo_club.data.remember_served("127.0.0.1", 8123)
        assert "http://127.0.0.1:8123" in run("cards", "1", file).output
        assert "http://127.0.0.1:8200" in run("cards", "1", file, "--port", "8200").output

    def test_that_other_mats_lie_there_today_is_said(
        self, run: Run, tmp_path: Path, demo_club: DemoClub
    ) -> None:
        """The cards are kept longer than the mats lie there."""
        file = str(tmp_path / "cards.pdf")
        assert "Other mats" not in run("cards", "1", file).output
        with demo_club.work(writes=True) as session:
            mats_of_day.lie_on(session, 1, today(), 100)
        told = "Other mats lie under Bars by the window today: the heights above the mat on these"
        assert told in run("cards", "1", file).output

    def test_a_file_that_cannot_be_written_is_named(self, run: Run, tmp_path: Path) -> None:
        shown = run("cards", "1", str(tmp_path / "nowhere" / "cards.pdf"))

        assert shown.exit_code == 2
        assert "cannot be written" in shown.output
