"""A real browser on a real server. Nothing of it leaves this machine.

Where there is no Chromium these tests are skipped and say so; with SETTINGSDESK_REQUIRE_BROWSER=1
they fail instead. So it is with those in WebKit, and SETTINGSDESK_REQUIRE_WEBKIT=1.
"""

import os
import shutil
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import pytest
from flask import Flask
from flask.testing import FlaskClient
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright
from selenium.webdriver import Remote
from werkzeug.serving import make_server
from werkzeug.test import Cookie

from settingsdesk.config import DataFolder
from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.stations import stations
from settingsdesk.domain.settings.card import Card
from settingsdesk.store.work import Store
from settingsdesk.web.app import new_desk
from settingsdesk.web.frame.work import OURS, code_key
from tests.browser.at_station import NOT_OURS, Phone
from tests.browser.pressing import press
from tests.browser.webkit import NoWebKit, WebKitPhone
from tests.browser.webkit import started as webkit_started
from tests.conftest import APPLICATIONS, Account, Clock, DemoClub
from tests.desk.sample_meet import SmallMeet, checked_before_use, hold
from tests.web.conftest import signed_in

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIEnvironment

HERE = Path(__file__).parent
STAY_ON_THIS_MACHINE = "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1"
CHROMIUMS = ("chromium-headless-shell", "chromium", "chromium-browser")
"""The first of them that is here is taken. They are one browser, built from one source; the shell
has no windows, bars and menus around its pages, which cost more than the pages do.
"""
DRAW_PLAINLY = "--disable-gpu"
"""Without a graphics card Chromium plays one, for a seventh of all that its pages cost."""
DRAW_AT_HOME = "--in-process-gpu"
"""What pages draw is put together by the browser itself, and not by a process beside it."""
SCREENS = {
    "phone": {"width": 360, "height": 740},
    "tablet": {"width": 820, "height": 1180},
    "desktop": {"width": 1280, "height": 900},
}

A_MOMENT_S = 0.05
PATIENCE_MS = 30_000
"""So long a test waits for what must come, on a busy machine too; not a promise to anybody."""

OpenPage = Callable[..., Page]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark the tests of this folder."""
    for item in items:
        if HERE in item.path.parents:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One Chromium for the whole run."""
    chromium = next(filter(None, map(shutil.which, CHROMIUMS)), None)
    if chromium is None:
        _cannot("BROWSER", f"there is no chromium here (on Debian: apt-get install {CHROMIUMS[0]})")
    try:
        playwright = sync_playwright().start()
        started = playwright.chromium.launch(
            executable_path=chromium, args=[STAY_ON_THIS_MACHINE, DRAW_PLAINLY, DRAW_AT_HOME]
        )
    except Exception as error:  # whatever keeps it from starting, such as a missing library
        _cannot("BROWSER", f"the browser could not be started: {error}")
    expect.set_options(timeout=PATIENCE_MS)
    yield started
    started.close()
    playwright.stop()


@pytest.fixture(scope="session")
def webkit() -> Iterator[Remote]:
    """One WebKit for the whole run, with a window of a phone's width."""
    with ExitStack() as until_the_end:
        try:
            driver = until_the_end.enter_context(webkit_started())
        except NoWebKit as error:
            _cannot("WEBKIT", f"there is no WebKit here: {error}")
        yield driver


def _cannot(what: str, why: str) -> NoReturn:
    if os.environ.get(f"SETTINGSDESK_REQUIRE_{what}") == "1":
        pytest.fail(why)
    pytest.skip(why)


@pytest.fixture
def app(demo_app: Flask) -> Flask:
    """The desk of these stories has the demo club on it."""
    return demo_app


@pytest.fixture
def app_of_one_club(data: DataFolder, store: Store, clock: Clock) -> Iterator[Flask]:
    """A desk for stories that begin with one club that has nothing yet."""
    with APPLICATIONS.lent(new_desk(data, store, clock=clock)) as app:
        yield app


@pytest.fixture
def account(demo_club: DemoClub) -> Account:
    """The coach of the demo club."""
    return demo_club.account


class SlowLine:
    """The application on a line on which what a press leads to comes a moment late.

    The page before it is gone by then: a test that reads without waiting fails each time, and not
    once in a hundred.
    """

    def __init__(self, app: Flask):
        self._app = app
        self._changed = threading.Condition()
        self._answering, self._is_cut = 0, False

    def __call__(self, environ: "WSGIEnvironment", start: "StartResponse") -> Iterator[bytes]:
        with self._changed:
            if self._is_cut:
                raise ConnectionAbortedError
            self._answering += 1
        try:
            with closing(self._app(environ, start)) as body:
                if "HTTP_SEC_FETCH_USER" in environ:  # somebody pressed something
                    yield b""  # sends the head, on which the browser leaves the page before
                    time.sleep(A_MOMENT_S)
                yield from body
        finally:
            with self._changed:
                self._answering -= 1
                self._changed.notify_all()

    def cut(self) -> None:
        """Let nothing more through: the application is for the next test now."""
        with self._changed:
            self._is_cut = True
            self._changed.wait_for(lambda: not self._answering)


class Served:
    """The application on this machine, at an address that stays when it is stopped and started."""

    def __init__(self, app: Flask):
        self._app, self._port = app, 0
        self.start()

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self._port}"

    def start(self) -> None:
        self._line = SlowLine(self._app)
        self._server = make_server("127.0.0.1", self._port, self._line, threaded=True)
        self._port = self._server.server_port
        self._thread = threading.Thread(
            target=self._server.serve_forever, kwargs={"poll_interval": 0.02}
        )
        self._thread.start()

    def stop(self) -> None:
        """Whoever asks from now on finds nobody there, and whoever asked before was answered."""
        self._server.shutdown()
        self._thread.join()
        self._server.server_close()
        self._line.cut()


