"""Lengths that cannot be together: which of them a coach is led to."""

from dataclasses import replace

import pytest

from settingsdesk.domain.base.datums import SpreadTooSmall
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.domain.hall.starters import STARTERS
from settingsdesk.domain.settings import blame
from settingsdesk.domain.settings.settings import RailsInWrongOrder

BARS = KINDS["uneven_bars"]
LOW, HIGH, SPREAD = BARS.axes
USUAL = {"low_rail": 1700.0, "high_rail": 2500.0, "spread": 1600.0}


def wrong_order(low_mm, high_mm):
    return RailsInWrongOrder(LOW, low_mm, HIGH, high_mm)


class TestLengthsOfASetting:
    @pytest.mark.parametrize(
        ("refusal", "slip", "axis"),
        [
            (SpreadTooSmall(1600, 2330), {"low_rail": 170.0}, LOW),
            (SpreadTooSmall(600, 800), {"spread": 600.0}, SPREAD),
            (wrong_order(2600, 2500), {"low_rail": 2600.0}, LOW),
            (wrong_order(1700, 1600), {"high_rail": 1600.0}, HIGH),
        ],
    )
    def test_the_one_outside_its_own_scale_is_named_first_and_then_what_comes_of_it(
        self, bars, refusal, slip, axis
    ):
        """A digit is lost at the low rail, and nobody looks for it at the spread."""
        to_look_at, said = blame.of_lengths(refusal, bars, USUAL | slip)

        assert to_look_at == axis
        assert str(said).startswith(f"{axis.name}: {slip[axis.key] / 10:.1f} cm was read, and the")
        assert str(said).endswith(str(refusal))

    def test_of_two_on_their_scales_it_is_the_one_that_was_changed(self, bars):
        refusal = wrong_order(1700, 1600)
        scales = {axis.key: blame.scale_mm(bars, axis) for axis in bars.axes}
        inside = {key: float(scale.least_mm) for key, scale in scales.items()}
        before = inside | {"high_rail": float(scales["high_rail"].most_mm)}

        assert blame.of_lengths(refusal, bars, inside, before) == (HIGH, refusal)

    @pytest.mark.parametrize(
        ("refusal", "axis"), [(wrong_order(1700, 1600), LOW), (SpreadTooSmall(1, 2), SPREAD)]
    )
    def test_where_nothing_tells_it_is_the_one_that_the_sentence_begins_with(
        self, bars, refusal, axis
    ):
        scales = {axis.key: blame.scale_mm(bars, axis) for axis in bars.axes}
        inside = {key: float(scale.least_mm) for key, scale in scales.items()}

        assert blame.of_lengths(refusal, bars, inside) == (axis, refusal)


class TestScalesOfAModel:
    def test_an_end_that_is_hardly_one_of_such_an_axis_is_named(self):
        """17 typed for 170 as the lowest hole of the low rail."""
        scales = dict(STARTERS["uneven_bars"].scales)
        slip = replace(scales["low_rail"], first_mm=170)
        refusal = SpreadTooSmall(1200, 1900)

        axis, said = blame.of_scales(refusal, BARS, scales | {"low_rail": slip})
        assert axis == LOW
        assert str(said).startswith("Low rail height: 17.0 cm was read, 100.0 to 300.0 cm is usual")

    def test_where_all_are_usual_it_is_the_spread(self):
        refusal = SpreadTooSmall(1200, 1900)
        scales = STARTERS["uneven_bars"].scales
        assert blame.of_scales(refusal, BARS, scales) == (SPREAD, refusal)
