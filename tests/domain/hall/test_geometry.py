"""How the rails stand: upright frames keep their axes apart, leaning frames couple them."""

from math import atan2, cos, hypot, nan, sin, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.domain.base.datums import Edge, Section, SpreadDatum, SpreadTooSmall
from settingsdesk.domain.hall.geometry import (
    Leaning,
    NotAFrame,
    RailPair,
    Stance,
    Upright,
    stance,
)

RAIL = Section(40, 40)
UPPER = {"low": Edge.UPPER, "high": Edge.UPPER}


def pair(datum: SpreadDatum = SpreadDatum.INNER, edges=UPPER, section=RAIL) -> RailPair:
    return RailPair("low", "high", "spread", section, edges, datum)


def readings(low: float, high: float, spread: float) -> dict[str, float]:
    return {"low": low, "high": high, "spread": spread}


along = st.integers(800, 2600)
frames = st.builds(Leaning, st.integers(1000, 1600), st.integers(1000, 2000), st.integers(0, 100))


class TestUprightFrames:
    def test_a_height_read_to_the_upper_edge_is_half_a_rail_above_the_centre(self):
        """170 and 250 cm to the upper edges, 4 cm rails: centres at 168 and 248."""
        stands = stance(Upright(800), pair(), readings(1700, 2500, 1600))
        assert (stands.low_centre_mm, stands.high_centre_mm) == (1680, 2480)

    def test_a_height_read_to_the_underside_is_half_a_rail_below_the_centre(self):
        """The same rails on a scale that points to their undersides."""
        undersides = {"low": Edge.UNDERSIDE, "high": Edge.UNDERSIDE}
        stands = stance(Upright(800), pair(edges=undersides), readings(1660, 2460, 1600))
        assert (stands.low_centre_mm, stands.high_centre_mm) == (1680, 2480)

    def test_a_printed_diagonal_is_true_at_the_reference_drop(self):
        """The norm's spread scale holds while the rails are 80 cm apart in height."""
        stands = stance(Upright(800), pair(), readings(1700, 2500, 960))
        assert stands.horizontal_mm == pytest.approx(600)
        assert stands.inner_mm(RAIL) == pytest.approx(960)

    def test_raising_one_rail_changes_the_inner_spread_though_no_spreader_is_touched(self):
        """Centres 60 cm apart: with a drop of 45 cm instead of 80, 75 cm instead of 100."""
        stands = stance(Upright(800), pair(), readings(2050, 2500, 960))
        assert stands.inner_mm(RAIL) == pytest.approx(750 - 40)

    @given(along, along, st.integers(900, 1900), st.integers(900, 1900))
    def test_the_spread_never_moves_the_heights(self, low, high, one, other):
        """Uprights stay vertical."""
        here = stance(Upright(0), pair(), readings(low, high, one))
        there = stance(Upright(0), pair(), readings(low, high, other))
        assert (here.low_centre_mm, here.high_centre_mm) == (
            there.low_centre_mm,
            there.high_centre_mm,
        )

    @given(along, along, along, st.integers(900, 1900))
    def test_the_heights_never_move_the_feet(self, low, high, other, spread):
        """The horizontal distance is the spreaders' alone."""
        here = stance(Upright(0), pair(), readings(low, high, spread))
        there = stance(Upright(0), pair(), readings(low, other, spread))
        assert here.horizontal_mm == there.horizontal_mm

    def test_a_printed_spread_below_the_reference_drop_is_refused(self):
        """No such triangle."""
        with pytest.raises(SpreadTooSmall):
            stance(Upright(800), pair(), readings(1700, 2500, 760))


