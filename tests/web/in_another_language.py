"""Pages walked through in a marked language: whatever they say outside the catalogue is noted."""

import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

import pytest
from flask import Flask

from tests.web import pages
from tests.words.pseudo import Marked, outside, plain, read_out, spoken_by

OF_STRANGERS = re.compile(
    r"/(station(/.*)?|[sc]/.*|crew-sheets/\d+|stations/\d+/sheet)(\?.*)?$", re.IGNORECASE
)
"""The pages that volunteers, families and visiting crews see."""


@dataclass
class Walk:
    """What was seen on the way: each page by its heading, and what of it no catalogue holds."""

    marked: Marked
    data: set[str]
    seen: set[str] = field(default_factory=set)
    untranslated: dict[str, list[str]] = field(default_factory=dict)

    @property
    def all_untranslated(self) -> str:
        """Each once, for whoever reads why a test failed."""
        found = dict.fromkeys(text for texts in self.untranslated.values() for text in texts)
        return "\n".join(found)

    def look(self, page: pages.Page) -> None:
        """Note a page of a stranger."""
        if not OF_STRANGERS.match(page.address):
            return
        self.seen.add(page.heading)
        if found := outside(read_out(page.tree), self.data):
            self.untranslated.setdefault(page.heading, []).extend(found)


@contextmanager
def in_marked_words(app: Flask, data: Iterable[str], patch: pytest.MonkeyPatch) -> Iterator[Walk]:
    """Every page that is fetched meanwhile is in the marked language, and looked at.

    It is read without the marks, so that its buttons are pressed by the words that they have.
    """
    check, words = pages.check, pages.words
    with spoken_by(app) as marked:
        walk = Walk(marked, set(data))

        def check_and_look(page: pages.Page) -> None:
            check(page)
            walk.look(page)

        patch.setattr(pages, "check", check_and_look)
        patch.setattr(pages, "words", lambda element: plain(words(element)))
        yield walk
    assert walk.untranslated == {}, walk.all_untranslated
