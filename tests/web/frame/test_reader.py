"""The reader of pages itself."""

import re
from collections.abc import Iterator

import pytest
from flask import Flask

from tests.web.pages import NotAGoodPage, Reader


class TestTheReaderOfPages:
    """The checker itself: a check that lets everything pass is worth nothing."""

    GOOD = (
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        "<title>Bars</title></head><body>"
        '<a href="#main">Skip</a><main id="main"><h1>Bars</h1>{}</main></body></html>'
    )

    @pytest.fixture
    def app(self, app: Flask) -> Iterator[Flask]:
        """One of whose pages is exchanged, until the test is over."""
        sign_in = app.view_functions["accounts.sign_in"]
        yield app
        app.view_functions["accounts.sign_in"] = sign_in

    def read(self, app: Flask, html: str) -> None:
        """Serve this page and read it."""
        app.view_functions["accounts.sign_in"] = lambda: html
        Reader(app).get("/sign-in")

    def test_a_good_page_passes(self, app: Flask) -> None:
        self.read(app, self.GOOD.format("<p>Rails</p>"))

    @pytest.mark.parametrize(
        ("bad", "why"),
        [
            ("<p><div></div></p>", "line 1"),
            ("<h1>Two</h1>", "2 <h1>"),
            ("<p id='a'></p><p id='a'></p>", "ids used twice"),
            ("<input id='x' name='x'>", "no label"),
            ("<label for='x'>X</label><input id='x' placeholder='y'>", "placeholder"),
            ("<label for='nothing'>X</label>", "points at nothing"),
            ("<form method='post'></form>", "no token"),
            ("<a href='/nowhere'>x</a>", "leads nowhere"),
            ("<a href='#nowhere'>x</a>", "not on the page"),
            ("<p style='color:red'></p>", "inline"),
            ("<p onclick='x()'></p>", "inline"),
            ("<script>x()</script>", "inline script"),
            ("<button></button>", "without words"),
            ("<table><thead><tr><th scope='col'>A</th></tr></thead></table>", "captions"),
            ("<table><caption>A</caption><tbody><tr><th>A</th></tr></tbody></table>", "scopes"),
        ],
    )
    def test_a_page_that_breaks_a_rule_fails(self, app: Flask, bad: str, why: str) -> None:
        with pytest.raises(NotAGoodPage, match=re.escape(why)):
            self.read(app, self.GOOD.format(bad))

    @pytest.mark.parametrize(
        ("good", "bad"),
        [
            (' lang="en"', ""),
            ("width=device-width", "width=980"),
            ("<title>Bars", "<title>Rails"),
            ('href="#main"', 'href="/help"'),
        ],
    )
    def test_a_frame_that_breaks_a_rule_fails(self, app: Flask, good: str, bad: str) -> None:
        with pytest.raises(NotAGoodPage):
            self.read(app, self.GOOD.format("").replace(good, bad))
