"""The safe sequence: held for any apparatus, any two setups, any crew, and wherever one begins.

That is a setup, or the ends as they stand when somebody called in the middle of a change-over.
"""

from dataclasses import replace
from itertools import combinations, product
from typing import NamedTuple

import pytest
from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.domain.changeover.changeover import (
    SEATED_BETWEEN,
    EndStops,
    Frame,
    change_over_s,
    ends_at,
)
from settingsdesk.domain.changeover.crew import (
    CREWS,
    CrewChangeOver,
    CrewStep,
    crew_change_over,
    crew_time,
)
from settingsdesk.domain.hall.models import (
    ApparatusModel,
    Axis,
    AxisTimes,
    NotASetup,
    Procedure,
    Setup,
)
from settingsdesk.domain.hall.scales import NoSuchStop

HERE, THERE = (6, 6, 15), (4, 7, 18)


class Case(NamedTuple):
    """A change-over to judge, with what it was worked out from."""

    model: ApparatusModel
    start: EndStops
    goal: Setup
    hands: int
    slackened: bool
    change: CrewChangeOver

    @property
    def moved(self) -> list[CrewStep]:
        return [step for step in self.change.steps if step.move is not None]

    def named(self, *words: str) -> list[CrewStep]:
        """The steps that begin with one of the words."""
        return [step for step in self.change.steps if step.what.startswith(words)]

    def of_axis(self, axis: Axis) -> list[CrewStep]:
        return [step for step in self.moved if step.move.axis == axis]

    def of_end(self, axis: Axis, end: str) -> list[CrewStep]:
        return [step for step in self.of_axis(axis) if step.move.end == end]


def case(model, start, goal, hands, *, slackened=False) -> Case:
    change = crew_change_over(
        model, start, goal, hands, frame=Frame.SLACK if slackened else Frame.TENSIONED
    )
    return Case(model, start, goal, hands, slackened, change)


@pytest.fixture(scope="module")
def cases(any_model, any_setup, any_stands) -> st.SearchStrategy[Case]:
    """Any model and crew, from a setup or from the middle of another change-over."""

    @st.composite
    def drawn(draw):
        model = draw(any_model)
        goal, hands = draw(any_setup(model)), draw(st.sampled_from(CREWS))
        whole = any_setup(model).map(lambda setup: ends_at(model, setup))
        start = draw(st.one_of(whole, any_stands(model)))
        return case(model, start, goal, hands, slackened=draw(st.booleans()))

    return drawn()


def follow(later: list[CrewStep], earlier: list[CrewStep]) -> bool:
    """Whether none of the later begins before all of the earlier are done."""
    done_s = max((step.ends_s for step in earlier), default=0)
    return all(step.starts_s >= done_s for step in later)


class TestTheMoves:
    @given(st.data())
    def test_nothing_moves_while_anything_is_tensioned(self, cases, data):
        """All is slack before the first move, and the last move done before tension."""
        one = data.draw(cases)
        assert follow(one.moved, one.named("Slacken"))
        assert follow(one.named("Tension"), one.moved)

    @given(st.data())
    def test_every_end_goes_from_where_it_stands_to_the_goal_and_none_is_touched_that_is_there(
        self, cases, data
    ):
        """A rail with one end forgotten hangs askew; one that is there need not be unlocked."""
        one = data.draw(cases)
        for axis, stands, goal in zip(one.model.axes, one.start, one.goal, strict=True):
            for end, here in zip(axis.ends, stands, strict=True):
                moves = [step.move for step in one.of_end(axis, end)]
                stops = [here, *(move.to_stop for move in moves)]
                assert [move.from_stop for move in moves] == stops[:-1]
                assert stops[-1] == goal
                assert stops in (sorted(set(stops)), sorted(set(stops), reverse=True))

    @given(st.data())
    def test_each_axis_is_locked_at_all_its_ends_before_the_next_is_touched(self, cases, data):
        """Low rail, high rail, then the spread, in the order that the kind gives."""
        one = data.draw(cases)
        by_axis = [one.of_axis(axis) for axis in one.model.axes]
        assert all(follow(later, earlier) for earlier, later in combinations(by_axis, 2))

    @given(st.data())
    def test_only_the_last_leg_of_an_end_says_to_close_the_lock_and_the_others_to_leave_it(
        self, cases, data
    ):
        """The screw lock is loosened once and tightened once."""
        one = data.draw(cases)
        for axis in one.model.axes:
            for end in axis.ends:
                legs = one.of_end(axis, end)
                last = len(legs) - 1
                for place, step in enumerate(legs):
                    closes = step.how[-len(axis.kind.after) :] == axis.kind.after
                    assert closes is (place == last)
                    assert (SEATED_BETWEEN in step.how) is (place != last)
                    assert (step.move.begins, step.move.finishes) == (place == 0, place == last)


