"""WebKit, which every iPhone has, driven in a window that is as narrow and as bare as a phone."""

import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from subprocess import DEVNULL, PIPE, Popen
from urllib.parse import quote

import pytest
from selenium.common.exceptions import (
    ElementNotInteractableException,
    NoSuchElementException,
    NoSuchFrameException,
    StaleElementReferenceException,
    TimeoutException,
)
from selenium.webdriver import Remote
from selenium.webdriver.common.by import By
from selenium.webdriver.remote.client_config import ClientConfig
from selenium.webdriver.remote.remote_connection import RemoteConnection
from selenium.webdriver.remote.webelement import WebElement
from selenium.webdriver.support.wait import WebDriverWait
from selenium.webdriver.webkitgtk.options import Options
from selenium.webdriver.webkitgtk.service import Service

PATIENCE_S = 30
"""So long a test waits for what must come, on a busy machine too; not a promise to anybody."""
WIDTH_PX, HEIGHT_PX = 375, 667
"""Most iPhones of the years 2014 to 2022."""
NARROWEST_PX = 340
"""No window of it can be narrower than 334 px; at 320 px pages are looked at in Chromium."""

OPENS_A_BARE_WINDOW = (
    "<!doctype html><button onclick=\"open('about:blank', 'phone',"
    f" 'width={WIDTH_PX},height={HEIGHT_PX},toolbar=no,menubar=no,location=no')\">Open</button>"
)
"""The browser's own window has a bar of buttons, and can be no narrower than that: 447 px."""

MAIN = "return document.querySelector('main')?.innerText.replace(/\\s+/g, ' ') ?? ''"
HAS_COPY = """
    const told = arguments[arguments.length - 1];
    caches.match(location.pathname).then((one) => told(Boolean(one)), () => told(false));
"""
IS_AT_HAND = """
    const [button] = arguments;
    button.scrollIntoView({ block: "center", behavior: "instant" });
    const box = button.getBoundingClientRect();
    const there = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
    return button.contains(there);
"""
"""The page may scroll smoothly, and the driver would tap where the button stood before."""
HEADING = "return document.querySelector('h1')?.innerText ?? ''"


class NoWebKit(Exception):
    """It is not on this machine, or does not start."""


