"""What the pages ask of a phone's browser: nothing that is needed is younger than five years.

Source: MDN's browser compatibility data, release 8.1.9 (npm: @mdn/browser-compat-data), in the
column of Safari on iOS: an iPhone has the WebKit of its iOS, whatever browser stands on it. Beside
each feature is the first iOS that has it, and when that came.
"""

import re
from pathlib import Path

import pytest

import settingsdesk.web
from settingsdesk.resources import folder

STATIC = Path(settingsdesk.web.__file__).parent / "static"

YOUNG_STYLES = {
    ":focus-visible": r":focus-visible",  # 15.4, March 2022
    ":has()": r":has\(",  # 15.4, March 2022
    "accent-color": r"accent-color:",  # 26.2, December 2025
    "scroll-behavior": r"scroll-behavior:",  # 15.4, March 2022
    "overflow-wrap: anywhere": r"overflow-wrap: anywhere",  # 15.4, March 2022
    "@layer": r"@layer\b",  # 15.4, March 2022
    "units of the small, large and dynamic viewport": r"\d[sld]v[hwib]\b",  # 15.4, March 2022
    "@container": r"@container\b",  # 16.0, September 2022
    "subgrid": r"\bsubgrid\b",  # 16.0, September 2022
    "color-mix()": r"color-mix\(",  # 16.2, December 2022
    "@property": r"@property\b",  # 16.4, March 2023
    "ranges in @media": r"@media[^{]*[<>]",  # 16.4, March 2023
    "nesting": r"(^|[{;])\s*&",  # 17.2, December 2023
    ":user-invalid": r":user-(in)?valid",  # 16.5, May 2023
    ":popover-open": r":popover-open",  # 17.0, September 2023
    "text-wrap": r"text-wrap:",  # 17.4, March 2024
    "light-dark()": r"light-dark\(",  # 17.5, May 2024
    "@starting-style": r"@starting-style\b",  # 17.5, May 2024
    "field-sizing": r"field-sizing:",  # 26.2, December 2025
}
YOUNG_SCRIPTS = {
    "SubmitEvent.submitter": r"\.submitter\b",  # 15.4, March 2022
    "at()": r"\.at\(",  # 15.4, March 2022
    "findLast()": r"\.findLast(Index)?\(",  # 15.4, March 2022
    "structuredClone()": r"\bstructuredClone\(",  # 15.4, March 2022
    "Object.hasOwn()": r"\bObject\.hasOwn\(",  # 15.4, March 2022
    "randomUUID()": r"\.randomUUID\(",  # 15.4, March 2022
    "BroadcastChannel": r"\bBroadcastChannel\b",  # 15.4, March 2022
    "navigator.locks": r"navigator\.locks\b",  # 15.4, March 2022
    "requestSubmit()": r"\.requestSubmit\(",  # 16.0, September 2022
    "AbortSignal.timeout()": r"AbortSignal\.(timeout|any)\(",  # 16.0, September 2022; 17.4
    "copies that are sorted": r"\.to(Sorted|Reversed|Spliced)\(",  # 16.0, September 2022
    "looking behind": r"\(\?<[=!]",  # 16.4, March 2023
    "static blocks": r"\bstatic \{",  # 16.4, March 2023
    "checkVisibility()": r"\.checkVisibility\(",  # 17.4, March 2024
    "groupBy()": r"\.groupBy\(",  # 17.4, March 2024
    "withResolvers()": r"\.withResolvers\(",  # 17.4, March 2024
}
YOUNG_PAGES = {
    "dialog": r"<dialog\b",  # 15.4, March 2022
    "inert": r"<[a-z][^>]*\sinert\b",  # 15.5, May 2022
    "popover": r"\bpopover(target)?\b",  # 17.0, September 2023
}

