"""The square aid in a real browser, on the phone of whoever holds the tape."""

from pathlib import Path

import pytest
from flask import Flask

from settingsdesk.store.work import Store
from tests.browser.conftest import OpenPage
from tests.browser.looks import (
    assert_accessible_in_every_light,
    assert_no_sideways_scroll,
    assert_targets,
)
from tests.conftest import Account
from tests.desk.sample_hall import furnish

TAPED = (
    "?feet-along=300&feet-across=400&feet-to_back=500.3&feet-to_front=499.7&feet-limit=0.3"
    "&do=diagonals"
)


@pytest.fixture
def app(app_of_one_club: Flask) -> Flask:
    """The desk of one club."""
    return app_of_one_club


@pytest.fixture
def account(one_club: tuple[Path, Account]) -> Account:
    return one_club[1]


class TestTheSquareAid:
    def test_what_was_found_can_be_read_on_a_phone_without_scripts(
        self, open_page: OpenPage, store: Store, account: Account
    ) -> None:
        """Result, picture and both forms, at the narrowest width as well."""
        hall = furnish(store, account.club_id)
        page = open_page(f"/apparatus/{hall.bars}/square/{TAPED}", script=False)

        assert page.get_by_role("heading", name="too far to the back").is_visible()
        assert_targets(page, 44)
        assert_no_sideways_scroll(page, 320)

    def test_it_is_accessible(self, open_page: OpenPage, store: Store, account: Account) -> None:
        hall = furnish(store, account.club_id)
        assert_accessible_in_every_light(open_page(f"/apparatus/{hall.bars}/square/{TAPED}"))