class TestEndsThatMayNotDifferFar:
    @given(st.data())
    def test_they_never_do_whoever_of_the_crew_is_quicker(self, cases, data):
        """Beyond it a rail jams and bends; what was farther apart only comes nearer."""
        drawn = data.draw(cases)
        timed = replace(
            drawn.model,
            axes=tuple(replace(axis, times=AxisTimes(5, 2, 1)) for axis in drawn.model.axes),
        )
        one = case(timed, drawn.start, drawn.goal, drawn.hands)
        for axis, stands in zip(timed.axes, one.start, strict=True):
            if axis.ends_may_differ is None:
                continue
            for now_s in {step.starts_s for step in one.of_axis(axis)}:
                places = [self._may_be(one, axis, place, now_s) for place in range(len(stands))]
                for a, b in combinations(range(len(stands)), 2):
                    apart = max(abs(stop - other) for stop, other in product(places[a], places[b]))
                    assert apart <= max(axis.ends_may_differ, abs(stands[a] - stands[b]))

    @staticmethod
    def _may_be(one: Case, axis: Axis, place: int, now_s: int) -> set[int]:
        """The stops between which an end may be at a moment: anywhere on a leg under way."""
        stop = one.start[one.model.axes.index(axis)][place]
        for step in one.of_end(axis, axis.ends[place]):
            if step.ends_s <= now_s:
                stop = step.move.to_stop
            elif step.starts_s <= now_s:
                return {step.move.from_stop, step.move.to_stop}
        return {stop}

    @pytest.mark.parametrize(("hands", "legs"), [(1, 3), (2, 4)])
    def test_each_leg_goes_as_far_as_is_allowed(self, bars, hands, legs):
        """Alone: 2, 4, 4 of 4 holes. Two together: 2 and 2, then 2 and 2."""
        low, *others = bars.axes
        model = replace(bars, axes=(replace(low, ends_may_differ=2), *others))
        assert len(case(model, (1, 6, 15), (5, 6, 15), hands).moved) == legs

    def test_two_at_a_rail_that_hangs_askew_bring_it_level_first(self, bars):
        """One end at 3, the other at 5, to 7: the lower comes up to 5, then both go together."""
        low, *others = bars.axes
        model = replace(bars, axes=(replace(low, ends_may_differ=2), *others))
        moved = case(model, ((2, 4), (6, 6), (15, 15)), (6, 6, 15), 2).moved
        assert [(step.move.end, step.move.to_label) for step in moved] == [
            ("front end", "5"),
            ("front end", "7"),
            ("back end", "7"),
        ]
        assert moved[1].starts_s == moved[2].starts_s

    @given(st.data())
    def test_from_one_setup_to_another_it_takes_no_second_longer(self, cases, data):
        """So what a plan reckoned with stays true whether the maker limits it or not."""
        drawn = data.draw(cases)
        free = replace(
            drawn.model,
            axes=tuple(replace(axis, ends_may_differ=None) for axis in drawn.model.axes),
        )
        start = tuple(stops[0] for stops in drawn.start)
        seconds = {
            crew_change_over(model, start, drawn.goal, drawn.hands).seconds
            for model in (free, drawn.model)
        }
        assert seconds == {crew_time(drawn.model, drawn.hands)(start, drawn.goal)}


