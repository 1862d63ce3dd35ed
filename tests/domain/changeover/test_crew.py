"""The change-over for a crew: safe for any apparatus, and as short as it can be."""

import pickle
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.domain.changeover.changeover import Phase, change_over, change_over_s
from settingsdesk.domain.changeover.crew import (
    CREWS,
    CrewChangeOver,
    CrewStep,
    NotACrew,
    crew_any_move_s,
    crew_change_over,
    crew_time,
    crew_time_s,
)
from settingsdesk.domain.hall.models import Procedure

HERE, THERE = (6, 6, 15), (4, 7, 18)


@pytest.fixture(scope="module")
def any_case(any_model, any_setup) -> st.SearchStrategy[tuple]:
    """A model of any kind, two setups of it, and a crew."""

    @st.composite
    def cases(draw):
        model = draw(any_model)
        return model, draw(any_setup(model)), draw(any_setup(model)), draw(st.sampled_from(CREWS))

    return cases()


def named(change: CrewChangeOver, *words: str) -> list[CrewStep]:
    """The steps that begin with one of the words."""
    return [step for step in change.steps if step.what.startswith(words)]


def follow(later: list[CrewStep], earlier: list[CrewStep]) -> bool:
    """Whether none of the later begins before all of the earlier are done."""
    done_s = max((step.ends_s for step in earlier), default=0)
    return all(step.starts_s >= done_s for step in later)


class TestTheSteps:
    def test_two_read_their_change_over_side_by_side(self, bars):
        """Low rail two holes down, high rail one up, spread three marks out: 71 s, not 117."""
        change = crew_change_over(bars, HERE, THERE, 2)
        loosen, on_a_count = (
            "a little, no more than needed",
            "tensioners 1 and 2 together on a count",
        )
        assert [(step.starts_s, step.who, step.what) for step in change.steps] == [
            (0, (1,), f"Slacken high-rail side, tensioner 1: {loosen}"),
            (0, (2,), f"Slacken high-rail side, tensioner 2: {loosen}"),
            (3, (1,), f"Slacken low-rail side, tensioner 1: {loosen}"),
            (4, (2,), f"Slacken low-rail side, tensioner 2: {loosen}"),
            (8, (1,), "Low rail height, front end: down from 7 to 5"),
            (8, (2,), "Low rail height, back end: down from 7 to 5"),
            (22, (1,), "High rail height, front end: up from 7 to 8"),
            (22, (2,), "High rail height, back end: up from 7 to 8"),
            (35, (1,), "Rail spread, front spreader: out from P to S"),
            (35, (2,), "Rail spread, back spreader: out from P to S"),
            (44, (1,), "Sight along the uprights: square, before anything is tensioned"),
            (54, (1, 2), f"Tension high-rail side, {on_a_count}: to about half"),
            (55, (1, 2), f"Tension high-rail side, {on_a_count}: to working tension"),
            (56, (1,), "Sight again for square"),
            (63, (1, 2), f"Tension low-rail side, {on_a_count}: to about half"),
            (64, (1, 2), f"Tension low-rail side, {on_a_count}: to working tension"),
            (65, (1,), "Walk round: every lock seated, every handle closed"),
        ]
        assert change.seconds == 71

    def test_four_take_the_four_ends_of_parallel_bars_at_once(self, model_of):
        """10 s to unlock and lock and 2 s for the stop, and 5 s to walk round."""
        model = model_of("parallel_bars")
        change = crew_change_over(model, (0, 0), (1, 0), 4)
        assert [step.who for step in change.steps] == [(1,), (2,), (3,), (4,), (1,)]
        assert change.seconds == 12 + 5

    def test_two_set_one_rail_of_parallel_bars_and_then_the_other(self, model_of):
        """Both ends of a rail at once, so that it does not hang askew."""
        model = model_of("parallel_bars")
        change = crew_change_over(model, (0, 0), (1, 0), 2)
        assert [(step.starts_s, step.move.end) for step in change.steps if step.move] == [
            (0, "left rail, front end"),
            (0, "left rail, back end"),
            (12, "right rail, front end"),
            (12, "right rail, back end"),
        ]

    @given(st.data())
    def test_one_pair_of_hands_does_the_steps_it_always_did(self, any_case, data):
        """One after the other: a crew of one is nothing new."""
        model, start, goal, _ = data.draw(any_case)
        alone, crew = change_over(model, start, goal), crew_change_over(model, start, goal, 1)
        assert [(step.what, step.seconds, step.move) for step in crew.steps] == [
            (step.what, step.seconds, step.move) for step in alone.steps
        ]
        assert all(one.ends_s == next_one.starts_s for one, next_one in pairwise(crew.steps))
        assert all(step.who == (1,) for step in crew.steps)
        assert crew.seconds == change_over_s(model, start, goal)

    @given(st.data())
    def test_nothing_at_all_is_done_where_the_setups_are_the_same(self, any_case, data):
        """Not even a walk-round."""
        model, setup, _, hands = data.draw(any_case)
        assert crew_change_over(model, setup, setup, hands) == CrewChangeOver(())
        assert crew_change_over(model, setup, setup, hands).seconds == 0

    @given(st.data())
    def test_nobody_is_in_two_places_at_once(self, any_case, data):
        """And nobody is asked for who is not of the crew."""
        model, start, goal, hands = data.draw(any_case)
        change = crew_change_over(model, start, goal, hands)
        for hand in range(1, hands + 1):
            own = [step for step in change.steps if hand in step.who]
            assert all(before.ends_s <= after.starts_s for before, after in pairwise(own))
        assert all(set(step.who) <= set(range(1, hands + 1)) for step in change.steps)

    @given(st.data())
    def test_the_steps_are_told_in_the_order_of_beginning(self, any_case, data):
        """The page at the apparatus is read from top to bottom."""
        model, start, goal, hands = data.draw(any_case)
        begins = [step.starts_s for step in crew_change_over(model, start, goal, hands).steps]
        assert begins == sorted(begins)


