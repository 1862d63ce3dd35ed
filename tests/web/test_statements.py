"""How many statements each page and each press asks the database, in a small club and a large."""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass, replace
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import urlsplit
from xml.etree.ElementTree import Element, TreeBuilder

import pytest
from flask import Flask
from sqlalchemy import Engine, event
from werkzeug.routing import Rule
from werkzeug.test import TestResponse

from settingsdesk.web.frame.work import OURS
from tests.conftest import DemoClub, once_in_a_run
from tests.web.every_address import address_of
from tests.web.every_press import PRESSES
from tests.web.everybody import Hall, begin_runs, lay, named
from tests.web.pages import Page, Reader
from tests.web.spoilt_fields import every_way, spoiling
from tests.web.whole_desk import LARGE, SMALL, furnished

MOST_OF_A_PAGE = 25
MOST_OF_A_PRESS = 40
"""Together with the page that comes after it."""

VOID = frozenset({"area", "br", "col", "hr", "img", "input", "link", "meta", "source", "wbr"})


class Presser(Reader):
    """A browser that counts what its last press asked.

    It reads a page only so far that its forms can be pressed: other tests look whether it is a
    good one, and a name for each of thousands would take its time.
    """

    def __init__(self, app: Flask):
        super().__init__(app)
        self.pressed = ""
        self.asked: list[str] = []

    def post(self, address: str, values: dict[str, object]) -> Page:
        rules = self.app.url_map.bind("localhost")
        self.pressed, _ = rules.match(urlsplit(address).path, "POST")
        with statements() as self.asked:
            return super().post(address, values)

    def _page(self, response: TestResponse) -> Page:
        parser = Forms()
        if response.mimetype == "text/html":
            parser.feed(response.text)
        return Page(self, response, parser.tree())


class Forms(HTMLParser):
    """The elements of a page that ends what it begins."""

    def __init__(self) -> None:
        super().__init__()
        self._building, self._open = TreeBuilder(), ["page"]
        self._building.start("page", {})

    def tree(self) -> Element:
        """What was read."""
        while self._open:
            self._building.end(self._open.pop())
        return self._building.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._building.start(tag, {name: value or "" for name, value in attrs})
        if tag in VOID:
            self._building.end(tag)
        else:
            self._open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._building.start(tag, {name: value or "" for name, value in attrs})
        self._building.end(tag)

    def handle_endtag(self, tag: str) -> None:
        while tag in self._open and self._building.end(self._open.pop()).tag != tag:
            pass

    def handle_data(self, data: str) -> None:
        self._building.data(data)


@contextmanager
def statements() -> Iterator[list[str]]:
    """Every statement that any database is asked meanwhile."""
    asked: list[str] = []

    def note(_connection: object, _cursor: object, statement: str, *_: object) -> None:
        asked.append(statement)

    event.listen(Engine, "before_cursor_execute", note)
    yield asked
    event.remove(Engine, "before_cursor_execute", note)


Numbers = dict[str, list[int]]
"""How many statements each name asked, on the small desk and on the large one."""


@dataclass(frozen=True)
class Counted:
    """Every page and every press there is, by endpoint."""

    endpoints: list[str]
    pages: Numbers
    presses: Numbers
    faults: list[str]


@pytest.fixture
def counted(
    demo_club: DemoClub, demo_app: Flask, tmp_path: Path, tmp_path_factory: pytest.TempPathFactory
) -> Counted:
    """Counted once in a run: whichever process comes first does it, and the others wait for it."""

    def count(file: Path) -> None:
        found = _count(Hall(furnished(demo_club, demo_app, tmp_path), Presser))
        file.write_text(json.dumps(asdict(found)))

    return Counted(**json.loads(once_in_a_run(tmp_path_factory, "counted", count).read_text()))


def _count(hall: Hall) -> Counted:
    app = hall.desk.app
    pages: Numbers = {}
    presses: Numbers = {}
    faults: list[str] = []
    ways = every_way()
    for size in (SMALL, LARGE):
        begin_runs(hall, size)
        for rule in app.url_map.iter_rules():
            if "GET" in (rule.methods or ()) and not rule.alias:
                lay(hall, size, rule.endpoint)
                pages.setdefault(named(rule), []).append(_asked_by_page(hall, rule))
                app.extensions[OURS].searches.close()
        for name, press in PRESSES.items():
            lay(hall, size, name)
            once = size == SMALL
            at = replace(hall, kind=spoiling(hall, name, faults, ways)) if once else hall
            presses.setdefault(name, []).append(_asked_by_press(press(at), name))
            app.extensions[OURS].searches.close()
    taken = (rule for rule in app.url_map.iter_rules() if "POST" in (rule.methods or ()))
    return Counted([named(rule) for rule in taken], pages, presses, faults)


def _asked_by_page(hall: Hall, rule: Rule) -> int:
    address = address_of(hall, rule)
    reader = hall.reader_of(rule.endpoint)
    with statements() as asked, reader.client.get(address) as answer:
        pass
    assert answer.status_code == 200, f"{rule.endpoint} at {address}"
    return len(asked)


def _asked_by_press(page: Page, name: str) -> int:
    """What the last press on the way to that page asked; it must be the one that is meant."""
    reader = page.reader
    assert isinstance(reader, Presser)
    assert (reader.pressed, page.status, page.mistakes) == (name.partition(":")[0], 200, []), name
    return len(reader.asked)


def over(numbers: Numbers, most: int) -> dict[str, list[int]]:
    """Those that ask more than they may."""
    return {name: asked for name, asked in numbers.items() if max(asked) > most}


class TestStatements:
    def test_every_press_is_counted(self, counted: Counted) -> None:
        """A new route needs an entry in ``PRESSES``: it says what a person would type."""
        pressed = counted.presses.keys() | {name.partition(":")[0] for name in counted.presses}
        assert set(counted.endpoints) - pressed == set()

    def test_a_field_that_is_missing_or_spoilt_is_no_fault_of_the_desk(
        self, counted: Counted
    ) -> None:
        """Each field of each form left out, and sent twice, far too long, or of signs that nobody
        types, one after the other: what is left is refused in a line, or is enough."""
        assert counted.faults == []

    def test_a_large_club_asks_no_more_than_a_small_one(self, counted: Counted) -> None:
        """One for each athlete, and a page grows slow with the club."""
        every = counted.pages | {f"{name}, pressed": n for name, n in counted.presses.items()}
        growing = {name: asked for name, asked in every.items() if len(set(asked)) > 1}
        assert growing == {}

    def test_no_page_asks_more_than_it_may(self, counted: Counted) -> None:
        assert over(counted.pages, MOST_OF_A_PAGE) == {}

    def test_no_press_asks_more_than_it_may(self, counted: Counted) -> None:
        assert over(counted.presses, MOST_OF_A_PRESS) == {}
