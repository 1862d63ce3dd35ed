"""A coach's own list, looked at on a phone."""

from pathlib import Path

import pytest
from flask import Flask

from tests.browser.conftest import OpenPage
from tests.browser.looks import assert_accessible, assert_no_sideways_scroll, assert_targets
from tests.conftest import Account

LIST = (
    "Name;Vorname;Gruppe;Holm unten (cm);Holm oben (cm);Weite (cm);Toleranz\n"
    f"Auermann;Lotte;Kür 1;160-165;2,45;170;1\n{'A' * 90};Maite;;165;245;170;1\n"
)
OURS = (
    "Family name;Given name;Group;Model;Low rail height (cm);High rail height (cm);Reason\n"
    f"Auermann;Lotte;Kür 1;Hall frame Z;160-165;245;{'long ' * 30}\n{'A' * 90};Maite;;;;;\n"
)


@pytest.fixture
def app(app_of_one_club: Flask) -> Flask:
    """The desk of a club that has nothing yet."""
    return app_of_one_club


@pytest.fixture
def account(one_club: tuple[Path, Account]) -> Account:
    return one_club[1]


@pytest.mark.parametrize("content", [LIST, OURS], ids=["any list", "our own columns"])
def test_every_reason_can_be_read_without_moving_the_page_sideways(
    open_page: OpenPage, content: str
) -> None:
    page = open_page("/sheets/")
    page.set_input_files(
        "input[type=file]",
        {"name": "list.csv", "mimeType": "text/csv", "buffer": content.encode()},
    )
    page.get_by_role("button", name="Check the sheet").click()
    page.wait_for_url("**/sheets/lists/**")
    if content == LIST:
        page.locator("summary").filter(has_text="Where lengths are measured").click()
    assert_accessible(page)
    assert_targets(page, 44)
    assert_no_sideways_scroll(page, 320)


def test_while_a_list_is_read_the_page_says_so(open_page: OpenPage) -> None:
    """A list of thousands takes seconds: nobody should press again, or think that it hangs."""
    page = open_page("/sheets/")
    page.set_input_files(
        "input[type=file]",
        {
            "name": "list.csv",
            "mimeType": "text/csv",
            "buffer": LIST.encode(),
        },
    )
    # The press as it is, and no answer to it: what stands there meanwhile is looked at.
    page.evaluate("window.addEventListener('submit', (event) => event.preventDefault())")
    page.get_by_role("button", name="Check the sheet").click()
    told = page.get_by_role("status").filter(has_text="Reading the sheet.")
    told.wait_for(timeout=5000)
    assert page.get_by_role("progressbar", name="Reading the sheet.").is_visible()
    page.get_by_text("1 s", exact=True).wait_for(timeout=5000)
    assert_accessible(page)
    assert_no_sideways_scroll(page, 320)
