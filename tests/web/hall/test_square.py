"""The square aid on the page: what a tape says, in words, and which reading to repeat."""

import re
from urllib.parse import urlencode

import pytest

from settingsdesk.store.work import Store
from tests.conftest import Account
from tests.desk.sample_hall import Hall, furnish
from tests.web.pages import Page, Reader

FEET = {"feet-along": "300", "feet-across": "400", "feet-limit": "0.3", "do": "diagonals"}


@pytest.fixture
def hall(store: Store, account: Account) -> Hall:
    return furnish(store, account.club_id)


def asked(pages: Reader, hall: Hall, **typed: str) -> Page:
    return pages.get(f"/apparatus/{hall.bars}/square/?{urlencode(typed)}")


def diagonals(pages: Reader, hall: Hall, first: str, second: str) -> Page:
    typed = {**FEET, "feet-to_back": first, "feet-to_front": second}
    return asked(pages, hall, **typed)


class TestTheSquareAid:
    def test_the_way_there_is_on_the_page_of_the_apparatus(self, pages: Reader, hall: Hall) -> None:
        """And the cautions stand above what is asked."""
        page = pages.get(f"/apparatus/{hall.bars}").follow("Is it square?")

        assert page.heading == "Square: Bars 1"
        assert "Never correct square under tension" in page.text
        assert not page.mistakes

    def test_a_beam_that_no_cable_holds_has_no_way_there(self, pages: Reader, hall: Hall) -> None:
        assert "Is it square?" not in pages.get(f"/apparatus/{hall.beam}").links

    def test_a_longer_first_diagonal_is_taken_up_at_the_front(
        self, pages: Reader, hall: Hall
    ) -> None:
        """(5030² - 4970²) / (4 · 3000) = 50 mm; 60 mm between the diagonals."""
        page = diagonals(pages, hall, "503", "497")

        assert "The LOW-rail side stands 5.0 cm too far to the back" in page.text
        assert "the front of the LOW-rail side, opposite to the skew" in page.text
        assert "pulls against the skew" in page.text
        assert "lean" not in page.text.partition("By a plumb line")[0]
        assert "Difference of the diagonals6.0 cm" in page.text
        assert not re.search(r"\d mm", page.text)
        assert "Beyond" in page.text

    def test_equal_diagonals_are_square(self, pages: Reader, hall: Hall) -> None:
        page = diagonals(pages, hall, "500", "500")

        assert "It stands square" in page.text
        assert "Within" in page.text

    def test_a_reading_that_cannot_be_is_named_and_nothing_is_lost(
        self, pages: Reader, hall: Hall
    ) -> None:
        page = diagonals(pages, hall, "500", "510")

        assert page.status == 400
        [mistake] = page.mistakes
        assert "tape the second diagonal once more" in mistake
        assert page.links[mistake].endswith("to_front")
        assert page.having("value", "510")

    def test_a_plumb_line_tells_the_lean_and_the_other_side(
        self, pages: Reader, hall: Hall
    ) -> None:
        page = asked(
            pages,
            hall,
            **{
                "plumb-offset": "1",
                "plumb-height": "200",
                "plumb-to_side": "0",
                "plumb-limit": "0.3",
                "do": "plumb",
            },
        )

        assert "The upright leans 1.0 cm to the HIGH-rail side" in page.text
        assert "the LOW-rail side, opposite to the lean" in page.text
        assert "Tension firstthe LOW-rail side: it pulls against the lean" in page.text

    def test_without_a_limit_of_the_makers_it_only_shows_the_measure(
        self, pages: Reader, hall: Hall
    ) -> None:
        """A norm of another apparatus passes no bars."""
        typed = {**FEET, "feet-to_back": "503", "feet-to_front": "497"}
        page = asked(pages, hall, **{**typed, "feet-limit": ""})

        assert "Without their limit this is only the measure" in page.text
        assert "Within" not in page.text
        assert "Beyond" not in page.text
        assert asked(pages, hall).having("name", "feet-limit")[0].get("value") == ""

    def test_whoever_came_from_a_run_goes_back_to_it(self, pages: Reader, hall: Hall) -> None:
        """The phone in the hand of who tensions must not lose the step."""
        typed = {**FEET, "feet-to_back": "500", "feet-to_front": "500"}
        page = asked(pages, hall, then="/bars/7", **typed)

        assert page.links["Back to the run"] == "/bars/7"
        assert [one.get("value") for one in page.having("name", "then")] == ["/bars/7", "/bars/7"]

    def test_empty_boxes_are_asked_for(self, pages: Reader, hall: Hall) -> None:
        page = asked(pages, hall, do="plumb")

        assert page.status == 400
        assert len(page.mistakes) == 3
