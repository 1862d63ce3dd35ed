"""Clubs made and named at a terminal."""

from tests.cli.conftest import Run


class TestAClubOfOnesOwn:
    def test_a_club_and_its_coach_are_made_without_the_demo(self, run_empty: Run) -> None:
        assert run_empty("init", "Harbour Gymnastics").exit_code == 0
        words = "lanterns over seven wet roofs"
        shown = run_empty(
            "coach", "add", "edda", "--shown-name", "Edda Quill", typed=f"{words}\n{words}\n"
        )

        assert shown.exit_code == 0
        assert "Edda Quill can sign in as edda." in shown.output

    def test_a_second_club_on_one_desk_is_refused(self, run: Run) -> None:
        """Otherwise nobody could tell which of them a command means."""
        shown = run("init", "Another club")

        assert shown.exit_code == 2
        assert "Quillmoor Gymnastics Club is on this desk already" in shown.output

    def test_without_a_club_the_way_to_one_is_named(self, run_empty: Run) -> None:
        shown = run_empty("order")

        assert shown.exit_code == 2
        assert "settingsdesk init NAME" in shown.output


class TestSeveralClubs:
    def test_one_more_is_made_named_closed_and_opened(self, run: Run) -> None:
        """Whoever looks after the installation needs no page for it."""
        added = run("club", "add", "Lakeside", "--owner", "Ann Reed").output
        assert "Send it to Ann Reed only" in added
        assert "/invitation/" in added
        assert "Say which: settingsdesk --club NAME" in run("order").output

        made = run("--club", "lakeside", "coach", "list")
        assert (made.exit_code, made.output) == (0, "")
        assert "runa" in run("--club", "Quillmoor Gymnastics Club", "coach", "list").output
        assert run("--club", "Nowhere", "coach", "list").exit_code == 2

        assert run("club", "close", "LAKESIDE").exit_code == 0
        assert "closed since" in run("club", "list").output
        assert run("order").exit_code == 0
        assert run("club", "open", "Lakeside").output == "Lakeside is open again.\n"
        assert "closed" not in run("club", "list").output

    def test_who_makes_them_on_the_pages_is_said_here_too(self, run: Run) -> None:
        assert run("club", "owners").output == "runa\n"
        refused = run("club", "owners", "--take", "runa")
        assert (refused.exit_code, "only owner" in refused.output) == (2, True)
        password = "nine quiet otters juggling"
        run("coach", "add", "bo", "--shown-name", "Bo Larch", "--password", password)
        assert run("club", "owners", "--give", "bo", "--take", "runa").output == "bo\n"
