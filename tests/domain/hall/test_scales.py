"""Marks and lengths: what is printed at a stop, where it is, and which stop is nearest."""

from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.hall.scales import (
    MOST_STOPS,
    CalibratedScale,
    ContinuousScale,
    LabelNotUnique,
    Lettering,
    NoSuchLabel,
    NoSuchStop,
    OutsideScale,
    RegularScale,
    ScaleDoesNotRise,
    TabulatedScale,
    WrongNumberOfStops,
)

HOLES = RegularScale(1400, 50, 9)
RULER = ContinuousScale(1300, 1900, 5)
TABLE = TabulatedScale((("low", 1000), ("middle", 1080), ("high", 1200)))


class TestARegularScale:
    def test_hole_1_is_the_lowest_and_the_others_follow_evenly(self):
        """Hole 5 of holes every 5 cm from 140 cm is at 160 cm."""
        assert HOLES.label(0) == "1"
        assert HOLES.length_mm(HOLES.stop_of("5")) == 1600

    def test_its_marks_may_begin_at_any_number(self):
        """Some uprights are printed with 0 at the lowest, some with the centimetres over 100."""
        assert [RegularScale(0, 10, 3, first_label=0).label(n) for n in range(3)] == ["0", "1", "2"]

    def test_letters_run_on_after_z_as_in_a_ledger(self):
        """A, B, … Z, AA, AB."""
        letters = RegularScale(0, 10, 60, Lettering.LETTERS)
        assert [letters.label(n) for n in (0, 1, 25, 26, 27, 51, 52)] == [
            "A",
            "B",
            "Z",
            "AA",
            "AB",
            "AZ",
            "BA",
        ]

    def test_letters_cannot_begin_before_a(self):
        """There is no letter 0."""
        with pytest.raises(ScaleDoesNotRise, match="Letters start at A"):
            RegularScale(0, 10, 3, Lettering.LETTERS, first_label=0)

    @pytest.mark.parametrize("pitch_mm", [0, -50])
    def test_it_must_rise(self, pitch_mm):
        """Two holes at one height are no scale."""
        with pytest.raises(ScaleDoesNotRise, match="must be more than 0"):
            RegularScale(1400, pitch_mm, 9)

    @pytest.mark.parametrize(
        ("first_mm", "pitch_mm"),
        [(1400, 50_000), (-200_000, 40_000), (nan, 50), (0, nan), (0, inf)],
    )
    def test_it_must_lie_within_a_hall(self, first_mm, pitch_mm):
        """Millimetres typed as centimetres, or no number at all."""
        with pytest.raises(ScaleDoesNotRise, match="within 100 metres"):
            RegularScale(first_mm, pitch_mm, 6)

    @pytest.mark.parametrize("stops", [0, -1, MOST_STOPS + 1])
    def test_it_has_at_least_one_stop_and_not_thousands(self, stops):
        """The refusal says how many there may be."""
        with pytest.raises(WrongNumberOfStops) as refused:
            RegularScale(1400, 1, stops)

        assert str(refused.value) == (
            f"A scale must have between 1 and 5000 stops; this one would have {stops}"
        )


class TestARulersMarkInMetres:
    @pytest.mark.parametrize("typed", ["1.65", "1,65", "1.65 m", "1 m 65", "1650 mm", "1650"])
    def test_the_mark_that_is_likely_meant_is_named_and_not_taken(self, typed: str):
        """A tape is read in metres in many halls."""
        with pytest.raises(NoSuchLabel) as refused:
            ContinuousScale(1300, 2500, 1).stop_of(typed)

        assert str(refused.value).endswith(
            "which runs from 130.0 to 250.0: type 165.0 if that is meant"
        )

    @pytest.mark.parametrize("typed", ["3.65", "x", "16.55"])
    def test_of_anything_else_none_is_named(self, typed: str):
        """Nor on holes, whose numbers are no lengths."""
        for scale in (ContinuousScale(1300, 2500, 1), RegularScale(1400, 50, 165)):
            with pytest.raises(NoSuchLabel) as refused:
                scale.stop_of(typed)
            assert refused.value.likely == ""


