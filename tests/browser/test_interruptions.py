"""A run on two phones holds through whatever a hall does to it; two hundred in scripts/bench."""

import random
from collections.abc import Iterator

import pytest

from settingsdesk.desk.runs import run as desk_run
from tests.browser.conftest import OpenPage
from tests.browser.interruptions import RUN_ID, Interruptions
from tests.browser.pressing import press
from tests.browser.served_desk import ServedDesk
from tests.browser.test_live_pages import CUT_OFF, RUN
from tests.conftest import DemoClub

INTERRUPTIONS = 20


@pytest.fixture
def served(demo_club: DemoClub) -> Iterator[ServedDesk]:
    """The demo club's desk in a process of its own."""
    desk = ServedDesk(demo_club.data.database.parent)
    desk.start()
    yield desk
    desk.kill()


@pytest.fixture
def address(served: ServedDesk) -> str:
    """Where that desk is."""
    return served.address


class TestARunOfTwelveOnTwoPhones:
    def test_after_each_interruption_both_show_what_is_true_and_nobody_is_on_unchecked(
        self, open_page: OpenPage, served: ServedDesk, demo_club: DemoClub
    ) -> None:
        one = open_page("/rotations/1", expected=CUT_OFF)
        press(one.get_by_role("button", name="Take it to the bars"))
        other = open_page(RUN, expected=CUT_OFF)
        hall = Interruptions(served, demo_club, (one, other), random.Random(7))  # noqa: S311 - no secret

        for _ in range(INTERRUPTIONS):
            hall.one()
        with demo_club.work() as session:
            assert desk_run.run(session, RUN_ID).run.over
