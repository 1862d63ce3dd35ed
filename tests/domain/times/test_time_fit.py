"""Operation times fitted to change-overs whose true times are known."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from random import Random
from statistics import fmean

import pytest

from settingsdesk.domain.changeover.crew import crew_time_s
from settingsdesk.domain.hall.models import ApparatusModel, AxisTimes, Procedure
from settingsdesk.domain.times.time_fit import TooFewTimed, TooMuchAlike, fit_times
from settingsdesk.domain.times.time_parts import EVERY, TimePart, time_parts, with_times
from settingsdesk.domain.times.timed import TimedChangeOver

Setup = tuple[int, ...]


@pytest.fixture(scope="module")
def true_bars(bars) -> ApparatusModel:
    """The bars as they really are: half as much again for all, a bit more for each end and stop."""
    true_s = {part: part.present_s(bars) + 2 for part in time_parts(bars)}
    return with_times(bars, true_s | {EVERY: 68})


def timed(true: ApparatusModel, setups: Sequence[Setup], hands: int = 1) -> list[TimedChangeOver]:
    """The change-overs from each setup to the next, each as long as it truly takes."""
    return [
        TimedChangeOver(start, goal, hands, crew_time_s(true, start, goal, hands))
        for start, goal in pairwise(setups)
    ]


def evening(model: ApparatusModel, changes: int, seed: str = "an evening") -> list[Setup]:
    """Setups of athletes of similar height, one after the other."""
    random = Random(seed)  # noqa: S311 (the same evening each time)
    setups: list[Setup] = []
    while len(setups) <= changes:
        near = [(0, 2), (1, 3), (10, 14)] if len(model.axes) == 3 else [(0, 4)]
        setup = tuple(random.randint(*limits) for limits in near)
        setups += [] if setups[-1:] == [setup] else [setup]
    return setups


def with_noise(changes: list[TimedChangeOver], share: float) -> list[TimedChangeOver]:
    """Sometimes quicker, sometimes slower, and now and then somebody asks something."""
    random = Random("noise")  # noqa: S311 (the same noise each time)
    return [
        replace(
            one,
            seconds=round(
                one.seconds * random.lognormvariate(0, share) + random.choice([0] * 9 + [30])
            ),
        )
        for one in changes
    ]


def error_s(model: ApparatusModel, true: ApparatusModel) -> float:
    """The mean error of a plan on another evening, against what is true."""
    other = timed(true, evening(true, 200, "another"))
    return fmean(
        abs(crew_time_s(model, one.start, one.goal, one.hands) - one.seconds) for one in other
    )


class TestKnownTimes:
    @pytest.mark.parametrize("hands", [1, 2, 4])
    def test_without_noise_the_true_times_come_out(self, bars, true_bars, hands: int) -> None:
        """To the second, for every crew, and nothing is an estimate any more."""
        fit = fit_times(bars, timed(true_bars, evening(bars, 60), hands))

        if hands == 1:
            measured = replace(true_bars.procedure, estimated=False)
            assert fit.model == replace(true_bars, procedure=measured)
            assert fit.fitted_error_s == 0
        else:  # shares of a crew are rounded, so the proportions of its work shift a little
            assert fit.fitted_error_s <= 1
        assert not fit.kept

    def test_crews_of_both_sizes_are_fitted_together(self, bars, true_bars) -> None:
        both = timed(true_bars, evening(bars, 30)) + timed(true_bars, evening(bars, 30, "two"), 2)
        fit = fit_times(bars, both)

        assert fit.fitted_error_s < 1 < fit.present_error_s

    def test_a_single_axis_is_fitted_with_its_locking_as_one_time(self, model_of) -> None:
        """A beam: from 5 s round it, 10 s an end and 2 s a stop to 10, 20 and 3."""
        beam = model_of("balance_beam")
        axis = replace(beam.axes[0], times=AxisTimes(20, 3, 3))
        true = replace(beam, axes=(axis,), procedure=Procedure(0, 0, 0, 10, 0, estimated=False))

        assert fit_times(beam, timed(true, evening(beam, 12))).model == true

    @pytest.mark.parametrize(
        ("changes", "most_s"), [(24, 16), (48, 12), (96, 10)], ids=["24", "48", "96"]
    )
    def test_with_noise_they_come_near_from_few_evenings(
        self, bars, true_bars, changes: int, most_s: float
    ) -> None:
        """The estimates are off by 40 s and more; from 96 change-overs, by a fourth of it."""
        noisy = with_noise(timed(true_bars, evening(bars, changes)), 0.12)
        fit = fit_times(bars, noisy)

        assert error_s(bars, true_bars) > 40
        assert error_s(fit.model, true_bars) < most_s
        assert fit.is_better
        assert fit.nearer > changes / 2


class TestErrors:
    def test_the_error_of_the_fitted_times_is_told_by_others_than_they_were_fitted_to(
        self, bars
    ) -> None:
        """Pure chance is fitted on paper, yet foretells nothing: the page must not praise it."""
        random = Random("chance")  # noqa: S311 (the same chance each time)
        right = timed(bars, evening(bars, 24))
        fit = fit_times(bars, [replace(one, seconds=random.randint(60, 160)) for one in right])
        on_its_own = fmean(
            abs(crew_time_s(fit.model, one.start, one.goal, 1) - compared.timed.seconds)
            for one, compared in zip(right, fit.compared, strict=True)
        )

        assert fit.fitted_error_s > on_its_own

    def test_where_the_present_times_are_right_the_fitted_are_not_better(self, bars) -> None:
        fit = fit_times(bars, timed(bars, evening(bars, 30)))

        assert fit.present_error_s == fit.fitted_error_s == 0
        assert not fit.is_better

    def test_each_change_over_stands_beside_both_plans(self, bars, true_bars) -> None:
        changes = timed(true_bars, evening(bars, 30))
        fit = fit_times(bars, changes)

        assert [one.timed for one in fit.compared] == changes
        one = fit.compared[0]
        assert one.present_s == crew_time_s(bars, one.timed.start, one.timed.goal, 1)
        assert one.present_error_s == one.timed.seconds - one.present_s


class TestWhatIsNotShown:
    def test_a_time_that_no_change_over_shows_stays_and_remains_an_estimate(
        self, bars, true_bars
    ) -> None:
        """The low rail stays all evening."""
        setups = [(2, high, spread) for _, high, spread in evening(bars, 60)]
        changes = [one for one in timed(true_bars, setups) if one.start != one.goal]
        fit = fit_times(bars, changes)

        assert [part.name for part in fit.kept] == [
            "Low rail height, unlock and lock",
            "Low rail height, one mark up",
            "Low rail height, one mark down",
        ]
        assert fit.model.axes[0] == bars.axes[0]
        assert fit.model.axes[1] == true_bars.axes[1]
        assert fit.model.procedure.estimated

    def test_two_change_overs_are_too_few_to_fit_a_time_by(self, bars, true_bars) -> None:
        """One slow hand would be the whole of it; what is kept is taken off what they took."""
        setups = [(2, high, spread) for _, high, spread in evening(bars, 60)]
        changes = [one for one in timed(true_bars, setups) if one.start != one.goal]
        low = bars.axes[0].kind
        fit = fit_times(bars, changes + timed(bars, [(2, 3, 12), (4, 3, 12), (2, 3, 12)]))
        times = {one.part: one for one in fit.times}

        handling = times[TimePart(low, "handling_s")]
        assert handling.behind == 2
        assert handling.fitted_s is None
        assert handling.whole_s == handling.present_s == 8

    def test_a_model_that_was_measured_before_stays_so(self, bars, true_bars) -> None:
        measured = replace(bars, procedure=replace(bars.procedure, estimated=False))
        setups = [(2, high, spread) for _, high, spread in evening(bars, 60)]
        changes = [one for one in timed(true_bars, setups) if one.start != one.goal]

        assert not fit_times(measured, changes).model.procedure.estimated


class TestRefusals:
    def test_fewer_than_twice_as_many_as_times_are_too_few(self, bars, true_bars) -> None:
        changes = timed(true_bars, evening(bars, 60))
        with pytest.raises(TooFewTimed) as refused:
            fit_times(bars, changes[:19])

        assert str(refused.value) == (
            "At least 20 change-overs that can be used are needed to fit these times; there are 19"
            " so far. Confirm more of them at the bars"
        )
        fit_times(bars, changes[:20])

    def test_none_at_all_are_too_few(self, bars) -> None:
        with pytest.raises(TooFewTimed, match="At least 8"):
            fit_times(bars, [])

    def test_an_axis_that_always_moves_hides_behind_what_every_change_over_takes(
        self, bars, true_bars
    ) -> None:
        """The coach reads which change-over to time besides."""
        setups = [(n % 2 + n % 3, high, s) for n, (_, high, s) in enumerate(evening(bars, 60))]
        changes = [
            one
            for one in timed(true_bars, setups)
            if one.start != one.goal and one.start[0] != one.goal[0]
        ]
        with pytest.raises(TooMuchAlike) as refused:
            fit_times(bars, changes)

        assert str(refused.value) == (
            "The change-overs timed so far are too much alike to tell these times apart: Every"
            " change-over, whatever is moved; Low rail height, unlock and lock. Missing are"
            " change-overs in which the low rail height stays as it is"
        )

    def test_moves_of_always_one_stop_hide_the_stop_in_the_handling(self, bars, true_bars) -> None:
        setups = [(n // 2 % 2, high, s) for n, (_, high, s) in enumerate(evening(bars, 60))]
        changes = [one for one in timed(true_bars, setups) if one.start != one.goal]
        with pytest.raises(TooMuchAlike) as refused:
            fit_times(bars, changes)

        assert refused.value.lacking == (
            "in which the low rail height is moved by another number of stops than 1",
        )

    def test_axes_that_always_go_together_are_named_together(self, model_of) -> None:
        """Horse and pommels, by turns one and two stops, or none: 60 change-overs, few lessons."""
        horse = model_of("pommel_horse", procedure=Procedure(0, 6, 0, 5, 0))
        places = (0, 1, 3, 2, 0, 2, 3, 1) * 8
        with pytest.raises(TooMuchAlike) as refused:
            fit_times(horse, timed(horse, [(place, place) for place in places]))

        assert any("horse height" in words for words in refused.value.lacking)

    def test_a_single_axis_that_always_goes_one_stop_hides_the_stop(self, model_of) -> None:
        """Not that it should stay: nothing would then be moved at all."""
        beam = model_of("balance_beam")
        with pytest.raises(TooMuchAlike) as refused:
            fit_times(beam, timed(beam, [(n % 2,) for n in range(20)]))

        assert refused.value.lacking == (
            "in which the beam height is moved by another number of stops than 1",
        )
