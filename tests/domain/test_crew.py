"""The time of a change-over for several pairs of hands."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.domain.changeover import change_over
from settingsdesk.domain.crew import CREWS, NotACrew, crew_any_move_s, crew_time_s
from settingsdesk.domain.models import Procedure


@st.composite
def two_setups(draw, model):
    stops = st.tuples(*(st.integers(0, axis.scale.count - 1) for axis in model.axes))
    return draw(stops), draw(stops), draw(stops)


class TestCrewTime:
    def test_one_pair_of_hands_takes_the_sum_of_all_steps(self, any_model):
        @given(st.data())
        def holds(data):
            model = data.draw(any_model)
            start, goal, _ = data.draw(two_setups(model))
            assert crew_time_s(model, start, goal, 1) == change_over(model, start, goal).seconds

        holds()

    def test_more_hands_never_take_longer_and_nothing_takes_nothing(self, any_model):
        @given(st.data())
        def holds(data):
            model = data.draw(any_model)
            start, goal, _ = data.draw(two_setups(model))
            times = [crew_time_s(model, start, goal, hands) for hands in CREWS]
            assert times == sorted(times, reverse=True)
            assert all(crew_time_s(model, start, start, hands) == 0 for hands in CREWS)

        holds()

    def test_going_by_way_of_a_third_setup_is_never_quicker(self, any_model):
        """The planner takes athletes of one setup together; that is only exact because of this."""

        @given(st.data(), st.sampled_from(CREWS))
        def holds(data, hands):
            model = data.draw(any_model)
            start, goal, between = data.draw(two_setups(model))
            straight = crew_time_s(model, start, goal, hands)
            by_way = crew_time_s(model, start, between, hands) + crew_time_s(
                model, between, goal, hands
            )
            assert straight <= by_way

        holds()

    def test_two_work_at_the_two_ends_of_a_rail_at_once(self, bars):
        """On paper: the rounds of slackening and tensioning, and one end of one rail."""
        low, high, spread = bars.axes
        start = (0, 0, 0)
        goal = (2, 0, 0)
        one_end_s = low.times.handling_s + 2 * low.times.up_s

        any_move_s = crew_any_move_s(bars.procedure, 2)
        assert crew_time_s(bars, start, goal, 2) == any_move_s + one_end_s
        assert crew_time_s(bars, start, goal, 1) == bars.procedure.any_move_s + 2 * one_end_s
        assert len(high.ends) == len(spread.ends) == 2

    def test_slackening_and_tensioning_are_shared_and_sighting_is_not(self):
        procedure = Procedure(20, 10, 30, 7, tensioners_per_side=2)

        assert crew_any_move_s(procedure, 1) == 67
        assert crew_any_move_s(procedure, 2) == 10 + 7 + 10 + 15
        assert crew_any_move_s(procedure, 4) == 10 + 7 + 5 + 15

    def test_without_tensioners_there_is_nothing_to_share(self):
        procedure = Procedure(0, 4, 0, 6, tensioners_per_side=0)

        assert {crew_any_move_s(procedure, hands) for hands in CREWS} == {10}

    @pytest.mark.parametrize("hands", [0, 3, 5, -1])
    def test_other_crews_are_refused(self, bars, hands):
        with pytest.raises(NotACrew) as refused:
            crew_time_s(bars, (0, 0, 0), (1, 0, 0), hands)

        assert str(refused.value) == f"A crew is of 1, 2 or 4 pairs of hands; {hands} was given"
