"""An apparatus model: complete when made, and the one place that turns stops into measures."""

from dataclasses import replace
from math import sqrt

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from settingsdesk.domain.base.datums import (
    Edge,
    HeightDatum,
    Section,
    SpreadDatum,
    SpreadTooSmall,
)
from settingsdesk.domain.base.kinds import KINDS, NoSuchAxis
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.hall.geometry import Leaning, NotAFrame, Upright
from settingsdesk.domain.hall.models import (
    AxisTimes,
    Guess,
    NotAModel,
    NotASetup,
    NotATime,
    Procedure,
    SectionUnknown,
    TapedFarOff,
)
from settingsdesk.domain.hall.scales import (
    CalibratedScale,
    ContinuousScale,
    NoSuchStop,
    RegularScale,
)


class TestMeasures:
    def test_stops_on_paper(self, bars):
        """Low 7 is 170 cm, high 7 is 250 cm: 80 cm apart, so the printed spread is true."""
        assert bars.marks((6, 6, 15)) == {"low_rail": "7", "high_rail": "7", "spread": "P"}
        measures_mm = bars.measures_mm((6, 6, 15))
        assert measures_mm == pytest.approx({"low_rail": 1700, "high_rail": 2500, "spread": 1600})

    def test_the_low_rail_up_by_one_hole_brings_the_rails_nearer(self, bars):
        """Centres √(164²−80²) cm apart; with a drop of 75 cm that is an inner 157.6 cm."""
        horizontal_mm = sqrt(1640**2 - 800**2)
        assert bars.measures_mm((7, 6, 15))["spread"] == pytest.approx(
            sqrt(horizontal_mm**2 + 750**2) - 40
        )

    def test_an_upright_frames_scale_to_the_underside_is_told_to_the_upper_edge(self, model_of):
        """All heights are canonical, whatever the scale points to."""
        bar = model_of("horizontal_bar", section=Section(28, 28))
        below = replace(bar, axes=(replace(bar.axes[0], edge=Edge.UNDERSIDE),))
        assert below.measures_mm((0,)) == {"rail": 1028}

    def test_parallel_bars_have_one_height_and_a_level_gap(self, model_of):
        """What the spread's scale shows is what lies between the rails."""
        bars = model_of("parallel_bars", section=Section(50, 40))
        assert bars.measures_mm((2, 1)) == pytest.approx({"rails": 1100, "spread": 470})

    @pytest.mark.parametrize("kind", [key for key in KINDS if KINDS[key].spread_between is None])
    def test_without_a_rail_pair_every_axis_stands_for_itself(self, model_of, kind):
        """A vault table's height does not move its board."""
        model = model_of(kind)
        setup = tuple(range(len(model.axes)))
        assert model.rail_pair is None
        assert model.measures_mm(setup) == model.readings_mm(setup)

    def test_leaning_uprights_shift_every_measure_of_the_pair(self, bars):
        """One hole of spread moves both heights, and the program knows it."""
        leaning = replace(bars, geometry=Leaning(1300, 1500, 50))
        straight, wider = leaning.measures_mm((6, 6, 0)), leaning.measures_mm((6, 6, 5))
        assert straight["low_rail"] == pytest.approx(50 + 1700 + 20)
        assert wider["low_rail"] < straight["low_rail"]
        assert wider["high_rail"] < straight["high_rail"]
        assert wider["spread"] > straight["spread"]

    def test_an_apparatus_with_scales_of_its_own_is_measured_on_them(self, bars):
        """A low rail whose holes all sit 1 cm low; the marks stay as printed."""
        own = bars.with_scales({"low_rail": CalibratedScale(bars.axes[0].scale, -10, 1)})
        assert own.measures_mm((6, 6, 15))["low_rail"] == 1690
        assert own.marks((6, 6, 15)) == bars.marks((6, 6, 15))
        assert own.axes[1:] == bars.axes[1:]


class TestWhatATapeFinds:
    @given(st.data())
    def test_a_taped_measure_leads_back_to_what_the_scale_shows(self, any_model, any_setup, data):
        """Needed to calibrate a frame that leans, where no tape reads along the upright."""
        model = data.draw(any_model)
        setup = data.draw(any_setup(model))
        axis = data.draw(st.sampled_from(model.axes))
        assume(not isinstance(model.geometry, Upright) or model.geometry.reference_drop_mm < 800)
        held_mm = model.readings_mm(setup)
        found_mm = model.reading_for_mm(axis.key, model.measures_mm(setup)[axis.key], held_mm)
        assert found_mm == pytest.approx(held_mm[axis.key], abs=0.01)

    def test_a_measure_that_no_stop_can_give_is_refused_with_what_would_be_expected(self, bars):
        """A tape read to the mat, or in inches."""
        held_mm = bars.readings_mm((6, 6, 15))
        with pytest.raises(TapedFarOff) as refused:
            bars.reading_for_mm("low_rail", 670, held_mm)

        assert str(refused.value) == (
            "Low rail height: 67.0 cm is not near any mark of this scale, which would be taped"
            " between 130.0 and 190.0 cm: measure again, and to the right edge"
        )
        assert bars.reading_for_mm("low_rail", 1300, held_mm) == pytest.approx(1300)
        assert bars.reading_for_mm("low_rail", 1900, held_mm) == pytest.approx(1900)