class TestWhereItBegins:
    @given(st.data())
    def test_what_was_slackened_is_not_slackened_again_and_all_else_is_done(self, cases, data):
        """Also where nothing is left to move: the frame is slack, and holds nobody."""
        drawn = data.draw(cases)
        one = case(drawn.model, drawn.start, drawn.goal, drawn.hands, slackened=True)
        again = case(drawn.model, drawn.start, drawn.goal, drawn.hands)
        assert not one.named("Slacken")
        assert one.change.steps[-1].what.startswith("Walk round")
        assert bool(one.named("Tension")) is bool(one.model.procedure.tensioners_per_side)
        if again.change.steps:
            slack_s = max((step.ends_s for step in again.named("Slacken")), default=0)
            rest = [step for step in again.change.steps if not step.what.startswith("Slacken")]
            assert [(step.starts_s - slack_s, step.who, step.what) for step in rest] == [
                (step.starts_s, step.who, step.what) for step in one.change.steps
            ]

    @given(st.data())
    def test_nothing_is_done_to_a_taut_frame_whose_ends_all_stand_right(self, cases, data):
        """Not even a walk-round: the re-check of the last change-over still stands."""
        drawn = data.draw(cases)
        right = ends_at(drawn.model, drawn.goal)
        assert case(drawn.model, right, drawn.goal, drawn.hands).change.steps == ()


class TestWhatComesAfterTheMoves:
    @given(st.data())
    def test_square_is_sighted_after_the_moves_and_before_tension(self, cases, data):
        """Tension holds a crooked frame crooked."""
        one = data.draw(cases)
        sighted = one.named("Sight along")
        assert follow(sighted, one.moved)
        assert follow(one.named("Tension"), sighted)
        if one.change.steps and one.model.procedure.tensioners_per_side:
            assert len(sighted) == 1

    @given(st.data())
    def test_the_walk_round_is_last_and_names_the_locks(self, cases, data):
        """Every lock once more, when nobody works at any."""
        one = data.draw(cases)
        if one.change.steps:
            *others, last = one.change.steps
            assert last.what == "Walk round: every lock seated, every handle closed"
            assert follow([last], others)

    @given(st.data())
    def test_an_apparatus_without_cables_has_no_step_of_tension(self, cases, data):
        """A beam: moved, sighted where that is counted, walked round."""
        drawn = data.draw(cases)
        plain = replace(drawn.model, procedure=Procedure(0, 3, 0, 5, 0))
        one = case(plain, drawn.start, drawn.goal, drawn.hands, slackened=drawn.slackened)
        assert not [step for step in one.change.steps if "ension" in step.what]

    @given(st.data())
    def test_several_slacken_and_pull_every_tensioner_in_two_stages(self, cases, data):
        """None is forgotten."""
        one = data.draw(cases.filter(lambda drawn: drawn.hands > 1))
        per_side = one.model.procedure.tensioners_per_side if one.change.steps else 0
        assert len(one.named("Slacken")) == (0 if one.slackened else 2 * per_side)
        assert sum(len(step.who) for step in one.named("Tension")) == 4 * per_side


class TestTension:
    @pytest.fixture(params=list(product(KINDS, (1, 2, 3, 4), CREWS)), ids=str)
    def one(self, model_of, request) -> Case:
        kind, per_side, hands = request.param
        model = model_of(kind, procedure=Procedure(16, 4, 33, 5, per_side))
        zeros = (0,) * len(model.axes)
        return case(model, ends_at(model, zeros), (1, *zeros[1:]), hands)

    def test_the_first_goes_only_to_its_first_stage_and_at_the_first_side(self, one):
        """On uneven bars that is the high-rail side; more would pull the frame over."""
        first = one.named("Tension")[0]
        assert first.what.startswith(f"Tension {one.model.kind.sides[0]}")
        assert first.what.endswith("to about half")

    def test_none_is_at_working_tension_before_its_partners_have_a_first_stage(self, one):
        """Its partners are the others of its side, or where there are none the one opposite."""
        pulled = one.named("Tension")
        sides = [
            [step for step in pulled if f"Tension {side}" in step.what]
            for side in one.model.kind.sides
        ]
        alone = one.model.procedure.tensioners_per_side == 1
        for partners in [pulled] if alone else sides:
            half = [step for step in partners if "to about half" in step.what]
            full = [step for step in partners if "to working tension" in step.what]
            assert len(half) == len(full) > 0
            assert follow(full, half)

    def test_square_is_sighted_again_between_the_sides(self, one):
        """While the second side can still be taken up against a lean; never after the last."""
        steps = one.change.steps
        (again,) = [
            place for place, step in enumerate(steps) if "ight again for square" in step.what
        ]
        first, second = one.model.kind.sides
        full = [place for place, step in enumerate(steps) if "to working tension" in step.what]
        of_second = [place for place in full if f"Tension {second}" in steps[place].what]
        of_first = [place for place, step in enumerate(steps) if f"Tension {first}" in step.what]
        assert again < min(of_second)
        assert of_first[0] <= again
        if one.model.procedure.tensioners_per_side > 1:
            assert max(of_first) <= again
        else:
            assert again < min(full)

    def test_a_pair_is_pulled_together_and_an_odd_one_alone(self, bars):
        """Three tensioners a side: two on a count beside the third, if there are hands for it."""
        model = replace(bars, procedure=Procedure(12, 4, 24, 5, 3))
        for hands, who in ((2, [(1, 2), (1,)]), (4, [(1, 2), (3,)])):
            pulled = case(model, HERE, THERE, hands).named("Tension high-rail side")
            assert [step.who for step in pulled[:2]] == who


