"""The end view: to scale, nothing written over anything else, and said in words as well."""

from itertools import combinations
from math import hypot
from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from PIL import ImageFont

import settingsdesk.cards
from settingsdesk.domain.base.datums import Section
from settingsdesk.domain.base.drawing import (
    Anchor,
    Box,
    Circle,
    Ink,
    Line,
    Oval,
    Text,
    Triangle,
    Weight,
)
from settingsdesk.domain.base.kinds import KINDS, Quantity
from settingsdesk.domain.settings.end_view import (
    DimensionText,
    end_view,
    extent_mm,
    small_view,
    text_width_mm,
)

FONTS = Path(settingsdesk.cards.__file__).parent / "fonts"
ROUND = Section(40, 40)
DROP_SHAPED = Section(50, 40)
MEASURES_MM = {
    "uneven_bars": {"low_rail": 1700.0, "high_rail": 2500.0, "spread": 1600.0},
    "parallel_bars": {"rails": 2000.0, "spread": 420.0},
    "horizontal_bar": {"rail": 2800.0},
    "rings": {"rings": 2800.0},
    "pommel_horse": {"body": 1150.0, "pommels": 420.0},
    "balance_beam": {"beam": 1250.0},
    "vault_table": {"table": 1250.0, "board": 1100.0, "run_up": 24_500.0},
}
SECTIONS = {"uneven_bars": ROUND, "parallel_bars": DROP_SHAPED, "horizontal_bar": Section(28, 28)}


def length(mm: float) -> str:
    return f"{mm / 10:.1f} cm"


def view(kind_key, measures_mm=None, mark="12", **more):
    measures_mm = measures_mm or MEASURES_MM[kind_key]
    texts = {key: DimensionText(mark, length(mm)) for key, mm in measures_mm.items()}
    return end_view(KINDS[kind_key], SECTIONS.get(kind_key), measures_mm, texts, **more)


def bars(low=1700.0, high=2500.0, spread=1600.0, **more):
    return view("uneven_bars", {"low_rail": low, "high_rail": high, "spread": spread}, **more)


def shapes(drawing, of):
    return [shape for shape in drawing.shapes if isinstance(shape, of)]


def uprights(drawing):
    return [line for line in shapes(drawing, Line) if line.ink is Ink.QUIET]


def dimension_lengths_mm(drawing):
    """How long the lines are that have an arrow head at either end."""
    tips = [triangle.points_mm[0] for triangle in shapes(drawing, Triangle)]
    return [hypot(a[0] - b[0], a[1] - b[1]) for a, b in zip(tips[::2], tips[1::2], strict=True)]


def frame(drawing):
    right_mm = drawing.left_mm + drawing.width_mm
    return drawing.left_mm, drawing.bottom_mm, right_mm, drawing.bottom_mm + drawing.height_mm


def overlap(one, other) -> bool:
    across = min(one[2], other[2]) - max(one[0], other[0])
    return across > 0 and min(one[3], other[3]) - max(one[1], other[1]) > 0


def runs_through(line: Line, box) -> bool:
    """Whether a line crosses the inside of a box, by clipping it to the box."""
    begin, end = 0.0, 1.0
    for start, way, least, most in (
        (line.x1_mm, line.x2_mm - line.x1_mm, box[0], box[2]),
        (line.y1_mm, line.y2_mm - line.y1_mm, box[1], box[3]),
    ):
        if way == 0:
            if not least < start < most:
                return False
            continue
        near, far = sorted(((least - start) / way, (most - start) / way))
        begin, end = max(begin, near), min(end, far)
    return begin < end


