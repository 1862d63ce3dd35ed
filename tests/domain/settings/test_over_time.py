"""A setting over time: every version at its day and its length, and what else was noted."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.domain.base.drawing import Circle, Drawing, Ink, Line, Shape, Text
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.settings.over_time import (
    ACROSS,
    AxisOverTime,
    Occasions,
    Since,
    over_time,
)

DATUM = "upper edge of the rail, above the floor"
FIRST, TODAY = date(2025, 1, 1), date(2026, 1, 1)


def plot(*versions: Since, seen: Occasions | None = None, unit: Unit = Unit.CENTIMETRE) -> Drawing:
    axis = AxisOverTime("Low rail height", DATUM, versions)
    return over_time("Setting for Frame A", [axis], seen or Occasions(), TODAY, unit)


def of(kind: type[Shape], drawing: Drawing) -> list[Shape]:
    return [shape for shape in drawing.shapes if isinstance(shape, kind)]


def texts(drawing: Drawing) -> list[str]:
    return [shape.text for shape in drawing.shapes if isinstance(shape, Text)]


def strokes(drawing: Drawing) -> list[Line]:
    return [
        shape for shape in drawing.shapes if isinstance(shape, Line) and shape.ink is Ink.ACCENT
    ]


GREW = (Since(FIRST, 1650, "3"), Since(date(2025, 7, 2), 1700, "4"))


class TestVersions:
    def test_stand_at_their_day_and_at_their_length(self) -> None:
        """By hand: 2 July is 182 days of 365 after New Year, and 5 cm higher."""
        drawing = plot(*GREW)
        first, second = (shape for shape in drawing.shapes if isinstance(shape, Circle))
        ruler = {shape.text: shape.y_mm for shape in drawing.shapes if isinstance(shape, Text)}

        assert (first.x_mm, second.x_mm) == (0, pytest.approx(ACROSS * 182 / 365))
        a_centimetre = (ruler["170"] - ruler["164"]) / 6
        assert second.y_mm - first.y_mm == pytest.approx(5 * a_centimetre)

    def test_each_has_its_mark_and_the_last_one_goes_on_until_today(self) -> None:
        drawing = plot(*GREW)
        [last_level] = [
            line
            for line in drawing.shapes
            if isinstance(line, Line)
            and line.x2_mm == ACROSS
            and line.ink is Ink.MAIN
            and line.weight.name == "HEAVY"
        ]

        assert {"3", "4"} <= set(texts(drawing))
        assert last_level.x1_mm == pytest.approx(ACROSS * 182 / 365)

    def test_of_marks_without_room_the_later_ones_stay(self) -> None:
        """The table beside it has all of them."""
        days = (FIRST + timedelta(days=number) for number in range(40))
        drawing = plot(*(Since(day, 1650 + day.day, f"m{day.toordinal()}") for day in days))

        told = [text for text in texts(drawing) if text.startswith("m")]
        assert f"m{(FIRST + timedelta(days=39)).toordinal()}" in told
        assert len(told) < 40

    @given(
        st.lists(st.tuples(st.integers(0, 3000), st.integers(1400, 1900)), min_size=1, max_size=9),
        st.sampled_from(Unit),
    )
    def test_whatever_was_wanted_stands_inside_the_frame(
        self, told: list[tuple[int, int]], unit: Unit
    ) -> None:
        """Also what a clock that was put back has written for a day to come."""
        versions = [
            Since(FIRST + timedelta(days=day), length_mm, "12") for day, length_mm in sorted(told)
        ]
        drawing = plot(*versions, seen=Occasions((versions[-1].on,), (versions[0].on,)), unit=unit)

        for dot in of(Circle, drawing):
            assert isinstance(dot, Circle)
            assert 0 <= dot.x_mm <= ACROSS
            assert drawing.bottom_mm < dot.y_mm < drawing.bottom_mm + drawing.height_mm


class TestWhatElseWasNoted:
    def test_a_confirmation_is_a_stroke_across_the_line_as_it_was_then(self) -> None:
        drawing = plot(*GREW, seen=Occasions(confirmed=(date(2025, 4, 1), date(2025, 10, 1))))
        dots = [shape for shape in drawing.shapes if isinstance(shape, Circle)]

        middles = [(stroke.y1_mm + stroke.y2_mm) / 2 for stroke in strokes(drawing)]
        assert middles == [pytest.approx(dot.y_mm) for dot in dots]

    def test_growth_is_said_in_words_and_none_from_before_the_first_version(self) -> None:
        grown = Occasions(grown=(date(2024, 5, 1), date(2025, 6, 1)))

        assert texts(plot(*GREW, seen=grown)).count("grown") == 1

    def test_who_cannot_see_it_hears_where_it_began_and_where_it_is(self) -> None:
        drawing = plot(*GREW, seen=Occasions(confirmed=(TODAY,)))

        assert drawing.in_words == (
            "Setting for Frame A: low rail height 165.0 cm at first, 170.0 cm now."
            " 2 versions and 1 confirmation, which the table tells."
        )

    def test_the_months_are_named(self) -> None:
        assert {"Apr 2025", "Oct 2025"} <= set(texts(plot(*GREW)))
