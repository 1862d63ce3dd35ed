"""What a page must be in a real browser: accessible, narrow enough, and easy to press."""

from axe_playwright_python.base import AXE_SCRIPT, AxeResults
from playwright.sync_api import Page

WCAG_AA = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
"""Tags of axe-core's rules; its target-size rule only runs when wcag22aa is named."""

BRIEFLY = {"resultTypes": ["violations"], "preload": {"assets": ["media"]}}
"""Faults are told in full; of what is well axe-core then names one place each, which is faster.

Style sheets it reads beforehand only for a rule that is an experiment of theirs, and not asked for.
"""

FAULTS = "async options => ({ violations: (await axe.run(options)).violations })"
"""What is well stays in the page: to bring it all here took a sixth of the time of a look."""

CONTRAST = "color-contrast"
AT_ARMS_LENGTH = {
    CONTRAST: {
        "options": {
            "ignoreUnicode": True,
            "ignoreLength": False,
            "ignorePseudo": False,
            "boldValue": 700,
            "boldTextPt": 14,
            "largeTextPt": 18,
            "contrastRatio": {"normal": {"expected": 7}, "large": {"expected": 4.5}},
            "pseudoSizeThreshold": 0.25,
            "shadowOutlineEmMax": 0.1,
            "textStrokeEmMin": 0.03,
        }
    }
}
"""The contrast of WCAG 1.4.6 (AAA), which no tag above asks for, in place of that of 1.4.3 (AA).

axe-core's own rule for it is silent where AA is missed too, so it takes both, each as long as all
the other rules together. These are that rule's options without its silence (``minThreshold``).
"""

BY_LIGHT = [CONTRAST, "link-in-text-block"]
"""The rules among those whose answer another light can change: they look at colours."""

SMALL_TARGETS = """least => {
  const seen = element => element.checkVisibility() && element.getBoundingClientRect().width > 1;
  const box = element => {
    const own = element.getBoundingClientRect();
    const label = ["radio", "checkbox"].includes(element.type) && element.labels[0];
    if (!label) return own;
    const also = label.getBoundingClientRect();
    return {
      width: Math.max(own.right, also.right) - Math.min(own.left, also.left),
      height: Math.max(own.bottom, also.bottom) - Math.min(own.top, also.top),
    };
  };
  // WCAG 2.5.5 leaves out links inside a sentence.
  const inSentence = link => link.tagName === "A" && getComputedStyle(link).display === "inline"
    && link.parentElement.textContent.trim() !== link.textContent.trim();
  return [...document.querySelectorAll("a[href], button, input, select, textarea, summary")]
    .filter(element => element.type !== "hidden" && seen(element) && !inSentence(element))
    .map(element => [element.outerHTML.slice(0, 120), box(element)])
    .filter(([, {width, height}]) => width < least - 0.5 || height < least - 0.5)
    .map(([what, {width, height}]) => `${width.toFixed(1)} x ${height.toFixed(1)}: ${what}`);
}"""

MOST_STOPS = 200

NOTE_STOPS = """() => {
  document.activeElement.blur();
  const stops = window.stops = [];
  let byKey = false; // a page that is live moves the focus by itself as well
  addEventListener("keydown", ({ key }) => { byKey = key === "Tab"; });
  addEventListener("focusin", ({ target }) => {
    if (!byKey) return;
    byKey = false;
    const style = getComputedStyle(target);
    const name = target.outerHTML.slice(0, 120);
    stops.push([name, style.outlineStyle, parseFloat(style.outlineWidth), style.boxShadow]);
  });
}"""
"""Looked at from within, as each gets the focus: to ask after each would take as long again."""
IS_AROUND = """() => document.activeElement === document.body
  || stops.slice(1).some(([name]) => name === stops[0][0])"""
AT_A_TIME = 10

SMALLEST_TEXT_PX = """place => Math.min(...[...document.querySelectorAll(place)]
  .map(element => parseFloat(getComputedStyle(element).fontSize)))"""

STICKING_OUT = """() => [...document.querySelectorAll("body *")]
  .filter(element => element.getBoundingClientRect().right > innerWidth + 0.5)
  .map(element => element.outerHTML.slice(0, 120))"""


LARGE_TEXT = """() => {
  const sheet = new CSSStyleSheet();
  sheet.replaceSync("html { font-size: 212.5% !important }"); // twice the 106.25 % of frame.css
  document.adoptedStyleSheets = [...document.adoptedStyleSheets, sheet];
}"""

TOP_OF_HEADING_PX = """() => document.querySelector("h1").getBoundingClientRect().top + scrollY"""

