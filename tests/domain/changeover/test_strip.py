"""The strip of a rotation: what is long in the hall is long on the page."""

from itertools import combinations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import ImageFont

import settingsdesk.cards
from settingsdesk.domain.base.drawing import Anchor, Box, Drawing, Line, Text
from settingsdesk.domain.changeover.strip import (
    BOLD,
    NARROW_LETTERS,
    SHORTEST_S,
    WIDE_LETTERS,
    StripRow,
    letters_wide,
    strip,
)

BEST = StripRow("Best order", ((0, 60), (59, 60), (127, 60)))
LISTED = StripRow("As listed", ((300, 60), (300, 60), (0, 60)))

NARROWEST_PHONE_PX = 320 - 2 * 17
PHONE_PX = 360 - 2 * 17
NARROWEST_WIDE_PAGE_PX = 800 - 2 * 35
FONTS = Path(settingsdesk.cards.__file__).parent / "fonts"
SHAPED = [NARROW_LETTERS, WIDE_LETTERS]
NAMES = ("Jagna B.", "Maximiliane-Wilhelmine W.", "Ó", "Μυρτώ Λ.", "Khánh Vy Q.")


def narrow(*rows: StripRow) -> Drawing:
    return strip(rows, NARROW_LETTERS, with_names=False)


def wide(*rows: StripRow) -> Drawing:
    return strip(rows, WIDE_LETTERS, with_names=True)


def filled(drawing: Drawing) -> list[Box]:
    return [shape for shape in drawing.shapes if isinstance(shape, Box) and shape.filled]


def opened(drawing: Drawing) -> list[Box]:
    return [shape for shape in drawing.shapes if isinstance(shape, Box) and not shape.filled]


def texts(drawing: Drawing) -> list[Text]:
    return [shape for shape in drawing.shapes if isinstance(shape, Text)]


class TestTheScaleOfTime:
    def test_a_change_over_is_as_wide_as_it_is_long(self) -> None:
        """The coach sees which change-over costs the time."""
        assert [box.width_mm for box in filled(narrow(BEST))] == [59, 127]

    def test_a_turn_is_an_open_box_behind_its_change_over(self) -> None:
        assert [(box.x_mm, box.width_mm) for box in opened(narrow(BEST))] == [
            (0, 60),
            (119, 60),
            (306, 60),
        ]

    def test_where_nothing_moves_nothing_is_drawn(self) -> None:
        assert filled(narrow(StripRow("Best order", ((0, 60), (0, 60))))) == []

    def test_all_orders_share_one_scale(self) -> None:
        """So that the shorter one is shorter to the eye."""
        ends = [box.x_mm + box.width_mm for box in opened(narrow(BEST, LISTED))]

        assert (ends[2], ends[5]) == (BEST.whole_s, LISTED.whole_s)

    def test_the_orders_do_not_touch(self) -> None:
        drawing = narrow(BEST, LISTED)
        lower = opened(drawing)[3:] + filled(drawing)[2:]
        upper = opened(drawing)[:3] + filled(drawing)[:2]

        assert max(box.y_mm + box.height_mm for box in lower) < min(box.y_mm for box in upper)

    def test_a_short_rotation_is_not_blown_up(self) -> None:
        """Two turns do not fill the page."""
        drawing = narrow(StripRow("Best order", ((10, 60),)))

        assert drawing.width_mm > SHORTEST_S

    @pytest.mark.parametrize(("minutes", "marks"), [(5, 3), (36, 4), (90, 5), (240, 5)])
    def test_a_few_round_minutes_are_marked_whatever_the_length(
        self, minutes: int, marks: int
    ) -> None:
        drawing = narrow(StripRow("As listed", ((0, minutes * 60),)))
        told = [text.text for text in texts(drawing)[-marks:]]

        assert told[0] == "0 min"
        assert all(int(one) % 5 == 0 for one in told[1:])


