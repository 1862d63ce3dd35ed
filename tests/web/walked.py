"""A way through pages that many tests begin with: walked once in a process, then copied."""

from collections.abc import Callable, Hashable

from settingsdesk.web.frame.work import OURS
from tests.made_once import made_once
from tests.web.pages import Page, Reader


def walked(reader: Reader, what: Hashable, walk: Callable[[Reader], Page]) -> Page:
    """The page at the end of the walk that ``what`` names, as it is when it is opened again.

    The reader has asked for nothing yet. Whoever comes to a desk with the same content as the first
    has what the first left there, on the desk and in the cookie.
    """

    def at_its_end() -> tuple[str, dict[str, object]]:
        page = walk(reader)
        with reader.client.session_transaction() as cookie:
            return page.address, dict(cookie)

    address, kept = made_once(reader.app.extensions[OURS].store, what, at_its_end)
    reader.client = reader.app.test_client()
    with reader.client.session_transaction() as cookie:
        cookie.update(kept)
    return reader.get(address)
