"""The picture of planned against actual times: what it shows must be what was timed."""

import pytest

from settingsdesk.domain.base.drawing import Box, Circle, Line, Text
from settingsdesk.domain.times.time_fit import Compared, TimesFit
from settingsdesk.domain.times.time_plot import time_plot
from settingsdesk.domain.times.timed import TimedChangeOver


@pytest.fixture(scope="module")
def picture_of(bars):
    """The picture of change-overs given as (actual, by the present times, by the fitted ones)."""

    def picture(*seconds: tuple[int, int, int]):
        compared = [
            Compared(TimedChangeOver((0, 0, 0), (1, 0, 0), 1, actual), present, fitted)
            for actual, present, fitted in seconds
        ]
        return time_plot(TimesFit(bars, (), tuple(compared)))

    return picture


def circles(picture) -> list[tuple[float, float]]:
    """The middles of the marks of the present times, without the one of the legend."""
    return [(s.x_mm, s.y_mm) for s in picture.shapes if isinstance(s, Circle)][:-1]


def squares(picture) -> list[tuple[float, float]]:
    """The middles of the marks of the fitted times, without the one of the legend."""
    return [
        (s.x_mm + s.width_mm / 2, s.y_mm + s.height_mm / 2)
        for s in picture.shapes
        if isinstance(s, Box)
    ][:-1]


class TestMarks:
    def test_a_plan_that_was_right_stands_on_the_diagonal(self, picture_of) -> None:
        picture = picture_of((100, 60, 100), (50, 50, 40))

        (x, y), (fx, fy) = circles(picture)[1], squares(picture)[0]
        assert x == pytest.approx(y)
        assert fx == pytest.approx(fy)

    def test_both_marks_of_a_change_over_stand_at_the_time_it_took(self, picture_of) -> None:
        """To the left of the diagonal it took longer than planned; a length is a time."""
        picture = picture_of((100, 60, 90), (50, 50, 40))
        (circle, _), (square, _) = circles(picture), squares(picture)

        assert circle[1] == pytest.approx(square[1])
        assert circle[0] / circle[1] == pytest.approx(0.6)
        assert square[0] / square[1] == pytest.approx(0.9)

    def test_the_marks_differ_by_shape_and_the_legend_says_how(self, picture_of) -> None:
        """On paper, and for whoever does not see the colours."""
        picture = picture_of((100, 60, 90))
        words = [s.text for s in picture.shapes if isinstance(s, Text)]

        assert len(circles(picture)) == len(squares(picture)) == 1
        assert words[-2:] == ["present times", "fitted times"]


class TestFrame:
    @pytest.mark.parametrize("longest_s", [1, 29, 30, 31, 119, 700, 3600, 20_000])
    def test_everything_is_inside_whatever_the_longest_time(
        self, picture_of, longest_s: int
    ) -> None:
        picture = picture_of((longest_s, 1, 2), (1, longest_s, 2))
        top = picture.bottom_mm + picture.height_mm

        for x, y in circles(picture) + squares(picture):
            assert 0 <= x <= picture.left_mm + picture.width_mm
            assert 0 <= y <= top
        diagonal = [
            s for s in picture.shapes if isinstance(s, Line) and s.x1_mm != s.x2_mm != s.y1_mm
        ]
        assert any(line.x2_mm == line.y2_mm and not line.dashed for line in diagonal)

    def test_it_says_in_words_what_it_shows(self, picture_of) -> None:
        assert picture_of((100, 60, 90), (50, 50, 40)).in_words == (
            "Planned against actual time of 2 change-overs. By the present times the plan is off by"
            " 20.0 s on average, by the fitted times by 10.0 s; these are nearer for 1 of them."
        )
