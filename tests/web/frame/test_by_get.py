"""Where the way back leads that comes to the answer of a form."""

import re

from tests.web.pages import Page, Reader

SETTING = "/athletes/1/settings/1"


def by_get(page: Page) -> str:
    found = re.search(r'<meta name="by-get" content="([^"]*)">', page.response.text)
    return found[1] if found else ""


class TestTheWayBack:
    def test_from_a_refused_form_leads_to_the_form(self, demo_pages: Reader) -> None:
        """Which stands at the same address."""
        form = demo_pages.get(SETTING)
        assert by_get(form) == ""
        assert by_get(form.send("Check, then save", low_rail_length="x")) == SETTING

    def test_from_what_is_only_sent_leads_to_the_page_it_was_sent_from(
        self, demo_pages: Reader
    ) -> None:
        """The desk's own, and no other; else to the first page."""
        answers = {
            "http://localhost/sheets/?lines=all": "/sheets/?lines=all",
            "http://elsewhere.example/sheets/": "/",
            "http://[::1": "/",
            "": "/",
        }
        for came_from, leads_to in answers.items():
            answer = demo_pages.client.post(
                "/sheets/lists/gone/keep",
                data={"csrf_token": demo_pages.get("/sheets/").token},
                headers={"Referer": came_from},
            )
            assert by_get(demo_pages._page(answer)) == leads_to
