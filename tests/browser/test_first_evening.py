"""A first evening: from an empty desk to an ordered rotation of twelve and their printed cards."""

from pathlib import Path

import pytest
from flask import Flask
from playwright.sync_api import Page, expect

from settingsdesk.config import DataFolder
from settingsdesk.store.work import Store
from tests.browser.conftest import OpenPage
from tests.browser.looks import (
    assert_accessible_in_every_light,
    assert_no_sideways_scroll,
    assert_targets,
)
from tests.browser.pressing import press
from tests.conftest import Account, Clock, new_app

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
def app(data: DataFolder, store: Store, clock: Clock) -> Flask:
    """The desk of that club."""
    return new_app(data, store, clock)


def take_the_bars(page: Page) -> None:
    """From the first page: a plain model, corrected by tape, and what stands there now."""
    press(page.get_by_role("link", name="Begin with a plain model"))
    press(page.get_by_role("link", name="Uneven bars"))
    low, high = (
        page.get_by_role("group", name=f"{which} rail height") for which in ("Low", "High")
    )
    low.get_by_label("Lowest stop").fill("147.5")
    high.get_by_label("Lowest stop").fill("227.5")
    page.get_by_label("Name of the apparatus").fill("Bars")
    page.get_by_label("Mats under the apparatus").fill("20")
    press(page.get_by_role("button", name="Take it"))
    for axis, mark in (("Low rail height", "5"), ("High rail height", "5"), ("Rail spread", "160")):
        page.get_by_label(axis).fill(mark)
    press(page.get_by_role("button", name="Record these marks"))


def type_the_squad(page: Page) -> None:
    """Names and marks of twelve, on one page."""
    for number, typed in enumerate(SQUAD, start=1):
        row = page.get_by_role("group", name=f"Athlete {number}", exact=True)
        for box, words in zip(row.get_by_role("textbox").all(), typed, strict=True):
            box.fill(words)
    press(page.get_by_role("button", name="Add these athletes"))
    expect(page.get_by_role("status")).to_have_text("12 athletes are added.")


class TestAFirstEvening:
    @pytest.mark.parametrize("script", [True, False], ids=["with scripts", "without scripts"])
    def test_from_nothing_to_an_ordered_rotation_of_twelve_with_printed_cards(
        self, open_page: OpenPage, script: bool
    ) -> None:
        """A coach with a tape in hand, no leaflet and no spreadsheet."""
        page = open_page("/", script=script)
        take_the_bars(page)
        type_the_squad(page)

        press(page.get_by_role("link", name="Order a rotation of them"))
        for box in page.get_by_role("group", name="Athletes").get_by_role("checkbox").all():
            box.check()
        press(page.get_by_role("button", name="Order the rotation"))
        assert page.locator(".order").first.locator(".who-goes").count() == 12

        press(page.get_by_role("link", name="Print the cards"))
        press(page.get_by_role("button", name="Make the cards"))
        link = page.get_by_role("link", name="PDF").first.get_attribute("href")
        made = page.request.get(str(link))
        assert made.headers["content-type"] == "application/pdf"
        assert made.body().startswith(b"%PDF")

    def test_its_pages_are_accessible_narrow_and_easy_to_press(self, open_page: OpenPage) -> None:
        page = open_page("/apparatus/models/starters/")
        assert_accessible_in_every_light(page)
        assert_no_sideways_scroll(page)

        page = open_page("/")
        take_the_bars(page)
        assert_accessible_in_every_light(page)
        assert_targets(page)
        assert_no_sideways_scroll(page)

        page.goto("/apparatus/models/starters/parallel_bars")
        assert_accessible_in_every_light(page)
        assert_targets(page)
        assert_no_sideways_scroll(page)
