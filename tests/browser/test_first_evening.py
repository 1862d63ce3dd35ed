"""A first evening: from an empty desk to an ordered rotation of twelve and their printed cards."""

from pathlib import Path

import pytest
from flask import Flask
from playwright.sync_api import Locator, Page, expect

from tests.browser.conftest import OpenPage
from tests.browser.looks import (
    assert_accessible_in_every_light,
    assert_no_sideways_scroll,
    assert_targets,
)
from tests.browser.pressing import press
from tests.conftest import Account

SQUAD = [
    ("Alma", "Roth", "5", "5", "158"),
    ("Bo", "Lind", "6", "6", "162"),
    ("Cleo", "Marn", "4", "4", "150"),
    ("Dara", "Sund", "6", "7", "165"),
    ("Enya", "Voss", "3", "4", "148"),
    ("Fee", "Holt", "5", "6", "160"),
    ("Gitte", "Rask", "7", "7", "168"),
    ("Hana", "Bly", "4", "5", "152"),
    ("Ida", "Korn", "6", "6", "160"),
    ("Jula", "Prem", "5", "5", "156"),
    ("Kaja", "Stein", "3", "3", "146"),
    ("Liv", "Torn", "7", "8", "170"),
]


@pytest.fixture
def account(one_club: tuple[Path, Account]) -> Account:
    """The coach of a club that has nothing on its desk yet."""
    return one_club[1]


@pytest.fixture
def app(app_of_one_club: Flask) -> Flask:
    """The desk of that club."""
    return app_of_one_club


class Evening:
    """A person at the desk, with what it takes them: each page read, each field typed.

    Reckoned as 200 words read a minute (whatever stood on an earlier page is not read again, nor
    are the rows of tables), ten seconds for a field that is typed, four for a press or a tick,
    1.5 letters a second where many are typed, and three minutes for the tape at the bars.
    """

    WORDS_A_SECOND = 200 / 60
    LETTERS_A_SECOND = 1.5
    FIELD_S, PRESS_S, TAPE_S = 10, 4, 180

    def __init__(self, page: Page) -> None:
        self.page = page
        self.words = self.fields = self.presses = self.letters = 0
        self._read: set[str] = set()
        self.read()

    @property
    def minutes(self) -> float:
        """How long it takes them."""
        seconds = self.TAPE_S + self.fields * self.FIELD_S + self.presses * self.PRESS_S
        seconds += self.words / self.WORDS_A_SECOND + self.letters / self.LETTERS_A_SECOND
        return seconds / 60

    def read(self) -> None:
        """Read what is new on the page."""
        told = self.page.locator("main").inner_text()
        tables = [one.inner_text() for one in self.page.locator("main table").all()]
        rows = {line for table in tables for line in table.splitlines()}
        new = {line.strip() for line in told.splitlines()} - self._read - rows
        self._read |= new
        self.words += sum(len(line.split()) for line in new)

    def press(self, role: str, name: str) -> None:
        """Press a link or a button, and read the page that comes."""
        self.presses += 1
        press(self.page.get_by_role(role, name=name).first)
        self.read()

    def type(self, box: Locator, words: str) -> None:
        """Type into a field; many letters take their time."""
        box.fill(words)
        self.fields += 1
        self.letters += max(0, len(words) - 12)


def take_the_bars(evening: Evening) -> None:
    """From the first page: a plain model, corrected by tape, and what stands there now."""
    page = evening.page
    evening.press("link", "Begin with a plain model")
    evening.press("link", "Uneven bars")
    low, high = (
        page.get_by_role("group", name=f"{which} rail height") for which in ("Low", "High")
    )
    evening.type(low.get_by_label("Lowest mark"), "147.5")
    evening.type(high.get_by_label("Lowest mark"), "227.5")
    evening.type(page.get_by_label("Name of the apparatus"), "Bars")
    evening.type(page.get_by_label("Mats under the apparatus"), "20")
    evening.press("button", "Take it")
    for axis, mark in (("Low rail height", "5"), ("High rail height", "5"), ("Rail spread", "160")):
        evening.type(page.get_by_label(axis), mark)
    evening.press("button", "Record these marks")


class TestAFirstEvening:
    @pytest.mark.parametrize("script", [True, False], ids=["with scripts", "without scripts"])
    def test_from_nothing_to_an_ordered_rotation_of_twelve_with_printed_cards(
        self, open_page: OpenPage, script: bool
    ) -> None:
        """A coach with a tape in hand, no leaflet and no spreadsheet, in fifteen minutes."""
        page = open_page("/", script=script)
        evening = Evening(page)
        take_the_bars(evening)

        lines = "\n".join(" ".join(athlete) for athlete in SQUAD)
        evening.type(page.get_by_label("An athlete on each line"), lines)
        evening.press("button", "Add all on these lines")
        expect(page.get_by_role("status")).to_contain_text("12 athletes are added.")

        evening.press("link", "Plan a rotation of them")
        evening.press("button", "Plan the rotation")
        assert page.locator(".order").first.locator(".who-goes").count() == 12

        evening.press("link", "Print the cards")
        evening.press("button", "Make the cards")
        link = page.get_by_role("link", name="PDF").first.get_attribute("href")
        made = page.request.get(str(link))
        assert made.headers["content-type"] == "application/pdf"
        assert made.body().startswith(b"%PDF")
        assert evening.minutes <= 15, vars(evening)

    def test_the_dimension_of_the_field_is_lit_without_a_script(self, open_page: OpenPage) -> None:
        page = open_page("/apparatus/models/starters/uneven_bars", script=False)
        line = page.locator(".pictured line.axis-2").first
        width = "one => getComputedStyle(one).strokeWidth"
        before = line.evaluate(width)
        page.get_by_label("Lowest mark").nth(1).focus()
        assert line.evaluate(width) == "3px" != before
        page.get_by_label("Name of the apparatus").focus()
        assert line.evaluate(width) == before

    def test_its_pages_are_accessible_narrow_and_easy_to_press(self, open_page: OpenPage) -> None:
        page = open_page("/apparatus/models/starters/")
        assert_accessible_in_every_light(page)
        assert_no_sideways_scroll(page)

        page = open_page("/")
        take_the_bars(Evening(page))
        assert_accessible_in_every_light(page)
        assert_targets(page)
        assert_no_sideways_scroll(page)

        page.goto("/apparatus/models/starters/parallel_bars")
        assert_accessible_in_every_light(page)
        assert_targets(page)
        assert_no_sideways_scroll(page)
