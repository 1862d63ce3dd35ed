"""The picture of a calibration: what it shows must be what the residuals are."""

import pytest

from settingsdesk.domain.base.drawing import Circle, Drawing, Line, Text
from settingsdesk.domain.hall.calibration import Calibration, TapedStop, calibrate
from settingsdesk.domain.hall.residual_plot import residual_plot
from settingsdesk.domain.hall.scales import ContinuousScale, RegularScale

HOLES = RegularScale(first_mm=1500, pitch_mm=50, stops=9)


def taken(off_mm: dict[int, float], left_out: tuple[int, ...] = ()) -> Calibration:
    """A calibration of stops that lie off the printed scale by so much."""
    taped = [TapedStop(stop, 1500 + 50 * stop + off) for stop, off in off_mm.items()]
    return calibrate(HOLES, taped, left_out)


def circles(drawing: Drawing) -> list[Circle]:
    return [shape for shape in drawing.shapes if isinstance(shape, Circle)]


class TestPoints:
    def test_each_reading_stands_where_its_residual_says(self) -> None:
        """All heights are the residuals, enlarged by one and the same factor."""
        calibration = taken({0: 1, 2: -2, 4: 2, 8: -1})
        points = circles(residual_plot(calibration))

        factors = [
            point.y_mm / residual
            for point, residual in zip(points, calibration.residuals_mm, strict=True)
        ]
        assert factors == [pytest.approx(factors[0])] * 4
        assert factors[0] > 0

    def test_stops_stand_from_left_to_right_as_far_apart_as_on_the_scale(self) -> None:
        xs = [point.x_mm for point in circles(residual_plot(taken({0: 0, 2: 1, 8: 0})))]

        assert (xs[1] - xs[0]) * 3 == pytest.approx(xs[2] - xs[1])

    def test_a_reading_left_out_is_hollow(self) -> None:
        """It is seen that it was taken, and that it does not count."""
        points = circles(residual_plot(taken({0: 0, 2: 0, 4: 25, 6: 0, 8: 0}, left_out=(4,))))

        assert [point.filled for point in points] == [True, True, False, True, True]

    def test_the_mark_of_a_stop_that_does_not_fit_is_bold(self) -> None:
        drawing = residual_plot(taken({0: 0, 1: 1, 2: 0, 3: -1, 4: 25, 6: 0, 8: 1}))

        bold = [shape.text for shape in drawing.shapes if isinstance(shape, Text) and shape.bold]
        assert bold == ["5"]


class TestFrame:
    @pytest.mark.parametrize("greatest_mm", [0, 0.5, 8, 90, 5000])
    def test_everything_is_inside_however_large_the_residuals(self, greatest_mm: float) -> None:
        drawing = residual_plot(taken({0: 0, 1: greatest_mm, 4: -greatest_mm, 8: 0}, (1, 4, 8)[:1]))

        top_mm = drawing.bottom_mm + drawing.height_mm
        right_mm = drawing.left_mm + drawing.width_mm
        for shape in drawing.shapes:
            if isinstance(shape, Line):
                assert drawing.bottom_mm <= min(shape.y1_mm, shape.y2_mm)
                assert max(shape.y1_mm, shape.y2_mm) <= top_mm
                assert drawing.left_mm <= shape.x1_mm
                assert shape.x2_mm <= right_mm

    def test_readings_all_alike_have_a_zero_line_and_no_division_by_nothing(self) -> None:
        drawing = residual_plot(taken({0: 2, 4: 2, 8: 2}))

        solid = [one for one in drawing.shapes if isinstance(one, Line) and one.x1_mm != one.x2_mm]
        assert [(line.y1_mm, line.dashed) for line in solid if not line.dashed] == [(0, False)]

    def test_marks_that_would_overlap_are_left_away(self) -> None:
        """Of neighbouring millimetres of a ruler only some are written."""
        ruler = ContinuousScale(1300, 1900, 10)
        taped = [TapedStop(stop, 1300 + 10 * stop) for stop in (0, 1, 2, 3, 60)]
        drawing = residual_plot(calibrate(ruler, taped))

        texts = [shape.text for shape in drawing.shapes if isinstance(shape, Text)]
        assert "130.0" in texts
        assert "131.0" not in texts
        assert "190.0" in texts

    def test_it_says_in_words_what_it_shows(self) -> None:
        """Who cannot see the picture hears every residual."""
        words = residual_plot(taken({0: 0, 4: 0, 8: 0})).in_words

        assert words == (
            "Residuals of 3 taped marks: mark 1 +0.0 mm, mark 5 +0.0 mm, mark 9 +0.0 mm."
        )
