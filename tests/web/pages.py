"""A reader of pages: every page that a test fetches is checked as a page, for nothing extra.

``Reader.get`` and ``Page.send`` give a ``Page``; an HTML page that breaks a rule of WEB conventions
fails the test there, whatever the test was about.
"""

import re
import time
from collections import Counter
from copy import deepcopy
from dataclasses import dataclass
from functools import cached_property, lru_cache
from urllib.parse import urljoin, urlsplit
from weakref import WeakKeyDictionary
from xml.etree import ElementTree

import html5lib
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.exceptions import HTTPException
from werkzeug.routing import Map
from werkzeug.test import TestResponse

from settingsdesk.web.frame.work import OURS

Element = ElementTree.Element
CONTROLS = ("input", "select", "textarea")

TOKEN = re.compile(r'(?<=<input type="hidden" name="csrf_token" value=")[\w.-]+(?=">)')
"""What a form proves that it is ours with: no two pages share it, and many all the rest."""


class NotAGoodPage(AssertionError):
    """A page breaks a rule that holds for all of them."""


@dataclass(frozen=True)
class Page:
    """One answer of the application, read as a person would."""

    reader: "Reader"
    response: TestResponse
    tree: Element

    @property
    def status(self) -> int:
        return self.response.status_code

    @property
    def address(self) -> str:
        """Path and question of the page, after redirects."""
        return self.response.request.full_path.rstrip("?")

    @property
    def title(self) -> str:
        return words(self._one("title"))

    @property
    def heading(self) -> str:
        return words(self._one("h1"))

    @property
    def text(self) -> str:
        """All words of the main part."""
        return words(self._one("main"))

    @property
    def mistakes(self) -> list[str]:
        """The sentences of the error summary."""
        return [
            words(item) for box in self.having("class", "error-summary") for item in box.iter("li")
        ]

    @property
    def links_of_mistakes(self) -> dict[str, str]:
        """The same with the fields they lead to; empty where one concerns the whole form."""
        return {
            words(item): next((link.get("href", "") for link in item.iter("a")), "")
            for box in self.having("class", "error-summary")
            for item in box.iter("li")
        }

    @property
    def banners(self) -> list[str]:
        """What the page says has just been done."""
        said = self.having("role", "status")
        return [words(box) for box in said if "hidden" not in box.attrib]

    @property
    def links(self) -> dict[str, str]:
        """Addresses by the words of their links."""
        return {words(link): link.get("href", "") for link in self.tree.iter("a")}

    def having(self, attribute: str, word: str) -> list[Element]:
        """Elements with that word in an attribute, such as ("class", "tag")."""
        return [
            element for element in self.tree.iter() if word in element.get(attribute, "").split()
        ]

    @property
    def token(self) -> str:
        """What a form of this page proves that it is ours with, for a press made by hand."""
        boxes = self.tree.iter("input")
        return str(next(box for box in boxes if box.get("name") == "csrf_token").get("value"))

    def value(self, name: str) -> str:
        """What stands in the field of that name."""
        [form] = [one for one in self.tree.iter("form") if name in standing_in(one)]
        return str(standing_in(form)[name])

    def follow(self, link_words: str) -> "Page":
        """Press a link."""
        return self.reader.get(urljoin(self.address, self.links[link_words]))

    def send(self, button_words: str, **typed: object) -> "Page":
        """Fill in the form that has this button, and press it; a list ticks several boxes.

        Fields that are not named are sent as they stand on the page. A file is (stream, name).
        """
        form, button = self._form_with(button_words)
        values = {**standing_in(form), **standing_outside(self.tree, form), **typed}
        if button.get("name"):
            values[button.get("name", "")] = button.get("value", "")
        sent_to = button.get("formaction") or form.get("action")
        address = urljoin(self.address, sent_to or self.address)
        if form.get("method", "get") == "get":
            return self.reader.get(address, query_string=values)
        return self.reader.post(address, values)

    def _form_with(self, button_words: str) -> tuple[Element, Element]:
        named = {form.get("id"): form for form in self.tree.iter("form")}
        found = [
            (named[button.get("form")] if "form" in button.attrib else form, button)
            for form in [*self.tree.iter("form"), self.tree]
            for button in form.iter("button")
            if words(button) == button_words and (form is self.tree) == ("form" in button.attrib)
        ]
        if len(found) != 1:
            buttons = [words(button) for button in self.tree.iter("button")]
            raise NotAGoodPage(f"{len(found)} buttons say {button_words!r}; there are {buttons}")
        return found[0]

    def _one(self, tag: str) -> Element:
        found = list(self.tree.iter(tag))
        if len(found) != 1:
            raise NotAGoodPage(f"{self.address} has {len(found)} <{tag}>, not one")
        return found[0]