CUT_CHOICES = """() => [...document.querySelectorAll("select")]
  .filter(select => select.checkVisibility() && select.selectedOptions.length)
  .filter(select => {
    const style = getComputedStyle(select);
    const pen = document.createElement("canvas").getContext("2d");
    pen.font = style.font;
    const sides = parseFloat(style.paddingLeft) + parseFloat(style.paddingRight) + ARROW_PX;
    const words = pen.measureText(select.selectedOptions[0].text.trim());
    return words.width + sides > select.clientWidth;
  })
  .map(select => select.selectedOptions[0].text)""".replace("ARROW_PX", "18")
"""Drop-down lists that cut off what is chosen in them."""


def assert_accessible(page: Page) -> None:
    """axe-core finds nothing against WCAG 2.2 AA."""
    _assert_no_faults(page, runOnly=WCAG_AA)


def assert_accessible_in_every_light(page: Page) -> None:
    """The same by day, and in the dark whatever depends on colours."""
    page.emulate_media(color_scheme="light")
    assert_accessible(page)
    page.emulate_media(color_scheme="dark")
    _assert_no_faults(page, runOnly={"type": "rule", "values": BY_LIGHT})


def assert_read_in_every_light(page: Page) -> None:
    """The same, with the contrast of WCAG 1.4.6 (AAA): for pages read from arm's length."""
    page.emulate_media(color_scheme="light")
    _assert_no_faults(page, runOnly=WCAG_AA, checks=AT_ARMS_LENGTH)
    page.emulate_media(color_scheme="dark")
    by_light = {"type": "rule", "values": BY_LIGHT}
    _assert_no_faults(page, runOnly=by_light, checks=AT_ARMS_LENGTH)


def _assert_no_faults(page: Page, **rules: object) -> None:
    if not page.evaluate("'axe' in window"):  # half a megabyte, that a page needs once
        page.evaluate(AXE_SCRIPT)
    found = AxeResults(page.evaluate(FAULTS, {**rules, **BRIEFLY}))

    assert found.violations_count == 0, found.generate_report()


def assert_no_sideways_scroll(page: Page, width_px: int = 320) -> None:
    """At that width the page is read by scrolling in one direction only (WCAG 1.4.10)."""
    size = page.viewport_size
    assert size is not None
    page.set_viewport_size({"width": width_px, "height": size["height"]})
    needs_px = page.evaluate("document.documentElement.scrollWidth")
    sticking_out = page.evaluate(STICKING_OUT)
    page.set_viewport_size(size)

    assert needs_px <= width_px, f"{page.url} needs {needs_px} px: {sticking_out}"


def faults_on_a_phone(page: Page, *, heading_within_px: int = 120) -> list[str]:
    """What somebody with a phone of 360 px in one hand would stumble over, in words.

    The heading stands high where no mistake stands above it; nothing is pushed sideways, also on
    320 px and with text of twice the size (WCAG 1.4.4, 1.4.10); what acts is 44 px high; no choice
    is cut off. The page is left with its large text.
    """
    faults = []
    top = page.evaluate(TOP_OF_HEADING_PX)
    if top > heading_within_px and not page.locator(".error-summary").count():
        faults.append(f"its heading begins at {top:.0f} px")
    faults += [f"too small to press: {control}" for control in page.evaluate(SMALL_TARGETS, 44)]
    faults += [f"cut off: {choice}" for choice in page.evaluate(CUT_CHOICES)]
    for width_px, text in ((320, "usual"), (360, "large")):
        page.set_viewport_size({"width": width_px, "height": 740})
        if text == "large":
            page.evaluate(LARGE_TEXT)
        needs_px = page.evaluate("document.documentElement.scrollWidth")
        if needs_px > width_px:
            faults.append(f"needs {needs_px} of {width_px} px with {text} text")
    return faults


def text_px(page: Page, place: str) -> float:
    """How large the smallest text at a place is, in CSS px.

    Asked within the page, in one go: a page that is live may be another one between two questions.
    """
    return float(page.evaluate(SMALLEST_TEXT_PX, place))


def assert_targets(page: Page, least_px: int = 44) -> None:
    """Every control can be pressed with chalk on the fingers (WCAG 2.5.5)."""
    small = page.evaluate(SMALL_TARGETS, least_px)

    assert not small, f"{page.url} has controls under {least_px} px: {small}"


def assert_focus_is_seen(page: Page) -> None:
    """Whoever goes through the page by keyboard sees at every stop where they are."""
    page.evaluate(NOTE_STOPS)
    pressed = 0
    while pressed < MOST_STOPS and not (pressed and page.evaluate(IS_AROUND)):
        for _ in range(AT_A_TIME):
            page.keyboard.press("Tab")
        pressed += AT_A_TIME
    stops = page.evaluate("stops")
    for stop, style, width_px, inner in stops:
        assert style == "solid", stop
        assert width_px >= 2, stop
        assert inner != "none", stop
    assert len(stops) > 1
