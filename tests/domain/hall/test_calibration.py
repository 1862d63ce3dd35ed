"""A tape against the printed stops: the apparatus's own scale, and the readings that do not fit."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.domain.hall.calibration import (
    CalibrationTooThin,
    TapedStop,
    calibrate,
    fit_line,
)
from settingsdesk.domain.hall.scales import (
    CalibratedScale,
    NoSuchStop,
    RegularScale,
    ScaleDoesNotRise,
    TabulatedScale,
)

HOLES = RegularScale(1400, 50, 9)
NOISE_MM = (0.6, -0.9, 0.4, 0.8, -0.7, -0.2)


def taped(lengths_mm: dict[int, float]) -> list[TapedStop]:
    return [TapedStop(stop, length_mm) for stop, length_mm in lengths_mm.items()]


def six_stops(first_mm: float = 1390, pitch_mm: float = 50.2) -> dict[int, float]:
    """Six careful readings, each within a millimetre of an apparatus 1 cm low."""
    stops = (0, 2, 3, 5, 7, 8)
    return {
        stop: first_mm + pitch_mm * stop + off for stop, off in zip(stops, NOISE_MM, strict=True)
    }


class TestAnApparatussOwnScale:
    def test_an_exact_line_is_recovered(self):
        """Every hole 1 cm low and 50.4 mm from the next."""
        found = calibrate(HOLES, taped({stop: 1390 + 50.4 * stop for stop in (0, 4, 8)}))
        assert found.first_mm == pytest.approx(1390)
        assert found.shift_mm == pytest.approx(-10)
        assert found.pitch_mm == pytest.approx(50.4)
        assert found.residual_sd_mm == pytest.approx(0, abs=1e-9)
        assert found.residuals_mm == pytest.approx((0, 0, 0), abs=1e-9)
        assert found.misfits == ()

    @given(
        st.integers(1300, 1500),
        st.integers(450, 550),
        st.lists(st.integers(0, 8), min_size=3, max_size=9, unique=True),
    )
    def test_any_exact_line_is_recovered_from_any_three_stops_or_more(
        self, first_mm, pitch_tenths, stops
    ):
        """Which stops were measured does not matter, nor their order."""
        own = {stop: first_mm + pitch_tenths / 10 * stop for stop in range(9)}
        found = calibrate(HOLES, taped({stop: own[stop] for stop in stops}))
        for stop in range(9):
            assert found.scale.length_mm(stop) == pytest.approx(own[stop], abs=1e-6)
        assert found.misfits == ()

    def test_a_tape_that_agrees_with_the_model_changes_nothing(self):
        """Offset 0, gain 1."""
        found = calibrate(HOLES, taped({stop: HOLES.length_mm(stop) for stop in range(9)}))
        assert found.scale.offset_mm == pytest.approx(0, abs=1e-9)
        assert found.scale.gain == pytest.approx(1)

    def test_a_scale_that_is_not_regular_has_no_pitch(self):
        """Its stops are uneven on purpose."""
        table = TabulatedScale((("a", 1000), ("b", 1080), ("c", 1200)))
        found = calibrate(table, taped({0: 1010, 1: 1090, 2: 1210}))
        assert found.pitch_mm is None
        assert found.shift_mm == pytest.approx(10)

    def test_the_residual_is_what_the_tape_found_less_what_the_scale_says(self):
        """Plus is: the stop stands higher than the line through all."""
        found = calibrate(HOLES, taped({0: 1400, 4: 1603, 8: 1800}))
        assert found.residuals_mm == pytest.approx((-1, 2, -1))
        assert found.residual_sd_mm == pytest.approx(6**0.5)


class TestReadingsThatDoNotFit:
    def test_careful_readings_all_fit(self):
        """No false alarm for a millimetre."""
        assert calibrate(HOLES, taped(six_stops())).misfits == ()

    @pytest.mark.parametrize("stop", six_stops())
    @pytest.mark.parametrize("slip_mm", [-100, -20, 20, 100])
    def test_one_misread_stop_among_six_is_the_one_named(self, stop, slip_mm):
        """A tape read 2 or 10 cm off, wherever on the scale."""
        lengths_mm = six_stops()
        lengths_mm[stop] += slip_mm
        assert calibrate(HOLES, taped(lengths_mm)).misfits == (stop,)

    @pytest.mark.parametrize("stop", [3, 5])
    def test_a_misnumbered_stop_is_named(self, stop):
        """Hole 5 measured, hole 6 written: off by a whole pitch."""
        lengths_mm = six_stops()
        lengths_mm[stop + 1] = lengths_mm.pop(stop)
        assert calibrate(HOLES, taped(lengths_mm)).misfits == (stop + 1,)

    def test_a_gross_slip_does_not_hide_a_smaller_one(self):
        """Once the wild reading is taken away, the other stands out."""
        lengths_mm = six_stops()
        lengths_mm[2] += 300
        lengths_mm[7] -= 20
        assert calibrate(HOLES, taped(lengths_mm)).misfits == (2, 7)

    @pytest.mark.parametrize(("one", "other"), [(2, 7), (0, 8), (3, 5)])
    @pytest.mark.parametrize("slips_mm", [(40, -30), (40, 40), (-20, 50)])
    def test_two_slips_of_one_size_do_not_hide_each_other(self, one, other, slips_mm):
        """Neither stands out alone; with both away, the other four agree."""
        lengths_mm = six_stops()
        lengths_mm[one] += slips_mm[0]
        lengths_mm[other] += slips_mm[1]
        assert calibrate(HOLES, taped(lengths_mm)).misfits == (one, other)

    def test_a_scatter_that_no_two_readings_make_accuses_nobody(self):
        """A wildly uneven scale is not two slips; the scatter is shown, and no stop is named."""
        offs = (20, -25, 18, -22, 24, -19, 21, -23, 20)
        lengths_mm = {stop: HOLES.length_mm(stop) + off for stop, off in enumerate(offs)}
        found = calibrate(HOLES, taped(lengths_mm))
        assert found.misfits == ()
        assert found.residual_sd_mm > 20

    def test_two_readings_cannot_be_told_from_three_others(self):
        """Four at least must agree against two; among five, the scatter alone speaks."""
        lengths_mm = {stop: HOLES.length_mm(stop) for stop in (0, 2, 4, 6, 8)}
        lengths_mm[2] += 40
        lengths_mm[6] -= 40
        assert calibrate(HOLES, taped(lengths_mm)).misfits == ()

    def test_a_misread_stop_among_exact_ones_is_named(self):
        """Even where the others have no scatter at all."""
        lengths_mm = {stop: HOLES.length_mm(stop) for stop in range(5)}
        lengths_mm[1] += 20
        assert calibrate(HOLES, taped(lengths_mm)).misfits == (1,)

    @pytest.mark.parametrize(("off_mm", "misfits"), [(3.2, ()), (4, (4,))])
    def test_four_times_the_scatter_of_the_others_is_a_misfit(self, off_mm, misfits):
        """The others scatter by a millimetre: 3.2 mm is 3.8 times that, 4 mm 4.6 times."""
        scatter_mm = (1, -1, 0.5, -0.5, off_mm, -1, 0.5, -1)
        lengths_mm = {stop: HOLES.length_mm(stop) + off for stop, off in enumerate(scatter_mm)}
        assert calibrate(HOLES, taped(lengths_mm)).misfits == misfits

    def test_less_than_two_tapes_differ_by_is_never_a_misfit(self):
        """3 mm among exact readings: the tape, not the hole."""
        lengths_mm = {stop: HOLES.length_mm(stop) for stop in range(9)}
        lengths_mm[4] += 2.6
        assert calibrate(HOLES, taped(lengths_mm)).misfits == ()

    @pytest.mark.parametrize(("off_mm", "misfits"), [(3.0, ()), (3.1, (4,))])
    def test_what_two_tapes_differ_by_is_none_and_a_tenth_more_is_one(self, off_mm, misfits):
        """The others are exact, so that nothing but the tape speaks for the hole."""
        lengths_mm = {stop: HOLES.length_mm(stop) for stop in range(9)}
        lengths_mm[4] += off_mm
        assert calibrate(HOLES, taped(lengths_mm)).misfits == misfits

    def test_three_readings_cannot_tell_which_of_them_is_wrong(self):
        """None is accused; the scatter says that something is."""
        found = calibrate(HOLES, taped({0: 1400, 4: 1650, 8: 1800}))
        assert found.misfits == ()
        assert found.residual_sd_mm > 40

    def test_a_misfit_is_named_and_still_fitted_until_the_coach_leaves_it_out(self):
        """Never dropped silently."""
        lengths_mm = six_stops()
        lengths_mm[5] += 100
        with_it = calibrate(HOLES, taped(lengths_mm))
        without = calibrate(HOLES, taped(lengths_mm), left_out=with_it.misfits)
        assert with_it.residual_sd_mm > 20
        assert without.residual_sd_mm < 1.5
        assert (without.misfits, without.left_out) == ((), frozenset({5}))
        assert without.residuals_mm[3] == pytest.approx(100, abs=2)

    def test_a_stop_taped_twice_and_once_misread_is_named_once(self):
        """Two readings of one hole contradict each other."""
        readings = [*taped(six_stops()), TapedStop(5, six_stops()[5] + 60)]
        assert calibrate(HOLES, readings).misfits == (5,)

    def test_when_the_others_are_nearly_all_at_one_stop_a_far_one_is_not_blamed(self):
        """Readings of hole 1 with one of hole 5 and one of hole 9 on the same line."""
        readings = [TapedStop(0, length_mm) for length_mm in (1400, 1400.5, 1399.5)]
        whole = [*readings, TapedStop(4, 1600), TapedStop(8, 1800)]
        assert calibrate(HOLES, whole).misfits == ()

    def test_of_three_stops_none_is_blamed_however_often_they_were_taped(self):
        """Without the far one two would be left, and two fix a line that nothing contradicts."""
        readings = [TapedStop(0, length_mm) for length_mm in (1400, 1400.5, 1399.5)]
        found = calibrate(HOLES, [*readings, TapedStop(4, 1600), TapedStop(8, 1900)])
        assert found.misfits == ()
        assert found.residual_sd_mm > 10

    @given(
        st.lists(
            st.tuples(st.integers(0, 8), st.integers(1350, 1850)),
            min_size=3,
            max_size=9,
        )
    )
    def test_without_the_misfits_the_others_always_fix_a_scale(self, read):
        """Whatever was typed, it is told how far off each is: off the line of the others."""
        readings = [TapedStop(stop, float(length_mm)) for stop, length_mm in read]
        try:
            found = calibrate(HOLES, readings)
        except (CalibrationTooThin, ScaleDoesNotRise):
            return
        assert calibrate(HOLES, readings, left_out=found.misfits).scale.gain > 0


class TestTooFewReadings:
    @pytest.mark.parametrize("count", [0, 1, 2])
    def test_fewer_than_three_are_refused(self, count):
        """Two fix a line, but nothing would show that one of them is wrong."""
        with pytest.raises(CalibrationTooThin) as refused:
            calibrate(HOLES, taped({stop: 1400 + 50 * stop for stop in range(count)}))

        assert str(refused.value) == (
            "A calibration needs at least three measured marks to go by; this one has"
            f" {count}. Measure some more, as far apart as the scale allows"
        )

    @pytest.mark.parametrize("count", [2, 3, 5])
    def test_any_number_at_one_stop_is_refused_and_says_so(self, count):
        """One height has no pitch."""
        with pytest.raises(CalibrationTooThin) as refused:
            calibrate(HOLES, [TapedStop(3, 1550 + n) for n in range(count)])

        assert str(refused.value) == (
            f"All {count} readings are at one mark: measure at least three marks, as far apart as"
            " the scale allows"
        )

    def test_many_readings_at_two_stops_are_too_few(self):
        """Two stops fix a line that nothing contradicts, however wild its pitch is."""
        readings = [TapedStop(4, 1700), TapedStop(4, 1710), TapedStop(4, 1720), TapedStop(5, 1750)]
        with pytest.raises(CalibrationTooThin, match="this one has 2"):
            calibrate(HOLES, readings)

    def test_what_is_left_out_does_not_count(self):
        """Four readings, two left out."""
        with pytest.raises(CalibrationTooThin, match="this one has 2"):
            calibrate(HOLES, taped({0: 1400, 2: 1500, 4: 1600, 8: 1900}), left_out=(2, 8))

    def test_a_stop_that_is_not_on_the_scale_is_refused(self):
        """Hole 10 of 9."""
        with pytest.raises(NoSuchStop):
            calibrate(HOLES, taped({0: 1400, 4: 1600, 9: 1850}))

    def test_lengths_that_fall_while_the_marks_rise_are_refused(self):
        """Counted from the top; nothing is turned round silently."""
        with pytest.raises(ScaleDoesNotRise, match="from the other end"):
            calibrate(HOLES, taped({0: 1800, 4: 1600, 8: 1400}))


class TestTheFittedLine:
    def test_two_points_leave_no_freedom_and_no_error(self):
        """y = 1 + 2x through (0, 1) and (2, 5)."""
        line = fit_line([0, 2], [1, 5])
        assert (line.intercept, line.slope, line.at(10)) == (1, 2, 21)
        assert (line.residual_sd, line.intercept_se, line.slope_se) == (0, 0, 0)

    def test_the_leverages_add_up_to_two(self):
        """One for each coefficient."""
        assert sum(fit_line([0, 1, 2, 7], [0, 1, 2, 5]).leverages) == pytest.approx(2)

    @pytest.mark.parametrize("x", [[], [3], [3, 3, 3]])
    def test_fewer_than_two_places_fix_no_line(self, x):
        """Whatever was read there."""
        with pytest.raises(CalibrationTooThin):
            fit_line(x, x)

    def test_calibrated_marks_are_those_of_the_printed_scale(self):
        """Nobody repaints the uprights."""
        own = calibrate(HOLES, taped(six_stops())).scale
        assert isinstance(own, CalibratedScale)
        assert [own.label(n) for n in range(9)] == [HOLES.label(n) for n in range(9)]
