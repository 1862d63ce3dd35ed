"""How the desk is reached: told once, remembered, taken back."""

import pytest

from settingsdesk.config import Front
from tests.cli.conftest import Run
from tests.conftest import DemoClub


class TestHowTheDeskIsReached:
    """``demo`` takes the same options as ``serve``, and ends by itself."""

    PUBLIC = ("--public-url", "https://desk.example.org")

    def test_what_is_told_once_is_remembered(self, run: Run, demo_club: DemoClub) -> None:
        run("demo", *self.PUBLIC, "--https", "--behind", "1", "--name", "Desk.Hall.example")
        run("demo", "--name", "192.0.2.7")

        names = frozenset({"desk.hall.example", "192.0.2.7"})
        assert demo_club.data.front() == Front(https=True, behind=1, names=names)

    def test_each_is_taken_back(self, run: Run, demo_club: DemoClub) -> None:
        """A desk goes back from a public name to the hall's own network."""
        run("demo", *self.PUBLIC, "--https", "--behind", "1", "--name", "desk.hall.example")
        back = ("--no-https", "--behind", "0", "--no-name", "desk.hall.example")
        shown = run("demo", *back, "--no-public-url")

        assert shown.exit_code == 0
        assert demo_club.data.front() == Front()
        assert demo_club.data.public_url() is None

    @pytest.mark.parametrize(
        ("words", "known"),
        [
            (["--https"], "none is known"),
            (["--https", "--public-url", "http://desk.example.org"], "http://desk.example.org"),
        ],
    )
    def test_https_needs_an_address_that_begins_so(
        self, run: Run, demo_club: DemoClub, words: list[str], known: str
    ) -> None:
        """Codes on cards would lead past the server that ends it."""
        shown = run("demo", *words)

        assert shown.exit_code == 2
        assert known in shown.output
        assert "--public-url https://desk.example.org" in shown.output
        assert "--no-https" in shown.output
        assert (demo_club.data.front(), demo_club.data.public_url()) == (Front(), None)

    def test_the_address_is_not_taken_from_under_https(self, run: Run, demo_club: DemoClub) -> None:
        run("demo", *self.PUBLIC, "--https")
        for words in (["--no-public-url"], ["--public-url", "http://desk.example.org"]):
            assert run("demo", *words).exit_code == 2

        assert demo_club.data.public_url() == "https://desk.example.org"

    def test_nothing_is_kept_of_what_is_refused(self, run: Run, demo_club: DemoClub) -> None:
        for words in (["--name", "a/b"], ["--public-url", "ftp://x"], ["--behind", "10"]):
            assert run("demo", "--name", "desk.example.org", *words).exit_code == 2

        assert demo_club.data.front() == Front()
