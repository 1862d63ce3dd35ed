"""Walks of a phone at a station in a marked language: no sentence is outside the catalogue."""

from collections.abc import Iterator

import pytest
from flask import Flask

from tests.desk.sample_meet import BARS, DAY, SmallMeet
from tests.web import pages
from tests.web.in_another_language import Walk, in_marked_words
from tests.web.stations import test_phone, test_turns
from tests.web.stations.conftest import Phone
from tests.web.stations.pressing import set_and_check
from tests.words.pseudo import marked_language

NAMES = (
    *("Almira O.", "Sunniva B.", "Noor H.", "Ivo", "Ana", "Jo", "Runa", "Signe Moe", "Jonna A."),
    *(
        "Isolde V.",
        "Board on the left",
        "Juniors",
        "Lantern Cup",
        "Tarn Hollow GC",
        "Quillmoor Gymnastics Club",
    ),
    *("Tonight, bars, girls 1", "Hall frame A", BARS),
)


@pytest.fixture(autouse=True)
def walk(demo_app: Flask, held: SmallMeet, monkeypatch: pytest.MonkeyPatch) -> Iterator[Walk]:
    """Fails at the end of each test where a page of the station said something unmarked."""
    with in_marked_words(demo_app, NAMES, monkeypatch) as walk:
        monkeypatch.setattr(test_turns, "words", pages.words)
        monkeypatch.setattr(test_phone, "day_in_words", marked_language().day)
        yield walk


class TestComingIn(test_phone.TestComingIn):
    """By the sheet's code, typed or scanned, with what can be wrong with it."""


class TestTheRotation(test_turns.TestTheRotation):
    """Turn after turn, with all that happens beside it."""


class TestTheSecondCheck(test_turns.TestTheSecondCheck):
    """Alone, by another phone, by somebody known, by a name."""


class TestTwoPhones(test_phone.TestTwoPhones):
    """What the slower one is told."""


class TestCards(test_phone.TestCards):
    """A card that is held out."""


class TestWhatKeepsItFromGoingOn(test_phone.TestWhatKeepsItFromGoingOn):
    """Out of use, unknown marks, another run, closed."""


class TestSomebodyWhoHasNotTriedThem(test_turns.TestSomebodyWhoHasNotTriedThem):
    """Marks that are another athlete's so far."""


class TestSomebodyWithoutASetting(test_turns.TestSomebodyWithoutASetting):
    """Passed over, entered on the spot."""


class TestPluralForms:
    def test_each_number_is_said_in_the_form_that_the_language_has_for_it(
        self, walk: Walk, phone: Phone
    ) -> None:
        """Polish says 1, 2 to 4 and 5 in three ways; English has only two."""
        page = phone("Ivo").send("Begin rotation 1", of_day=str(DAY))
        for _ in range(3):
            page = set_and_check(page).send("The turn is over")

        assert walk.marked.plurals["%(num)s turns are over."] == {1}
        assert walk.marked.plurals["%(num)s athletes are on its list."] == {1}
        assert walk.marked.plurals["All %(num)s steps"] >= {2}
