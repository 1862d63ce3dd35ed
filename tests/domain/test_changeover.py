"""The change-over: every step in the safe sequence, and its time to the second."""

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.domain.changeover import change_over, change_over_s
from settingsdesk.domain.kinds import KINDS
from settingsdesk.domain.models import NotASetup, Procedure
from settingsdesk.domain.scales import NoSuchStop

HERE, THERE = (6, 6, 15), (4, 7, 18)
LEANING_SIDE_FIRST_STAGE = (
    "Tension low-rail side, first what pulls against the lean, then the rest: to about half"
)


def told(model, start, goal) -> list[str]:
    return [step.what for step in change_over(model, start, goal).steps]


def rule_s(model, start, goal) -> int:
    """The rule as it is agreed for rotations, written down once more."""
    if start == goal:
        return 0
    return model.procedure.any_move_s + sum(
        len(axis.ends)
        * (
            axis.times.handling_s
            + max(there - here, 0) * axis.times.up_s
            + max(here - there, 0) * axis.times.down_s
        )
        for axis, here, there in zip(model.axes, start, goal, strict=True)
        if here != there
    )


class TestTheSteps:
    def test_the_whole_of_one_change_over_reads_as_a_crew_works_it(self, bars):
        """Low rail two holes down, high rail one up, spread three marks out."""
        assert told(bars, HERE, THERE) == [
            "Slacken the tensioners a little, no more than needed",
            "Low rail height, front end: down from 7 to 5, and lock",
            "Low rail height, back end: down from 7 to 5, and lock",
            "High rail height, front end: up from 7 to 8, and lock",
            "High rail height, back end: up from 7 to 8, and lock",
            "Rail spread, front spreader: out from P to S, and lock",
            "Rail spread, back spreader: out from P to S, and lock",
            "Sight along the uprights: square, before anything is tensioned",
            "Tension high-rail side, each tensioner in turn: to about half",
            "Tension high-rail side, each in turn: to the full; sight again for square",
            LEANING_SIDE_FIRST_STAGE,
            "Tension low-rail side, each in turn: to the full",
            "Walk round: every lock seated, every handle closed",
        ]

    def test_each_move_says_where_how_many_stops_which_way_and_how_far(self, bars):
        """In figures, for the large type at the apparatus."""
        first, *_, last = change_over(bars, HERE, THERE).moves
        assert (first.axis.key, first.end) == ("low_rail", "front end")
        assert (first.direction, first.stops, first.by_mm) == ("down", 2, 100)
        assert (last.axis.key, last.end) == ("spread", "back spreader")
        assert (last.direction, last.stops, last.by_mm) == ("out", 3, 60)

    def test_an_axis_that_stays_is_not_touched(self, bars):
        """Only the low rail differs."""
        moves = change_over(bars, (6, 6, 15), (5, 6, 15)).moves
        assert {move.axis.key for move in moves} == {"low_rail"}

    @given(st.data())
    def test_nothing_at_all_is_done_where_the_setups_are_the_same(self, any_model, any_setup, data):
        """Not even a walk-round: the re-check of the last change-over still stands."""
        model = data.draw(any_model)
        setup = data.draw(any_setup(model))
        assert change_over(model, setup, setup).steps == ()
        assert change_over_s(model, setup, setup) == 0

    @given(st.data())
    def test_the_sequence_is_always_the_safe_one(self, any_model, any_setup, data):
        """Slacken, then the axes in their order end by end, square, tension, walk round."""
        model = data.draw(any_model)
        start, goal = data.draw(any_setup(model)), data.draw(any_setup(model))
        steps = change_over(model, start, goal).steps
        order = ["Slacken", *(axis.kind.name for axis in model.axes), "Sight", "Tension", "Walk"]
        places = [
            next(n for n, word in enumerate(order) if step.what.startswith(word)) for step in steps
        ]
        assert places == sorted(places)
        if steps:
            assert steps[-1].what.startswith("Walk round")
            assert steps[0].what.startswith("Slacken") is (model.procedure.tensioners_per_side > 0)

    @given(st.data())
    def test_every_end_of_every_axis_that_differs_is_moved_once_and_no_other(
        self, any_model, any_setup, data
    ):
        """A rail with one end forgotten hangs askew."""
        model = data.draw(any_model)
        start, goal = data.draw(any_setup(model)), data.draw(any_setup(model))
        moved = [(move.axis.key, move.end) for move in change_over(model, start, goal).moves]
        assert moved == [
            (axis.key, end)
            for axis, here, there in zip(model.axes, start, goal, strict=True)
            if here != there
            for end in axis.ends
        ]

    @pytest.mark.parametrize("setup", [(6, 6), (6, 6, 31)])
    def test_a_setup_that_is_none_is_refused_at_either_end(self, bars, setup):
        """Before anybody is sent to a hole that is not there."""
        for start, goal in ((setup, HERE), (HERE, setup)):
            with pytest.raises((NotASetup, NoSuchStop)):
                change_over(bars, start, goal)


