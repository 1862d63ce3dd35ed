"""Every language on a phone: what it says stands whole on the page, and weighs no more than it may.

Where the machine has no letters of a language it draws boxes for them, which take as much room.
"""

import pytest
from playwright.sync_api import Page, Response, expect
from pypdfium2 import PdfDocument

from settingsdesk.desk.stations.stations import StationCodes
from settingsdesk.domain.changeover.happenings import TurnOver
from settingsdesk.domain.settings.card import Card
from settingsdesk.web.frame.language import COOKIE
from settingsdesk.words.languages import NAMES
from tests.browser.at_station import Phone, begin, confirm
from tests.browser.conftest import OpenPage
from tests.browser.test_station_story import AT_FIRST_BYTES
from tests.conftest import DemoClub
from tests.desk.sample_meet import SmallMeet, press, up

CUT_OFF = """() => {
  const wide = document.documentElement.clientWidth;
  const unseen = element => element.closest(".hidden, [hidden], svg");
  return [...document.querySelectorAll("body, body *")]
    .filter(element => element.checkVisibility() && !unseen(element) && element.textContent.trim())
    .filter(element => {
      const box = element.getBoundingClientRect();
      const isLine = getComputedStyle(element).display === "inline";
      return box.right > wide + 1 || box.left < -1
        || (!isLine && element.scrollWidth > element.clientWidth + 1);
    })
    .map(element => element.outerHTML.slice(0, 160));
}"""
"""What goes over the edge of the page, or of the box that it stands in."""


@pytest.fixture
def made_in_the_desk() -> None:
    """The check before use is still to be made, and the pages say so."""


def cut_off(page: Page) -> dict[str, list[str]]:
    """What is cut off of this page, by the language in which it is."""
    found: dict[str, list[str]] = {}
    for tag in NAMES:
        read_in(page, tag)
        assert page.locator("html").get_attribute("lang") == tag
        if cut := page.evaluate(CUT_OFF):
            found[tag] = cut
    read_in(page, "en")
    return found


def read_in(page: Page, tag: str) -> None:
    page.context.add_cookies([{"name": COOKIE, "value": f"{tag}.", "url": page.url}])
    page.reload()


class TestNothingIsCutOff:
    def test_of_what_is_set_and_checked_at_a_station(self, phone: Phone) -> None:
        page = phone("Ivo", service_workers="block")
        begin(page)
        while not page.locator(".go").count():
            confirm(page, "Done")
        assert cut_off(page) == {}
        confirm(page, "All steps are done")
        assert cut_off(page) == {}
        page.goto("/station/fault")
        assert cut_off(page) == {}

    def test_of_a_card_and_a_crew_sheet(
        self, open_page: OpenPage, printed: list[Card], held: SmallMeet
    ) -> None:
        card = f"/C/{printed[0].url.rpartition('/')[2]}"
        assert cut_off(open_page(card, stranger=True)) == {}
        assert cut_off(open_page(f"/crew-sheets/{held.rotation_id}")) == {}


class TestTheSheetAtThePost:
    def test_is_one_page_in_every_language(self, open_page: OpenPage, codes: StationCodes) -> None:
        """What is pinned up by its first page must not have a second one."""
        page = open_page("/stations/1/sheet", screen="desktop")
        for tag in NAMES:
            read_in(page, tag)
            for paper in ("A4", "Letter"):
                assert len(PdfDocument(page.pdf(format=paper))) == 1, (tag, paper)


class TestTheWeightOfAStation:
    def test_is_kept_by_the_language_of_the_longest_letters_too(
        self, phone: Phone, address: str, demo_club: DemoClub
    ) -> None:
        """With the English beneath; each Arabic letter takes two bytes."""
        page = phone("Ivo")
        begin(page)
        up(demo_club, 1)
        press(demo_club, 1, lambda _: TurnOver())
        read_in(page, "ar")
        weights: dict[str, int] = {}

        def weigh(answer: Response) -> None:
            if answer.status == 200:
                weights[answer.url.removeprefix(address)] = len(answer.body())

        fresh = page.context.new_page()
        fresh.on("response", weigh)
        with fresh.expect_response("**/station/latest"):
            fresh.goto("/station/now")
        expect(fresh.locator("[data-touch]")).to_be_visible()
        assert weights["/station/now"]
        assert sum(weights.values()) < AT_FIRST_BYTES