class TestToScale:
    def test_the_rails_stand_where_the_tape_finds_them(self):
        """Upper edges at 170 and 250 cm, 160 cm from inner face to inner face."""
        low, high = shapes(bars(), Circle)
        assert (low.y_mm + 20, high.y_mm + 20) == (1700, 2500)
        assert low.radius_mm == high.radius_mm == 20
        inner_mm = hypot(high.x_mm - low.x_mm, high.y_mm - low.y_mm) - 40
        assert inner_mm == pytest.approx(1600)

    @given(st.integers(1200, 1900), st.integers(1950, 2700), st.integers(1200, 2000))
    def test_every_dimension_line_is_as_long_as_the_length_written_at_it(self, low, high, spread):
        """A drawing that is measured must give the figure."""
        assume(spread + 40 > high - low)
        lengths_mm = dimension_lengths_mm(bars(low, high, spread))
        assert lengths_mm == pytest.approx([low, high, spread])

    def test_parallel_bars_are_level_and_their_gap_is_between_the_inner_faces(self):
        """One height for both, written once."""
        drawing = view("parallel_bars")
        left, right = shapes(drawing, Oval)
        assert left.y_mm == right.y_mm
        assert right.x_mm - left.x_mm - 40 == pytest.approx(420)
        assert dimension_lengths_mm(drawing) == pytest.approx([2000, 420])
        assert [text.text for text in shapes(drawing, Text)].count("200.0 cm") == 1

    def test_the_mat_is_as_thick_as_it_is(self):
        """Where there is none, none is drawn."""
        (mat,) = shapes(bars(mat_mm=200), Box)
        assert (mat.y_mm, mat.height_mm) == (0, 200)
        assert shapes(bars(), Box) == []

    def test_uprights_that_lean_stand_on_their_feet_and_lean_alike(self):
        """Feet 120 cm apart; both uprights at one angle, so the high rail is farther out."""
        low, high = uprights(bars(spread=1800, foot_distance_mm=1200))
        assert (low.x1_mm, high.x1_mm) == (-600, 600)
        lean = [(line.x2_mm - line.x1_mm) / line.y2_mm for line in (low, high)]
        assert lean[0] == pytest.approx(-lean[1])
        assert lean[1] > 0.1
        inner_mm = hypot(high.x2_mm - low.x2_mm, high.y2_mm - low.y2_mm) - 40
        assert inner_mm == pytest.approx(1800)

    def test_without_a_foot_distance_the_uprights_are_plumb(self):
        """They stay vertical."""
        assert all(line.x1_mm == line.x2_mm for line in uprights(bars()))

    def test_rails_that_cannot_be_so_near_are_drawn_above_each_other(self):
        """The warning is elsewhere; a picture must not fail."""
        low, high = shapes(bars(spread=600), Circle)
        assert low.x_mm == high.x_mm

    @pytest.mark.parametrize(
        ("kind", "wide_mm"), [("balance_beam", 100), ("pommel_horse", 350), ("vault_table", 950)]
    )
    def test_a_surface_is_as_wide_as_it_is_and_its_top_is_at_the_height(self, kind, wide_mm):
        """A beam must not look like a table."""
        (surface,) = shapes(view(kind), Box)
        height_mm = next(iter(MEASURES_MM[kind].values()))
        assert surface.width_mm == wide_mm
        assert surface.y_mm + surface.height_mm == pytest.approx(height_mm)

    def test_a_ring_hangs_with_its_lower_inner_side_at_the_height(self):
        """No post beneath it."""
        drawing = view("rings")
        (ring,) = shapes(drawing, Circle)
        assert ring.y_mm - ring.radius_mm == 2800
        assert not ring.filled
        assert all(line.y1_mm > 2800 for line in uprights(drawing))