class TestWhatIsSaidOfAMark:
    """A volunteer with a tape sets by tape whatever has a unit."""

    def test_a_rulers_is_called_a_mark_and_has_no_unit(self, bars):
        ruler = replace(bars.axis("spread"), scale=ContinuousScale(1300, 2000, 1))
        assert ruler.mark_in_words(75) == "mark 137.5"
        assert bars.axis("low_rail").mark_in_words(6) == "7"

    def test_beside_it_is_the_tapes_length_with_both_its_ends(self, bars):
        assert bars.axis("spread").by_tape(1720, Unit.CENTIMETRE) == (
            "by tape 172.0 cm, shortest distance between the rails' inner faces"
        )
        assert bars.axis("low_rail").by_tape(1700, Unit.CENTIMETRE) == (
            "by tape 170.0 cm, upper edge of the rail, above the floor"
        )

    def test_a_run_up_is_the_length_along_the_floor(self, model_of):
        vault = model_of("vault_table")
        run_up = replace(vault.axes[-1], scale=ContinuousScale(10_000, 25_000, 100))
        assert run_up.kind.name == "Run-up length"
        assert run_up.mark_in_words(100) == "20 m"
        assert run_up.by_tape(20_000, Unit.CENTIMETRE).startswith("by tape 20 m, between ")

    def test_no_length_is_told_of_a_spread_that_nobody_can_tell(self, bars):
        slanting = replace(bars, geometry=Upright(0))
        assert bars.taped_mm((6, 6, 15)) == bars.measures_mm((6, 6, 15))
        assert slanting.taped_mm((6, 6, 15)).keys() == {"low_rail", "high_rail"}


class TestAModelIsComplete:
    def test_it_has_a_name(self, bars):
        """A card without the apparatus's name is useless."""
        with pytest.raises(NotAModel, match="must have a name"):
            replace(bars, name="  ")

    def test_it_has_the_axes_of_its_kind_in_their_order(self, bars):
        """The order in which they are safely set."""
        with pytest.raises(NotAModel) as refused:
            replace(bars, axes=bars.axes[::-1])

        assert str(refused.value) == (
            "Uneven bars must have these adjustments in this order: low rail height, high rail"
            " height, rail spread"
        )

    def test_rails_have_a_section(self, bars):
        """No inner distance without it."""
        with pytest.raises(NotAModel, match="must have the section of the rail"):
            replace(bars, section=None)

    def test_only_what_a_spreader_opens_can_lean_with_it(self, model_of):
        """A horizontal bar has none."""
        with pytest.raises(NotAModel, match="no spreader"):
            model_of("horizontal_bar", geometry=Leaning(1000, 1000, 0))

    def test_only_a_rail_is_read_to_its_underside(self, model_of):
        """A beam read so would silently be taken as read to its surface."""
        beam = model_of("balance_beam")
        with pytest.raises(NotAModel, match="no rail whose centre or underside"):
            replace(beam, axes=(replace(beam.axes[0], edge=Edge.UNDERSIDE),))

    def test_nor_is_one_axis_of_several(self, model_of):
        table = model_of("vault_table")
        first, *others = table.axes
        with pytest.raises(NotAModel, match="no rail whose centre or underside"):
            replace(table, axes=(replace(first, edge=Edge.CENTRE), *others))

    def test_its_ends_are_called_as_a_hall_calls_them(self, bars, model_of):
        """Each where it is set, and in the words of what stands there."""
        called = bars.with_ends_called(("window", "wall"))
        for axis, before in zip(called.axes, bars.axes, strict=True):
            assert [str(end) for end in axis.ends] == [
                str(end).replace("front", "window").replace("back", "wall") for end in before.ends
            ]
        assert bars.with_ends_called(None) == bars
        table = model_of("vault_table")
        assert table.with_ends_called(("window", "wall")) == table

    def test_its_spread_scale_must_be_possible_at_the_reference_drop(self, bars):
        """Refused when the model is entered, not when the first athlete is carried to it."""
        with pytest.raises(SpreadTooSmall):
            replace(bars, geometry=Upright(1400))

    @pytest.mark.parametrize("feet_mm", [100, 4000])
    def test_its_spreader_must_fit_its_feet_at_both_ends_of_the_scale(self, bars, feet_mm):
        """The same for a frame that leans."""
        with pytest.raises(NotAFrame):
            replace(bars, geometry=Leaning(feet_mm, 700, 0))

    def test_an_axis_is_found_by_its_key(self, bars):
        """And an unknown one refused."""
        assert bars.axis("spread") is bars.axes[2]
        with pytest.raises(NoSuchAxis):
            bars.axis("rails")