class TestATabulatedScale:
    def test_every_mark_has_the_length_of_its_line(self):
        """Stops at uneven distances, as the maker's table gives them."""
        assert [(TABLE.label(n), TABLE.length_mm(n)) for n in range(3)] == list(TABLE.table)

    def test_a_stop_not_beyond_the_one_before_it_is_named_with_both_lengths(self):
        """A swapped line in a long table is found at once."""
        with pytest.raises(ScaleDoesNotRise) as refused:
            TabulatedScale((("1", 1000), ("2", 1050), ("3", 1040)))

        assert str(refused.value) == (
            "Stop '3' at 104.0 cm must lie beyond the stop before it, which is at 105.0 cm"
        )

    def test_two_stops_at_one_length_are_refused(self):
        """Nobody could say which of them a length means."""
        with pytest.raises(ScaleDoesNotRise, match="must lie beyond the stop before it"):
            TabulatedScale((("1", 1000), ("2", 1000)))

    def test_two_stops_cannot_bear_one_mark(self):
        """Upper and lower case do not tell two marks apart, nor do blanks."""
        with pytest.raises(LabelNotUnique) as refused:
            TabulatedScale((("a", 1000), (" A ", 1050)))

        assert "each label must be on one stop only" in str(refused.value)

    def test_every_stop_bears_a_mark(self):
        """A stop without a mark could not be told to anybody."""
        with pytest.raises(LabelNotUnique, match="Each mark must have a name"):
            TabulatedScale((("1", 1000), ("  ", 1050)))

    @pytest.mark.parametrize("table", [(), (("1", nan),), (("1", 200_000.0),)])
    def test_no_stop_and_no_length_make_no_scale(self, table):
        """An empty table, or a length beyond any hall."""
        with pytest.raises((WrongNumberOfStops, ScaleDoesNotRise)):
            TabulatedScale(table)


class TestAContinuousScale:
    def test_its_marks_are_the_centimetres_on_the_ruler(self):
        """A ruler from 130 to 190 cm in half centimetres."""
        assert (RULER.count, RULER.label(0), RULER.label(1), RULER.label(120)) == (
            121,
            "130.0",
            "130.5",
            "190.0",
        )

    @pytest.mark.parametrize("typed", ["150", "150.0", "150,0", " 150 "])
    def test_a_mark_may_be_typed_as_centimetres_are(self, typed):
        """A spreadsheet turns 150.0 into 150."""
        assert RULER.length_mm(RULER.stop_of(typed)) == 1500

    def test_a_last_part_shorter_than_the_resolution_has_no_stop(self):
        """From 0 to 1.2 cm in steps of half a centimetre: 0, 0.5 and 1."""
        assert [ContinuousScale(0, 12, 5).label(n) for n in range(3)] == ["0.0", "0.5", "1.0"]

    def test_a_last_stop_that_the_parts_just_reach_is_there(self):
        """Six parts of 1.1 mm end at 6.6 mm, although a machine divides it to a little less."""
        assert ContinuousScale(0, 6.6, 1.1).count == 7

    def test_a_mark_between_two_millimetres_is_the_nearer_one(self):
        """170.06 cm is printed as 170.1, and half-way goes up."""
        assert ContinuousScale(1700.6, 1800, 5).label(0) == "170.1"
        assert ContinuousScale(1700.5, 1800, 5).label(0) == "170.1"
        assert ContinuousScale(1700.4, 1800, 5).label(0) == "170.0"

    @given(st.sampled_from((0.0, 0.25, 0.5, 0.999)), st.sampled_from((1.0, 1.5, 3.175)))
    def test_no_two_of_its_marks_are_alike(self, more_mm, resolution_mm):
        """Even where the ruler begins between two millimetres."""
        scale = ContinuousScale(1300 + more_mm, 1400, resolution_mm)
        labels = [scale.label(stop) for stop in range(scale.count)]
        assert len(set(labels)) == len(labels)

    @pytest.mark.parametrize(
        ("from_mm", "to_mm", "resolution_mm"),
        [(1900, 1300, 5), (1300, 1900, 0), (1300, 1900, -5), (1300, 1900, 0.5)],
    )
    def test_it_must_rise_by_at_least_a_millimetre(self, from_mm, to_mm, resolution_mm):
        """Nobody reads a ruler finer."""
        with pytest.raises(ScaleDoesNotRise, match=r"resolution at least 0\.1 cm"):
            ContinuousScale(from_mm, to_mm, resolution_mm)

    @pytest.mark.parametrize("place", range(3))
    @pytest.mark.parametrize("wild", [nan, inf])
    def test_what_is_no_number_is_refused_wherever_it_stands(self, place, wild):
        """A damaged file gives a sentence, not a stack trace."""
        numbers = [1300.0, 1900.0, 5.0]
        numbers[place] = wild
        with pytest.raises(ScaleDoesNotRise, match="within 100 metres"):
            ContinuousScale(*numbers)


