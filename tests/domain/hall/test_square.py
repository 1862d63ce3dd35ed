"""Whether a frame stands square and its uprights plumb, and what is to be tensioned first."""

import pytest

from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.domain.hall.square import (
    Footprint,
    NotAFootprint,
    NothingTaped,
    lean_of_footprint,
    lean_of_upright,
)

BARS = KINDS["uneven_bars"]


class TestAnUpright:
    @pytest.mark.parametrize(("to_second", "toward", "side"), [(True, 1, 0), (False, 0, 1)])
    def test_is_pulled_by_the_side_that_it_leans_away_from(self, to_second, toward, side):
        lean = lean_of_upright(12, 2000, to_second, BARS, None)

        assert lean.leans_to == f"the {BARS.sides[toward]}"
        assert lean.take_up_at == f"the {BARS.sides[1 - toward]}"
        assert lean.side == side
        assert lean.degrees == pytest.approx(0.3438, abs=1e-4)

    def test_that_stands_plumb_leans_nowhere(self):
        assert lean_of_upright(0, 2000, True, BARS, None).leans_to == ""

    @pytest.mark.parametrize("height_mm", [0, -1])
    def test_without_a_height_is_refused(self, height_mm):
        with pytest.raises(NothingTaped):
            lean_of_upright(0, height_mm, True, BARS, None)

    def test_of_the_least_height_is_told(self):
        assert lean_of_upright(0, 1, True, BARS, None).degrees == 0


class TestAFootprint:
    def test_that_has_fallen_flat_is_none(self):
        """Its second side lies in line with the first."""
        with pytest.raises(NotAFootprint):
            Footprint(3000, 1, 3001, 2999)

    @pytest.mark.parametrize(
        ("diagonals_mm", "way", "opposite", "end"),
        [((5010, 4990), "back", "front", 0), ((4990, 5010), "front", "back", 1)],
    )
    def test_says_which_end_of_the_second_side_is_taken_up(self, diagonals_mm, way, opposite, end):
        lean = lean_of_footprint(Footprint(3000, 4000, *diagonals_mm), BARS, None)

        assert lean.leans_to == f"the {way}"
        assert lean.take_up_at == f"the {opposite} of the {BARS.sides[1]}"
        assert (lean.side, lean.end) == (1, end)
        assert lean.judged_mm == 20