class Reader:
    """A browser without a screen: follows redirects, keeps cookies, checks every page."""

    def __init__(self, app: Flask):
        self.app = app

    @cached_property
    def client(self) -> FlaskClient:
        """What holds the cookies."""
        return self.app.test_client()

    def get(self, address: str, **settings: object) -> Page:
        """Open an address."""
        return self._page(self.client.get(address, follow_redirects=True, **settings))

    def post(self, address: str, values: dict[str, object]) -> Page:
        """Send values as a form would; a token must be among them."""
        answer = self.client.post(address, data=values, follow_redirects=True)
        weighed(self.app)
        return self._page(answer)

    def sign_in(self, sign_in_name: str, password: str) -> Page:
        """Sign in on the page for it."""
        return self.get("/sign-in").send("Sign in", sign_in_name=sign_in_name, password=password)

    def _page(self, response: TestResponse) -> Page:
        if response.mimetype != "text/html":
            return Page(self, response, Element("html"))
        page = Page(self, response, read(response.text))
        check(page)
        return page


def weighed(app: Flask) -> None:
    """Wait until what each wish costs is known wherever it is being worked out.

    Nobody waits for it, and a test that goes on would meet it at one time or another.
    """
    runs = app.extensions[OURS].searches._runs
    while any(run.answered.is_set() for run in list(runs.values())):
        time.sleep(0.01)


def words(element: Element) -> str:
    """The text of an element with single blanks, as it is heard."""
    return " ".join("".join(element.itertext()).split())


def check(page: Page) -> None:
    """Every rule that holds for every page; raises ``NotAGoodPage`` with what breaks it."""
    for rule in (
        _is_framed,
        _title_begins_with_the_heading,
        _ids_are_unique,
        _controls_have_labels,
        _forms_are_safe,
        _tables_can_be_heard,
        _nothing_is_inline,
        _leads_somewhere,
    ):
        rule(page)


def read(text: str) -> Element:
    """A page's own tree; what a token consists of makes no difference to the parser."""
    tree = deepcopy(_parsed(TOKEN.sub("", text)))
    if tokens := TOKEN.findall(text):
        boxes = [box for box in tree.iter("input") if box.get("name") == "csrf_token"]
        for box, token in zip(boxes, tokens, strict=True):
            box.set("value", token)
    return tree


@lru_cache(maxsize=256)
def _parsed(text: str) -> Element:
    parser = html5lib.HTMLParser(
        tree=html5lib.getTreeBuilder("etree"), strict=True, namespaceHTMLElements=False
    )
    try:
        return parser.parse(text)
    except html5lib.html5parser.ParseError as error:
        line, _ = parser.tokenizer.stream.position()
        raise NotAGoodPage(f"line {line}: {error}\n{text.splitlines()[line - 1]}") from error


def _is_framed(page: Page) -> None:
    viewport = [
        meta.get("content") for meta in page.tree.iter("meta") if meta.get("name") == "viewport"
    ]
    _require(page, page.tree.get("lang"), "no lang")
    _require(page, viewport == ["width=device-width, initial-scale=1"], f"viewport {viewport}")
    _require(page, page.heading, "an empty h1")
    first_link = next(page.tree.iter("a"))
    _require(page, first_link.get("href") == "#main", "the skip link is not the first link")


def _title_begins_with_the_heading(page: Page) -> None:
    begins = "Error: " if page.mistakes else ""
    _require(
        page,
        page.title.startswith(begins + page.heading),
        f"title {page.title!r} does not begin with {begins + page.heading!r}",
    )


def _ids_are_unique(page: Page) -> None:
    ids = Counter(element.get("id") for element in page.tree.iter() if "id" in element.attrib)
    twice = sorted(name for name, times in ids.items() if times > 1)
    _require(page, not twice, f"ids used twice: {twice}")
    for element in page.tree.iter():
        for attribute in ("for", "aria-labelledby", "aria-describedby"):
            missing = [name for name in element.get(attribute, "").split() if name not in ids]
            _require(page, not missing, f"{attribute} points at nothing: {missing}")


