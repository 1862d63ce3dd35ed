"""Every page there is on a phone in one hand."""

from pathlib import Path

import pytest
from flask import Flask
from playwright.sync_api import Browser

from tests.browser.conftest import SCREENS, OpenPage
from tests.browser.every_page import every_page
from tests.browser.looks import faults_on_a_phone
from tests.conftest import DemoClub
from tests.web.everybody import Hall
from tests.web.pages import Reader
from tests.web.whole_desk import one_of_everything


@pytest.fixture
def hall(demo_club: DemoClub, app: Flask, tmp_path: Path) -> Hall:
    """The demo club with one of everything."""
    return Hall(one_of_everything(demo_club, app, tmp_path), Reader)


def test_it_is_read_and_pressed_with_one_hand(browser: Browser, hall: Hall, address: str) -> None:
    """Heading high up, nothing sideways, nothing too small, also where the text is large."""
    faults, seen = {}, 0
    for name, page in every_page(browser, hall, address):
        seen += 1
        if found := faults_on_a_phone(page):
            faults[name] = found

    assert faults == {}
    assert seen > 100


SPOILED = {
    "its heading begins at": "h1 { margin-top: 200px !important }",
    "too small to press": ".button { min-height: 0 !important; padding: 0 !important }",
    "of 360 px with large text": "h1 { white-space: nowrap; width: 11em }",
    "of 320 px with usual text": "h1 { width: 350px }",
    "cut off": "select { width: 4rem !important }",
}
SPOIL = """rules => {
  const sheet = new CSSStyleSheet();
  sheet.replaceSync(rules);
  document.adoptedStyleSheets = [sheet];
}"""


def test_a_page_that_is_spoiled_is_found(open_page: OpenPage) -> None:
    """A check that lets everything pass is worth nothing."""
    page = open_page("/convert/?from=apparatus-1&by=marks")
    assert faults_on_a_phone(page) == []

    for fault, rules in SPOILED.items():
        page.set_viewport_size(SCREENS["phone"])
        page.evaluate(SPOIL, rules)
        assert any(fault in found for found in faults_on_a_phone(page)), fault