class TestRailsEnlarged:
    """At 4 cm on a picture of 3 m nobody sees a rail on a phone."""

    @pytest.mark.parametrize("kind_key", SECTIONS)
    def test_a_rail_is_a_letter_thick_and_the_note_says_so(self, kind_key):
        """10 px where letters are; a station's picture has those on a phone of 320 px."""
        drawing = view(kind_key, rails_enlarged=True)
        for rail in shapes(drawing, Circle):
            assert 2 * rail.radius_mm == pytest.approx(drawing.letter_mm)
        for rail in shapes(drawing, Oval):
            assert min(rail.width_mm, rail.height_mm) == pytest.approx(drawing.letter_mm)
        assert drawing.note == "Rails enlarged."

    def test_what_is_to_scale_says_nothing_of_it(self):
        assert bars().note == ""
        assert view("rings", rails_enlarged=True).note == ""

    @given(st.integers(1200, 1900), st.integers(1950, 2700), st.integers(1200, 2000))
    def test_every_dimension_line_is_still_as_long_as_the_length_written_at_it(
        self, low, high, spread
    ):
        """Upper edges and inner faces are where the tape finds them."""
        assume(spread + 180 > high - low)
        drawing = bars(low, high, spread, rails_enlarged=True)
        assert dimension_lengths_mm(drawing) == pytest.approx([low, high, spread])
        left, right = shapes(drawing, Circle)
        assert (left.y_mm + left.radius_mm, right.y_mm + right.radius_mm) == pytest.approx(
            (low, high)
        )

    @settings(max_examples=200)
    @given(
        st.integers(1200, 1900),
        st.integers(2000, 2700),
        st.integers(1200, 2000),
        st.sampled_from(("", "5", "12", "AE", "160.0")),
    )
    def test_nothing_is_written_over_anything(self, low, high, spread, mark):
        TestNothingIsWrittenOverAnything().must_be_clear(
            bars(low, high, spread, mark=mark, mat_mm=200, rails_enlarged=True)
        )

    def test_rails_of_parallel_bars_keep_their_own_section(self):
        """Higher than wide, as hands know them, enlarged or not."""
        for enlarged in (False, True):
            for rail in shapes(view("parallel_bars", rails_enlarged=enlarged), Oval):
                assert rail.height_mm / rail.width_mm == pytest.approx(50 / 40)

    def test_where_it_stands_now_is_open_and_as_large(self):
        now = {"low_rail": 1650.0, "high_rail": 2500.0, "spread": 1600.0}
        drawing = bars(rails_enlarged=True, now_mm=now)
        opened = [rail for rail in shapes(drawing, Circle) if not rail.filled]
        assert {rail.radius_mm for rail in shapes(drawing, Circle)} == {opened[0].radius_mm}
        assert min(rail.y_mm + rail.radius_mm for rail in opened) == pytest.approx(1650)


class TestWhatMoves:
    @pytest.mark.parametrize("moving", ["low_rail", "high_rail", "spread"])
    def test_it_alone_is_in_the_accent_and_the_rest_is_quiet(self, moving):
        """Hands look for the one thing that they move."""
        axes = [axis.key for axis in KINDS["uneven_bars"].axes]
        drawing = bars(moving=[moving])
        accented = {shape.part for shape in drawing.shapes if shape.ink is Ink.ACCENT}
        rails = [rail.ink for rail in shapes(drawing, Circle)]

        assert accented - {"rail"} == {f"axis-{axes.index(moving) + 1}"}
        assert rails == [
            Ink.ACCENT if key == moving else Ink.QUIET for key in ("low_rail", "high_rail")
        ]
        assert {one.ink for one in shapes(drawing, Text)} == {Ink.ACCENT, Ink.QUIET}

    @pytest.mark.parametrize("kind_key", KINDS)
    def test_every_adjustment_of_every_kind_can_be_the_one(self, kind_key):
        for axis in KINDS[kind_key].axes:
            drawing = view(kind_key, moving=[axis.key])
            assert Ink.ACCENT in {text.ink for text in shapes(drawing, Text)}

    def test_where_nothing_moves_nothing_is_in_the_accent(self):
        assert Ink.ACCENT not in {shape.ink for shape in bars().shapes}


class TestTheParts:
    @pytest.mark.parametrize("kind_key", KINDS)
    def test_the_dimension_of_an_axis_has_its_line_and_its_figures(self, kind_key):
        """A form lights the dimension of the field that somebody types into."""
        for number, axis in enumerate(KINDS[kind_key].axes, start=1):
            shapes = [one for one in view(kind_key).shapes if one.part == f"axis-{number}"]
            assert any(isinstance(one, Line) for one in shapes)
            told = [one.text for one in shapes if isinstance(one, Text)]
            assert any(length(MEASURES_MM[kind_key][axis.key]) in words for words in told)

    def test_rails_and_uprights_are_parts_too(self):
        parts = {type(one): one.part for one in bars().shapes if one.part in {"rail", "uprights"}}
        assert parts == {Circle: "rail", Line: "uprights"}