@pytest.fixture
def served(app: Flask) -> Iterator[Served]:
    """The application, until a test stops it."""
    one = Served(app)
    yield one
    one.stop()


@pytest.fixture
def address(served: Served) -> str:
    """Where it is."""
    return served.address


@pytest.fixture
def open_page(browser: Browser, app: Flask, address: str, account: Account) -> Iterator[OpenPage]:
    """Opens a page of the desk as its coach, on a screen and in a light of one's choice.

    ``open_page("/athletes/", screen="phone", light="dark", script=False, stranger=True)``; further
    settings go to the browser's context. What the page says on the console fails the test, but
    for what is ``expected`` there, as where the test cuts the network.
    """
    contexts, said = [], []

    def open_one(
        path: str,
        *,
        screen: str = "phone",
        light: str = "light",
        script: bool = True,
        stranger: bool = False,
        expected: tuple[str, ...] = (),
        **settings: object,
    ) -> Page:
        context = browser.new_context(
            base_url=address,
            viewport=SCREENS[screen],
            color_scheme=light,
            java_script_enabled=script,
            **settings,
        )
        context.set_default_timeout(PATIENCE_MS)
        contexts.append(context)
        if not stranger:
            bring_cookie(context, app, address, account)
        page = context.new_page()

        def hear(words: str) -> None:
            if not any(one in words for one in expected):
                said.append(words)

        page.on("console", lambda message: hear(message.text))
        page.on("pageerror", lambda error: hear(str(error)))
        page.goto(path)
        return page

    yield open_one
    for context in contexts:
        context.close()
    # That a page was refused is told by the page itself; everything else is a fault of ours.
    assert [words for words in said if "responded with a status of 4" not in words] == []


def bring_cookie(context: BrowserContext, app: Flask, address: str, account: Account) -> None:
    """Sign a coach in without the page for it."""
    _put(context, address, _cookie_of(app, account))


def _put(context: BrowserContext, address: str, cookie: Cookie) -> None:
    context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": address}])


def _cookie_of(app: Flask, account: Account) -> Cookie:
    return _cookie_in(signed_in(app, account).client)


def _cookie_of_phone(app: Flask, codes: stations.StationCodes, name: str) -> Cookie:
    with app.test_request_context():
        ink = code_key()
    let_in = stations.let_in(app.extensions[OURS].store, ink, codes.short_code, name)
    client = app.test_client()
    with client.session_transaction() as cookie:
        cookie["station"], cookie.permanent = let_in.stamp, True
    return _cookie_in(client)


def _cookie_in(client: FlaskClient) -> Cookie:
    cookie = client.get_cookie("settingsdesk")
    assert cookie is not None
    return cookie


@pytest.fixture
def iphone(webkit: Remote, address: str) -> Iterator[WebKitPhone]:
    """A phone with WebKit, of somebody without an account."""
    yield WebKitPhone(webkit, address)
    webkit.delete_all_cookies()
    webkit.get("about:blank")


@pytest.fixture
def iphone_of_coach(iphone: WebKitPhone, app: Flask, account: Account) -> WebKitPhone:
    """The same, with the coach signed in."""
    cookie = _cookie_of(app, account)
    iphone.open("/help")
    iphone.bring_cookie(cookie.key, cookie.value)
    return iphone


@pytest.fixture
def held(demo_club: DemoClub) -> SmallMeet:
    return hold(demo_club)


@pytest.fixture
def made_in_the_desk(demo_club: DemoClub, held: SmallMeet) -> None:
    """The check before use is made in the desk."""
    checked_before_use(demo_club, held.apparatus_id)


@pytest.fixture
def codes(
    app: Flask, demo_club: DemoClub, held: SmallMeet, made_in_the_desk: None
) -> stations.StationCodes:
    with app.test_request_context():
        ink = code_key()
    with demo_club.work(writes=True) as session:
        one = stations.open_station(session, ink, held.session_id, held.apparatus_id)
        return stations.codes(session, ink, one.id)


@pytest.fixture
def printed(app: Flask, demo_club: DemoClub, held: SmallMeet) -> list[Card]:
    """A card of each, in their order."""
    with app.test_request_context():
        ink = code_key()
    ids = [guest.member.id for guest in held.guests]
    with demo_club.work(writes=True) as session:
        return desk_issued.issue(session, ink, held.apparatus_id, ids)


@pytest.fixture
def phone(
    browser: Browser, app: Flask, address: str, codes: stations.StationCodes
) -> Iterator[Phone]:
    """Lets one phone after the other in, each a browser of its own.

    They are in at once, or come by the code as volunteers do where a story says ``by_code``.
    """
    contexts, said = [], []

    def come_in(name: str, *, by_code: bool = False, screen: str = "phone", **also: object) -> Page:
        context = browser.new_context(base_url=address, viewport=SCREENS[screen], **also)
        context.set_default_timeout(PATIENCE_MS)
        contexts.append(context)
        if not by_code:
            _put(context, address, _cookie_of_phone(app, codes, name))
        page = context.new_page()
        page.on("console", lambda message: said.append(message.text))
        page.on("pageerror", lambda error: said.append(str(error)))
        if by_code:
            page.goto("/S/" + codes.url.rpartition("/")[2])
            page.get_by_label("The name your crew uses").fill(name)
            press(page.get_by_role("button", name="Join"))
        else:
            page.goto("/station/now")
        return page

    yield come_in
    for context in contexts:
        context.close()
    assert [words for words in said if not any(one in words for one in NOT_OURS)] == []