NOT_NEEDED = {
    ("at_apparatus.js", "SubmitEvent.submitter"): "it notes itself which button was pressed last",
    ("bars.css", ":has()"): "the gap under a heading",
    ("card.css", "@container"): "text of twice the size runs over beside its mark",
    ("card.css", "subgrid"): "the words beside a long mark stand further in than the others",
    ("checks.css", ":has()"): "every item asks for its remark, and nothing is counted",
    ("desk.css", ":focus-visible"): "the browser's own ring shows then",
    ("desk.css", "accent-color"): "a bar of the browser's own colour",
    ("desk.css", ":has()"): "a cell of a block is narrower, a jump may end under the last button",
    ("drawing.css", "text-wrap"): "words under a drawing break where the line is full",
    ("forms.css", "accent-color"): "boxes and bars of the browser's own colour",
    ("frame.css", ":focus-visible"): "the browser's own ring shows then",
    ("card.css", "overflow-wrap: anywhere"): "a table of long words is moved sideways, as before",
    ("frame.css", "scroll-behavior"): "the page moves at once",
    ("frame.css", "text-wrap"): "a heading breaks where it is full",
    ("tables.css", ":has()"): "two cautions in a row stand apart in frames of their own",
    ("tables.css", "text-wrap"): "a caution's heading breaks where its line is full",
    ("stations.css", ":has()"): "the foot of the page stands under the sheet on paper, too",
    **{
        (name, "overflow-wrap: anywhere"): "the page's own break-word breaks there"
        for name in (
            "desk.css",
            "forms.css",
            "lists.css",
            "rotation.css",
            "stations.css",
            "tables.css",
        )
    },
}
"""Where something younger only adds, and what is without it."""

RULE = re.compile(r"([^{}]+)\{[^{}]*\}")


def without_remarks(text: str) -> str:
    return re.sub(r"/\*.*?\*/", "", text, flags=re.DOTALL)


def found_in(kind: str, young: dict[str, str]) -> set[tuple[str, str]]:
    """Which files use which of them."""
    return {
        (path.name, name)
        for path in STATIC.glob(kind)
        for name, pattern in young.items()
        if re.search(pattern, without_remarks(path.read_text("utf-8")), re.MULTILINE)
    }


class TestWhatAPhoneOfFiveYearsAgoDoesNotKnow:
    """From November 2021 on, that is iOS 15.1; whoever takes out a line says how old it is now."""

    def test_no_style_or_script_needs_it(self) -> None:
        found = found_in("*.css", YOUNG_STYLES) | found_in("*.js", YOUNG_SCRIPTS)

        assert found == NOT_NEEDED.keys()

    def test_no_page_needs_it(self) -> None:
        found = {
            (path.name, name)
            for path in folder("templates").rglob("*.html")
            for name, pattern in YOUNG_PAGES.items()
            if re.search(pattern, path.read_text("utf-8"))
        }
        assert found == set()

    @pytest.mark.parametrize("path", sorted(STATIC.glob("*.css")), ids=lambda path: path.name)
    def test_it_takes_no_older_selector_along(self, path: Path) -> None:
        """A browser drops the whole rule for one selector that it does not know."""
        young = re.compile(r":(focus-visible|has\()")
        mixed = [
            selectors.strip()
            for selectors in RULE.findall(without_remarks(path.read_text("utf-8")))
            if len({bool(young.search(one)) for one in re.split(r",(?![^(]*\))", selectors)}) > 1
        ]
        assert mixed == []

    @pytest.mark.parametrize(
        ("young", "text"),
        [
            (YOUNG_STYLES, ".a { height: 100dvh; }"),
            (YOUNG_STYLES, "@media (width >= 30rem) { .a { top: 0; } }"),
            (YOUNG_STYLES, ".a { color: red; & b { color: blue; } }"),
            (YOUNG_SCRIPTS, "const last = all.at(-1);"),
            (YOUNG_SCRIPTS, "const found = /(?<=a)b/.exec(text);"),
            (YOUNG_PAGES, '<button popovertarget="more">'),
            (YOUNG_PAGES, '<div class="a" inert>'),
        ],
    )
    def test_it_would_be_found(self, young: dict[str, str], text: str) -> None:
        """The list itself is looked at: a pattern that finds nothing allows everything."""
        assert any(re.search(pattern, text, re.MULTILINE) for pattern in young.values())
