"""Presses and cards that come faster than a station's answers."""

import re
from datetime import datetime, timedelta

from playwright.sync_api import expect

from settingsdesk.domain.settings.card import Card
from tests.browser.at_station import Phone, begin, confirm, heading, hold_out, set_and_check
from tests.conftest import DemoClub


class TestAFingerThatIsTooFast:
    def test_a_double_press_confirms_one_step(self, phone: Phone, demo_club: DemoClub) -> None:
        """The second one would fall on what came in its place: a step that nobody has done."""
        page = phone("Ivo")
        begin(page)
        set_and_check(page, "Almira O.")
        confirm(page, "The turn is over")
        heading(page).to_contain_text("Step 1 of")
        page.clock.install()
        page.reload()
        page.clock.pause_at(datetime.now().astimezone() + timedelta(hours=1))
        page.clock.run_for(2000)
        page.get_by_role("button", name="Done").first.click()
        heading(page).to_contain_text("Step 2 of")

        expect(page.get_by_role("button", name="Done").first).to_be_disabled()
        page.get_by_role("button", name="Done").first.click(force=True)
        page.clock.run_for(700)
        expect(page.get_by_role("button", name="Done").first).to_be_enabled()
        heading(page).to_contain_text("Step 2 of")

    def test_what_was_opened_and_chosen_stays_while_another_confirms(self, phone: Phone) -> None:
        ivo, ana = phone("Ivo"), phone("Ana")
        begin(ivo)
        heading(ana).to_contain_text("Almira O.")
        ana.get_by_text("Something is different").click()
        ana.get_by_label("Who").select_option(label="Noor H.")
        set_and_check(ivo, "Almira O.")
        heading(ana).to_have_text("Almira O. is on")

        expect(ana.get_by_role("button", name="Is not here")).to_be_visible()
        expect(ana.locator("#who option:checked")).to_have_text("Noor H.")


class TestTheNextCard:
    def test_the_answer_about_the_one_before_does_not_stand_for_it(
        self, phone: Phone, printed: list[Card]
    ) -> None:
        """Nobody takes "the right card" for an answer to a card that was never looked at."""
        page = phone("Ivo", service_workers="block")
        begin(page)
        hold_out(page, printed[0].url)
        heading(page).to_have_text("The right card")
        page.context.set_offline(True)
        hold_out(page, printed[1].url)

        expect(page.get_by_text("What you last asked for did not come")).to_be_visible()
        heading(page).to_have_text("A card")
        expect(page.get_by_text("This card counts")).to_have_count(0)

    def test_an_answer_stays_until_it_is_read_and_is_marked_as_old(
        self, phone: Phone, printed: list[Card]
    ) -> None:
        ivo, ana = phone("Ivo"), phone("Ana")
        begin(ivo)
        hold_out(ana, printed[0].url)
        heading(ana).to_have_text("The right card")
        set_and_check(ivo, "Almira O.")

        expect(ana.get_by_text("Something has happened since")).to_be_visible()
        heading(ana).to_have_text("The right card")
        expect(ana.locator(".station")).to_have_class(re.compile(r"\bold\b"))
