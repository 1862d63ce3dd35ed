"""Who may sign in, at a terminal."""

from tests.cli.conftest import Run


class TestCoaches:
    def test_a_coach_without_a_name_to_be_seen_is_refused(self, run: Run) -> None:
        words = "lanterns over seven wet roofs"
        shown = run("coach", "add", "edda", "--shown-name", " ", "--password", words)

        assert shown.exit_code == 2
        assert "a name that others see" in shown.output

    def test_a_script_without_a_terminal_pipes_the_password_in(self, run_empty: Run) -> None:
        run_empty("init", "Harbour Gymnastics")
        words = "lanterns over seven wet roofs"
        edda = ("coach", "add", "edda", "--shown-name", "Edda Quill", "--password-from-stdin")
        assert run_empty(*edda, typed=f"{words}\n").exit_code == 0

        shown = run_empty("coach", "password", "edda", "--password-from-stdin", typed="short\n")
        assert shown.exit_code == 2
        assert "12 characters or more" in shown.output
        both = run_empty(*edda, "--password", words, typed=words)
        assert both.exit_code == 2

    def test_people_are_listed_given_a_role_disabled_and_signed_out(self, run: Run) -> None:
        """What an owner does on the page, for whoever lost the way to it."""
        words = "lanterns over seven wet roofs"
        added = ("coach", "add", "bo", "--shown-name", "Bo Larch", "--role", "helper")
        assert run(*added, "--password", words).exit_code == 0
        listed = run("coach", "list").output.splitlines()
        assert "bo  Bo Larch, helper" in listed
        assert any(line.startswith("runa  ") and line.endswith(", owner") for line in listed)

        assert run("coach", "role", "bo", "coach").output == "bo is a coach now.\n"
        assert run("coach", "disable", "bo").exit_code == 0
        assert "bo  Bo Larch, coach, disabled" in run("coach", "list").output
        assert run("coach", "enable", "bo").exit_code == 0
        assert "bo  Bo Larch, coach\n" in run("coach", "list").output
        assert run("coach", "sign-out", "bo").exit_code == 0

        last = run("coach", "disable", "runa")
        assert last.exit_code == 2
        assert "is the only owner" in last.output
        assert run("coach", "role", "nobody", "coach").exit_code == 2

    def test_a_new_password_for_nobody_is_refused(self, run: Run) -> None:
        shown = run("coach", "password", "nobody", "--password", "lanterns over seven wet roofs")

        assert shown.exit_code == 2
        assert "Nobody signs in as 'nobody' here" in shown.output

    def test_what_is_not_said_and_nobody_can_be_asked_for_is_named(self, run: Run) -> None:
        """A script that forgot an option is told which, not asked into the void."""
        piped = run("coach", "add", "edda", "--password-from-stdin")
        assert (piped.exit_code, "Give --shown-name too" in piped.output) == (2, True)
        unnamed = run("coach", "add", "edda", "--password", "lanterns over seven wet roofs")
        assert (unnamed.exit_code, "give --shown-name" in unnamed.output) == (2, True)
        bare = run("coach", "password", "runa")
        assert (bare.exit_code, "give --password-from-stdin" in bare.output) == (2, True)
