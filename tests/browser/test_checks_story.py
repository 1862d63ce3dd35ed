"""A check made on a phone, a fault withdrawn and released, in a real browser."""

import pytest

from settingsdesk.desk.checks import findings
from settingsdesk.desk.checks.check_lists import shipped_list
from settingsdesk.domain.checks.checks import Occasion
from tests.browser.conftest import OpenPage
from tests.browser.looks import (
    assert_accessible_in_every_light,
    assert_focus_is_seen,
    assert_no_sideways_scroll,
    assert_targets,
)
from tests.browser.pressing import press
from tests.cards.reading import page_texts
from tests.conftest import DemoClub
from tests.desk.checks.pictures import jpeg

FRAUGHT = "Laminate of the rails not lifting, no splinter, no crack: else replace the rail"

WORDS_OVER_THE_EDGE = """() => [...document.querySelectorAll(".three label")]
  .filter(label => label.scrollWidth > label.clientWidth)
  .map(label => label.textContent)"""


class TestChecksOnAPhone:
    def test_a_fault_is_photographed_withdrawn_and_released_without_script(
        self, open_page: OpenPage
    ) -> None:
        page = open_page("/checks/apparatus/1/before_use", script=False)
        for item in page.locator(".check-item").all():
            item.get_by_label("OK").check()
        fraught = page.get_by_role("group", name=FRAUGHT)
        fraught.get_by_label("Out of use").check()
        fraught.locator("summary").click()
        fraught.get_by_label("Remark").fill("Splinter, left third")
        photo = {"name": "rail.jpg", "mimeType": "image/jpeg", "buffer": jpeg(800, 600)}
        fraught.get_by_label("Photo").set_input_files(photo)
        press(page.get_by_role("button", name="Finish the check"))

        assert "Bars by the window is out of use" in page.inner_text("main")
        assert page.get_by_role("img", name="Photo:").count() == 1
        press(page.get_by_role("link", name="Finding").first)
        page.get_by_label("Released").check()
        page.get_by_label("Remark").fill("Rail changed, tried by two")
        press(page.get_by_role("button", name="Record the step"))
        assert "The finding is released" in page.inner_text("main")

    def test_an_item_without_an_answer_is_told_within_the_width_of_the_phone(
        self, open_page: OpenPage
    ) -> None:
        """Also where the chosen answer is bold, and its remark lies open to say what was seen."""
        page = open_page("/checks/apparatus/1/before_use")
        first, second, *others = page.locator(".check-item").all()
        second.get_by_label("Needs attention").check()
        assert second.get_by_label("Remark").is_visible()
        assert not first.get_by_label("Remark").is_visible()
        for item in others:
            item.get_by_label("Needs attention").check()
        assert page.evaluate(WORDS_OVER_THE_EDGE) == []
        press(page.get_by_role("button", name="Finish the check"))

        assert page.locator(".check-item .error").is_visible()
        assert_no_sideways_scroll(page, 360)
        assert_no_sideways_scroll(page)

    def test_the_pages_are_accessible_narrow_and_easy_to_press(
        self, open_page: OpenPage, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            findings.add_finding(session, 1, "Split", withdraws=True, press_key="x")
        page = open_page("/")
        for path in (
            "/checks/apparatus/1/before_use",
            "/checks/apparatus/1",
            "/findings/2",
            "/",
            "/parts/",
        ):
            page.goto(path)

            assert_accessible_in_every_light(page)
            assert_targets(page)
            assert_no_sideways_scroll(page)
            assert_focus_is_seen(page)


class TestACheckOnPaper:
    @pytest.mark.parametrize("occasion", ["before_use", "yearly"])
    def test_the_printed_page_has_every_item_with_its_boxes_and_lines_to_write_on(
        self, open_page: OpenPage, occasion: str
    ) -> None:
        """Where no phone goes, the list goes round on paper and is filled in with a pen."""
        page = open_page(f"/checks/apparatus/1/{occasion}", screen="desktop")
        items = shipped_list("uneven_bars", Occasion(occasion)).items

        told = " ".join(" ".join(page_texts(page.pdf(format="A4"))).split())
        for item in items:
            assert item.words in told
        assert told.count("Out of use") >= len(items)
        assert told.count("Remark") >= len(items)
        assert "Place, date, name and signature" in told
        page.emulate_media(media="print")
        boxes = page.locator(".check-item input[type=radio]")
        assert boxes.count() == 3 * len(items)
        assert all(box.is_visible() for box in boxes.all())
