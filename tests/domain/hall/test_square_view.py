"""The picture of the square aid: which side is drawn where, and which way its arrow points."""

from math import hypot

import pytest

from settingsdesk.cards.lettering import MM_PER_POINT, Face, width_mm
from settingsdesk.domain.base.datums import Section
from settingsdesk.domain.base.drawing import Line, Text, Triangle
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.domain.hall.square import Footprint
from settingsdesk.domain.hall.square_view import drawn_times, square_view
from settingsdesk.domain.settings.end_view import DimensionText, end_view

BARS = KINDS["uneven_bars"]


def side(drawing, x_mm: float) -> Line:
    return next(
        one for one in drawing.shapes if isinstance(one, Line) and one.x1_mm == one.x2_mm == x_mm
    )


def place_of(drawing, words: str) -> float:
    return next(one.x_mm for one in drawing.shapes if isinstance(one, Text) and one.text == words)


class TestTheFootprintFromAbove:
    @pytest.mark.parametrize(
        ("taped", "way"),
        [(Footprint(3000, 4000, 5003, 4997), 1), (Footprint(3000, 4000, 4997, 5003), -1)],
        ids=["to the back", "to the front"],
    )
    def test_a_small_skew_is_drawn_large_and_the_arrow_points_against_it(self, taped, way):
        """5 mm on 4 m could not be seen; taken up is opposite to the lean."""
        drawing = square_view(taped, BARS)
        assert side(drawing, 0).y1_mm * way > 300
        (head,) = [one for one in drawing.shapes if isinstance(one, Triangle)]
        tip, base, _ = head.points_mm
        assert (tip[1] - base[1]) * way < 0
        assert "by 72 times as much as it is" in drawing.in_words

    @pytest.mark.parametrize("across_mm", [1500, 3000, 5000])
    def test_the_names_of_the_sides_never_run_into_each_other(self, across_mm):
        """They tell on which side to take up."""
        taped = Footprint(5000, across_mm, *[hypot(5000, across_mm)] * 2)
        drawing = square_view(taped, BARS)
        size_pt = drawing.letter_mm / MM_PER_POINT
        wide_mm = sum(width_mm(name, Face.REGULAR, size_pt) for name in BARS.sides)
        assert wide_mm < across_mm

    def test_a_large_skew_is_drawn_as_it_is(self):
        """By hand: (5500² - 4444²) / (4 · 3000) = 875 mm, more than needs enlarging."""
        taped = Footprint(3000, 4000, 5500, 4444)
        assert drawn_times(taped) == 1
        assert side(square_view(taped, BARS), 0).y1_mm == taped.offset_mm

    def test_a_square_frame_is_drawn_square_without_an_arrow(self):
        """Nothing to take up."""
        drawing = square_view(Footprint(3000, 4000, 5000, 5000), BARS)
        assert side(drawing, 0).y1_mm == 0
        assert not [one for one in drawing.shapes if isinstance(one, Triangle)]

    def test_the_low_rail_is_on_the_side_where_the_end_view_has_it(self):
        """Two pictures of one apparatus, seen from one place."""
        plan = square_view(Footprint(3000, 4000, 5000, 5000), BARS, ("window", "wall"))
        heights = {"low_rail": 1700.0, "high_rail": 2500.0, "spread": 1800.0}
        texts = {key: DimensionText("", key) for key in heights}
        seen = end_view(BARS, Section(40, 40), heights, texts, seen_from="window end")

        assert place_of(plan, "low-rail side") < place_of(plan, "high-rail side")
        assert place_of(seen, "low_rail") < place_of(seen, "high_rail")
        assert "seen from the window end" in plan.in_words
        assert "seen from the window end" in seen.in_words

    def test_all_of_it_lies_in_the_frame(self):
        """Also at the front."""
        drawing = square_view(Footprint(3000, 4000, 4997, 5003), BARS)
        lines = [one for one in drawing.shapes if isinstance(one, Line)]
        assert min(line.y2_mm for line in lines) >= drawing.bottom_mm
        top_mm = drawing.bottom_mm + drawing.height_mm
        assert max(line.y1_mm for line in lines) <= top_mm