class TestAMarkInWords:
    @pytest.mark.parametrize(
        ("kind", "axis", "scale", "words"),
        [
            ("balance_beam", "beam", RegularScale(1000, 50, 5), "3"),
            ("balance_beam", "beam", ContinuousScale(1000, 1200, 10), "mark 102.0"),
            ("balance_beam", "beam", ContinuousScale(1016, 1270, 25.4, Unit.INCH), "mark 42"),
            ("vault_table", "run_up", ContinuousScale(10000, 25000, 100), "10.2 m"),
        ],
    )
    def test_is_called_one_where_a_ruler_shows_it_and_a_number_stands_by_itself(
        self, model_of, kind, axis, scale, words
    ):
        """Along the floor metres are said."""
        marked = model_of(kind).with_scales({axis: scale})
        assert marked.axis(axis).mark_in_words(2) == words


class TestRailsThatCross:
    def test_are_told_where_either_end_of_the_low_ones_scale_is_the_higher(self, bars):
        """No make is built so: more likely a figure was mistyped."""
        low, high, spread = bars.axes
        for scale in (RegularScale(1350, 200, 9), RegularScale(2250, 1, 9)):
            crossed = replace(bars, axes=(replace(low, scale=scale), high, spread))
            assert crossed.crossed_rails is not None
            assert [axis.key for axis in crossed.crossed_rails] == ["low_rail", "high_rail"]
        assert bars.crossed_rails is None

    def test_are_none_where_both_go_by_one_scale(self, model_of):
        assert model_of("parallel_bars").crossed_rails is None


class TestASectionThatIsAGuess:
    @pytest.mark.parametrize(
        ("height", "spread", "must_be_known"),
        [
            (Edge.UPPER, SpreadDatum.INNER, False),
            (Edge.UNDERSIDE, SpreadDatum.INNER, True),
            (Edge.UPPER, SpreadDatum.CENTRES_DIAGONAL, True),
        ],
    )
    def test_is_asked_for_where_a_length_hangs_on_it(self, bars, height, spread, must_be_known):
        guessed = replace(bars, guessed=frozenset({Guess.SECTION}))
        datum = HeightDatum(edge=height)

        bars.must_know_its_section(datum, spread)
        if must_be_known:
            with pytest.raises(SectionUnknown):
                guessed.must_know_its_section(datum, spread)
        else:
            guessed.must_know_its_section(datum, spread)


class TestASetup:
    @pytest.mark.parametrize("setup", [(), (1, 2), (1, 2, 3, 4)])
    def test_it_names_one_stop_for_each_axis(self, bars, setup):
        """Neither too few nor too many."""
        with pytest.raises(NotASetup) as refused:
            bars.measures_mm(setup)

        assert str(refused.value) == (
            f"A setup of Bars in hall A must name 3 stops; {len(setup)} were given"
        )

    @pytest.mark.parametrize("setup", [(9, 0, 0), (0, -1, 0), (0, 0, 31)])
    def test_it_names_stops_that_are_there(self, bars, setup):
        """On every axis."""
        for ask in (bars.must_have, bars.marks, bars.readings_mm):
            with pytest.raises(NoSuchStop):
                ask(setup)


class TestTimes:
    @pytest.mark.parametrize("seconds", [-1, 3601])
    def test_an_operation_takes_between_nothing_and_an_hour(self, seconds):
        """Whether at an end of an axis or in every change-over."""
        for place in range(3):
            times = [10, 10, 10]
            times[place] = seconds
            with pytest.raises(NotATime, match=f"{seconds} was given"):
                AxisTimes(*times)
        for place in range(4):
            times = [10, 10, 10, 10]
            times[place] = seconds
            with pytest.raises(NotATime, match="between 0 and 3600 seconds"):
                Procedure(*times, 2)

    def test_what_every_change_over_takes_is_the_sum_of_its_operations(self):
        """Slacken, square, tension, walk round."""
        assert Procedure(15, 10, 14, 6, 2).any_move_s == 45

    @pytest.mark.parametrize(("slacken_s", "tension_s"), [(1, 0), (0, 1)])
    def test_without_tensioners_nothing_is_slackened_or_tensioned(self, slacken_s, tension_s):
        """Parallel bars hold themselves; time for cables would be counted and never shown."""
        with pytest.raises(NotAModel, match="without tensioners"):
            Procedure(slacken_s, 10, tension_s, 6, 0)

    @pytest.mark.parametrize("per_side", [-1, 5])
    def test_one_side_has_no_more_than_four_tensioners(self, per_side):
        """More were never seen; a larger number is a slip."""
        with pytest.raises(NotAModel, match="between 0 and 4"):
            Procedure(0, 0, 0, 0, per_side)


class TestCalibratedAxes:
    def test_an_axis_without_a_scale_of_its_own_keeps_the_models(self, bars):
        """Nothing calibrated, nothing changed."""
        assert bars.with_scales({}) == bars
        assert bars.with_scales({"low_rail": RegularScale(1400, 50, 9)}) == bars