class TestTheShortestTime:
    @given(st.data())
    def test_no_way_to_share_the_ends_of_an_axis_among_the_crew_is_quicker(self, cases, data):
        """Every end given to every pair of hands in turn, in legs or not, from wherever."""
        one = data.draw(cases)
        for axis, stands, goal in zip(one.model.axes, one.start, one.goal, strict=True):
            steps = one.of_axis(axis)
            if not steps or (axis.ends_may_differ is not None and len(set(stands)) > 1):
                continue  # of a rail that hangs askew the legs themselves wait for each other
            ends_s = [self._end_s(axis, here, goal) for here in stands if here != goal]
            took_s = max(step.ends_s for step in steps) - min(step.starts_s for step in steps)
            assert took_s == min(
                max(
                    sum(s for s, by in zip(ends_s, hands, strict=True) if by == hand)
                    for hand in range(one.hands)
                )
                for hands in product(range(one.hands), repeat=len(ends_s))
            )

    @staticmethod
    def _end_s(axis: Axis, here: int, there: int) -> int:
        times = axis.times
        per_stop_s = times.up_s if there > here else times.down_s
        return times.handling_s + abs(there - here) * per_stop_s

    @given(st.data())
    def test_a_crew_is_never_slower_than_one_pair_of_hands(self, cases, data):
        """Wherever it begins: nobody is in the way of another."""
        one = data.draw(cases)
        alone = case(one.model, one.start, one.goal, 1, slackened=one.slackened)
        assert one.change.seconds <= alone.change.seconds

    @given(st.data())
    def test_one_pair_of_hands_needs_what_the_ends_and_the_procedure_need(self, cases, data):
        """Interrupted or not: each end that is moved, and what every change-over takes."""
        one = data.draw(cases)
        alone = case(one.model, one.start, one.goal, 1, slackened=one.slackened)
        ends_s = sum(
            self._end_s(axis, here, goal)
            for axis, stands, goal in zip(one.model.axes, one.start, one.goal, strict=True)
            for here in stands
            if here != goal
        )
        procedure = one.model.procedure
        slack_s = procedure.slacken_s if one.slackened else 0
        always_s = procedure.any_move_s - slack_s if alone.change.steps else 0
        assert alone.change.seconds == ends_s + always_s

    def test_a_whole_change_over_takes_what_the_plan_says(self, bars):
        """117 s alone, on paper in the specification of one pair of hands."""
        assert case(bars, HERE, THERE, 1).change.seconds == change_over_s(bars, HERE, THERE) == 117


class TestWhatIsNone:
    @pytest.mark.parametrize("hands", CREWS)
    @pytest.mark.parametrize("setup", [(6, 6), (6, 6, 31)])
    def test_a_setup_that_is_none_is_refused_at_either_end(self, bars, setup, hands):
        """Before anybody is sent to a hole that is not there."""
        for start, goal in ((setup, HERE), (HERE, setup)):
            with pytest.raises((NotASetup, NoSuchStop)):
                crew_change_over(bars, start, goal, hands)
