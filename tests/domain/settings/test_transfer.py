"""Carrying a setting to an apparatus: brute force over every combination is the judge."""

from dataclasses import replace
from functools import cache
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.hall.geometry import Leaning
from settingsdesk.domain.hall.scales import CalibratedScale, RegularScale, TabulatedScale
from settingsdesk.domain.settings.accepted_stops import accepted_stops
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.domain.settings.transfer import AxisFit, OtherKind, transfer


def all_scores(setting, model):
    """The weighted sum of squares of every combination there is, the best first."""
    scored = []
    for setup in product(*(range(axis.scale.count) for axis in model.axes)):
        measures_mm = model.measures_mm(setup)
        score = sum(
            wanted.weight * (measures_mm[key] - wanted.wanted_mm) ** 2
            for key, wanted in setting.axes.items()
        )
        scored.append((round(score, 6), setup))
    return sorted(scored)


def keeping_the_drop(setting, model, judged):
    """The same, with the drop kept where both heights of the first are as near at other stops.

    Found by looking at every combination, for the search to be held against.
    """
    pair = model.rail_pair
    if pair is None or pair.low == pair.high:
        return judged
    keys = [axis.key for axis in model.axes]
    low, high = keys.index(pair.low), keys.index(pair.high)
    first = judged[0][1]

    @cache
    def off_mm(key, setup):
        return model.measures_mm(setup)[key] - setting.axes[key].wanted_mm

    def as_near(place, setup):
        moved = (*first[:place], setup[place], *first[place + 1 :])
        off, first_off = (abs(off_mm(keys[place], one)) for one in (moved, first))
        return abs(setup[place] - first[place]) <= 1 and abs(off - first_off) <= 0.05

    nearest = {}
    for score, setup in judged:
        if as_near(low, setup) and as_near(high, setup):
            nearest.setdefault((setup[low], setup[high]), (score, setup))
    best = min(
        nearest.values(),
        key=lambda one: (round(abs(off_mm(pair.high, one[1]) - off_mm(pair.low, one[1])), 1), one),
    )
    return [best, *(one for one in judged if one != best)]


def on_bars(low_mm, high_mm, spread_mm, **weights):
    lengths = {"low_rail": low_mm, "high_rail": high_mm, "spread": spread_mm}
    return Setting(
        KINDS["uneven_bars"],
        {key: Wanted(mm, weight=weights.get(key, 1)) for key, mm in lengths.items()},
    )


