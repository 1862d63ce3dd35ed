"""The card's page and what is told from it, in a marked language: all is in the catalogue."""

from collections.abc import Iterator
from datetime import timedelta

import pytest
from flask import Flask

from settingsdesk.desk.cards import in_hand, remarks
from settingsdesk.desk.clock import today
from tests.conftest import DemoClub
from tests.web.cards import test_remarks
from tests.web.cards.making import change_spread, issue
from tests.web.cards.test_kept_pages import CHANGES, Change, Held, card, remark_and_answer
from tests.web.cards.test_remarks import code
from tests.web.in_another_language import Walk, in_marked_words
from tests.web.pages import Reader

__all__ = ["card", "code"]

NAMES = (
    *("Jagna B.", "Almira O.", "Bars by the window", "Bars by the door", "Hall frame A"),
    *("Bars at the autumn meet", "Travel frame B", "Leaning frame C", "Quillmoor Gymnastics Club"),
    *("The low rail felt high", "Lowered by one; take the new card", "Bars at the stage"),
    *("Frame of another name", "Mirabel O.", "Measured again, it was right", "Board on the left"),
)


@pytest.fixture(autouse=True)
def walk(demo_app: Flask, monkeypatch: pytest.MonkeyPatch) -> Iterator[Walk]:
    """Fails at the end of each test where a card's page said something unmarked."""
    with in_marked_words(demo_app, NAMES, monkeypatch) as walk:
        yield walk


class TestTheCard:
    def test_that_counts_here_and_at_another_apparatus(
        self, scanner: Reader, demo_club: DemoClub
    ) -> None:
        page = scanner.get(issue(demo_club))
        for words in ("Bars by the door", "Bars at the autumn meet"):
            assert page.follow(words).status == 200

    def test_that_is_out_of_date_before_and_after_the_next_is_printed(
        self, scanner: Reader, demo_club: DemoClub
    ) -> None:
        card = issue(demo_club)
        change_spread(demo_club, 1550)
        page = scanner.get(card)
        issue(demo_club)

        assert page.heading == scanner.get(card).heading == "Jagna B."

    def test_that_is_none(self, scanner: Reader) -> None:
        assert scanner.get("/C/" + "A" * 26).status == 404


class TestWhateverIsChanged:
    @pytest.mark.parametrize("change", CHANGES, ids=lambda change: change.__name__)
    def test_of_it(self, card: Held, change: Change) -> None:
        """Out of use, a request to raise the rails, inches, another setting, a newer card."""
        card.seen()
        card.write(change)

        assert card.seen().status == 200

    def test_a_remark_and_its_answer(self, card: Held) -> None:
        remarks.receive(card.club.store, card.code, "The low rail felt high")
        card.seen()
        card.write(remark_and_answer)

        assert "Answer: Measured again" in card.seen().text

    def test_its_end(self, card: Held, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(in_hand, "today", lambda: today() + timedelta(days=3650))

        assert card.seen().status == 404


class TestTheWholeWay(test_remarks.TestTheWholeWay):
    """From the card to the coach and back."""


class TestWhatIsNotTaken(test_remarks.TestWhatIsNotTaken):
    """Remarks that are refused."""
