"""The picture of the square aid: which side is drawn where, and which way its arrow points."""

import pytest

from settingsdesk.domain.drawing import Line, Triangle
from settingsdesk.domain.kinds import KINDS
from settingsdesk.domain.square import Footprint
from settingsdesk.domain.squareview import square_view

BARS = KINDS["uneven_bars"]


def side(drawing, x_mm: float) -> Line:
    return next(
        one for one in drawing.shapes if isinstance(one, Line) and one.x1_mm == one.x2_mm == x_mm
    )


class TestTheFootprintFromAbove:
    @pytest.mark.parametrize(
        ("taped", "way"),
        [(Footprint(3000, 4000, 5003, 4997), 1), (Footprint(3000, 4000, 4997, 5003), -1)],
        ids=["to the back", "to the front"],
    )
    def test_a_small_skew_is_drawn_large_and_the_arrow_points_against_it(self, taped, way):
        """5 mm on 4 m could not be seen; taken up is opposite to the lean."""
        drawing = square_view(taped, BARS)
        assert side(drawing, 4000).y1_mm * way > 300
        (head,) = [one for one in drawing.shapes if isinstance(one, Triangle)]
        tip, base, _ = head.points_mm
        assert (tip[1] - base[1]) * way < 0
        assert "more than it is" in drawing.in_words

    def test_a_square_frame_is_drawn_square_without_an_arrow(self):
        """Nothing to take up."""
        drawing = square_view(Footprint(3000, 4000, 5000, 5000), BARS)
        assert side(drawing, 4000).y1_mm == 0
        assert not [one for one in drawing.shapes if isinstance(one, Triangle)]

    def test_all_of_it_lies_in_the_frame(self):
        """Also at the front."""
        drawing = square_view(Footprint(3000, 4000, 4997, 5003), BARS)
        lines = [one for one in drawing.shapes if isinstance(one, Line)]
        assert min(line.y2_mm for line in lines) >= drawing.bottom_mm
        top_mm = drawing.bottom_mm + drawing.height_mm
        assert max(line.y1_mm for line in lines) <= top_mm
