"""Every mark with its length: what a club without a desk reads before it comes."""

from dataclasses import replace

import pytest

from settingsdesk.domain.base.datums import Edge, SpreadDatum
from settingsdesk.domain.hall.geometry import Leaning, Upright
from settingsdesk.domain.hall.mark_lengths import mark_lengths


def with_axis(model, key, **changed):
    """The same model with one axis otherwise."""
    axes = [replace(axis, **changed) if axis.key == key else axis for axis in model.axes]
    return replace(model, axes=tuple(axes))


class TestMarkLengths:
    def test_a_scale_to_the_underside_has_the_upper_edge_beside_it(self, bars):
        """A guest who reads the underside as the upper edge asks for the wrong hole."""
        below = with_axis(bars, "low_rail", edge=Edge.UNDERSIDE)
        listed = mark_lengths(below, below.axis("low_rail"))
        seventh = listed.marks[6]
        assert (seventh.mark, seventh.reading_mm, seventh.taped_mm) == ("7", 1700, 1740)
        assert listed.reads_otherwise
        assert listed.held == ()
        assert listed.drop_mm is None

    def test_one_that_reads_what_a_tape_finds_says_it_once(self, bars):
        assert not mark_lengths(bars, bars.axis("low_rail")).reads_otherwise

    def test_a_spread_holds_at_one_difference_of_heights_and_says_which(self, bars):
        """The same mark is another shortest distance once one rail is moved."""
        centres = with_axis(bars, "spread", spread_datum=SpreadDatum.CENTRES_HORIZONTAL)
        listed = mark_lengths(centres, centres.axis("spread"))
        assert [axis.key for axis, _ in listed.held] == ["low_rail", "high_rail"]
        low, high = (centres.axis(axis.key).scale.stop_of(mark) for axis, mark in listed.held)
        for stop in (0, 15):
            measures_mm = centres.measures_mm((low, high, stop))
            assert listed.marks[stop].taped_mm == measures_mm["spread"]
            assert listed.drop_mm == measures_mm["high_rail"] - measures_mm["low_rail"]

    def test_where_uprights_lean_every_mark_hangs_on_the_others(self, bars):
        leaning = replace(bars, geometry=Leaning(1300, 1500, 50))
        listed = mark_lengths(leaning, leaning.axis("low_rail"))
        assert [axis.key for axis, _ in listed.held] == ["high_rail", "spread"]
        assert listed.reads_otherwise

    def test_no_length_where_nobody_knows_the_drop(self, bars):
        slanting = replace(bars, geometry=Upright(0))
        listed = mark_lengths(slanting, slanting.axis("spread"))
        assert {one.taped_mm for one in listed.marks} == {None}

    @pytest.mark.parametrize("kind", ["parallel_bars", "vault_table"])
    def test_what_stands_for_itself_holds_however_the_rest_stands(self, model_of, kind):
        model = model_of(kind)
        assert all(mark_lengths(model, axis).held == () for axis in model.axes)
