"""Alone at the bars with a phone: a rotation from its first turn to its last."""

import time

import pytest
from flask import flash
from playwright.sync_api import Page, expect

from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.web.runs import run as web_run
from tests.browser.conftest import OpenPage
from tests.browser.looks import (
    assert_focus_is_seen,
    assert_no_sideways_scroll,
    assert_read_in_every_light,
    assert_targets,
    text_px,
)
from tests.browser.pressing import press
from tests.conftest import DemoClub

RUN = "/bars/1"
LOOKS_EVERY_S = 1  # as at_apparatus.js says
HELD_MS = 700  # as it says, too: so long a new page's buttons wait for a finger to be lifted


def confirm(page: Page, words: str) -> None:
    """Press what leads on: where scripts run, a confirmation does without leaving the page."""
    button = page.get_by_role("button", name=words).first
    shown = page.locator("[data-state]")
    if button.get_attribute("form") not in ("confirm", "checked") or not runs_scripts(page):
        press(button)
        return
    state = shown.get_attribute("data-state")
    button.click()
    expect(shown).not_to_have_attribute("data-state", state or "")
    page.clock.fast_forward(HELD_MS)


def runs_scripts(page: Page) -> bool:
    """The line of how fresh the page is has a link until the script says it."""
    return not page.locator("[data-touch] a").count()


def heading(page: Page) -> str:
    return page.get_by_role("heading", level=1).inner_text()


def set_and_check(page: Page, *, step_by_step: bool = False) -> None:
    """Until the athlete is on."""
    while "Set for" in heading(page):
        confirm(page, "Done with" if step_by_step else "All steps are done")
    if heading(page).startswith("Check before"):
        if (tick := page.get_by_label("was made on paper")).count():
            tick.check()
        confirm(page, "Checked alone")


def turn(page: Page, **settings: bool) -> None:
    set_and_check(page, **settings)
    confirm(page, "The turn is over")


def read_off(page: Page) -> None:
    """Every mark is typed: none stands there already."""
    marks = {"Low rail height": "4", "High rail height": "5", "Rail spread": "150"}
    for axis, mark in marks.items():
        page.get_by_label(axis).fill(mark)
    confirm(page, "Re-plan the rest from these marks")


def withdraw(page: Page) -> None:
    """A fault is seen in the middle of the rotation: out of use at once."""
    press(page.get_by_role("link", name="Something is faulty"))
    page.get_by_label("What you saw").fill("A strand of a cable has come apart")
    page.locator("input[name=withdraws][value=yes]").check()
    confirm(page, "Report the fault")
    page.goto(RUN)


def release(page: Page) -> None:
    """A coach releases it, with the reason."""
    press(page.get_by_role("link", name="Look at what was found"))
    page.get_by_label("Released").check()
    page.get_by_label("Remark").fill("New cable, checked by the service company")
    confirm(page, "Record the step")
    page.goto(RUN)


class TestTheWholeRotation:
    @pytest.mark.parametrize("script", [True, False], ids=["with scripts", "without scripts"])
    def test_to_its_end_with_somebody_absent_other_marks_and_a_withdrawal(
        self, open_page: OpenPage, demo_club: DemoClub, script: bool
    ) -> None:
        """Eight athletes: two before whoever is absent, and two after each thing that happens."""
        with demo_club.work(writes=True) as session:
            view = desk_rotation.rotation(session, 1)
            desk_rotation.change_list(session, view, [one.id for one in view.listed[:8]])
            desk_rotation.order_anew(session, 1)
        page = open_page("/rotations/1", script=script)
        confirm(page, "Take it to the bars")
        turn(page)
        page.goto("/rotations/1")
        expect(page.get_by_text("Under way: 1 of 8 turns are over")).to_be_visible()
        expect(page.get_by_role("link", name="Record the present marks")).to_have_count(0)
        press(page.get_by_role("link", name="Under way: to the bars"))
        turn(page, step_by_step=True)

        link = page.locator("ol.turns").get_by_role("link").first
        absent = " ".join(link.inner_text().split()).removeprefix("Not here ")
        press(link)
        confirm(page, f"Re-plan the rest without {absent}")
        expect(page.get_by_text("The rest was re-planned from the present marks.")).to_be_visible()
        turn(page)

        press(page.get_by_role("link", name="The marks are different"))
        read_off(page)
        turn(page)

        withdraw(page)
        assert heading(page) == "Bars by the window is out of use"
        expect(page.get_by_text("A strand of a cable has come apart").first).to_be_visible()
        release(page)

        assert heading(page) == "Read the present marks"
        press(page.get_by_role("link", name="Enter present marks"))
        read_off(page)
        press(page.get_by_role("link", name=f"Is here now {absent}"))
        confirm(page, f"Re-plan the rest with {absent}")
        while heading(page) != "All turns done":
            turn(page)
        expect(page.get_by_text("Next:")).to_have_count(0)
        press(page.get_by_role("link", name="End this run"))
        press(page.get_by_role("button", name="End the run"))
        expect(page.get_by_text("Over: 8 turns in")).to_be_visible()
        with demo_club.work() as session:
            over = desk_run.run(session, 1).run.over
        assert len({had.turn.athlete_id for had in over}) == len(over) == 8

    def test_a_second_device_sees_by_itself_what_was_confirmed(self, open_page: OpenPage) -> None:
        page = open_page("/rotations/1")
        confirm(page, "Take it to the bars")
        other = open_page(RUN, screen="tablet")
        assert heading(other).startswith("Check before")
        page.get_by_label("was made on paper").check()
        confirm(page, "Checked alone")

        expect(other.get_by_role("heading", level=1)).to_contain_text("is on")

    def test_what_is_said_after_a_press_is_seen_however_long_it_takes(
        self, open_page: OpenPage, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """The page that was pressed looks whether something was confirmed: it was, by this press.

        Were it to load itself anew for that, the answer would be cut off.
        """

        def flash_late(words: str) -> None:
            time.sleep(4 * LOOKS_EVERY_S)
            flash(words)

        page = open_page("/rotations/1")
        confirm(page, "Take it to the bars")
        turn(page)
        monkeypatch.setattr(web_run, "flash", flash_late)
        press(page.get_by_role("link", name="Not here Maëlle T."))
        confirm(page, "Re-plan the rest without Maëlle T.")

        expect(page.get_by_text(web_run.FROM_NOW)).to_be_visible()


class TestHowItLooks:
    def test_each_stage_is_readable_and_pressed_with_chalk_on_the_hand(
        self, open_page: OpenPage
    ) -> None:
        """An athlete on, a change-over in its midst, the check after it; in one walk."""
        page = open_page("/rotations/1")
        confirm(page, "Take it to the bars")
        set_and_check(page)
        self.must_be_readable(page)

        turn(page)
        turn(page)
        confirm(page, "Done with")
        self.must_be_readable(page)
        assert text_px(page, ".go strong") >= 40  # from arm's length: at least 2.5 rem
        expect(page.locator(".go strong")).to_be_in_viewport()
        expect(page.get_by_role("button", name="Done with").first).to_be_in_viewport()
        assert_focus_is_seen(page)

        page.goto(RUN)
        confirm(page, "All steps are done")
        self.must_be_readable(page)

    def must_be_readable(self, page: Page) -> None:
        """As whoever loads it anew sees it; a press does not wait for styles."""
        page.goto(RUN)
        assert_read_in_every_light(page)
        assert_no_sideways_scroll(page)
        assert_targets(page, 48)
        page.emulate_media(color_scheme="light")