class TestTheWords:
    def test_each_order_says_its_change_overs_together(self) -> None:
        assert [text.text for text in texts(narrow(BEST, LISTED)) if text.bold] == [
            "Best order: 3:06 min",
            "As listed: 10:00 min",
        ]

    def test_who_cannot_see_it_hears_the_same(self) -> None:
        assert narrow(BEST, LISTED).in_words == (
            "Turns and change-overs to scale: Best order 3:06 min of change-over;"
            " As listed 10:00 min of change-over."
        )

    def test_who_cannot_see_it_hears_every_turn_too(self) -> None:
        """Also on a phone, where the drawing has no room for names."""
        row = StripRow("Best order", ((0, 60), (59, 60), (127, 0)), ("Jagna B.", "Tuva F."))

        assert (
            strip([row], NARROW_LETTERS, with_names=False).in_words
            == strip([row], WIDE_LETTERS, with_names=True).in_words
            == "Turns and change-overs to scale: Best order 3:06 min of change-over"
            " (1 Jagna B. after 0:00, 2 Tuva F. after 0:59)."
        )

    @given(
        st.lists(
            st.tuples(st.integers(0, 600), st.integers(20, 120), st.sampled_from(NAMES)),
            min_size=1,
            max_size=30,
        ),
        st.sampled_from(SHAPED),
        st.booleans(),
    )
    def test_no_text_leaves_the_frame_or_meets_another_or_a_line(
        self, turns: list[tuple[int, int, str]], letters: int, with_names: bool
    ) -> None:
        """Names of every length, turns close together and far apart, apparatus with long names."""
        name = (
            "As listed, the bars by the window of the old hall, Donaudampfschifffahrtsgesellschaft"
        )
        row = StripRow(name, tuple(turn[:2] for turn in turns), tuple(t[2] for t in turns))
        drawing = strip([BEST, row], letters, with_names=with_names)
        boxes = [box_of(text, drawing) for text in texts(drawing)]

        right_mm = drawing.left_mm + drawing.width_mm
        assert all(drawing.left_mm <= left and right <= right_mm for left, _, right, _ in boxes)
        for one, other in combinations(boxes, 2):
            across = min(one[2], other[2]) - max(one[0], other[0])
            assert across <= 0 or min(one[3], other[3]) <= max(one[1], other[1])
        for line in (shape for shape in drawing.shapes if isinstance(shape, Line)):
            for left, lower, right, upper in boxes:
                low_mm, high_mm = sorted((line.y1_mm, line.y2_mm))
                beside = line.x2_mm <= left or line.x1_mm >= right
                assert beside or high_mm <= lower or low_mm >= upper

    def test_on_the_narrowest_phone_they_are_11_px_high(self) -> None:
        """Whatever the rotation's length: the frame is scaled to the screen's width."""
        for drawing in (narrow(BEST), narrow(StripRow("As listed", ((9000, 60),)))):
            assert smallest_px(drawing, NARROWEST_PHONE_PX) >= 11
            assert smallest_px(drawing, PHONE_PX) >= 12

    def test_on_the_narrowest_page_that_has_the_wide_one_they_are_10_px_high(self) -> None:
        for drawing in (wide(BEST), wide(StripRow("As listed", ((9000, 60),)))):
            assert smallest_px(drawing, NARROWEST_WIDE_PAGE_PX) >= 10


class TestTheWidthOfWords:
    @pytest.mark.parametrize(
        "words",
        [*NAMES, "12", "18:52", "As listed, hall 2: 33:03 min", "Злата Г.", "Đặng Ố.", "il'f"],
    )
    def test_they_are_reckoned_no_narrower_than_in_a_wide_lettering(self, words: str) -> None:
        """Else two names that should not touch do."""
        for face, wider in (("", 1.0), ("-Bold", BOLD)):
            file = FONTS / f"DejaVuSans{face}-Trimmed.ttf"
            printed = ImageFont.truetype(file, 1000).getlength(words) / 1000
            assert letters_wide(words) * wider >= printed


