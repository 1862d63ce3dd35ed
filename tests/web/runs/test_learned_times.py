"""The page on which a coach looks at fitted times, and accepts them."""

import pytest

from tests.conftest import DemoClub
from tests.desk.runs.timed_evenings import (
    Bars,
    carried_out,
    setups,
    true_seconds,
    window_bars,
)
from tests.made_once import made_once
from tests.web.pages import Page, Reader


@pytest.fixture
def bars(demo_club: DemoClub) -> Bars:
    return window_bars(demo_club)


def on(pages: Reader, bars: Bars) -> Page:
    """The page, by the way a coach goes there."""
    return pages.get(f"/apparatus/models/{bars.model_id}").follow("What was timed at the apparatus")


@pytest.fixture
def timed(demo_club: DemoClub, bars: Bars, demo_pages: Reader) -> Page:
    """The page after two evenings, with one press that came too early."""

    def carry_out() -> None:
        stood = setups(48)
        carried_out(demo_club, bars, stood, true_seconds(bars, stood))
        carried_out(demo_club, bars, [(3, 4, 20), (4, 4, 20)], [0])

    made_once(demo_club.store, "two evenings, and a press", carry_out)
    return on(demo_pages, bars)


class TestBeforeAnything:
    def test_an_empty_page_says_how_to_get_there(self, demo_pages: Reader, bars: Bars) -> None:
        page = on(demo_pages, bars)

        assert "No change-over on this model has been timed yet" in page.text
        assert "To the rotations" in page.links
        assert not page.having("value", "Use the fitted times")

    def test_too_few_say_how_many_are_needed(
        self, demo_club: DemoClub, demo_pages: Reader, bars: Bars
    ) -> None:
        stood = setups(10)
        carried_out(demo_club, bars, stood, true_seconds(bars, stood))
        page = on(demo_pages, bars)

        assert "10 change-overs timed at the apparatus; 10 can be used." in page.text
        assert "change-overs that can be used are needed" in page.text
        assert "The present times stay in use; not all of them have been measured." in page.text

    def test_too_much_alike_names_what_is_missing(
        self, demo_club: DemoClub, demo_pages: Reader, bars: Bars
    ) -> None:
        stood = [(2 + n % 2 + n % 3 // 2, 4, 20) for n in range(40)]
        stood = [one for n, one in enumerate(stood) if not n or stood[n - 1] != one]
        carried_out(demo_club, bars, stood, true_seconds(bars, stood))

        assert "in which the low rail height stays as it is" in on(demo_pages, bars).text


class TestFitted:
    def test_present_and_fitted_times_stand_beside_each_other_with_their_errors(
        self, timed: Page
    ) -> None:
        assert "Every change-over, whatever is moved97120120.048" in timed.text
        assert "Mean error of the fitted times0.0 s" in timed.text
        assert "The fitted times are closer to what was timed" in timed.text
        assert "for 48 of 48 change-overs" in timed.text

    def test_the_picture_is_told_in_words(self, timed: Page) -> None:
        assert "Planned against actual time of 48 change-overs." in timed.text

    def test_what_was_left_out_stands_there_with_its_reason(self, timed: Page) -> None:
        assert "It took no time: confirmed at once, or the clock was put back" in timed.text

    def test_times_that_are_no_better_are_said_to_be_so(
        self, demo_club: DemoClub, demo_pages: Reader, bars: Bars
    ) -> None:
        """The present ones were right."""
        right = Bars(bars.id, bars.model_id, bars.model, bars.model)
        stood = setups(48)
        carried_out(demo_club, bars, stood, true_seconds(right, stood))

        assert "The fitted times are no better than the present ones" in on(demo_pages, bars).text


class TestAccepting:
    def test_one_press_gives_the_model_the_times(self, timed: Page) -> None:
        page = timed.send("Use the fitted times")

        assert page.heading == "Hall frame A"
        assert page.banners[0].startswith("Hall frame A has the fitted times (version 2).")
        assert "times fitted from 48 change-overs" in page.text
        assert "Measured" in page.text
        assert (
            "The model has the fitted times already"
            in page.follow("What was timed at the apparatus").text
        )

    def test_a_second_press_is_harmless(self, timed: Page) -> None:
        timed.send("Use the fitted times")
        page = timed.send("Use the fitted times")

        assert page.heading == "Hall frame A"
        assert "(version 2)" in page.banners[0]

    @pytest.mark.parametrize("carried", [{"version": "x"}, {"version": "9" * 40}, {"seen": "1-2"}])
    def test_what_was_spoilt_on_the_way_is_refused_and_changes_nothing(
        self, timed: Page, demo_pages: Reader, bars: Bars, carried: dict[str, str]
    ) -> None:
        page = timed.send("Use the fitted times", **carried)

        assert page.status == 409
        assert "Nothing was changed" in page.text
        assert "Use the fitted times" in on(demo_pages, bars).text