class TestARulerInInches:
    """What the metal shows is what stands on the card."""

    RULER = ContinuousScale(51 * 25.4, 75 * 25.4, 12.7, Unit.INCH)

    def test_is_labelled_in_inches_to_the_eighth(self):
        assert [self.RULER.label(stop) for stop in (0, 1, 2, 48)] == ["51", "51 1/2", "52", "75"]
        assert self.RULER.length_mm(24) == pytest.approx(63 * 25.4, abs=0.05)

    @pytest.mark.parametrize("typed", ["63 1/2", "63.5", "63,5", '63 1/2"', "63½"])
    def test_a_mark_is_found_however_it_is_typed(self, typed):
        assert self.RULER.stop_of(typed) == 25

    @pytest.mark.parametrize("typed", ["162.0", "63 1/8", "x"])
    def test_what_it_does_not_show_is_no_mark_of_it(self, typed):
        with pytest.raises(NoSuchLabel):
            self.RULER.stop_of(typed)

    def test_between_eighths_there_is_nothing_to_read(self):
        with pytest.raises(ScaleDoesNotRise, match="whole eighth"):
            ContinuousScale(1300, 1900, 12.7, Unit.INCH)


class TestACalibratedScale:
    def test_it_has_the_printed_marks_at_the_lengths_the_tape_found(self):
        """Hole 1 a centimetre low and every hole a little farther than printed."""
        own = CalibratedScale(HOLES, -38, 1.02)
        assert own.label(0) == "1"
        assert own.length_mm(0) == pytest.approx(1390)
        assert own.length_mm(8) - own.length_mm(0) == pytest.approx(408)

    def test_its_marks_are_typed_as_on_the_printed_scale(self):
        """A calibrated ruler is still read as a ruler."""
        assert CalibratedScale(RULER, 3, 1).stop_of("150") == RULER.stop_of("150.0")

    @pytest.mark.parametrize("gain", [0, -1])
    def test_a_fall_with_rising_marks_is_refused_with_the_likely_reason(self, gain):
        """Holes counted from the top."""
        with pytest.raises(ScaleDoesNotRise, match="from the other end"):
            CalibratedScale(HOLES, 0, gain)

    @pytest.mark.parametrize(("offset_mm", "gain"), [(nan, 1), (0, nan), (0, inf), (1e9, 1)])
    def test_what_is_no_length_is_refused(self, offset_mm, gain):
        """A damaged record."""
        with pytest.raises(ScaleDoesNotRise, match="within 100 metres"):
            CalibratedScale(HOLES, offset_mm, gain)


class TestMarkToStop:
    @pytest.mark.parametrize("typed", ["HIGH", " high", "High "])
    def test_case_and_blanks_do_not_matter(self, typed):
        """Somebody types at the apparatus with chalk on their hands."""
        assert TABLE.stop_of(typed) == 2

    def test_a_mark_printed_with_blanks_is_found_without_them(self):
        """Blanks slip into tables that are pasted."""
        assert TabulatedScale(((" A1 ", 1000),)).stop_of("a1") == 0

    def test_a_mark_that_is_not_there_is_refused_and_the_first_and_last_are_named(self):
        """A coach who counts one hole too far reads which hole is the last."""
        with pytest.raises(NoSuchLabel) as refused:
            HOLES.stop_of(" 10 ")

        assert str(refused.value) == ("Mark '10' is not on this scale: its 9 marks run from 1 to 9")

    @pytest.mark.parametrize("stop", [-1, 9])
    def test_a_stop_beyond_the_scale_is_refused_and_never_wraps_round(self, stop):
        """-1 is not the last hole."""
        for ask in (HOLES.label, HOLES.length_mm):
            with pytest.raises(NoSuchStop, match="counted 0 to 8"):
                ask(stop)


