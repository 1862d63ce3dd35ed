"""The card on a phone: a parent at home, a volunteer with chalk on the hands."""

from contextlib import closing
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import expect
from pypdfium2 import PdfDocument

from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.cards.code_address import CodeKey
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.squad import settings
from settingsdesk.domain.settings.settings import Setting, Wanted
from tests.browser.conftest import SCREENS, OpenPage
from tests.browser.looks import (
    assert_accessible_in_every_light,
    assert_focus_is_seen,
    assert_no_sideways_scroll,
    assert_targets,
)
from tests.browser.pressing import press
from tests.conftest import DemoClub

LEAST_FIGURE_PX = 40  # 2.5 rem


@pytest.fixture
def path(demo_club: DemoClub) -> str:
    """Where the symbol of a printed card leads: what is printed there, other tests read."""
    our_press = CodeKey(demo_club.data.card_key(), "http://desk.example")
    with demo_club.work(writes=True) as session:
        view = desk_rotation.rotation(session, 1)
        [card] = desk_issued.issue(session, our_press, view.piece.id, [view.listed[0].id])
    return urlsplit(card.url).path


@pytest.fixture
def old_path(path: str, demo_club: DemoClub) -> str:
    """The same, after the setting was changed."""
    with demo_club.work(writes=True) as session:
        view = desk_rotation.rotation(session, 1)
        version = view.carried[view.piece.id][view.listed[0].id].version
        wanted = Setting(version.setting.kind, {**version.setting.axes, "spread": Wanted(1550, 10)})
        settings.keep_setting(session, version.athlete_id, version.model_id, wanted)
    return path


class TestTheCard:
    def test_it_is_accessible_on_every_screen_and_in_every_light(
        self, open_page: OpenPage, path: str
    ) -> None:
        page = open_page(path, stranger=True)
        for screen in ("phone", "tablet", "desktop"):
            page.set_viewport_size(SCREENS[screen])
            assert_accessible_in_every_light(page)
            assert_targets(page, 44)
        assert_no_sideways_scroll(page, 320)
        assert_focus_is_seen(page)

    @pytest.mark.parametrize("script", [True, False], ids=["with scripts", "without scripts"])
    def test_another_apparatus_is_one_press_away(
        self, open_page: OpenPage, path: str, script: bool
    ) -> None:
        """The volunteer stands at the other bars."""
        page = open_page(path, script=script, stranger=True)
        press(page.get_by_role("link", name="Bars by the door"))

        expect(page.get_by_role("heading", name="Marks on Bars by the door")).to_be_visible()

    def test_an_old_one_and_one_that_opens_nothing_are_accessible_too(
        self, open_page: OpenPage, old_path: str
    ) -> None:
        page = open_page(old_path, stranger=True)
        for address in (old_path, f"/C/{'A' * 26}"):
            page.goto(address)
            assert_accessible_in_every_light(page)
            assert_no_sideways_scroll(page, 320)

    def test_it_leaves_nothing_in_the_browser_and_asks_nobody_else(
        self, open_page: OpenPage, path: str
    ) -> None:
        """It is often somebody else's phone."""
        page = open_page("/help", stranger=True)
        asked: list[str] = []
        page.on("request", lambda request: asked.append(urlsplit(request.url).hostname or ""))
        page.goto(path)

        assert set(asked) == {"127.0.0.1"}
        assert page.context.cookies() == []
        assert page.evaluate("localStorage.length + sessionStorage.length") == 0


class TestTheFirstScreen:
    @pytest.mark.parametrize(
        ("which", "state"), [("path", "✓ Current"), ("old_path", "✕ Out of date")]
    )
    def test_a_phone_shows_name_state_apparatus_and_all_marks_without_scrolling(
        self, open_page: OpenPage, request: pytest.FixtureRequest, which: str, state: str
    ) -> None:
        """With chalk on the fingers nobody wants to scroll."""
        page = open_page(request.getfixturevalue(which), stranger=True)
        shown = [
            page.get_by_role("heading", name="Jagna B."),
            page.get_by_text(state),
            page.locator(".card-marks h2"),
            *page.locator(".figures .value").all(),
        ]

        assert len(shown) == 6
        for one in shown:
            box = one.bounding_box()
            assert box is not None
            assert box["y"] + box["height"] <= 740

    def test_the_marks_can_be_read_from_arms_length_and_are_black_on_paper(
        self, open_page: OpenPage, path: str
    ) -> None:
        page = open_page(path, light="dark", stranger=True)

        for width in (320, 360, 820, 1280):
            page.set_viewport_size({"width": width, "height": 740})
            for mark in page.locator(".figures .value").all():
                high_px = mark.evaluate("it => parseFloat(getComputedStyle(it).fontSize)")
                assert high_px >= LEAST_FIGURE_PX
                assert mark.evaluate("it => it.scrollWidth <= it.clientWidth")

        page.emulate_media(media="print")
        colours = page.locator(".figures .value").evaluate_all(
            "all => [...new Set(all.map(it => getComputedStyle(it).color))]"
        )
        assert colours == ["rgb(0, 0, 0)"]
        with closing(PdfDocument(page.pdf(prefer_css_page_size=True))) as paper:
            assert len(paper) == 1
