"""Where a length is taken from and to, and how the same rail reads in another datum."""

from itertools import product
from math import nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.domain.base.datums import (
    Edge,
    HeightDatum,
    Level,
    NotASection,
    Section,
    SpreadDatum,
    SpreadTooSmall,
    canonical_in_words,
    height_in_words,
    spread_in_words,
)
from settingsdesk.domain.base.kinds import KINDS

ROUND = Section(40, 40)
HEIGHT_DATUMS = [HeightDatum(level, edge) for level, edge in product(Level, Edge)]

lengths = st.integers(500, 4000)


class TestHeights:
    @pytest.mark.parametrize(
        ("datum", "reads_mm"),
        [
            (HeightDatum(Level.FLOOR, Edge.UPPER), 1700),
            (HeightDatum(Level.FLOOR, Edge.CENTRE), 1680),
            (HeightDatum(Level.FLOOR, Edge.UNDERSIDE), 1660),
            (HeightDatum(Level.MAT, Edge.UPPER), 1500),
            (HeightDatum(Level.MAT, Edge.CENTRE), 1480),
            (HeightDatum(Level.MAT, Edge.UNDERSIDE), 1460),
        ],
    )
    def test_one_rail_reads_differently_in_each_datum(self, datum, reads_mm):
        """A rail of 4 cm at 170 cm over 20 cm of mat: six true figures for one height."""
        assert datum.from_canonical_mm(1700, ROUND, mat_mm=200) == reads_mm
        assert datum.to_canonical_mm(reads_mm, ROUND, mat_mm=200) == 1700

    @given(st.sampled_from(HEIGHT_DATUMS), lengths, st.integers(20, 60), st.integers(0, 400))
    def test_there_and_back_is_the_same_height(self, datum, height_mm, thick_mm, mat_mm):
        """Switching the display must never move a rail."""
        section = Section(thick_mm, 40)
        reads_mm = datum.from_canonical_mm(height_mm, section, mat_mm)
        assert datum.to_canonical_mm(reads_mm, section, mat_mm) == height_mm

    def test_a_surface_without_a_rail_has_one_edge_only(self):
        """A beam's height is its surface, whatever edge a rail would be read to."""
        assert HeightDatum(edge=Edge.UNDERSIDE).from_canonical_mm(1250, None, 200) == 1250


class TestSpreads:
    def test_level_rails_are_as_far_apart_as_their_centres_less_one_width(self):
        """Parallel bars: 46 cm of centres, 4 cm of rail, 42 cm between."""
        assert SpreadDatum.INNER.from_horizontal_mm(460, Section(50, 40), 0) == 420

    def test_the_inner_distance_of_uneven_bars_is_a_diagonal(self):
        """A right triangle of 60, 80 and 100 cm, less a 4 cm rail."""
        assert SpreadDatum.CENTRES_HORIZONTAL.from_horizontal_mm(600, ROUND, 800) == 600
        assert SpreadDatum.CENTRES_DIAGONAL.from_horizontal_mm(600, ROUND, 800) == 1000
        assert SpreadDatum.INNER.from_horizontal_mm(600, ROUND, 800) == 960

    @given(st.sampled_from(SpreadDatum), lengths, st.integers(-1200, 1200))
    def test_there_and_back_is_the_same_spread(self, datum, horizontal_mm, drop_mm):
        """Whichever rail is the higher."""
        reads_mm = datum.from_horizontal_mm(horizontal_mm, ROUND, drop_mm)
        back_mm = datum.to_horizontal_mm(reads_mm, ROUND, drop_mm)
        assert back_mm == pytest.approx(horizontal_mm, abs=1e-6)

    @pytest.mark.parametrize("drop_mm", [800, -800])
    @pytest.mark.parametrize(
        ("datum", "spread_mm"), [(SpreadDatum.INNER, 760), (SpreadDatum.CENTRES_DIAGONAL, 800)]
    )
    def test_a_spread_smaller_than_the_drop_is_refused_with_both(self, datum, spread_mm, drop_mm):
        """Somebody typed a horizontal distance into a diagonal: both figures are named."""
        with pytest.raises(SpreadTooSmall) as refused:
            datum.to_horizontal_mm(spread_mm, ROUND, drop_mm)

        assert str(refused.value) == (
            f"A spread of {spread_mm / 10:.1f} cm cannot be: the rails are 80.0 cm apart in"
            " height alone"
        )


class TestASection:
    @pytest.mark.parametrize(("high", "wide"), [(0, 40), (40, 0), (-1, 40), (40, 201), (nan, 40)])
    def test_one_that_no_hand_could_hold_is_refused(self, high, wide):
        """A rail 40 cm thick is a slip for 40 mm."""
        with pytest.raises(NotASection):
            Section(high, wide)

    def test_the_refusal_names_the_limits_and_what_was_given(self):
        """In centimetres, as the coach typed it."""
        assert str(NotASection(400, 40)) == (
            "A rail's section must be between 0 and 20.0 cm each way; 40.0 cm by 4.0 cm was given"
        )


class TestDatumsInWords:
    def test_every_height_datum_is_told_apart_in_words(self):
        """A card that says 150.0 without saying above what is dangerous."""
        told = {height_in_words(datum, "upper edge of the rail") for datum in HEIGHT_DATUMS}
        assert len(told) == 6
        assert "upper edge of the rail, above the floor" in told
        assert "underside of the rail, above the mat" in told

    def test_the_upper_edge_takes_the_words_of_its_axis(self):
        """Rings have no rail."""
        assert height_in_words(HeightDatum(), "lower inner side of the rings") == (
            "lower inner side of the rings, above the floor"
        )

    def test_every_spread_datum_is_told_apart_in_words(self):
        """Inner or centres, straight or horizontal: 14 cm and more lie between them."""
        assert [spread_in_words(datum) for datum in SpreadDatum] == [
            "shortest distance between the rails' inner faces",
            "horizontal distance of the rails' centres",
            "straight distance of the rails' centres",
        ]

    def test_every_axis_is_kept_in_the_canonical_one_of_its_kind(self):
        """Beside each length stands from where to where it is taken."""
        bars = {axis.key: canonical_in_words(axis) for axis in KINDS["uneven_bars"].axes}
        assert bars == {
            "low_rail": "upper edge of the rail, above the floor",
            "high_rail": "upper edge of the rail, above the floor",
            "spread": "shortest distance between the rails' inner faces",
        }
        others = {canonical_in_words(axis) for kind in KINDS.values() for axis in kind.axes}
        assert any(words.startswith("between ") for words in others)
