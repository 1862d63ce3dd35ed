"""Every page of the route table in a browser, one after the other, as whoever asks for it."""

from collections.abc import Iterator

from playwright.sync_api import Browser, Error, Page

from tests.browser.conftest import SCREENS
from tests.web.every_address import address_of
from tests.web.everybody import Hall, begin_runs, cookies_of, lay, named
from tests.web.whole_desk import SMALL


def every_page(browser: Browser, hall: Hall, address: str) -> Iterator[tuple[str, Page]]:
    """The name of each page and the page, on a phone; what is no page but a file is passed over.

    Who may see them looks at one after the other in the same window.
    """
    begin_runs(hall, SMALL)
    windows: dict[tuple[str, ...], Page] = {}
    for rule in hall.desk.app.url_map.iter_rules():
        if "GET" not in (rule.methods or ()) or rule.alias:
            continue
        lay(hall, SMALL, rule.endpoint)
        who = cookies_of(rule.endpoint)
        if who not in windows:
            context = browser.new_context(base_url=address)
            reader = hall.desk.browser(hall.kind, *who)
            if cookie := reader.client.get_cookie("settingsdesk"):
                context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": address}])
            windows[who] = context.new_page()
        page = windows[who]
        page.set_viewport_size(SCREENS["phone"])
        if _is_page(page, address_of(hall, rule)):
            yield named(rule), page
    for page in windows.values():
        page.context.close()


def _is_page(page: Page, path: str) -> bool:
    """Go there; a file is downloaded, or is no HTML."""
    try:
        answer = page.goto(path)
    except Error as error:
        if "Download is starting" in error.message:
            return False
        raise
    return answer is not None and "text/html" in (answer.headers.get("content-type") or "")
