"""A coach with a phone beside the bars: from the first page to cards in the hand."""

from pathlib import Path
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Page, expect

from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.squad import athletes
from settingsdesk.desk.squad.athletes import Person
from tests.browser.conftest import OpenPage
from tests.browser.looks import (
    assert_accessible,
    assert_accessible_in_every_light,
    assert_focus_is_seen,
    assert_no_sideways_scroll,
    assert_targets,
)
from tests.browser.pressing import press
from tests.cards.reading import page_sizes_mm, page_texts, symbols
from tests.conftest import Account, DemoClub

SIX = [
    "Bąkiewicz, Jagna (Girls 1)",
    "Çelikbaş, Defne (Girls 1)",
    "Fjeldheim, Tuva (Girls 1)",
    "Lindbäck, Ebba (Girls 2)",
    "Okwuosa, Adaeze (Girls 2)",
    "Weißhäupl, Frieda (Girls 1)",
]

SMALLEST_TEXT_PX = """svg => Math.min(...[...svg.querySelectorAll("text")].map(text =>
  parseFloat(getComputedStyle(text).fontSize) * svg.getScreenCTM().a))"""

TEXTS_THAT_MEET_OR_LEAVE = """svg => {
  const frame = svg.getBoundingClientRect();
  const texts = [...svg.querySelectorAll("text")].map(
    text => [text.textContent, text.getBoundingClientRect()]);
  const outside = ([, box]) => box.left < frame.left - 1 || box.right > frame.right + 1;
  const meet = ([, one], [, other]) => one.left < other.right && other.left < one.right
    && one.top + 4 < other.bottom && other.top + 4 < one.bottom; // boxes are higher than letters
  return texts.filter((one, place) => outside(one)
    || texts.slice(place + 1).some(other => meet(one, other))).map(([words]) => words);
}"""

CUT_OFF = """boxes => boxes
  .filter(box => box.checkVisibility() && box.scrollWidth > box.clientWidth)
  .map(box => box.textContent.trim().slice(0, 40))"""


def sign_in(page: Page, account: Account) -> None:
    page.get_by_label("Sign-in name").fill(account.sign_in_name)
    page.get_by_label("Password").fill(account.password)
    press(page.get_by_role("button", name="Sign in"))


def heading(page: Page) -> str:
    return page.get_by_role("heading", level=1).inner_text()


class TestTheWholeWay:
    @pytest.mark.parametrize("script", [True, False], ids=["with scripts", "without scripts"])
    def test_from_signing_in_to_a_card_that_opens_on_another_phone(
        self, open_page: OpenPage, account: Account, tmp_path: Path, script: bool
    ) -> None:
        """Everything works as forms and links; scripts only add."""
        page = open_page("/sign-in", script=script, stranger=True)
        sign_in(page, account)
        press(page.get_by_role("link", name="Plan a rotation"))
        press(page.get_by_role("link", name="Bars by the window"))
        for name in SIX:
            page.get_by_label(name).check()
        press(page.get_by_role("button", name="Plan the rotation"))

        assert heading(page).startswith("Bars by the window, ")
        assert "min of change-over in all" in page.locator(".saving").inner_text()
        assert "min less than in the order of the list" in page.locator(".saving").inner_text()

        press(page.get_by_role("button", name="Up for Fjeldheim, Tuva"))
        places = page.locator(".coach-list tbody th").all_inner_texts()
        assert places[:3] == ["1. Bąkiewicz, Jagna", "2. Fjeldheim, Tuva", "3. Çelikbaş, Defne"]
        expect(page.locator(".coach-list")).to_be_in_viewport()

        press(page.get_by_role("link", name="Print the cards"))
        assert page.locator("input[name=who]:checked").count() == 6
        press(page.get_by_role("button", name="Make the cards"))
        assert heading(page) == "Cards ready to print"
        with page.expect_download() as download:
            page.get_by_role("link", name="Download the PDF").click()
        file = tmp_path / download.value.suggested_filename
        download.value.save_as(file)

        assert file.name == "cards-A6.pdf"
        found = symbols(file.read_bytes(), 150)
        assert len(found) == 6
        phone = open_page(urlsplit(found[1]).path, script=script, stranger=True)
        assert "version 1 of" in phone.locator("main").inner_text()
        assert heading(phone) in {"Defne Ç.", "Tuva F."}