class TestTheFrame:
    @pytest.mark.parametrize("kind", KINDS)
    @pytest.mark.parametrize("mark", ["", "5", "AE", "250.0"])
    def test_it_holds_every_shape_and_every_text(self, kind, mark):
        """Nothing is cut off on a card."""
        drawing = view(kind, mark=mark, mat_mm=200)
        inside = extent_mm(drawing.shapes, drawing.letter_mm)
        left_mm, bottom_mm, right_mm, top_mm = frame(drawing)
        assert left_mm < inside[0]
        assert bottom_mm < inside[1]
        assert right_mm > inside[2]
        assert top_mm > inside[3]

    @pytest.mark.parametrize(
        ("text", "bold"),
        [
            ("250.0 cm", False),
            ("98\u00a03/8\u00a0in", False),
            ("12", True),
            ("250.0", True),
            ("AM", True),
        ],
    )
    def test_texts_are_reckoned_no_narrower_than_they_are_printed(self, text, bold):
        """In the typeface of the cards, which is a wide one."""
        file = FONTS / f"DejaVuSans{'-Bold' if bold else ''}-Trimmed.ttf"
        printed = ImageFont.truetype(file, 1000).getlength(text) / 1000
        assert text_width_mm(Text(0, 0, text, bold=bold), 1.0) >= printed

    @pytest.mark.parametrize(
        ("anchor", "ends"),
        [(Anchor.START, (0, 10)), (Anchor.MIDDLE, (-5, 5)), (Anchor.END, (-10, 0))],
    )
    def test_a_text_reaches_from_its_anchor(self, anchor, ends):
        """To the right, both ways, or to the left."""
        text = Text(0, 0, "250.0 cm", anchor)
        left_mm, _, right_mm, _ = extent_mm([text], 10 / text_width_mm(text, 1.0))
        assert (left_mm, right_mm) == pytest.approx(ends)


class TestNothingIsWrittenOverAnything:
    @settings(max_examples=200)
    @given(
        st.integers(1200, 1900),
        st.integers(2000, 2700),
        st.integers(1200, 2000),
        st.sampled_from(("", "5", "12", "AE", "160.0")),
        st.booleans(),
    )
    def test_on_uneven_bars(self, low, high, spread, mark, leaning):
        """Narrow and wide, with little and much between the rails, upright and leaning."""
        self.must_be_clear_on_bars(low, high, spread, mark, leaning)

    def test_far_below_a_high_rail_on_uprights_that_lean(self):
        """Where the uprights come nearest to each other beside the text."""
        self.must_be_clear_on_bars(1200, 2567, 1951, "160.0", True)

    def must_be_clear_on_bars(self, low, high, spread, mark, leaning):
        feet_mm = 1100 if leaning else None
        self.must_be_clear(bars(low, high, spread, mark=mark, foot_distance_mm=feet_mm, mat_mm=200))

    @given(st.integers(1000, 2200), st.integers(300, 700), st.sampled_from(("", "6", "42.0")))
    def test_on_parallel_bars(self, height, spread, mark):
        """Where no figure has room between the uprights."""
        measures_mm = {"rails": float(height), "spread": float(spread)}
        self.must_be_clear(view("parallel_bars", measures_mm, mark, mat_mm=200))

    @pytest.mark.parametrize("kind", KINDS)
    def test_on_every_kind(self, kind):
        """The others have one height, and lengths below the floor."""
        self.must_be_clear(view(kind, mat_mm=200))

    def must_be_clear(self, drawing):
        boxes = [(text, extent_mm([text], drawing.letter_mm)) for text in shapes(drawing, Text)]
        for (one, here), (other, there) in combinations(boxes, 2):
            assert not overlap(here, there), (one.text, other.text)
        for text, box in boxes:
            crossing = [line for line in shapes(drawing, Line) if runs_through(line, box)]
            assert crossing == [], text.text