class TestLeaningFrames:
    @given(along, along, frames)
    def test_a_spreader_as_wide_as_the_feet_are_apart_lets_the_uprights_stand_straight(
        self, low, high, frame
    ):
        """Then a length along the upright is a height, and any two rails are the feet apart."""
        stands = stance(frame, pair(), readings(low, high, frame.foot_distance_mm))
        assert stands.low_centre_mm == frame.pivot_height_mm + low
        assert stands.high_centre_mm == frame.pivot_height_mm + high
        assert stands.horizontal_mm == frame.foot_distance_mm

    @given(along, frames)
    def test_two_rails_at_one_length_stand_at_one_height_however_the_frame_leans(self, long, frame):
        """Both uprights lean alike."""
        stands = stance(frame, pair(), readings(long, long, frame.foot_distance_mm + 300))
        assert stands.drop_mm == 0

    def test_a_lean_of_three_in_five_is_checked_on_paper(self):
        """Feet 100 cm apart, spreader 220 cm wide fastened 100 cm up: sine 0.6, cosine 0.8."""
        frame = Leaning(foot_distance_mm=1000, spreader_at_mm=1000, pivot_height_mm=50)
        stands = stance(frame, pair(), readings(1500, 2500, 2200))
        assert stands.low_centre_mm == pytest.approx(50 + 1200)
        assert stands.high_centre_mm == pytest.approx(50 + 2000)
        assert stands.horizontal_mm == pytest.approx(1000 + 900 + 1500)

    @given(along, along, frames, st.integers(-400, 600))
    def test_the_rails_are_where_similar_triangles_put_them(self, low, high, frame, wider):
        """Judged without the sine: the spreader's corner, then farther along the same line."""
        out_mm = wider / 2
        up_mm = sqrt(frame.spreader_at_mm**2 - out_mm**2)
        angle = atan2(out_mm, up_mm)
        stands = stance(frame, pair(), readings(low, high, frame.foot_distance_mm + wider))
        expected = Stance(
            frame.pivot_height_mm + low * cos(angle),
            frame.pivot_height_mm + high * cos(angle),
            frame.foot_distance_mm + (low + high) * sin(angle),
        )
        assert stands.low_centre_mm == pytest.approx(expected.low_centre_mm)
        assert stands.high_centre_mm == pytest.approx(expected.high_centre_mm)
        assert stands.horizontal_mm == pytest.approx(expected.horizontal_mm)

    @given(along, along, frames, st.integers(0, 500), st.integers(10, 100))
    def test_opening_the_frame_lowers_both_rails(self, low, high, frame, wider, more):
        """Why heights are measured again after the spread was changed."""
        narrow = stance(frame, pair(), readings(low, high, frame.foot_distance_mm + wider))
        wide = stance(frame, pair(), readings(low, high, frame.foot_distance_mm + wider + more))
        assert wide.low_centre_mm < narrow.low_centre_mm
        assert wide.high_centre_mm < narrow.high_centre_mm
        assert wide.horizontal_mm > narrow.horizontal_mm

    @pytest.mark.parametrize("spreader_mm", [3000, 3500, -1000])
    def test_a_spreader_that_does_not_fit_is_refused_with_both_measures(self, spreader_mm):
        """Uprights cannot lie on the floor."""
        with pytest.raises(NotAFrame) as refused:
            Leaning(1000, 1000, 0).lean_rad(spreader_mm)

        assert str(refused.value) == (
            f"A spreader {spreader_mm / 10:.1f} cm wide does not fit uprights whose feet are"
            " 100.0 cm apart"
        )

    @pytest.mark.parametrize(("feet", "at"), [(0, 1000), (1000, 0), (-1, 1000), (nan, 1000)])
    def test_a_frame_has_feet_apart_and_a_spreader_up_its_uprights(self, feet, at):
        """Nought is no measure of a frame."""
        with pytest.raises(NotAFrame, match="must be more than 0"):
            Leaning(feet, at, 0)


class TestTheInnerSpread:
    @given(along, along, st.integers(1, 2000))
    def test_it_is_the_straight_distance_of_the_centres_less_one_rail(self, low, high, apart):
        """Half a rail on either side."""
        stands = Stance(low, high, apart)
        assert stands.inner_mm(RAIL) == hypot(apart, high - low) - 40

    def test_it_does_not_matter_which_rail_is_the_higher(self):
        """A distance has no direction."""
        assert Stance(1700, 2500, 900).inner_mm(RAIL) == Stance(2500, 1700, 900).inner_mm(RAIL)