class TestTheOrderOnAScreen:
    def test_it_is_accessible_on_a_phone_in_every_light(self, open_page: OpenPage) -> None:
        page = open_page("/rotations/1")
        for details in page.locator("details").all():
            details.locator("summary").click()

        assert_accessible_in_every_light(page)
        assert_targets(page, 44)
        assert_no_sideways_scroll(page, 320)

    def test_no_turn_move_or_minute_is_cut_off(self, open_page: OpenPage) -> None:
        """Nobody finds out by chance that a table can be pushed sideways."""
        page = open_page("/rotations/1")

        for width in (320, 360, 820, 1280):
            page.set_viewport_size({"width": width, "height": 740})
            assert page.locator(".scroll").evaluate_all(CUT_OFF) == [], width

    def test_up_and_down_are_both_in_sight_on_the_narrowest_phone(
        self, open_page: OpenPage
    ) -> None:
        page = open_page("/rotations/1")
        page.set_viewport_size({"width": 320, "height": 640})
        second = page.locator(".coach-list tbody tr").nth(1)

        for name in ("Up", "Down"):
            box = second.get_by_role("button", name=name).bounding_box()
            assert box is not None
            assert box["x"] >= 0
            assert box["x"] + box["width"] <= 320

    def test_the_strip_can_be_read_on_a_phone_and_is_not_huge_at_the_desk(
        self, open_page: OpenPage
    ) -> None:
        page = open_page("/rotations/1")
        strip = page.locator(".strip svg").filter(visible=True)

        page.set_viewport_size({"width": 320, "height": 640})
        assert strip.evaluate(SMALLEST_TEXT_PX) >= 11
        page.set_viewport_size({"width": 1280, "height": 900})
        assert 11 <= strip.evaluate(SMALLEST_TEXT_PX) <= 20

    @pytest.mark.parametrize("wide", [360, 800, 1280])
    def test_the_strip_has_the_whole_page_and_nothing_in_it_overlaps(
        self, open_page: OpenPage, wide: int
    ) -> None:
        """The orders are compared at one glance; what has no room is left out."""
        page = open_page("/rotations/1")
        page.set_viewport_size({"width": wide, "height": 900})
        strip = page.locator(".strip svg").filter(visible=True)

        assert strip.evaluate("svg => svg.getBoundingClientRect().width") >= wide - 80
        assert strip.evaluate(SMALLEST_TEXT_PX) >= 10
        assert strip.evaluate(TEXTS_THAT_MEET_OR_LEAVE) == []
        assert (strip.locator("text", has_text="Caoimhe N.").count() > 0) == (wide > 360)

    def test_its_page_weighs_no_more_than_60_kb(self, open_page: OpenPage) -> None:
        page = open_page("/rotations/1")

        assert len(page.request.get("/rotations/1").body()) <= 60_000

    def test_every_stop_of_the_keyboard_is_seen(self, open_page: OpenPage) -> None:
        assert_focus_is_seen(open_page("/rotations/1", screen="desktop"))


class TestTheOrderOnPaper:
    def test_it_is_one_a4_page_for_the_table_and_has_no_rooms_or_buttons(
        self, open_page: OpenPage
    ) -> None:
        """It hangs beside the bars."""
        page = open_page("/rotations/1", screen="desktop", light="dark")
        pdf = page.pdf(prefer_css_page_size=True)
        sizes = {tuple(round(side) for side in size) for size in page_sizes_mm(pdf)}
        texts = [" ".join(text.split()) for text in page_texts(pdf)]

        assert sizes == {(210, 297)}
        for place, name in ((1, "Jagna B."), (6, "Inês G."), (12, "Viktorie H.")):
            assert f"{place}. {name}" in texts[0]
        assert "Out to 178.0" in texts[0]
        assert "check before anybody goes up" in " ".join(texts)
        for unwanted in ("Sign out", "Sheets", "Up for", "Print the cards", "Back to", "coach's"):
            assert unwanted not in " ".join(texts)

    def test_24_turns_with_strip_and_caution_are_on_one_sheet(
        self, open_page: OpenPage, demo_club: DemoClub
    ) -> None:
        """One sheet beside the bars: nobody looks for the second one."""
        with demo_club.work(writes=True) as session:
            asked = OrderRequest(turns=2, rest_turns=2, finals=((1, (0, 0, 0)),))
            desk_rotation.change_wishes(session, desk_rotation.rotation(session, 1), asked)
            desk_rotation.order_anew(session, 1)
        [text] = page_texts(open_page("/rotations/1").pdf(prefer_css_page_size=True))

        flat = " ".join(text.split())
        for wanted in (
            "24. Viktorie H.",
            "Afterwards",
            "check before anybody",
            "As listed",
            "Only",
        ):
            assert wanted in flat


class TestLongNames:
    def test_names_of_forty_letters_push_nothing_off_a_phone(
        self, open_page: OpenPage, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            for member in desk_rotation.rotation(session, 1).listed[::4]:
                long = Person("Ouvertürenmacher" * 2 + "ingersen", "Maximilianealexandra" * 2)
                athletes.change(session, member.id, long)
        page = open_page("/")
        for path in ("/rotations/1", "/rotations/1/list", "/rotations/1/wishes"):
            page.goto(path)

            page.locator("details").evaluate_all("all => all.forEach(one => one.open = true)")
            assert_no_sideways_scroll(page, 320)
            assert page.locator(".scroll").evaluate_all(CUT_OFF) == [], path


class TestTheOtherPages:
    def test_they_are_accessible_on_a_phone(self, open_page: OpenPage) -> None:
        page = open_page("/")
        for path in (
            "/",
            "/rotations/",
            "/rotations/new",
            "/rotations/new/1",
            "/rotations/1/list",
            "/cards/",
            "/cards/1?rotation=1",
            "/cards/athlete/1",
        ):
            page.goto(path)

            assert_accessible(page)
            assert_targets(page, 44)
            assert_no_sideways_scroll(page, 320)
            assert page.locator(".scroll").evaluate_all(CUT_OFF) == [], path

    def test_after_a_mistake_the_summary_leads_to_the_field(self, open_page: OpenPage) -> None:
        page = open_page("/rotations/new/1")
        page.get_by_label("Low rail height").fill("99")
        press(page.get_by_role("button", name="Plan the rotation"))

        assert_accessible(page)
        page.get_by_role("link", name="Low rail height: ").click()
        expect(page.locator("#low_rail")).to_be_focused()
