"""The frame, the macros and the styles in a real browser."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from flask import Flask
from playwright.sync_api import expect

from settingsdesk.config import DataFolder
from settingsdesk.store.work import Store
from settingsdesk.web.app import new_desk
from tests.browser.conftest import SCREENS, OpenPage
from tests.browser.looks import (
    assert_accessible,
    assert_accessible_in_every_light,
    assert_focus_is_seen,
    assert_no_sideways_scroll,
    assert_read_in_every_light,
    assert_targets,
)
from tests.browser.pressing import press
from tests.conftest import Account, Clock
from tests.web.conftest import SAMPLED

SAMPLES = ["/sample/", "/sample/form", "/sample/step"]
PAGES = ["/help", "/account", "/", "/nowhere"]

# A page survives when the reader spaces its text like this.
SPACED_OUT = """() => {
  const sheet = new CSSStyleSheet();
  sheet.replaceSync(`* { line-height: 1.5 !important; letter-spacing: 0.12em !important;
    word-spacing: 0.16em !important; } p { margin-bottom: 2em !important; }`);
  document.adoptedStyleSheets = [sheet];
}"""


@pytest.fixture
def app(data: DataFolder, store: Store, clock: Clock) -> Iterator[Flask]:
    """The desk of one club, and the room that uses everything."""
    with SAMPLED.lent(new_desk(data, store, clock=clock)) as app:
        yield app


@pytest.fixture
def account(one_club: tuple[Path, Account]) -> Account:
    return one_club[1]


PALE = """([light, colour]) => {
  const sheet = new CSSStyleSheet();
  sheet.replaceSync(
    `@media (prefers-color-scheme: ${light}) { p { color: ${colour} !important } }`);
  document.adoptedStyleSheets = [sheet];
}"""


NO_RING = """() => {
  const sheet = new CSSStyleSheet();
  sheet.replaceSync("button:focus-visible { outline: none !important }");
  document.adoptedStyleSheets = [sheet];
}"""


class TestTheReaderOfLooks:
    """A check that lets everything pass is worth nothing."""

    @pytest.mark.parametrize(("light", "colour"), [("light", "#ddd"), ("dark", "#333")])
    def test_text_that_only_one_light_makes_pale_is_found(
        self, open_page: OpenPage, light: str, colour: str
    ) -> None:
        page = open_page("/sample/")
        page.evaluate(PALE, [light, colour])

        with pytest.raises(AssertionError, match="color-contrast"):
            assert_accessible_in_every_light(page)

    @pytest.mark.parametrize(
        ("light", "colour"),
        [("light", "#6b6b6b"), ("dark", "#9a9a9a"), ("light", "#ddd"), ("dark", "#333")],
    )
    def test_from_arms_length_more_contrast_is_asked_for(
        self, open_page: OpenPage, light: str, colour: str
    ) -> None:
        """Not the 7 to 1 of WCAG 1.4.6, whether it is readable at hand, with 4.5 to 1, or not."""
        page = open_page("/sample/step")
        page.evaluate(PALE, [light, colour])

        with pytest.raises(AssertionError, match=r"contrast ratio of 7:1"):
            assert_read_in_every_light(page)

    def test_a_stop_of_the_keyboard_that_nobody_sees_is_found(self, open_page: OpenPage) -> None:
        """Somewhere in the midst of the page, and by its keys only."""
        page = open_page("/sample/", screen="desktop")
        page.evaluate(NO_RING)

        with pytest.raises(AssertionError, match="<button"):
            assert_focus_is_seen(page)


class TestEveryPage:
    def test_it_is_accessible_on_a_phone(self, open_page: OpenPage) -> None:
        """With chalk on the fingers, in a bright hall."""
        page = open_page("/")
        for path in PAGES:
            page.goto(path)

            assert_accessible(page)
            assert_targets(page, 44)
            assert_no_sideways_scroll(page, 320)

    @pytest.mark.parametrize("path", SAMPLES)
    def test_what_all_are_made_of_is_accessible_in_every_light_and_at_the_desk(
        self, open_page: OpenPage, path: str
    ) -> None:
        """In a bright hall and a dark one, on a wide screen, and with a reader's own spacing."""
        page = open_page(path, screen="desktop")
        assert_accessible(page)
        assert_targets(page, 44)

        page.set_viewport_size(SCREENS["phone"])
        assert_accessible_in_every_light(page)
        assert_targets(page, 44)
        assert_no_sideways_scroll(page, 320)

        # WCAG 1.4.12: line height 1.5, letters 0.12, words 0.16, paragraphs 2.
        page.evaluate(SPACED_OUT)
        assert_no_sideways_scroll(page, 320)

    def test_it_is_accessible_with_more_contrast(self, open_page: OpenPage) -> None:
        """For who asks the machine for it."""
        assert_accessible_in_every_light(open_page("/sample/", contrast="more"))

    def test_edges_survive_forced_colours(self, open_page: OpenPage) -> None:
        """Where the machine chooses all colours, boxes and buttons still have edges."""
        page = open_page("/sample/form", forced_colors="active")

        for control in page.locator("input[type=text], select, textarea, .button.main").all():
            assert control.evaluate("it => parseFloat(getComputedStyle(it).borderTopWidth)") >= 2

    @pytest.mark.parametrize("path", ["/sample/", "/sample/form"])
    def test_every_stop_of_the_keyboard_is_seen(self, open_page: OpenPage, path: str) -> None:
        """A ring of two colours."""
        assert_focus_is_seen(open_page(path, screen="desktop"))

    def test_the_keyboard_can_skip_the_head(self, open_page: OpenPage) -> None:
        """The first stop leads past the rooms."""
        page = open_page("/sample/")

        page.keyboard.press("Tab")
        page.keyboard.press("Enter")

        expect(page.locator("#main")).to_be_focused()


