"""Where codes point to, and whether a phone gets there."""

import pytest

from settingsdesk.desk.cards.code_address import reach


class TestReach:
    def test_on_this_machine_only_the_desk_says_that_phones_get_nowhere(self) -> None:
        """Nobody prints a hundred cards that no phone can open without having been told."""
        found = reach(None, "127.0.0.1", 5000)

        assert found.url == "http://127.0.0.1:5000"
        assert not found.from_phones
        assert "a phone that scans a card gets nothing" in found.what_scanning_does
        assert "--public-url" in found.remedy
        assert found.in_words == f"{found.what_scanning_does} {found.remedy}"

    def test_on_the_whole_network_it_is_the_machines_own_address(self) -> None:
        found = reach(None, "0.0.0.0", 8080)  # noqa: S104  -- nothing listens

        assert found.url.endswith(":8080")
        assert "0.0.0.0" not in found.url  # noqa: S104
        assert found.from_phones == ("127.0.0.1" not in found.url)

    def test_an_address_named_by_the_club_wins(self) -> None:
        found = reach("https://desk.example", "127.0.0.1", 5000)

        assert (found.url, found.from_phones) == ("https://desk.example", True)
        assert found.in_words == "Codes on cards point to https://desk.example."

    @pytest.mark.parametrize(
        "own", ["http://localhost:5000", "http://127.0.0.1", "http://[::1]:5000"]
    )
    def test_a_named_address_of_this_machine_is_not_for_phones(self, own: str) -> None:
        assert not reach(own, "0.0.0.0", 5000).from_phones  # noqa: S104

    def test_a_version_6_address_is_bracketed(self) -> None:
        assert reach(None, "fd00::7", 5000).url == "http://[fd00::7]:5000"
