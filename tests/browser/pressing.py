"""Pressing what leads to a page: whoever reads after it reads the page it led to."""

from playwright.sync_api import Locator


def press(button_or_link: Locator) -> None:
    """Press a button or a link, and wait until the page it leads to is there, styles and all.

    A bare ``click`` is for what stays on the page: a line that unfolds, a way to a field, a file.
    """
    with button_or_link.page.expect_event("load"):
        button_or_link.click()
