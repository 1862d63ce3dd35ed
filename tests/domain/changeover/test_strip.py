"""The strip of a rotation: what is long in the hall is long on the page."""

from itertools import pairwise

import pytest

from settingsdesk.domain.base.drawing import Anchor, Box, Drawing, Text
from settingsdesk.domain.changeover.strip import SHORTEST_S, StripRow, strip

BEST = StripRow("Best order", ((0, 60), (59, 60), (127, 60)))
LISTED = StripRow("As listed", ((300, 60), (300, 60), (0, 60)))
WIDEST_LETTER = 0.7  # of the letter height, in the widest of the usual screen letterings, bold
NARROWEST_PHONE_PX = 320 - 2 * 17


def filled(drawing: Drawing) -> list[Box]:
    return [shape for shape in drawing.shapes if isinstance(shape, Box) and shape.filled]


def opened(drawing: Drawing) -> list[Box]:
    return [shape for shape in drawing.shapes if isinstance(shape, Box) and not shape.filled]


def texts(drawing: Drawing) -> list[Text]:
    return [shape for shape in drawing.shapes if isinstance(shape, Text)]


class TestTheScaleOfTime:
    def test_a_change_over_is_as_wide_as_it_is_long(self) -> None:
        """The coach sees which change-over costs the time."""
        assert [box.width_mm for box in filled(strip([BEST]))] == [59, 127]

    def test_a_turn_is_an_open_box_behind_its_change_over(self) -> None:
        assert [(box.x_mm, box.width_mm) for box in opened(strip([BEST]))] == [
            (0, 60),
            (119, 60),
            (306, 60),
        ]

    def test_where_nothing_moves_nothing_is_drawn(self) -> None:
        assert filled(strip([StripRow("Best order", ((0, 60), (0, 60)))])) == []

    def test_all_orders_share_one_scale(self) -> None:
        """So that the shorter one is shorter to the eye."""
        ends = [box.x_mm + box.width_mm for box in opened(strip([BEST, LISTED]))]

        assert (ends[2], ends[5]) == (BEST.whole_s, LISTED.whole_s)

    def test_the_orders_do_not_touch(self) -> None:
        drawing = strip([BEST, LISTED])
        lower = opened(drawing)[3:] + filled(drawing)[2:]
        upper = opened(drawing)[:3] + filled(drawing)[:2]

        assert max(box.y_mm + box.height_mm for box in lower) < min(box.y_mm for box in upper)

    def test_a_short_rotation_is_not_blown_up(self) -> None:
        """Two turns do not fill the page."""
        drawing = strip([StripRow("Best order", ((10, 60),))])

        assert drawing.width_mm > SHORTEST_S

    @pytest.mark.parametrize(("minutes", "marks"), [(5, 3), (36, 4), (90, 5), (240, 5)])
    def test_a_few_round_minutes_are_marked_whatever_the_length(
        self, minutes: int, marks: int
    ) -> None:
        drawing = strip([StripRow("As listed", ((0, minutes * 60),))])
        told = [text.text for text in texts(drawing)[1:]]

        assert len(told) == marks
        assert told[0] == "0 min"
        assert all(int(one) % 5 == 0 for one in told[1:])


class TestTheWords:
    def test_each_order_says_its_change_overs_together(self) -> None:
        assert [text.text for text in texts(strip([BEST, LISTED]))[:2]] == [
            "Best order: 3:06 min",
            "As listed: 10:00 min",
        ]

    def test_who_cannot_see_it_hears_the_same(self) -> None:
        assert strip([BEST, LISTED]).in_words == (
            "Turns and change-overs to scale: Best order 3:06 min of change-over;"
            " As listed 10:00 min of change-over."
        )

    @pytest.mark.parametrize("minutes", [1, 10, 30, 36, 99, 300])
    def test_no_text_leaves_the_frame_or_runs_into_another(self, minutes: int) -> None:
        drawing = strip([StripRow("Best order", ((minutes * 60 - 60, 60),))])
        spans = []
        for text in texts(drawing):
            wide = len(text.text) * WIDEST_LETTER * drawing.letter_mm * text.size
            left = (
                text.x_mm
                - {Anchor.START: 0.0, Anchor.MIDDLE: 0.5, Anchor.END: 1.0}[text.anchor] * wide
            )
            spans.append((text.y_mm, left, left + wide))

        assert min(left for _, left, _ in spans) >= drawing.left_mm
        assert max(right for *_, right in spans) <= drawing.left_mm + drawing.width_mm
        along_the_foot = sorted((left, right) for y, left, right in spans if y < 0)
        for (_, before), (after, _) in pairwise(along_the_foot):
            assert before < after

    def test_on_the_narrowest_phone_they_are_11_px_high(self) -> None:
        """Whatever the rotation's length: the frame is scaled to the screen's width."""
        for drawing in (strip([BEST]), strip([StripRow("As listed", ((9000, 60),))])):
            px_per_mm = NARROWEST_PHONE_PX / drawing.width_mm
            assert min(t.size for t in texts(drawing)) * drawing.letter_mm * px_per_mm >= 11
