"""Leaning uprights, against plane geometry worked out another way.

Euclid's similar triangles, Pythagoras's 3-4-5 and the law of cosines are common knowledge. The
lean is found here by a root finder (scipy's ``brentq``) that closes the spreader between two
points of the plane, and not by the arcsine that the program uses.
"""

from cmath import rect
from math import cos, pi, sin

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import brentq

from settingsdesk.domain.base.datums import Section, SpreadDatum
from settingsdesk.domain.hall.geometry import Leaning, RailPair, stance

PAIR = RailPair("low", "high", "spread", Section(40, 40), {}, SpreadDatum.INNER)


def rails(frame: Leaning, low_mm: float, high_mm: float, spreader_mm: float):
    """Both rails' centres as points of the plane, from the feet at the ends of a line."""
    half = frame.foot_distance_mm / 2

    def upright(length_mm: float, lean: float, side: int) -> complex:
        tip = rect(length_mm, pi / 2 - lean)
        return complex(side * (half + tip.real), frame.pivot_height_mm + tip.imag)

    def gap(lean: float) -> float:
        ends = [upright(frame.spreader_at_mm, lean, side) for side in (-1, 1)]
        return (ends[1] - ends[0]).real - spreader_mm

    lean = brentq(gap, -1.5, 1.5, xtol=1e-14)
    return upright(low_mm, lean, -1), upright(high_mm, lean, 1)


class TestALeaningFrame:
    def test_three_four_five(self):
        """A spreader 1.2 m wider than the feet, 1 m up: sine 0.6, cosine 0.8."""
        frame = Leaning(foot_distance_mm=1000, spreader_at_mm=1000, pivot_height_mm=50)
        stands = stance(frame, PAIR, {"low": 1500, "high": 2500, "spread": 2200})
        assert stands.low_centre_mm == pytest.approx(50 + 1500 * 0.8)
        assert stands.high_centre_mm == pytest.approx(50 + 2500 * 0.8)
        assert stands.horizontal_mm == pytest.approx(1000 + 4000 * 0.6)

    def test_a_spreader_as_wide_as_the_feet_leaves_the_uprights_vertical(self):
        frame = Leaning(1300, 900, 60)
        stands = stance(frame, PAIR, {"low": 1600, "high": 2400, "spread": 1300})
        assert (stands.low_centre_mm, stands.high_centre_mm) == (1660, 2460)
        assert stands.horizontal_mm == 1300

    @given(
        st.integers(900, 1600),
        st.integers(600, 2000),
        st.integers(1200, 1800),
        st.integers(2000, 2700),
        st.integers(900, 2200),
    )
    def test_any_frame_stands_where_the_root_finder_puts_it(
        self, feet_mm, at_mm, low_mm, high_mm, spreader_mm
    ):
        """To a thousandth of a millimetre, heights and the inner distance alike."""
        assume(abs(spreader_mm - feet_mm) < 1.9 * at_mm)
        frame = Leaning(feet_mm, at_mm, 55)
        stands = stance(frame, PAIR, {"low": low_mm, "high": high_mm, "spread": spreader_mm})
        low, high = rails(frame, low_mm, high_mm, spreader_mm)
        assert stands.low_centre_mm == pytest.approx(low.imag, abs=0.001)
        assert stands.high_centre_mm == pytest.approx(high.imag, abs=0.001)
        assert stands.inner_mm(PAIR.section) == pytest.approx(abs(high - low) - 40, abs=0.001)

    @given(st.integers(1310, 1900))
    def test_the_law_of_cosines_gives_the_same_distance(self, spreader_mm):
        """c2 = a2 + b2 - 2ab cos(angle) between the uprights, prolonged to where they meet."""
        frame = Leaning(1300, 1200, 0)
        stands = stance(frame, PAIR, {"low": 1600, "high": 2400, "spread": spreader_mm})
        lean = frame.lean_rad(spreader_mm)
        below = frame.foot_distance_mm / 2 / sin(lean)
        a, b = below + 1600, below + 2400
        c = (a * a + b * b - 2 * a * b * cos(2 * lean)) ** 0.5
        assert stands.inner_mm(PAIR.section) == pytest.approx(c - 40, abs=0.001)
