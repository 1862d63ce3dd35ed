"""The inner diagonal of uneven bars against values worked out independently.

Source of the definition (G02): norm drawing, from memory: the spread is measured on the line that
joins the rails' axes, less one diameter. The figures were computed from it beforehand, for a rail
of 4 cm and a drop of 80 cm (170 and 250 cm, Team GB 2014), to the tenth of a millimetre.
"""

import pytest

from settingsdesk.domain.base.datums import Section, SpreadDatum

RAIL, THINNER = Section(40, 40), Section(39, 39)
DROP_MM = 800
HORIZONTAL_CM = {
    130: 107.50,
    140: 119.73,
    150: 131.59,
    160: 143.16,
    170: 154.52,
    180: 165.70,
    190: 176.74,
}


def horizontal_mm(inner_mm: float, drop_mm: float = DROP_MM, rail: Section = RAIL) -> float:
    return SpreadDatum.INNER.to_horizontal_mm(inner_mm, rail, drop_mm)


def inner_mm(horizontal_mm: float, drop_mm: float = DROP_MM, rail: Section = RAIL) -> float:
    return SpreadDatum.INNER.from_horizontal_mm(horizontal_mm, rail, drop_mm)


class TestInnerDiagonal:
    @pytest.mark.parametrize(("inner_cm", "expected_cm"), HORIZONTAL_CM.items())
    def test_it_gives_the_horizontal_distance_of_the_axes(self, inner_cm, expected_cm):
        """G02: c = √((D + d)² − Δh²)."""
        assert horizontal_mm(inner_cm * 10) / 10 == pytest.approx(expected_cm, abs=0.005)

    @pytest.mark.parametrize(("inner_cm", "expected_cm"), HORIZONTAL_CM.items())
    def test_the_horizontal_distance_gives_it_back(self, inner_cm, expected_cm):
        """G02, the other way."""
        assert inner_mm(expected_cm * 10) / 10 == pytest.approx(inner_cm, abs=0.005)


class TestRaisingRails:
    def test_raising_both_alike_leaves_it_as_it_is(self):
        """G03: only the drop counts."""
        assert inner_mm(1657.0, 2550 - 1750) == inner_mm(1657.0, 2500 - 1700)

    def test_raising_the_low_rail_alone_by_5_cm_narrows_it(self):
        """G03: at 165.70 cm of horizontal distance, from 180 to 177.88 cm."""
        assert inner_mm(1657.0, 750) / 10 == pytest.approx(177.88, abs=0.005)

    def test_to_hold_it_the_axes_must_go_apart(self):
        """G03: to 168.02 cm."""
        assert horizontal_mm(1800, 750) / 10 == pytest.approx(168.02, abs=0.005)


class TestSensitivity:
    @pytest.mark.parametrize(("inner_cm", "rate"), [(130, 0.80), (180, 0.90)])
    def test_a_side_step_moves_it_by_four_fifths_to_nine_tenths(self, inner_cm, rate):
        """G04: dD/dc = c / (D + d)."""
        apart_mm = horizontal_mm(inner_cm * 10)
        step_mm = inner_mm(apart_mm + 0.5) - inner_mm(apart_mm - 0.5)
        assert step_mm == pytest.approx(rate, abs=0.005)

    def test_a_rail_of_39_mm_shifts_the_axes_by_little_more_than_a_millimetre(self):
        """G04: by 0.11 to 0.13 cm over the whole range, inside the norm's ±1 cm."""
        shifts_cm = [
            (horizontal_mm(cm * 10) - horizontal_mm(cm * 10, rail=THINNER)) / 10
            for cm in HORIZONTAL_CM
        ]
        assert min(shifts_cm) == pytest.approx(0.11, abs=0.005)
        assert max(shifts_cm) == pytest.approx(0.125, abs=0.005)