class TestTheHead:
    @pytest.mark.parametrize("script", [True, False], ids=["with scripts", "without scripts"])
    def test_its_rooms_lie_open_at_the_desk_and_under_one_row_on_a_phone(
        self, open_page: OpenPage, script: bool
    ) -> None:
        page = open_page("/", screen="desktop", script=script)
        room = page.locator(".rooms").get_by_role("link", name="Rotations")
        for screen, most_px in (("desktop", 64), ("phone", 56)):
            page.set_viewport_size(SCREENS[screen])
            box = page.locator(".head").bounding_box()
            assert box is not None
            assert box["height"] <= most_px
            expect(room).to_be_visible(visible=screen == "desktop")

        page.get_by_text("Menu", exact=True).click()
        expect(room).to_be_visible()
        press(page.get_by_role("link", name="your account"))
        expect(page.get_by_role("button", name="Sign out")).to_be_visible()


class TestSigningIn:
    def test_it_works_without_scripts(self, open_page: OpenPage, account: Account) -> None:
        """As does everything else."""
        page = open_page("/sign-in", script=False, stranger=True)

        page.get_by_label("Sign-in name").fill("edda")
        page.get_by_label("Password").fill(account.password)
        press(page.get_by_role("button", name="Sign in"))

        assert page.get_by_role("heading", level=1).inner_text() == "Today"

    def test_it_is_accessible_and_lets_a_password_be_pasted(self, open_page: OpenPage) -> None:
        """A password manager fills it in (WCAG 3.3.8)."""
        page = open_page("/sign-in", stranger=True)

        assert_accessible(page)
        assert page.get_by_label("Password").get_attribute("autocomplete") == "current-password"
        assert page.get_by_label("Password").get_attribute("onpaste") is None


class TestForms:
    def test_the_mistakes_are_where_the_reader_is(self, open_page: OpenPage) -> None:
        """The summary takes the focus, and its lines lead to their fields."""
        page = open_page("/sample/form")
        page.get_by_label("High rail height").fill("abc")
        press(page.get_by_role("button", name="Save the setting"))

        expect(page.locator(".error-summary")).to_be_focused()
        assert_accessible(page)
        assert_targets(page, 44)
        assert_no_sideways_scroll(page, 320)

        page.get_by_role("link", name="High rail height must be a number").click()
        expect(page.locator("#high")).to_be_focused()

    def test_a_field_says_its_hint_and_its_mistake(self, open_page: OpenPage) -> None:
        """To those who cannot see that they stand beside it."""
        page = open_page("/sample/form")
        page.get_by_label("High rail height").fill("abc")
        press(page.get_by_role("button", name="Save the setting"))

        heard = page.get_by_label("High rail height").evaluate(
            "it => it.getAttribute('aria-describedby').split(' ')"
            ".map(id => document.getElementById(id).textContent.trim()).join(' / ')"
        )
        assert heard == (
            "From the floor to the upper edge of the rail. / "
            "Error: High rail height must be a number, like 250 or 247.5; 'abc' was read"
        )

    def test_a_second_press_is_ignored(self, open_page: OpenPage) -> None:
        """Chalky fingers press twice."""
        page = open_page("/sample/form")
        sent = []
        page.on("request", lambda request: sent.append(request.method))

        page.locator("form[novalidate]").evaluate(
            "form => { form.requestSubmit(); form.requestSubmit(); }"
        )
        page.wait_for_selector(".error-summary")

        assert sent.count("POST") == 1


class TestPaper:
    def test_only_what_is_read_is_printed(self, open_page: OpenPage) -> None:
        """No rooms, no buttons, and black on white even from a dark screen."""
        page = open_page("/sample/", screen="desktop", light="dark")
        page.emulate_media(media="print")

        assert not page.locator(".rooms").is_visible()
        assert not page.get_by_role("button", name="Take out of use").is_visible()
        assert page.get_by_role("heading", level=1).is_visible()
        assert page.get_by_text("When in doubt: out of use").is_visible()
        for part, property_name, colour in [
            ("html", "background-color", "rgb(255, 255, 255)"),
            ("h1", "color", "rgb(0, 0, 0)"),
        ]:
            value = page.locator(part).evaluate(
                f"it => getComputedStyle(it).getPropertyValue('{property_name}')"
            )
            assert value == colour

    def test_the_drawing_is_black(self, open_page: OpenPage) -> None:
        """A black printer must suffice."""
        page = open_page("/sample/", screen="desktop")
        page.emulate_media(media="print")

        inks = page.locator("svg.sheet-drawing text, svg.sheet-drawing line").evaluate_all(
            "shapes => [...new Set(shapes.map(it => getComputedStyle(it).color))]"
        )
        assert inks == ["rgb(0, 0, 0)"]
