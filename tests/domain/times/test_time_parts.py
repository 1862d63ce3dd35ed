"""The times that can be learned, and what each has to do with a change-over."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.domain.changeover.crew import CREWS, crew_time_s
from settingsdesk.domain.hall.models import AxisTimes, Procedure
from settingsdesk.domain.times.time_parts import (
    EVERY,
    EVERY_WITH_LOCKING,
    Shares,
    TimePart,
    time_parts,
    with_times,
)
from settingsdesk.domain.times.timed import TimedChangeOver


@pytest.fixture(scope="module")
def any_timed(any_model, any_setup) -> st.SearchStrategy[tuple]:
    """A model of any kind, and a change-over on it by any crew."""

    @st.composite
    def cases(draw):
        model = draw(any_model)
        start, goal = draw(any_setup(model)), draw(any_setup(model))
        return model, TimedChangeOver(start, goal, draw(st.sampled_from(CREWS)), 60)

    return cases()


class TestNames:
    def test_each_time_is_called_by_its_operation(self, bars) -> None:
        """What the coach reads beside each figure."""
        assert [part.name for part in time_parts(bars)] == [
            "Every change-over, whatever is moved",
            "Low rail height, unlock and lock",
            "Low rail height, one mark up",
            "Low rail height, one mark down",
            "High rail height, unlock and lock",
            "High rail height, one mark up",
            "High rail height, one mark down",
            "Rail spread, unlock and lock",
            "Rail spread, one mark out",
            "Rail spread, one mark in",
        ]

    def test_a_single_axis_is_unlocked_and_locked_every_time(self, model_of) -> None:
        """There are no change-overs of a beam in which it stays, so the two are one time."""
        beam = model_of("balance_beam")

        assert [(part.name, part.present_s(beam)) for part in time_parts(beam)] == [
            ("Every change-over, with unlock and lock", 25),
            ("Beam height, one mark up", 2),
            ("Beam height, one mark down", 2),
        ]

    def test_each_time_is_read_from_the_model(self, bars) -> None:
        assert [part.present_s(bars) for part in time_parts(bars)] == [
            *(45, 8, 5, 3),
            *(8, 5, 3),
            *(6, 1, 1),
        ]


class TestShares:
    def test_all_parts_times_their_shares_are_the_planned_time(self, any_timed) -> None:
        """If the fit counted otherwise than the plan, fitted times would be true of neither."""

        @given(any_timed)
        def holds(case) -> None:
            model, timed = case
            if timed.start == timed.goal:
                return
            parts = time_parts(model)
            shares = Shares(model, parts).of(timed)
            seconds = sum(
                share * part.present_s(model) for share, part in zip(shares, parts, strict=True)
            )
            assert seconds == crew_time_s(model, timed.start, timed.goal, timed.hands)

        holds()

    def test_two_ends_by_one_pair_of_hands_count_twice_by_two_once(self, bars) -> None:
        low = [TimePart(bars.axes[0].kind, what) for what in ("handling_s", "up_s", "down_s")]
        shares = Shares(bars, low)

        assert shares.of(TimedChangeOver((2, 4, 9), (5, 4, 9), 1, 90)) == (2, 6, 0)
        assert shares.of(TimedChangeOver((5, 4, 9), (4, 4, 9), 2, 90)) == (1, 0, 1)


class TestModelsWithOtherTimes:
    def test_only_what_is_named_is_changed(self, bars) -> None:
        part = TimePart(bars.axes[1].kind, "down_s")
        changed = with_times(bars, {part: 7})

        assert part.present_s(changed) == 7
        assert with_times(changed, {part: 3}) == bars

    def test_what_every_change_over_takes_keeps_its_proportions(self, bars) -> None:
        """15, 10, 14 and 6 seconds, doubled."""
        assert with_times(bars, {EVERY: 90}).procedure == Procedure(30, 20, 28, 12, 2)

    @given(st.tuples(*[st.integers(0, 60)] * 4), st.integers(0, 600))
    def test_the_whole_is_kept_to_the_second(self, bars, parts, whole_s: int) -> None:
        """Rounding each of the four by itself would lose or add some."""
        model = replace(bars, procedure=Procedure(*parts, 2))

        assert EVERY.present_s(with_times(model, {EVERY: whole_s})) == whole_s

    def test_without_any_proportion_it_is_all_walking_round(self, bars) -> None:
        model = replace(bars, procedure=Procedure(0, 0, 0, 0, 2))

        assert with_times(model, {EVERY: 40}).procedure == Procedure(0, 0, 0, 40, 2)

    def test_on_a_single_axis_the_locking_grows_with_the_rest(self, model_of) -> None:
        """5 s round it and 10 s at each end, doubled."""
        beam = model_of("balance_beam")
        changed = with_times(beam, {EVERY_WITH_LOCKING: 50})

        assert changed.procedure.any_move_s == 10
        assert changed.axes[0].times.handling_s == 20

    @given(st.integers(0, 60), st.integers(0, 60), st.integers(0, 600))
    def test_there_too_the_whole_is_kept_to_the_second(
        self, model_of, square_s: int, handling_s: int, whole_s: int
    ) -> None:
        beam = model_of("balance_beam", procedure=Procedure(0, square_s, 0, 7, 0))
        axis = replace(beam.axes[0], times=AxisTimes(handling_s, 2, 2))
        changed = with_times(replace(beam, axes=(axis,)), {EVERY_WITH_LOCKING: whole_s})

        assert EVERY_WITH_LOCKING.present_s(changed) == whole_s
