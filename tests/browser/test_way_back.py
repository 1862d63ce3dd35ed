"""The browser's way back from what was saved: a page that says something, and sends nothing."""

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import OpenPage
from tests.browser.pressing import press

STATUS = "performance.getEntriesByType('navigation')[0].responseStatus"
LIST = "Surname;First name;Low bar (cm);High bar (cm);Spread (cm)\nNeu;Ana;165;245;170\n"


def all_the_way_back(page: Page, to: str) -> None:
    """As with the browser's own button, page by page, and nothing is sent once more."""
    sent: list[str] = []
    page.on("request", lambda asked: sent.append(asked.method))
    for _ in range(6):
        page.go_back()
        expect(page.locator("h1")).to_be_visible()
        assert page.evaluate(STATUS) == 200
        assert "POST" not in sent
        if page.url.endswith(to):
            return
    pytest.fail(f"{to} was not reached")


class TestTheWayBack:
    def test_from_a_setting_leads_to_its_form(self, open_page: OpenPage) -> None:
        """Refused once, looked at, saved."""
        form = "/athletes/1/settings/1"
        page = open_page("/athletes/1")
        page.goto(form)
        low_rail = page.locator("input[name=low_rail_length]")
        for typed in ("1.65 m", "166"):
            low_rail.fill(typed)
            press(page.get_by_role("button", name="Check, then save"))
        press(page.get_by_role("button", name="Save this setting"))

        all_the_way_back(page, form)
        all_the_way_back(page, "/athletes/1")

    def test_from_a_check_leads_to_its_list(self, open_page: OpenPage) -> None:
        """Refused once, since nothing was answered."""
        form = "/checks/apparatus/1/before_use"
        page = open_page("/checks/")
        page.goto(form)
        finish = page.get_by_role("button", name="Finish the check")
        press(finish)
        for item in page.locator(".check-item").all():
            item.get_by_label("OK").check()
        press(finish)

        all_the_way_back(page, form)

    def test_from_a_list_that_was_taken_leads_to_where_it_is_said(
        self, open_page: OpenPage
    ) -> None:
        """The list itself is gone, and that is said."""
        page = open_page("/sheets/")
        content = {"name": "list.csv", "mimeType": "text/csv", "buffer": LIST.encode()}
        page.set_input_files("input[type=file]", content)
        press(page.get_by_role("button", name="Check the sheet"))
        page.get_by_label("Model of uneven bars").select_option(label="Hall frame A")
        press(page.get_by_role("button", name="Apply these answers"))
        press(page.get_by_role("button", name="Add these athletes"))

        page.go_back()
        expect(page.get_by_text("it has been saved or cancelled already")).to_be_visible()
