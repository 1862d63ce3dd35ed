"""The page of fitted times in a real browser."""

import pytest

from tests.browser.conftest import OpenPage
from tests.browser.looks import (
    assert_accessible_in_every_light,
    assert_focus_is_seen,
    assert_no_sideways_scroll,
    assert_targets,
)
from tests.browser.pressing import press
from tests.conftest import DemoClub
from tests.desk.runs.timed_evenings import (
    Bars,
    carried_out,
    setups,
    true_seconds,
    window_bars,
)


@pytest.fixture
def bars(demo_club: DemoClub) -> Bars:
    """Bars on which two evenings were timed, now and then with a talk in between."""
    bars = window_bars(demo_club)
    stood = setups(48)
    took_s = [seconds + 7 * (n % 5) for n, seconds in enumerate(true_seconds(bars, stood))]
    carried_out(demo_club, bars, stood, took_s)
    carried_out(demo_club, bars, [(3, 4, 20), (4, 4, 20), (3, 4, 20)], [0, 900])
    return bars


class TestTimes:
    def test_they_are_looked_at_and_accepted_on_a_phone(
        self, open_page: OpenPage, bars: Bars
    ) -> None:
        page = open_page(f"/apparatus/models/{bars.model_id}/times", script=False)

        press(page.get_by_role("button", name="Use the fitted times"))
        assert page.get_by_role("heading", level=1).inner_text() == "Hall frame A"

    def test_the_page_is_accessible_narrow_and_easy_to_press(
        self, open_page: OpenPage, bars: Bars
    ) -> None:
        page = open_page(f"/apparatus/models/{bars.model_id}/times")

        assert_accessible_in_every_light(page)
        assert_targets(page)
        assert_no_sideways_scroll(page)
        assert_focus_is_seen(page)
