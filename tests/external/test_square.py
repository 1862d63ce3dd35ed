"""Out of square, against geometry that stands in any schoolbook, worked out another way.

The parallelogram law, d1² + d2² = 2 (a² + b²), and Pythagoras's 3-4-5 are common knowledge. That
3 mm on a diagonal is a published size of "still square" is EN 916:2003 for vaulting boxes. Which
side is taken up: common practice, no source.
"""

from cmath import phase, rect
from math import degrees, pi, radians, tan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.domain.hall.square import (
    Footprint,
    NotAFootprint,
    NothingTaped,
    lean_of_footprint,
    lean_of_upright,
)

VAULTING_BOX_MM = 3
"""EN 916:2003: the change of a diagonal that a vaulting box may have after its test."""

BARS = KINDS["uneven_bars"]


def taped(along_mm: float, across_mm: float, skew_deg: float) -> Footprint:
    """The feet as complex numbers: the across side turned by the skew towards the back."""
    along = complex(0, along_mm)
    across = rect(across_mm, radians(skew_deg))
    lengths = (along_mm, across_mm, abs(across + along), abs(across - along))
    return Footprint(*(round(one) for one in lengths))


class TestTheFootprint:
    def test_three_four_five_is_square(self):
        """Pythagoras."""
        lean = lean_of_footprint(Footprint(3000, 4000, 5000, 5000), BARS, VAULTING_BOX_MM)
        assert (lean.by_mm, lean.degrees, lean.leans_to, lean.take_up_at) == (0, 0, "", "")
        assert lean.is_within

    @given(st.integers(1500, 6000), st.integers(1500, 6000), st.floats(-15, 15))
    def test_a_frame_turned_by_an_angle_is_found_turned_by_it(self, along, across, skew):
        """Within what whole millimetres of a tape allow."""
        lean = lean_of_footprint(taped(along, across, skew), BARS, 3)
        assert lean.degrees == pytest.approx(abs(skew), abs=0.15)
        if abs(skew) > 0.2:
            assert lean.leans_to == ("the back" if skew > 0 else "the front")

    def test_the_side_opposite_to_the_lean_is_taken_up(self):
        """common practice, no source."""
        lean = lean_of_footprint(taped(3000, 4000, 1), BARS, 3)
        assert (lean.leans_to, lean.take_up_at) == ("the back", "the front of the low-rail side")

    @pytest.mark.parametrize(("shorter_mm", "within"), [(4997, True), (4996, False)])
    def test_the_limit_is_for_the_difference_of_the_diagonals(self, shorter_mm, within):
        """EN 916:2003: 3 mm, for vaulting boxes."""
        lean = lean_of_footprint(Footprint(3000, 4000, 5000, shorter_mm), BARS, VAULTING_BOX_MM)
        assert lean.is_within is within

    def test_a_misread_diagonal_is_named(self):
        """Ten centimetres too much on the second."""
        with pytest.raises(NotAFootprint) as refused:
            Footprint(3000, 4000, 5000, 5100)
        assert str(refused.value) == (
            "Four feet cannot stand like this: with these sides, both diagonals of a square frame"
            " are 500.0 cm, and where one is longer the other is shorter; tape the second diagonal"
            " once more"
        )

    def test_where_both_diagonals_are_off_alike_the_sides_are_taped_again(self):
        """A side read 20 cm short makes both diagonals seem too long."""
        with pytest.raises(NotAFootprint) as refused:
            Footprint(2800, 4000, 5000, 5001)
        assert "tape both sides once more" in str(refused.value)

    def test_readings_that_are_each_a_little_off_are_taken(self):
        """5 mm at each of four readings."""
        assert Footprint(3005, 3995, 5005, 4995).offset_mm > 0

    def test_nothing_is_no_length(self):
        """Before anything is divided by it."""
        with pytest.raises(NothingTaped):
            Footprint(0, 4000, 5000, 5000)


class TestAnUpright:
    @given(st.integers(1, 100), st.integers(1500, 2600))
    def test_its_tangent_is_the_offset_over_the_height(self, offset, height):
        """Found back from the angle."""
        lean = lean_of_upright(offset, height, True, BARS, 3)
        assert tan(radians(lean.degrees)) * height == pytest.approx(offset)
        assert lean.degrees == pytest.approx(90 - degrees(pi / 2 - phase(complex(height, offset))))

    @pytest.mark.parametrize("second", [True, False])
    def test_the_other_side_is_taken_up(self, second):
        """common practice, no source."""
        lean = lean_of_upright(8, 2000, second, BARS, 3)
        sides = [f"the {side}" for side in BARS.sides]
        assert [lean.take_up_at, lean.leans_to] == (sides if second else sides[::-1])
        assert not lean.is_within

    def test_a_plumb_upright_leans_nowhere(self):
        """Nothing to take up."""
        lean = lean_of_upright(0, 2000, True, BARS, 3)
        assert (lean.degrees, lean.leans_to, lean.take_up_at) == (0, "", "")

    def test_without_a_height_there_is_no_angle(self):
        """Where the line hung."""
        with pytest.raises(NothingTaped):
            lean_of_upright(5, 0, True, BARS, 3)