class TestTheTexts:
    def test_the_mark_is_large_and_the_length_stands_below_it(self):
        """From arm's length the mark is what counts."""
        drawing = bars(mark="7")
        texts = shapes(drawing, Text)
        assert [text.text for text in texts] == [
            "7",
            "170.0 cm",
            "7",
            "250.0 cm",
            "7",
            "160.0 cm",
        ]
        for mark, told in zip(texts[::2], texts[1::2], strict=True):
            assert mark.bold
            assert mark.size > told.size
            assert mark.y_mm > told.y_mm

    def test_without_a_mark_only_the_length_is_written(self):
        """A setting that is not yet carried to an apparatus."""
        assert [text.text for text in shapes(bars(mark=""), Text)] == [
            "170.0 cm",
            "250.0 cm",
            "160.0 cm",
        ]

    def test_lengths_that_the_end_view_cannot_show_are_broken_and_say_so(self):
        """25 m of run-up beside 125 cm of table."""
        drawing = view("vault_table", mark="")
        assert [text.text for text in shapes(drawing, Text)][1:] == [
            "Board distance: 110.0 cm (not to scale)",
            "Run-up length: 2450.0 cm (not to scale)",
        ]
        assert len([line for line in shapes(drawing, Line) if line.dashed]) == 2

    def test_the_spacing_of_pommels_is_written_too(self):
        """They stand one behind the other in an end view."""
        assert "Pommel spacing: 42.0 cm at mark 12 (not to scale)" in [
            text.text for text in shapes(view("pommel_horse"), Text)
        ]

    def test_the_drawing_says_in_words_what_it_shows(self):
        """For those who do not see it."""
        assert bars(mark="7").in_words == (
            "End view of uneven bars: low rail height 170.0 cm at mark 7; high rail height"
            " 250.0 cm at mark 7; rail spread 160.0 cm at mark 7."
        )
        assert view("balance_beam", mark="").in_words == (
            "End view of balance beam: beam height 125.0 cm."
        )

    @pytest.mark.parametrize("kind", KINDS)
    def test_the_floor_is_the_heaviest_line(self, kind):
        """Where heights are measured from."""
        (floor,) = [line for line in shapes(view(kind), Line) if line.weight is Weight.HEAVY]
        assert floor.y1_mm == floor.y2_mm == 0


def small(kind_key, measures_mm=None, mark="12", foot_distance_mm=None):
    measures_mm = measures_mm or MEASURES_MM[kind_key]
    marks = dict.fromkeys(measures_mm, mark)
    section = SECTIONS.get(kind_key)
    return small_view(KINDS[kind_key], section, measures_mm, marks, foot_distance_mm)


class TestInSmall:
    """Beside the words on the day's page: a glance at it says how an apparatus stands."""

    @pytest.mark.parametrize("kind", KINDS)
    def test_it_says_every_mark_in_words_and_draws_those_that_are_seen_from_the_end(self, kind):
        drawing = small(kind, mark="7")
        seen = [axis for axis in KINDS[kind].axes if axis in dimensioned(KINDS[kind])]
        assert [text.text for text in shapes(drawing, Text)] == ["7"] * len(seen)
        assert drawing.in_words.count(" mark 7") == len(KINDS[kind].axes)
        assert drawing.note == ""

    @settings(max_examples=200)
    @given(
        st.integers(1200, 1900),
        st.integers(2000, 2700),
        st.integers(1200, 2000),
        st.sampled_from(("5", "12", "AE", "160.0")),
        st.booleans(),
    )
    def test_nothing_is_written_over_anything_on_uneven_bars(
        self, low, high, spread, mark, leaning
    ):
        measures_mm = {"low_rail": low, "high_rail": high, "spread": spread}
        drawing = small("uneven_bars", measures_mm, mark, 1100 if leaning else None)
        TestNothingIsWrittenOverAnything().must_be_clear(drawing)

    @given(st.integers(1000, 2200), st.integers(300, 700), st.sampled_from(("6", "42.0")))
    def test_nor_on_parallel_bars(self, height, spread, mark):
        measures_mm = {"rails": float(height), "spread": float(spread)}
        TestNothingIsWrittenOverAnything().must_be_clear(small("parallel_bars", measures_mm, mark))


def dimensioned(kind):
    """The heights of a kind, and its spread."""
    return [
        axis for axis in kind.axes if axis.quantity is Quantity.HEIGHT or axis is kind.spread_axis
    ]
