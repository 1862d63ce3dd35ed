"""A coach who asks more of a rotation: wishes on a phone, and an order that takes a while."""

import pytest
from flask import Flask
from playwright.sync_api import expect

from settingsdesk.web.frame.work import OURS
from tests.browser.conftest import OpenPage
from tests.browser.looks import (
    assert_accessible,
    assert_accessible_in_every_light,
    assert_no_sideways_scroll,
    assert_targets,
)
from tests.browser.pressing import press
from tests.conftest import DemoClub
from tests.desk.rotations.test_searches import HARD

TONIGHT = "/rotations/1"
NOT_IN_SIGHT = "Object.defineProperty(document, 'visibilityState', {value: 'hidden'})"
"""Such a page stays as it is: one in sight looks again while it is being looked over."""


class TestWishes:
    @pytest.mark.parametrize("script", [True, False], ids=["with scripts", "without scripts"])
    def test_they_are_asked_kept_and_taken_back_on_a_phone(
        self, open_page: OpenPage, script: bool
    ) -> None:
        page = open_page(TONIGHT, script=script)
        press(page.get_by_role("link", name="Turns, rest, crew and wishes"))
        page.get_by_label("The very first turn").select_option(label="Fjeldheim, Tuva")
        page.get_by_label("This athlete").first.select_option(label="Quách, Khánh Vy")
        page.get_by_label("The other athlete").first.select_option(label="Bąkiewicz, Jagna")
        press(page.get_by_role("button", name="Plan with these wishes"))

        first = page.locator(".order tbody tr").first
        assert first.inner_text().startswith("1. Tuva F.")
        names = page.locator(".order tbody .who-goes").all_inner_texts()[:12]
        order = [name.split(". ", 1)[1] for name in names]
        assert order.index("Khánh Vy Q.") < order.index("Jagna B.")
        if script:  # what the wishes cost comes later, and leaves alone what is ticked meanwhile
            page.get_by_text("Keep some turns in their places").click()
            page.get_by_label("3. ").check()
            expect(page.locator("#why-this-order")).to_contain_text("without it")
            expect(page.get_by_label("3. ")).to_be_checked()

        press(page.get_by_role("link", name="Turns, rest, crew and wishes"))
        page.get_by_label("The very first turn").select_option(label="Nobody")
        press(page.get_by_role("button", name="Plan with these wishes"))
        expect(page.get_by_role("status")).to_contain_text("ordered as you asked")

    def test_the_form_is_accessible_narrow_and_easy_to_press(self, open_page: OpenPage) -> None:
        page = open_page(f"{TONIGHT}/wishes")

        assert_accessible_in_every_light(page)
        assert_targets(page)
        assert_no_sideways_scroll(page)

    def test_a_rotation_on_two_apparatus_fits_a_phone(self, open_page: OpenPage) -> None:
        page = open_page(f"{TONIGHT}/wishes")
        page.get_by_label("Bars by the door").check()
        press(page.get_by_role("button", name="Plan with these wishes"))

        expect(page.get_by_text("The best order on Bars by the door")).to_be_visible()
        assert_accessible(page)
        assert_no_sideways_scroll(page)


class TestAnOrderThatTakesAWhile:
    def test_its_page_looks_again_by_itself_and_can_be_stopped(
        self, open_page: OpenPage, app: Flask, demo_club: DemoClub
    ) -> None:
        searches = app.extensions[OURS].searches
        key = searches.begin(demo_club.account.club_id, "rotation 1", HARD, lambda _: None)
        page = open_page(f"{TONIGHT}/search/{key}")

        expect(page.get_by_text("The best order so far needs")).to_be_visible()
        still = page.context.new_page()
        still.add_init_script(NOT_IN_SIGHT)
        still.goto(f"{TONIGHT}/search/{key}")
        assert_accessible(still)
        assert_targets(still)
        press(still.get_by_role("button", name="Stop and use the best so far"))
        for either in (still, page):
            expect(either.get_by_role("heading", level=1)).to_have_text("Tonight, bars, girls 1")
        searches.close()