class TestLengthToStop:
    def test_the_nearest_stop_comes_with_how_far_off_it_is(self):
        """161.2 cm: hole 5 at 160 cm is 1.2 cm too low."""
        nearest = HOLES.nearest(1612)
        assert (nearest.stops, nearest.residual_mm) == ((4,), (-12,))

    def test_half_way_gives_both_stops(self):
        """The coach decides, not a rounding rule."""
        nearest = HOLES.nearest(1625)
        assert (nearest.stops, nearest.residual_mm) == ((4, 5), (-25, 25))

    @given(st.data())
    def test_a_stops_own_length_leads_back_to_it_on_every_type_of_scale(self, a_scale, data):
        """Mark to length to nearest stop to mark: the same stop, nothing off."""
        scale = data.draw(a_scale())
        stop = data.draw(st.integers(0, scale.count - 1))
        nearest = scale.nearest(scale.length_mm(stop))
        assert nearest.stops == (stop,)
        assert nearest.residual_mm == (0,)
        assert scale.stop_of(scale.label(stop)) == stop

    @given(st.data())
    def test_half_way_between_any_two_neighbours_gives_both(self, a_scale, data):
        """On every type of scale."""
        scale = data.draw(a_scale().filter(lambda scale: scale.count > 1))
        stop = data.draw(st.integers(0, scale.count - 2))
        middle_mm = (scale.length_mm(stop) + scale.length_mm(stop + 1)) / 2
        assert scale.nearest(middle_mm).stops == (stop, stop + 1)

    @given(st.data(), st.floats(0, 1))
    def test_no_stop_is_nearer_than_the_nearest(self, a_scale, data, share):
        """Against every stop, one by one."""
        scale = data.draw(a_scale(most=8))
        first_mm, last_mm = scale.length_mm(0), scale.length_mm(scale.count - 1)
        wanted_mm = first_mm + share * (last_mm - first_mm)
        off = [abs(scale.length_mm(stop) - wanted_mm) for stop in range(scale.count)]
        nearest = scale.nearest(wanted_mm)
        assert min(off) == pytest.approx(min(map(abs, nearest.residual_mm)))
        assert all(off[stop] <= min(off) + 0.05 for stop in nearest.stops)

    @pytest.mark.parametrize("past_mm", [1374, 1826])
    def test_more_than_half_a_gap_past_an_end_is_refused_and_the_range_is_named(self, past_mm):
        """The coach reads what this apparatus can do."""
        with pytest.raises(OutsideScale) as refused:
            HOLES.nearest(past_mm)

        assert str(refused.value) == (
            f"{past_mm / 10:.1f} cm is outside this scale, which runs from 140.0 to 180.0 cm"
        )

    @pytest.mark.parametrize(("past_mm", "stop"), [(1375, 0), (1825, 8)])
    def test_half_a_gap_past_an_end_is_still_the_last_stop(self, past_mm, stop):
        """As near as any length between two stops may be to one of them."""
        assert HOLES.nearest(past_mm).stops == (stop,)

    @pytest.mark.parametrize("within_mm", [961, 1259])
    @pytest.mark.parametrize("outside_mm", [959, 1261])
    def test_each_end_goes_by_its_own_gap(self, within_mm, outside_mm):
        """8 cm between the lowest two, 12 between the highest two."""
        TABLE.nearest(within_mm)
        with pytest.raises(OutsideScale):
            TABLE.nearest(outside_mm)

    @pytest.mark.parametrize("length_mm", [999.6, 1000.4])
    def test_a_length_printed_as_the_only_stop_is_that_stop(self, length_mm):
        """Else one would read that 100.0 cm is outside a scale from 100.0 to 100.0 cm."""
        assert TabulatedScale((("1", 1000),)).nearest(length_mm).stops == (0,)

    def test_what_is_no_number_is_outside(self):
        """Nothing is nearest to it."""
        with pytest.raises(OutsideScale):
            HOLES.nearest(nan)