def _controls_have_labels(page: Page) -> None:
    labelled = {label.get("for") for label in page.tree.iter("label") if words(label)}
    for control in _visible_controls(page.tree):
        named = control.get("id") in labelled or control.get("aria-labelledby")
        _require(page, named, f"no label for {control.attrib}")
        _require(page, "placeholder" not in control.attrib, f"a placeholder in {control.attrib}")
    for button in page.tree.iter("button"):
        _require(page, words(button), "a button without words")


def _forms_are_safe(page: Page) -> None:
    for form in page.tree.iter("form"):
        if form.get("method") == "post":
            names = [control.get("name") for control in form.iter("input")]
            _require(page, names.count("csrf_token") == 1, f"form {form.attrib} has no token")


def _tables_can_be_heard(page: Page) -> None:
    for table in page.tree.iter("table"):
        captions = [words(caption) for caption in table.iter("caption")]
        _require(page, len(captions) == 1 and captions[0], f"a table has the captions {captions}")
        scopes = {head.get("scope") for head in table.iter("th")}
        _require(page, scopes <= {"col", "row"} and "col" in scopes, f"th with scopes {scopes}")
        widths = {_cells(row) for row in table.iter("tr")}
        _require(page, len(widths) == 1, f"rows of {sorted(widths)} cells under {captions[0]!r}")


def _nothing_is_inline(page: Page) -> None:
    for element in page.tree.iter():
        inline = [name for name in element.attrib if name == "style" or name.startswith("on")]
        _require(page, not inline, f"inline {inline} on <{element.tag}>")
        _require(page, element.tag != "style", "a <style> element")
        if element.tag == "script":
            _require(page, element.get("src") and not words(element), "an inline script")


def _leads_somewhere(page: Page) -> None:
    ids = {element.get("id") for element in page.tree.iter()}
    for element in page.tree.iter():
        for attribute in ("href", "src", "action", "formaction"):
            address = element.get(attribute)
            if address is None or element.tag == "use":
                continue
            is_sent = element.get("method") == "post" or attribute == "formaction"
            method = "POST" if is_sent else "GET"
            if address.startswith("#"):
                _require(page, address[1:] in ids, f"{address} is not on the page")
            else:
                _require(page, _exists(page, address, method), f"{method} {address} leads nowhere")


def _exists(page: Page, address: str, method: str) -> bool:
    parts = urlsplit(urljoin(page.address, address))
    if parts.scheme or parts.netloc:
        return parts.scheme in ("http", "https", "mailto", "otpauth")
    rules = page.reader.app.url_map
    known = _ADDRESSES.setdefault(rules, {})
    if (parts.path, method) not in known:
        try:
            rules.bind("localhost").match(parts.path, method)
        except HTTPException:
            known[parts.path, method] = False
        else:
            known[parts.path, method] = True
    return known[parts.path, method]


_ADDRESSES: WeakKeyDictionary[Map, dict[tuple[str, str], bool]] = WeakKeyDictionary()


def standing_in(form: Element) -> dict[str, object]:
    """What a browser would send of a form as it stands."""
    values: dict[str, object] = {}
    for control in (element for element in form.iter() if element.tag in CONTROLS):
        name, kind = control.get("name"), control.get("type", "text")
        if name is None or kind == "file":
            continue
        if control.tag == "select":
            values[name] = _chosen(control)
        elif kind in ("radio", "checkbox"):
            if "checked" in control.attrib:
                values[name] = [*values.get(name, []), control.get("value", "on")]
        else:
            # A text area's first line break is not part of it.
            text = re.sub(r"^\r?\n", "", control.text or "")
            values[name] = text if control.tag == "textarea" else control.get("value", "")
    return values


def standing_outside(tree: Element, form: Element) -> dict[str, object]:
    """The same of controls that belong to the form and stand elsewhere on the page."""
    lent = Element("form")
    lent.extend(one for one in tree.iter() if one.get("form") and one.get("form") == form.get("id"))
    return standing_in(lent)


def _chosen(select: Element) -> str:
    options = list(select.iter("option"))
    chosen = [option for option in options if "selected" in option.attrib] or options[:1]
    return chosen[0].get("value", "") if chosen else ""


def _cells(row: Element) -> int:
    return sum(int(cell.get("colspan", 1)) for cell in row if cell.tag in ("th", "td"))


def _visible_controls(tree: Element) -> list[Element]:
    return [
        element
        for element in tree.iter()
        if element.tag in CONTROLS
        and element.get("type") != "hidden"
        and "hidden" not in element.attrib
    ]


def _require(page: Page, holds: object, otherwise: str) -> None:
    if not holds:
        raise NotAGoodPage(f"{page.address}: {otherwise}")