class TestTheClosestCombination:
    @settings(max_examples=300)
    @given(st.data())
    def test_it_and_the_runner_up_are_those_of_brute_force(self, any_model, any_setting, data):
        """All seven kinds, upright and leaning, weighted, ties to the lower stops."""
        model = data.draw(any_model)
        setting = data.draw(any_setting(model))
        found = transfer(setting, model)
        judged = keeping_the_drop(setting, model, all_scores(setting, model))
        assert (round(found.best.score, 6), found.best.setup) == judged[0]
        if len(judged) == 1:
            assert found.runner_up is None
        else:
            assert found.runner_up is not None
            assert (round(found.runner_up.score, 6), found.runner_up.setup) == judged[1]

    def test_it_follows_whatever_was_measured_or_wished_anew(self, bars):
        """What was found for the apparatus before it was taped, or for a wish before, is over."""
        wished = on_bars(1600, 2400, 1500)
        before = transfer(wished, bars).best
        taped = replace(bars.axes[0], scale=CalibratedScale(bars.axes[0].scale, 30, 1.0))
        after = transfer(wished, replace(bars, axes=(taped, *bars.axes[1:]))).best
        assert after.axes[0].measure_mm == before.axes[0].measure_mm - 20
        assert transfer(on_bars(1650, 2400, 1500), bars).best.setup[0] == before.setup[0] + 1
        assert transfer(wished, bars).best == before

    @given(st.data())
    def test_a_setting_that_is_a_setup_of_this_apparatus_is_that_setup(self, bars, any_setup, data):
        """Nobody who trains here is given other holes than their own."""
        setup = data.draw(any_setup(bars))
        measures_mm = bars.measures_mm(setup)
        setting = on_bars(*(round(measures_mm[axis.key]) for axis in bars.axes))
        best = transfer(setting, bars).best
        assert best.setup == setup
        assert best.warnings == ()

    def test_heights_and_spread_are_chosen_together(self, bars):
        """The low rail stands 5 cm high here; the spread opens to keep the inner distance."""
        here = bars.with_scales({"low_rail": TabulatedScale((("fixed", 1750),))})
        alone = transfer(on_bars(1700, 2500, 1600), bars).best
        together = transfer(on_bars(1700, 2500, 1600), here).best
        assert bars.marks(alone.setup)["spread"] == "P"
        assert here.marks(together.setup)["spread"] == "Q"
        assert together.axes[2].measure_mm == pytest.approx(1596.5, abs=0.1)

    def test_of_two_equally_close_stops_the_lower_is_taken_and_the_other_is_runner_up(
        self, model_of
    ):
        """Half-way between 105 and 110 cm: the same answer every time, and the choice shown."""
        beam = model_of("balance_beam")
        found = transfer(Setting(beam.kind, {"beam": Wanted(1075)}), beam)
        assert found.best.setup == (1,)
        assert found.runner_up is not None
        assert found.runner_up.setup == (2,)
        assert found.best.score == found.runner_up.score == 625

    @pytest.mark.parametrize(
        ("low_mm", "high_mm", "marks"),
        [
            (1725, 2475, {("7", "6"), ("8", "7")}),  # either both down or both up
            (1725, 2510, {("7", "7")}),  # the high rail stands 1 cm low: so does the low one
            (1725, 2490, {("8", "7")}),  # 1 cm high
        ],
    )
    def test_of_stops_equally_far_off_those_that_keep_the_drop_are_taken(
        self, bars, low_mm, high_mm, marks
    ):
        """172.5 on holes of 5 cm: an athlete swings from one rail to the other."""
        for spread_mm in range(1450, 1700, 7):
            best = transfer(on_bars(low_mm, high_mm, spread_mm), bars).best
            assert (best.axes[0].mark, best.axes[1].mark) in marks

    @given(st.integers(1410, 1790), st.integers(2210, 2590), st.integers(1350, 1850))
    def test_no_pair_as_near_as_the_one_taken_keeps_the_drop_better(
        self, bars, low_mm, high_mm, spread_mm
    ):
        best = transfer(on_bars(low_mm, high_mm, spread_mm), bars).best
        off_mm = [axis.residual_mm for axis in best.axes[:2]]
        other_way = [(off, off - 50 if off > 0 else off + 50) for off in off_mm]
        as_near = [
            pair
            for pair in product(*other_way)
            if [abs(off) for off in pair] == [abs(off) for off in off_mm]
        ]
        assert abs(off_mm[0] - off_mm[1]) == min(abs(low - high) for low, high in as_near)

    def test_of_equally_close_stops_the_lower_is_taken_though_decimals_are_not_exact(
        self, model_of
    ):
        """A tenth of a millimetre is no binary fraction; ties must not hang on that."""
        beam = model_of("balance_beam")
        uneven = beam.with_scales({"beam": TabulatedScale((("a", 1000.1), ("b", 1001.9)))})
        assert transfer(Setting(beam.kind, {"beam": Wanted(1001)}), uneven).best.setup == (0,)

    @pytest.mark.parametrize(
        ("wanted_mm", "mark", "as_near"),
        [
            *((1025, "a", "b"), (1075, "b", "c")),
            *((1024, "a", ""), (1050, "b", ""), (1125, "c", ""), (3000, "c", "")),
        ],
    )
    def test_where_two_stops_are_as_close_the_other_is_named(
        self, model_of, wanted_mm, mark, as_near
    ):
        """The program took one of them: whoever wants the other has to be told."""
        beam = model_of("balance_beam")
        three = TabulatedScale((("a", 1000), ("b", 1050), ("c", 1100)))
        wish = Setting(beam.kind, {"beam": Wanted(wanted_mm)})
        [fit] = transfer(wish, beam.with_scales({"beam": three})).best.axes
        assert (fit.mark, fit.as_near) == (mark, as_near)

    def test_what_matters_more_to_the_athlete_is_kept_closer(self, bars):
        """A spread that cannot be had with these heights: one of them gives way."""
        few = bars.with_scales(
            {"high_rail": RegularScale(2500, 30, 2), "spread": RegularScale(1600, 500, 2)}
        )
        spread_first = transfer(on_bars(1700, 2510, 1616, spread=9), few).best
        height_first = transfer(on_bars(1700, 2510, 1616, high_rail=9), few).best
        assert few.marks(spread_first.setup)["high_rail"] == "2"
        assert few.marks(height_first.setup)["high_rail"] == "1"

    def test_an_apparatus_with_one_combination_has_no_runner_up(self, model_of):
        """Nothing else can be set."""
        beam = model_of("balance_beam").with_scales({"beam": TabulatedScale((("fixed", 1250),))})
        assert transfer(Setting(beam.kind, {"beam": Wanted(1250)}), beam).runner_up is None

    def test_a_setting_for_another_kind_is_refused_and_both_are_named(self, bars, model_of):
        """A beam setting on bars is a slip in a list."""
        beam = model_of("balance_beam")
        with pytest.raises(OtherKind) as refused:
            transfer(Setting(beam.kind, {"beam": Wanted(1250)}), bars)

        assert str(refused.value) == (
            "A setting for balance beam cannot be carried to Bars in hall A: that is uneven bars"
        )