class TestTheLabels:
    HOUR = StripRow("As listed", ((0, 60), (240, 60), (240, 60), (30, 60), (1200, 60)), NAMES)

    def test_numbers_and_minutes_stand_in_their_boxes(self) -> None:
        """Two minutes of change-over are read where they are seen."""
        drawing = wide(self.HOUR)
        for text in texts(drawing):
            if text.text in {"1", "2", "4:00"}:
                assert any(
                    box.x_mm < text.x_mm < box.x_mm + box.width_mm
                    and box.y_mm < text.y_mm < box.y_mm + box.height_mm
                    for box in filled(drawing) + opened(drawing)
                )
        told = [text.text for text in texts(drawing)]
        assert (told.count("1"), told.count("4:00"), told.count("20:00")) == (1, 2, 1)

    def test_what_is_too_narrow_for_its_minutes_has_none(self) -> None:
        assert "0:30" not in [text.text for text in texts(wide(self.HOUR))]

    def test_a_phone_has_the_numbers_below_the_bar_and_no_names(self) -> None:
        told = [text.text for text in texts(narrow(self.HOUR))]

        assert {"1", "2", "3", "4", "5"} <= set(told)
        assert not set(NAMES) & set(told)

    def test_names_of_neighbours_hang_one_below_the_other(self) -> None:
        """The second is still under its own turn, and a line leads to it."""
        row = StripRow("Best order", ((0, 60), (0, 60), (600, 60)), ("Jagna B.", "Tuva F.", "Ó"))
        drawing = wide(row)
        first, second = (
            next(text for text in texts(drawing) if text.text == name) for name in row.called[:2]
        )

        assert first.y_mm < second.y_mm
        assert (first.x_mm, second.x_mm) == (0, 60)


def box_of(text: Text, drawing: Drawing) -> tuple[float, float, float, float]:
    """From its left and lower to its right and upper end."""
    wide_mm = letters_wide(text.text) * drawing.letter_mm * (BOLD if text.bold else 1)
    before = {Anchor.START: 0.0, Anchor.MIDDLE: 0.5, Anchor.END: 1.0}[text.anchor]
    left_mm = text.x_mm - before * wide_mm
    upper_mm = text.y_mm + 0.75 * drawing.letter_mm
    return left_mm, text.y_mm - 0.2 * drawing.letter_mm, left_mm + wide_mm, upper_mm


def smallest_px(drawing: Drawing, wide_px: int) -> float:
    px_per_mm = wide_px / drawing.width_mm
    return min(text.size for text in texts(drawing)) * drawing.letter_mm * px_per_mm


EVENING = StripRow(
    "Best order",
    ((0, 60), (120, 60), (200, 60), (90, 60), (45, 0)),
    ("Ada", "Bo", "Cy", "Di"),
    groups=(("Early", 2), ("Late", 2)),
)


class TestSeveralGroups:
    def test_each_begins_at_a_line_with_its_name_and_counts_its_turns(self) -> None:
        """The coach sees when the next group is wanted at the bars."""
        drawing = wide(EVENING)
        lines = [
            shape.x1_mm
            for shape in drawing.shapes
            if isinstance(shape, Line) and shape.x1_mm == shape.x2_mm and shape.y2_mm > shape.y1_mm
        ]
        said = [text.text for text in texts(drawing)]

        assert {0, 240} <= set(lines)
        assert {"Early", "Late"} <= set(said)
        assert said.count("1") == said.count("2") == 2
        assert "3" not in said

    def test_are_told_to_those_who_cannot_see_them(self) -> None:
        assert wide(EVENING).in_words.endswith(
            "(Early: 1 Ada after 0:00, 2 Bo after 2:00; Late: 1 Cy after 3:20, 2 Di after 1:30)."
        )

    def test_a_name_without_room_over_its_turns_is_left_out_of_the_picture(self) -> None:
        long = StripRow(
            "Best", EVENING.turns, EVENING.called, (("Maximiliane-Wilhelmine", 1), ("B", 3))
        )
        said = [text.text for text in texts(narrow(long))]

        assert "Maximiliane-Wilhelmine" not in said
        assert "Maximiliane-Wilhelmine: 1 Ada" in narrow(long).in_words

    def test_do_not_touch_the_order_above(self) -> None:
        drawing = wide(LISTED, EVENING)
        names = [text.y_mm for text in texts(drawing) if text.text in ("Early", "Late")]
        upper = min(box.y_mm for box in opened(drawing)[:3])

        assert max(names) + drawing.letter_mm < upper
