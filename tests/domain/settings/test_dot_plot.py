"""The dot plot of the squad's settings: every athlete a dot, at the right place of the ruler."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.domain.base.drawing import Circle, Drawing, Line, Text
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.settings.dot_plot import RADIUS, DotAxis, dot_plot, named_plot

DATUM = "upper edge of the rail, above the floor"


def plot(*lengths_mm: int, unit: Unit = Unit.CENTIMETRE) -> Drawing:
    return dot_plot("Settings", [DotAxis("Low rail height", DATUM, lengths_mm)], unit)


def dots(drawing: Drawing) -> list[Circle]:
    return [shape for shape in drawing.shapes if isinstance(shape, Circle)]


def ticks(drawing: Drawing) -> dict[str, float]:
    """The figures under the ruler, with the places where they stand."""
    return {
        shape.text: shape.x_mm
        for shape in drawing.shapes
        if isinstance(shape, Text) and shape.text[0].isdigit()
    }


class TestDots:
    def test_each_athlete_is_one_dot_and_equal_ones_are_stacked(self) -> None:
        first, second, third = dots(plot(1650, 1650, 1700))

        assert first.x_mm == second.x_mm < third.x_mm
        assert first.y_mm == third.y_mm < second.y_mm

    def test_a_dot_stands_over_its_length_on_the_ruler(self) -> None:
        drawing = plot(1600, 1640, 1700)
        marks = ticks(drawing)

        assert marks["160"] == pytest.approx(dots(drawing)[0].x_mm)
        assert marks["164"] == pytest.approx(dots(drawing)[1].x_mm)
        assert marks["170"] == pytest.approx(dots(drawing)[2].x_mm)

    @given(st.lists(st.integers(1400, 1900), min_size=1, max_size=30))
    def test_dots_do_not_hide_one_another_nor_leave_the_frame(self, lengths: list[int]) -> None:
        drawing = plot(*lengths)
        found = dots(drawing)

        assert len(found) == len(lengths)
        assert len({(round(dot.x_mm, 3), round(dot.y_mm, 3)) for dot in found}) == len(lengths)
        for dot in found:
            assert drawing.left_mm + RADIUS <= dot.x_mm <= drawing.left_mm + drawing.width_mm
            assert drawing.bottom_mm + RADIUS <= dot.y_mm <= drawing.bottom_mm + drawing.height_mm

    def test_a_high_stack_stays_below_its_title(self) -> None:
        """Thirty athletes on one length: the dots overlap, and none reaches the words."""
        drawing = plot(*[1700] * 30)
        lowest_word = min(
            shape.y_mm
            for shape in drawing.shapes
            if isinstance(shape, Text) and shape.text == DATUM
        )

        assert max(dot.y_mm for dot in dots(drawing)) + RADIUS <= lowest_word


class TestWhoSharesASetup:
    AXES = (
        DotAxis("Low rail height", DATUM, (1650, 1650, 1700, 1650)),
        DotAxis("Rail spread", DATUM, (1600, 1600, 1600, 1610)),
    )
    NAMES = ("Jagna", "Tuva", "Inês", "Frieda")

    def test_filled_is_who_shares_all_adjustments_and_open_who_stands_alone(self) -> None:
        """One length alike saves nothing: the other still has to be moved."""
        drawing = dot_plot("Settings", self.AXES, Unit.CENTIMETRE)

        assert sorted(dot.filled for dot in dots(drawing)) == [False] * 4 + [True] * 4
        on_the_low_rail = [dot for dot in dots(drawing) if dot.y_mm > dots(drawing)[-1].y_mm + 300]
        assert [dot.filled for dot in sorted(on_the_low_rail, key=lambda dot: dot.x_mm)[-1:]] == [
            False
        ]

    def test_the_names_say_who_they_are(self) -> None:
        """A dot has no name."""
        plot = named_plot("Settings", self.AXES, self.NAMES, Unit.CENTIMETRE)

        assert plot.shared == [["Jagna", "Tuva"]]
        assert plot.alone == ["Inês", "Frieda"]
        assert plot.drawing == dot_plot("Settings", self.AXES, Unit.CENTIMETRE)


class TestTheRuler:
    @given(st.lists(st.integers(1, 30_000), min_size=1, max_size=5))
    def test_it_has_a_few_round_figures_around_all_lengths(self, lengths: list[int]) -> None:
        drawing = plot(*lengths)
        ruler = next(shape for shape in drawing.shapes if isinstance(shape, Line))

        assert 2 <= len(ticks(drawing)) <= 6
        for dot in dots(drawing):
            assert ruler.x1_mm - 1e-6 <= dot.x_mm <= ruler.x2_mm + 1e-6

    def test_inches_have_whole_inches_under_them(self) -> None:
        drawing = plot(1651, 1702, unit=Unit.INCH)

        assert list(ticks(drawing)) == ["65", "66", "67", "68"]

    def test_name_unit_and_datum_stand_over_it(self) -> None:
        words = {shape.text for shape in plot(1650).shapes if isinstance(shape, Text)}

        assert {"Low rail height, cm", DATUM} <= words

    def test_axes_hang_below_each_other(self) -> None:
        axes = [DotAxis("Low rail height", DATUM, (1650,)), DotAxis("Rail spread", "", (1700,))]
        upper, lower = dots(dot_plot("Settings", axes, Unit.CENTIMETRE))

        assert upper.y_mm > lower.y_mm + 4 * RADIUS


class TestInWords:
    def test_least_most_and_middle_are_said(self) -> None:
        """Whoever cannot see the dots hears where they lie."""
        assert plot(1700, 1650, 1750, 1650).in_words == (
            "Settings: low rail height from 165.0 cm to 175.0 cm, the middle one 165.0 cm."
        )

    def test_one_length_for_all_is_said_once(self) -> None:
        assert plot(1700, 1700).in_words == "Settings: low rail height, all 170.0 cm."