@pytest.fixture
def fit(model_of):
    """One axis of a model with stops 1 to 5 every 5 cm from 100 cm."""

    def build(kind, axis_key, stop, wanted_mm, accepts_mm=0, measure_mm=None) -> AxisFit:
        axis = model_of(kind).axis(axis_key)
        at_mm = axis.scale.length_mm(stop) if measure_mm is None else measure_mm
        return AxisFit(axis, Wanted(wanted_mm, accepts_mm), stop, at_mm, gap_mm=50)

    return build


class TestWhatIsAccepted:
    def test_the_deviation_named_is_still_accepted_and_a_millimetre_more_is_not(self, fit):
        """1 cm accepted: 105 for 106 is in order, for 106.1 it is not."""
        assert fit("balance_beam", "beam", 1, 1060, accepts_mm=10).within_accepted
        assert not fit("balance_beam", "beam", 1, 1061, accepts_mm=10).within_accepted

    @pytest.mark.parametrize(
        ("measure_mm", "within"), [(1010.4, True), (1010.6, False), (989.6, True), (989.4, False)]
    )
    def test_it_is_told_to_the_millimetre_that_is_printed(self, fit, measure_mm, within):
        """Figures that read the same must be judged the same."""
        found = fit("balance_beam", "beam", 0, 1000, accepts_mm=10, measure_mm=measure_mm)
        assert found.within_accepted is within

    @given(st.integers(0, 40), st.integers(0, 4000))
    def test_no_warning_ever_says_that_what_is_accepted_is_too_much(
        self, model_of, accepts_mm, hundredths
    ):
        """ "1.1 cm over what is wanted; 1.1 cm is accepted" would be nonsense."""
        axis = model_of("balance_beam").axis("beam")
        found = AxisFit(axis, Wanted(1100, accepts_mm), 2, 1100 + hundredths / 100, 50)
        over, _, _ = found.warning.partition(" cm over")
        if found.warning:
            assert float(over.removeprefix("Beam height: ")) > accepts_mm / 10

    def test_the_warning_names_axis_amount_way_and_what_is_accepted(self, fit):
        """All a coach needs to decide."""
        assert fit("balance_beam", "beam", 1, 1062, accepts_mm=5).warning == (
            "Beam height: 1.2 cm under what is wanted; 0.5 cm is accepted"
        )
        assert fit("balance_beam", "beam", 1, 1020).warning == (
            "Beam height: 3.0 cm over what is wanted; 2.5 cm is usual here"
        )

    def test_what_is_accepted_needs_no_warning(self, fit):
        """Warnings that always stand there are not read."""
        assert fit("balance_beam", "beam", 1, 1053, accepts_mm=5).warning == ""


class TestWhereTheSettingDoesNotSayWhatIsAccepted:
    def test_no_alarm_sounds_below_half_the_way_to_the_next_stop(self, fit):
        """Holes every 5 cm cannot come nearer than 2.5 cm: nobody can do anything about it."""
        assert fit("balance_beam", "beam", 1, 1025).warning == ""
        assert fit("balance_beam", "beam", 1, 1024).alarming

    def test_nor_below_what_the_club_usually_accepts(self, fit):
        found = fit("balance_beam", "beam", 1, 1012)
        lenient = replace(found, axis=replace(found.axis, usually_accepts_mm=40))
        assert found.warning == "Beam height: 3.8 cm over what is wanted; 2.5 cm is usual here"
        assert lenient.warning == ""
        assert lenient.residual_in(Unit.CENTIMETRE) == "Beam height: 3.8 cm over what is wanted"

    def test_the_club_does_not_speak_for_an_athlete_who_said_it(self, fit):
        found = fit("balance_beam", "beam", 1, 1038, accepts_mm=5)
        assert replace(found, axis=replace(found.axis, usually_accepts_mm=40)).alarming

    @given(st.integers(1000, 1200))
    def test_the_nearest_stop_never_alarms(self, model_of, wanted_mm):
        """Whatever the athlete wants, the best that the apparatus can do is no fault."""
        beam = model_of("balance_beam")
        assert transfer(Setting(beam.kind, {"beam": Wanted(wanted_mm)}), beam).best.warnings == ()

    def test_of_stops_unequally_far_apart_the_one_towards_the_wish_counts(self, model_of):
        """At 105 with stops at 104 and 115, the wish 109 is as near as it can be."""
        table = (("a", 1040.0), ("b", 1050.0), ("c", 1150.0))
        beam = model_of("balance_beam").with_scales({"beam": TabulatedScale(table)})
        best = transfer(Setting(beam.kind, {"beam": Wanted(1090)}), beam).best
        assert (best.axes[0].mark, best.warnings) == ("b", ())

    @pytest.mark.parametrize(("wanted_mm", "warnings"), [(1180, 0), (1210, 1)])
    def test_at_the_end_of_a_scale_the_stop_on_the_other_side_counts(
        self, model_of, wanted_mm, warnings
    ):
        """The last stop is 10 cm from its neighbour: half of that beyond it is no alarm."""
        table = (("a", 1000.0), ("b", 1050.0), ("c", 1150.0))
        beam = model_of("balance_beam").with_scales({"beam": TabulatedScale(table)})
        best = transfer(Setting(beam.kind, {"beam": Wanted(wanted_mm)}), beam).best
        assert (best.axes[0].mark, len(best.warnings)) == ("c", warnings)

    def test_no_plan_leaves_the_nearest_stop_for_it(self, model_of):
        """It is for warnings alone."""
        lenient = model_of("balance_beam").with_usual_deviations({"beam": 500})
        setting = Setting(lenient.kind, {"beam": Wanted(1100)})
        assert accepted_stops(setting, lenient, (2,)) == (0,)


