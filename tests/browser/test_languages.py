"""Every language on a phone: what it says stands whole on the page, and runs the right way."""

import os
from collections.abc import Iterator

import pytest
from playwright.sync_api import Page, expect

from settingsdesk.domain.settings.card import Card
from settingsdesk.web.frame.language import COOKIE
from settingsdesk.words.languages import NAMES
from tests.browser.at_station import Phone, begin, confirm, heading
from tests.browser.conftest import OpenPage
from tests.desk.sample_meet import SmallMeet

CUT_OFF = """() => {
  const wide = document.documentElement.clientWidth;
  const told = element => element.outerHTML.slice(0, 160);
  const scrolls = element => element.closest(".scroll, .hidden, [hidden], svg, title, .english .hidden");
  return [...document.querySelectorAll("body *")]
    .filter(element => element.checkVisibility() && !scrolls(element) && element.textContent.trim())
    .filter(element => {
      const box = element.getBoundingClientRect();
      const clips = getComputedStyle(element).overflowX !== "visible";
      const text = ["BUTTON", "A", "SUMMARY", "P", "H1", "H2", "LI", "DD", "DT", "TH", "TD", "STRONG", "SPAN", "LABEL"];
      return box.right > wide + 1 || box.left < -1
        || (element.scrollWidth > element.clientWidth + 1 && element.clientWidth
            && (clips || text.includes(element.tagName)));
    })
    .map(told);
}"""


def in_each(page: Page, shot: str) -> Iterator[tuple[str, list[str]]]:
    for tag in NAMES:
        page.context.add_cookies([{"name": COOKIE, "value": f"{tag}.", "url": page.url}])
        page.reload()
        if tag in os.environ.get("SHOTS", ""):
            page.evaluate("scrollTo(0,0)")
            page.screenshot(path=f"/tmp/langx/shots/{shot}-{tag}.png", full_page=True)
        assert page.locator("html").get_attribute("lang") == tag
        cut = page.evaluate(CUT_OFF)
        if page.evaluate("document.documentElement.scrollWidth > innerWidth"):
            cut.append("sideways")
        yield tag, cut


class TestNothingIsCutOff:
    def test_at_a_station(self, phone: Phone, held: SmallMeet) -> None:
        page = phone("Ivo", service_workers="block")
        found = {}

        def look(name):
            found.update({(name, tag): cut for tag, cut in in_each(page, name) if cut})
            page.context.add_cookies([{"name": COOKIE, "value": "en.", "url": page.url}])
            page.reload()

        look("waiting")
        begin(page)
        while not page.locator(".go").count():
            confirm(page, "Done")
        look("setting")
        confirm(page, "All steps are done")
        look("checking")
        page.get_by_role("button", name="Checked alone").click()
        expect(page.get_by_role("heading", level=1)).to_contain_text("is on")
        look("on")
        for where in ("marks", "fault", "end/1"):
            page.goto("/station/" + where)
            look(where.replace("/", ""))
        assert found == {}

    def test_of_a_card_and_a_crew_sheet(
        self, open_page: OpenPage, printed: list[Card], held: SmallMeet
    ) -> None:
        page = open_page(f"/C/{printed[0].url.rpartition('/')[2]}", stranger=True)
        found = {("card", tag): cut for tag, cut in in_each(page, "card") if cut}
        page = open_page(f"/crew-sheets/{held.rotation_id}")
        found |= {("crew", tag): cut for tag, cut in in_each(page, "crew") if cut}
        assert found == {}


class TestW:
    def test_w(self, phone: Phone, address: str, held: SmallMeet) -> None:
        page = phone("Ivo", service_workers="block")
        begin(page)
        confirm(page, "All steps are done")
        page.get_by_role("button", name="Checked alone").click()
        expect(page.get_by_role("heading", level=1)).to_contain_text("is on")
        confirm(page, "The turn is over")
        for tag in NAMES:
            page.context.add_cookies([{"name": COOKIE, "value": f"{tag}.", "url": page.url}])
            w = {}
            fresh = page.context.new_page()
            fresh.on(
                "response", lambda a: w.__setitem__(a.url.removeprefix(address), len(a.body()))
            )
            fresh.goto("/station/now")
            page.wait_for_timeout(1500)
            print(tag, sum(w.values()), w if tag == "en" else w["/station/now"])