class TestTheTime:
    @given(st.data())
    def test_the_search_counts_what_the_steps_take(self, any_case, data):
        """What the plan promises is what the crew's list ends at, on any apparatus."""
        model, start, goal, hands = data.draw(any_case)
        seconds = crew_change_over(model, start, goal, hands).seconds
        assert crew_time(model, hands)(start, goal) == seconds
        assert crew_time_s(model, start, goal, hands) == seconds

    @given(st.data())
    def test_more_hands_never_take_longer(self, any_case, data):
        """Nobody is in the way of another."""
        model, start, goal, _ = data.draw(any_case)
        times_s = [crew_change_over(model, start, goal, hands).seconds for hands in CREWS]
        assert times_s == sorted(times_s, reverse=True)

    @given(st.data())
    def test_going_by_way_of_a_third_setup_is_never_quicker(self, any_case, any_setup, data):
        """The planner takes athletes of one setup together; that is only exact because of this."""
        model, start, goal, hands = data.draw(any_case)
        between = data.draw(any_setup(model))
        time_s = crew_time(model, hands)
        assert time_s(start, goal) <= time_s(start, between) + time_s(between, goal)

    def test_it_can_be_sent_to_another_process(self, bars):
        """Searches run in processes of their own."""
        sent = pickle.loads(pickle.dumps(crew_time(bars, 2)))  # noqa: S301  # our own bytes
        assert sent(HERE, THERE) == 71

    def test_slackening_and_tensioning_are_shared_and_sighting_is_not(self):
        """On paper: 20 s in 2 rounds of 5 or 1; two at a time pull, one looks again, 10 s."""
        procedure = Procedure(20, 10, 32, 7, tensioners_per_side=2)
        assert crew_any_move_s(procedure, 1) == 20 + 10 + 32 + 7
        pulled_s = 3 + 3 + 3 + 3  # of 32 s the second look takes 10, and 22 are 8 pulls of 2 or 3
        assert crew_any_move_s(procedure, 2) == 10 + 10 + pulled_s + 10 + 7
        assert crew_any_move_s(procedure, 4) == 5 + 10 + pulled_s + 10 + 7

    def test_four_share_eight_tensioners_better_than_two(self):
        """Four a side: both pairs of a side at once."""
        procedure = Procedure(32, 0, 32, 0, tensioners_per_side=4)
        assert [crew_any_move_s(procedure, hands) for hands in CREWS] == [64, 32, 16]

    def test_where_each_side_has_one_tensioner_only_slackening_is_shared(self):
        """The sides are tensioned one after the other, whoever stands by."""
        procedure = Procedure(20, 10, 32, 7, tensioners_per_side=1)
        assert [crew_any_move_s(procedure, hands) for hands in CREWS] == [69, 59, 59]

    def test_the_odd_one_of_a_side_is_told_by_its_number_and_a_single_one_by_none(self, bars):
        def tensioned(per_side: int) -> set[str]:
            procedure = Procedure(20, 10, 32, 7, tensioners_per_side=per_side)
            change = crew_change_over(replace(bars, procedure=procedure), HERE, THERE, 2)
            return {str(step.what) for step in change.steps if step.phase is Phase.TENSION}

        assert any("tensioner 3" in words for words in tensioned(3))
        assert tensioned(1)
        assert not any("tensioner 1" in words for words in tensioned(1))

    def test_without_tensioners_there_is_nothing_to_share(self):
        """A beam: sighted and walked round once."""
        procedure = Procedure(0, 4, 0, 6, tensioners_per_side=0)
        assert {crew_any_move_s(procedure, hands) for hands in CREWS} == {10}


class TestOtherCrews:
    @pytest.mark.parametrize("hands", [0, 3, 5, -1])
    def test_they_are_refused_wherever_they_are_asked_for(self, bars, hands):
        """Also where there is nothing to do."""
        asked = (
            lambda: crew_change_over(bars, HERE, HERE, hands),
            lambda: crew_time(bars, hands),
            lambda: crew_time_s(bars, HERE, THERE, hands),
        )
        for ask in asked:
            with pytest.raises(NotACrew) as refused:
                ask()
            assert str(refused.value) == f"A crew is of 1, 2 or 4 people; {hands} was given"