class TestTension:
    @pytest.mark.parametrize("per_side", [1, 2, 3, 4])
    def test_nothing_goes_to_the_full_before_its_partners_have_a_first_stage(self, bars, per_side):
        """One cable at full tension against a slack one pulls the frame out of square."""
        model = replace(bars, procedure=Procedure(15, 10, 14, 6, per_side))
        stages = [what for what in told(model, HERE, THERE) if what.startswith("Tension")]
        for side in model.kind.sides:
            of_side = [stage for stage in stages if f"Tension {side}" in stage]
            assert len(of_side) == 2
            assert "to about half" in of_side[0]
            assert "to the full" in of_side[1]
        if per_side == 1:
            assert ["half" in stage for stage in stages] == [True, True, False, False]

    @pytest.mark.parametrize("per_side", [1, 2, 3, 4])
    def test_the_high_rail_side_comes_first_and_square_is_sighted_between(self, bars, per_side):
        """Before the last stages, while the frame can still be moved by hand."""
        model = replace(bars, procedure=Procedure(15, 10, 14, 6, per_side))
        stages = [what for what in told(model, HERE, THERE) if what.startswith("Tension")]
        assert stages[0].startswith("Tension high-rail side")
        assert "sight again for square" in stages[1]
        assert stages[-1].startswith("Tension low-rail side")

    @pytest.mark.parametrize("kind", [key for key in KINDS if key != "uneven_bars"])
    def test_an_apparatus_without_a_high_rail_has_no_high_rail_side(self, model_of, kind):
        """A crew at a horizontal bar would look for it in vain."""
        model = model_of(kind, procedure=Procedure(5, 5, 5, 5, 2))
        zeros = (0,) * len(model.axes)
        steps = told(model, zeros, (1, *zeros[1:]))
        assert not any("high-rail" in what or "low-rail" in what for what in steps)
        assert any(what.startswith("Tension one side") for what in steps)
        assert any(what.startswith("Tension the other side") for what in steps)

    def test_without_tensioners_nothing_is_slackened_or_tensioned(self, model_of):
        """Parallel bars: moved, sighted if that is counted, walked round."""
        plain = model_of("parallel_bars", procedure=Procedure(0, 0, 0, 5, 0))
        assert [what.split(":")[0] for what in told(plain, (0, 0), (0, 1))] == [
            "Rail spread, front pair",
            "Rail spread, back pair",
            "Walk round",
        ]
        sighted = model_of("parallel_bars", procedure=Procedure(0, 4, 0, 5, 0))
        assert "Sight along the apparatus: level and square" in told(sighted, (0, 0), (0, 1))


class TestTheTime:
    def test_one_change_over_on_paper(self, bars):
        """45 s for any move, 2·(8+2·3) low, 2·(8+5) high, 2·(6+3·1) spread: 117 s."""
        assert change_over_s(bars, HERE, THERE) == 45 + 28 + 26 + 18 == 117

    def test_up_costs_what_up_costs_and_down_what_down_costs(self, bars):
        """Lifting a rail takes longer than letting it down."""
        assert change_over_s(bars, (4, 6, 15), (6, 6, 15)) == 45 + 2 * (8 + 2 * 5)
        assert change_over_s(bars, (6, 6, 15), (4, 6, 15)) == 45 + 2 * (8 + 2 * 3)

    @given(st.data())
    def test_it_is_that_of_the_agreed_rule_and_the_sum_of_the_steps(
        self, any_model, any_setup, data
    ):
        """What the plan promises is what the crew's list adds up to, on any apparatus."""
        model = data.draw(any_model)
        start, goal = data.draw(any_setup(model)), data.draw(any_setup(model))
        seconds = change_over_s(model, start, goal)
        assert seconds == rule_s(model, start, goal)
        assert seconds == change_over(model, start, goal).seconds

    @given(st.integers(0, 3600), st.integers(1, 4))
    def test_the_stages_of_tension_share_their_time_without_loss(self, bars, tension_s, per_side):
        """Whole seconds that add up, none of them negative or far from its share."""
        model = replace(bars, procedure=Procedure(15, 10, tension_s, 6, per_side))
        steps = change_over(model, HERE, THERE).steps
        shares = [step.seconds for step in steps if step.what.startswith("Tension")]
        assert sum(shares) == tension_s
        assert all(abs(one - other) <= 1 for one, other in pairwise(shares))
