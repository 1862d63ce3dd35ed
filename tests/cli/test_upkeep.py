"""Looking after an installation at a terminal."""

from pathlib import Path

import pytest

from tests.cli.conftest import Run
from tests.conftest import DemoClub
from tests.own_port import own_port


class TestTheKeyOfTheCards:
    @pytest.mark.parametrize(
        "words",
        [
            ["cards", "1", "out.pdf"],
            ["demo"],
            ["init", "Another"],
            ["order"],
            ["serve", "--port", "0"],
        ],
        ids=lambda words: words[0],
    )
    def test_nothing_begins_without_it_and_the_way_out_is_named(
        self, run: Run, demo_club: DemoClub, words: list[str]
    ) -> None:
        """Cards whose codes open nothing are noticed at the meet, by somebody else."""
        (demo_club.data.path / "card.key").unlink()

        shown = run(*(str(own_port()) if word == "0" else word for word in words))
        assert shown.exit_code == 2
        assert "Put the copy of it back" in shown.output
        assert "settingsdesk card-key change --until DAY" in shown.output
        assert not (demo_club.data.path / "card.key").exists()

    def test_a_new_one_is_made_with_the_day_until_which_old_cards_count(
        self, run: Run, demo_club: DemoClub, tmp_path: Path
    ) -> None:
        assert run("cards", "1", str(tmp_path / "before.pdf")).exit_code == 0
        shown = run("card-key", "change", "--until", "2999-12-31")

        assert shown.exit_code == 0, shown.output
        assert "Cards from before count until 31 December 2999" in shown.output
        assert (demo_club.data.path / "card.key.until-2999-12-31").exists()
        assert run("cards", "1", str(tmp_path / "after.pdf")).exit_code == 0

    def test_a_lost_one_is_replaced_and_what_that_means_is_said(
        self, run: Run, demo_club: DemoClub
    ) -> None:
        (demo_club.data.path / "card.key").unlink()

        assert "cannot be typed" in run("card-key", "change", "--until", "2999-12-31").output
        assert run("order").exit_code == 0

    def test_a_day_that_is_over_is_refused(self, run: Run) -> None:
        shown = run("card-key", "change", "--until", "2001-01-01")
        assert shown.exit_code == 2
        assert "1 January 2001 is over" in shown.output


@pytest.mark.usefixtures("others_may_read_what_is_made")
class TestTheDoctor:
    def test_the_doctor_names_it_with_status_1(
        self, run: Run, demo_club: DemoClub, tmp_path: Path
    ) -> None:
        run("backup", str(tmp_path / "desk.zip"))
        for file in demo_club.data.path.rglob("*"):
            file.chmod(0o600)
        assert run("doctor").exit_code == 0
        demo_club.data.path.chmod(0o755)
        shown = run("doctor")
        assert shown.exit_code == 1
        assert f"NOT WELL  Others can read {demo_club.data.path}" in shown.output