class TestOutOfRange:
    @pytest.mark.parametrize(
        ("kind", "axis", "stop", "wanted_mm", "way"),
        [
            ("uneven_bars", "low_rail", 0, 1300, "10.0 cm too high"),
            ("uneven_bars", "high_rail", 4, 2500, "10.0 cm too low"),
            ("uneven_bars", "spread", 0, 1250, "5.0 cm too wide"),
            ("parallel_bars", "spread", 4, 700, "8.0 cm too narrow"),
            ("pommel_horse", "pommels", 4, 1300, "10.0 cm too narrow"),
            ("vault_table", "board", 0, 800, "10.0 cm too far"),
            ("vault_table", "run_up", 4, 16_000, "80.0 cm too near"),
        ],
    )
    def test_a_scale_that_ends_before_the_wish_says_so_in_the_words_of_the_axis(
        self, fit, kind, axis, stop, wanted_mm, way
    ):
        """Rails are too high or too low, a board too near or too far."""
        found = fit(kind, axis, stop, wanted_mm)
        assert found.out_of_range
        assert found.warning == (
            f"{found.axis.kind.name}: this apparatus does not reach it; its last mark is {way}"
        )

    @pytest.mark.parametrize(("stop", "wanted_mm"), [(0, 975), (4, 1225), (0, 1010), (2, 1130)])
    def test_within_half_a_gap_of_a_stop_nothing_is_out_of_range(self, fit, stop, wanted_mm):
        """No length between two stops is farther from the nearer one."""
        assert not fit("balance_beam", "beam", stop, wanted_mm).out_of_range

    def test_a_gap_is_judged_as_the_tape_finds_it_not_as_the_spreader_shows_it(self, bars):
        """Leaning uprights make of 2 cm at the spreader more than 2 cm between the rails."""
        leaning = replace(bars, geometry=Leaning(1300, 1200, 50))
        widest = leaning.measures_mm((6, 6, 30))
        setting = on_bars(*(round(widest[axis.key]) for axis in bars.axes))
        spread = transfer(setting, leaning).best.axes[2]
        assert spread.gap_mm > 25
        assert not replace(spread, measure_mm=widest["spread"] - 12).out_of_range

    def test_a_wish_towards_the_middle_of_the_scale_is_not_out_of_range(self, fit):
        """The last stop was taken for the sake of another axis; the scale does reach it."""
        assert not fit("balance_beam", "beam", 0, 1100).out_of_range
        assert not fit("balance_beam", "beam", 4, 1100).out_of_range

    def test_an_axis_with_one_stop_reaches_what_is_accepted_there(self, model_of):
        """A fixed beam at 125 cm, 1 cm accepted."""
        beam = model_of("balance_beam").with_scales({"beam": TabulatedScale((("fixed", 1250),))})
        assert not AxisFit(beam.axes[0], Wanted(1260, 10), 0, 1250, 0).out_of_range
        assert AxisFit(beam.axes[0], Wanted(1261, 10), 0, 1250, 0).out_of_range

    def test_all_warnings_of_a_fit_are_listed_axis_by_axis(self, bars):
        """Nothing is hidden behind the first."""
        best = transfer(on_bars(1300, 2500, 1600), bars).best
        assert best.warnings == tuple(axis.warning for axis in best.axes if axis.warning)
        assert best.warnings[0].startswith("Low rail height: this apparatus does not reach it")

    def test_the_mark_is_that_of_the_chosen_stop(self, bars):
        """What goes on the card."""
        best = transfer(on_bars(1700, 2500, 1600), bars).best
        assert [axis.mark for axis in best.axes] == ["7", "7", "P"]