class WebKitPhone:
    """What a hand does on such a phone, and what its holder waits to see."""

    def __init__(self, driver: Remote, address: str):
        self.driver, self._address = driver, address

    def open(self, path: str) -> None:
        """Type an address, or scan it."""
        self.driver.get(self._address + path)

    def waits_for_copy(self) -> None:
        """Until it keeps a copy of what it shows."""
        self._until("no copy is kept", lambda: self.driver.execute_async_script(HAS_COPY))

    def load_anew(self) -> None:
        """Pull the page down, or press the arrow that goes round."""
        self.driver.refresh()

    def bring_cookie(self, name: str, value: str) -> None:
        """Be signed in by a cookie; what is open must be a page of the desk."""
        self.driver.add_cookie({"name": name, "value": value})

    def tap(self, words: str) -> None:
        """A button, a link or a line that unfolds, whatever comes of it."""
        self._until(f"no {words!r} to tap", lambda: self._tapped(words))

    def press(self, words: str) -> None:
        """The same where it leads to another page, which is waited for."""
        before = self.driver.find_element(By.TAG_NAME, "html")
        self.tap(words)
        self._until(f"{words!r} led to no other page", lambda: self._is_past(before))

    def fill(self, label: str, typed: str) -> None:
        """Type into the field of that label."""
        self._until(f"no field {label!r}", lambda: self._typed(label, typed))

    def tick(self, key: str) -> None:
        """The box to tick of that id."""
        self._until(f"no box {key!r}", lambda: self._ticked(key))

    def offers(self, words: str) -> bool:
        """Whether such a button is there now."""
        return bool(self._buttons(words))

    def waits_for_heading(self, words: str) -> None:
        """Until the page's heading has these words."""
        self._until(f"no heading {words!r}", lambda: words in self.heading)

    def waits_for(self, words: str) -> None:
        """Until these words can be read on the page."""
        self._until(f"{words!r} not shown", lambda: words in self.driver.execute_script(MAIN))

    def waits_until(self, expression: str) -> None:
        """Until that is true of the page."""
        self._until(expression, lambda: self.driver.execute_script(f"return {expression}"))

    @property
    def heading(self) -> str:
        return str(self.driver.execute_script(HEADING))

    def assert_no_sideways_scroll(self) -> None:
        """The page is read by scrolling in one direction only, in the narrowest window, too."""
        self.driver.set_window_size(NARROWEST_PX, HEIGHT_PX)
        self.waits_until(f"innerWidth === {NARROWEST_PX}")
        needs_px = self.driver.execute_script("return document.documentElement.scrollWidth")
        self.driver.set_window_size(WIDTH_PX, HEIGHT_PX)

        assert needs_px <= NARROWEST_PX, f"{self.driver.current_url} needs {needs_px} px"

    def _tapped(self, words: str) -> bool:
        for one in self._buttons(words):
            if one.is_enabled() and one.is_displayed() and self._is_at_hand(one):
                one.click()
                return True
        return False

    def _is_at_hand(self, button: WebElement) -> bool:
        return bool(self.driver.execute_script(IS_AT_HAND, button))

    def _typed(self, label: str, typed: str) -> bool:
        found = self.driver.find_element(
            By.XPATH, f"//label[starts-with(normalize-space(), '{label}')]"
        )
        self.driver.find_element(By.ID, found.get_attribute("for")).send_keys(typed)
        return True

    def _ticked(self, key: str) -> bool:
        box = self.driver.find_element(By.ID, key)
        if not box.is_selected():
            box.click()
        return True

    def _buttons(self, words: str) -> list[WebElement]:
        return self.driver.find_elements(
            By.XPATH, f"//*[self::button or self::a or self::summary][normalize-space()='{words}']"
        )

    def _is_past(self, page: WebElement) -> bool:
        try:
            page.is_enabled()
        except (NoSuchElementException, StaleElementReferenceException):
            return bool(self.driver.execute_script("return document.readyState === 'complete'"))
        return False

    def _until(self, otherwise: str, holds: Callable[[], bool]) -> None:
        """The page may be exchanged for another one in the middle of a look, or still scroll."""
        passing = (
            ElementNotInteractableException,
            NoSuchElementException,
            NoSuchFrameException,
            StaleElementReferenceException,
        )
        wait = WebDriverWait(self.driver, PATIENCE_S, 0.1, ignored_exceptions=passing)
        try:
            wait.until(lambda _driver: holds())
        except TimeoutException:
            pytest.fail(f"{otherwise}, on the page: {self.driver.execute_script(MAIN)}")


@contextmanager
def started() -> Iterator[Remote]:
    """One WebKit on a screen of its own, with a bare window in front."""
    driver, screens = shutil.which("WebKitWebDriver"), shutil.which("Xvfb")
    if driver is None or screens is None:
        raise NoWebKit("on Debian: apt-get install webkit2gtk-driver xvfb")
    with _screen(screens) as display:
        environment = {**os.environ, "DISPLAY": display, "WEBKIT_DISABLE_COMPOSITING_MODE": "1"}
        service = Service(driver, env=environment)
        try:
            service.start()
            at = ClientConfig(remote_server_addr=service.service_url)
            webkit = Remote(RemoteConnection(client_config=at), options=Options())
        except Exception as error:  # whatever keeps it from starting, such as a missing library
            service.stop()
            raise NoWebKit(f"it could not be started: {error}") from error
        try:
            _open_a_bare_window(webkit)
            yield webkit
        finally:
            webkit.quit()
            service.stop()


@contextmanager
def _screen(program: str) -> Iterator[str]:
    """A screen that nobody sees, under a number that no other has."""
    command = [program, "-displayfd", "1", "-screen", "0", "800x900x24", "-nolisten", "tcp"]
    with Popen(command, stdout=PIPE, stderr=DEVNULL) as running:
        assert running.stdout is not None
        try:
            yield f":{running.stdout.readline().decode().strip()}"
        finally:
            running.terminate()


def _open_a_bare_window(webkit: Remote) -> None:
    own = set(webkit.window_handles)
    webkit.get(f"data:text/html,{quote(OPENS_A_BARE_WINDOW)}")
    webkit.find_element(By.TAG_NAME, "button").click()
    WebDriverWait(webkit, PATIENCE_S, 0.1).until(lambda one: set(one.window_handles) - own)
    [bare] = set(webkit.window_handles) - own
    webkit.switch_to.window(bare)
