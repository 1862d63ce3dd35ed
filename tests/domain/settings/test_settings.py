"""What an athlete wants: every axis, lengths that are possible, the low rail below the high one."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.domain.base.kinds import KINDS, NoSuchAxis
from settingsdesk.domain.settings.settings import (
    AxisMissing,
    NotADeviation,
    NotALength,
    NotAWeight,
    RailsInWrongOrder,
    Setting,
    Wanted,
    longest_mm,
)

BARS = KINDS["uneven_bars"]


def wanted(low_mm: int = 1700, high_mm: int = 2500, spread_mm: int = 1600) -> dict[str, Wanted]:
    return {
        "low_rail": Wanted(low_mm),
        "high_rail": Wanted(high_mm),
        "spread": Wanted(spread_mm),
    }


class TestOneAxis:
    @pytest.mark.parametrize("length_mm", [-1, 30_001])
    def test_a_length_no_apparatus_has_is_refused(self, length_mm):
        """With the limits in centimetres."""
        with pytest.raises(NotALength) as refused:
            Wanted(length_mm)

        assert str(refused.value) == (
            f"A setting must be between 0 and 3000.0 cm; {length_mm / 10:.1f} cm was given"
        )

    @pytest.mark.parametrize("accepts_mm", [-1, 501])
    def test_an_absurd_deviation_is_refused(self, accepts_mm):
        """Half a metre either way is no setting any more."""
        with pytest.raises(NotADeviation) as refused:
            Wanted(1700, accepts_mm)

        assert str(refused.value) == (
            "The accepted deviation must be between 0 and 50.0 cm;"
            f" {accepts_mm / 10:.1f} cm was given"
        )

    @pytest.mark.parametrize("weight", [0, 10])
    def test_how_much_an_axis_matters_is_1_to_9(self, weight):
        """An axis that matters nothing would be set anywhere."""
        with pytest.raises(NotAWeight, match=f"between 1 and 9; {weight} was given"):
            Wanted(1700, 0, weight)

    def test_by_default_nothing_is_accepted_and_all_axes_matter_alike(self):
        """An athlete who said nothing more gets the closest there is, and every deviation told."""
        assert Wanted(1700) == Wanted(1700, accepts_mm=0, weight=1)

    def test_a_run_up_may_be_longer_than_any_rail_is_high(self):
        """25 m of run-up, but no rail at 25 m."""
        axes = {axis.key: axis for kind in KINDS.values() for axis in kind.axes}
        assert longest_mm(axes["run_up"]) == 30_000
        assert longest_mm(axes["high_rail"]) == longest_mm(axes["spread"]) == 4_000
        assert longest_mm(axes["pommels"]) == 4_000


class TestAWholeSetting:
    @pytest.mark.parametrize("key", ["low_rail", "high_rail", "spread"])
    def test_an_axis_left_out_is_named(self, key):
        """The coach reads which field is empty."""
        some = wanted()
        name = BARS.axis(key).in_a_sentence
        del some[key]
        with pytest.raises(AxisMissing) as refused:
            Setting(BARS, some)

        assert str(refused.value) == f"Enter the {name}: a setting needs every adjustment"

    def test_an_axis_of_another_kind_is_refused(self):
        """A board distance is nothing to uneven bars."""
        with pytest.raises(NoSuchAxis):
            Setting(BARS, {**wanted(), "board": Wanted(900)})

    @pytest.mark.parametrize(("low_mm", "high_mm"), [(2500, 1700), (1700, 1700)])
    def test_the_low_rail_is_below_the_high_one(self, low_mm, high_mm):
        """Two fields filled in the wrong order: asked, never silently swapped."""
        with pytest.raises(RailsInWrongOrder) as refused:
            Setting(BARS, wanted(low_mm, high_mm))

        assert str(refused.value) == (
            f"Low rail height ({low_mm / 10:.1f} cm) must be less than high rail height"
            f" ({high_mm / 10:.1f} cm): are the two swapped?"
        )

    @given(st.integers(0, 4000), st.integers(0, 4000))
    def test_parallel_bars_have_one_height_and_no_order(self, rails_mm, spread_mm):
        """Nothing to swap."""
        kind = KINDS["parallel_bars"]
        assert Setting(kind, {"rails": Wanted(rails_mm), "spread": Wanted(spread_mm)}).kind is kind
