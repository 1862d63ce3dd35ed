"""A language in which every sentence of the catalogue is marked; all else is untranslated.

Polish in its days, numbers and three plural forms, so that those are seen to be asked for, too.
"""

import json
import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from xml.etree import ElementTree

from babel import Locale
from babel.support import NullTranslations
from flask import Flask

from settingsdesk.web.frame.language import READER
from settingsdesk.words.language import Language
from settingsdesk.words.languages import NAMES

POLISH = Locale("pl")
MONTHS = [*POLISH.months["format"]["wide"].values()]
LISTED = (" i ", " lub ")
"""How Polish joins the last of several things."""

_PLACES_AND_TAGS = re.compile(r"(%\(\w+\)[sd]|<[^>]+>)")
_MARKED = re.compile(r"‹[^‹›…]*[›…]")  # a paper may have cut it
_LETTERS = re.compile(r"[^\W\d_]{2,}")
_CODE = re.compile(
    r"https?://\S+|\b[2-9A-Z]{4}\b|\b[2-9A-Z]{4} [2-9A-Z]{4} [2-9A-Z*]\b|\b[0-9A-Z]{26}\b"
)
_HEARD = ("alt", "title", "aria-label", "placeholder", "data-heights", "content")


class Marked(NullTranslations):
    """Gives every sentence back with its own words between marks, and its places outside."""

    def __init__(self) -> None:
        super().__init__()
        self.plurals: dict[str, set[int]] = {}
        """Which plural forms were asked for, by the English one."""

    def gettext(self, message: str) -> str:
        return _marked(message)

    def ngettext(self, singular: str, plural: str, num: int) -> str:
        form = polish_form(num)
        self.plurals.setdefault(plural, set()).add(form)
        return f"‹form {form}: ›{_marked((singular, plural, plural)[form])}"

    ugettext, ungettext = gettext, ngettext


def polish_form(number: int) -> int:
    """Which of the three forms Polish has after a number."""
    return ("one", "few", "many").index(POLISH.plural_form(number))


def _marked(message: str) -> str:
    parts = _PLACES_AND_TAGS.split(message)
    return "".join(
        part if number % 2 or not _LETTERS.search(part) else f"‹{part}›"
        for number, part in enumerate(parts)
    )


def marked_language() -> Language:
    """The language itself, for what is printed."""
    return Language(POLISH, Marked())


def plain(text: str) -> str:
    """A marked text as somebody reads it who knows no marks."""
    return re.sub(r"‹form \d: ›", "", text).replace("‹", "").replace("›", "")


def outside(texts: Iterable[str], data: Iterable[str]) -> list[str]:
    """Whatever of the texts has letters and is neither marked nor one of those names and marks."""
    known = {*data, *MONTHS, *LISTED, *NAMES.values(), "settingsdesk"}
    known = sorted(filter(None, known), key=len, reverse=True)  # nothing stands everywhere
    left_over = (" ".join(_left_over(text, known).split()) for text in texts)
    return [text for text in left_over if _LETTERS.search(text)]


def _left_over(text: str, known: Iterable[str]) -> str:
    left = _CODE.sub(" ", _MARKED.sub(" ", text))
    for name in known:
        left = left.replace(name, " ")
    return left


@contextmanager
def spoken_by(app: Flask) -> Iterator[Marked]:
    """The application speaks that language to everybody."""
    before, marked = app.extensions[READER], Marked()
    spoken = Language(POLISH, marked)
    app.extensions[READER] = lambda: spoken
    try:
        yield marked
    finally:
        app.extensions[READER] = before


def read_out(tree: ElementTree.Element) -> list[str]:
    """All that a page says: its texts, what is heard of its pictures, its script's words."""
    rooms = {id(one) for head in tree.iter("header") if head.find("nav") for one in head.iter()}
    return [
        text
        for element in tree.iter()
        if id(element) not in rooms  # the frame of a coach who is signed in
        for text in _of(element)
        if text.strip()
    ]


def _of(element: ElementTree.Element) -> Iterator[str]:
    if not isinstance(element.tag, str):
        return
    if element.tag not in ("script", "style"):
        yield element.text or ""
    yield element.tail or ""
    if element.tag != "meta":
        yield from (element.get(name, "") for name in _HEARD)
    for words in json.loads(element.get("data-words", "{}")).values():
        yield _PLACES_AND_TAGS.sub("", words)
