"""What must be true of every answer, whatever was asked and however little time there was."""

from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from functools import cache
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import seed as beginning_with
from hypothesis import strategies as st

from settingsdesk.planner.errors import NoOrderKeepsThis, NoPlanInTime
from settingsdesk.planner.plan import Solution, Status
from settingsdesk.planner.problem import Goal, Problem, Wishes
from settingsdesk.planner.solve import solve


@dataclass(frozen=True)
class OrderRequest:
    """What an invented rotation is like."""

    athletes: int
    units: int
    turns: int
    rest: int
    wishes: bool
    bands: bool
    goal: Goal


ASKED = st.builds(
    OrderRequest,
    athletes=st.integers(1, 9),
    units=st.integers(1, 3),
    turns=st.integers(1, 3),
    rest=st.integers(0, 3),
    wishes=st.booleans(),
    bands=st.booleans(),
    goal=st.sampled_from(Goal),
)
FEW = settings(max_examples=80)
THE_SAME = beginning_with(2)
"""The properties of an answer are asked of the same answers, so that each is sought once."""


def asked_for(invent: Callable[..., Problem], seed: int, asked: OrderRequest) -> Problem:
    wishes = asked.wishes and asked.units == 1
    return invent(f"any {seed}", **asdict(replace(asked, wishes=wishes)))


@cache
def answer_to(invent: Callable[..., Problem], seed: int, asked: OrderRequest) -> Solution | None:
    return answer(asked_for(invent, seed, asked))


def answer(problem: Problem) -> Solution | None:
    try:
        return solve(problem, work_limit_s=0.1)
    except (NoOrderKeepsThis, NoPlanInTime):
        return None


def seconds(problem: Problem, solution: Solution) -> dict[str, int]:
    """Change-over seconds per apparatus, from the format's one sentence about them."""
    spent = {}
    for unit in problem.apparatus:
        stands = [unit.setup, *(turn.setup for turn in solution.plan[unit.id])]
        stands += [unit.final_setup] if unit.final_setup else []
        spent[unit.id] = sum(
            unit.any_move_s
            + sum(
                axis.ends * (axis.handling_s + abs(y - x) * (axis.up_s if y > x else axis.down_s))
                for axis, x, y in zip(unit.axes, a, b, strict=True)
                if x != y
            )
            for a, b in pairwise(stands)
            if a != b
        )
    return spent


def first_turns(solution: Solution) -> dict[str, int]:
    (turns,) = solution.plan.values()
    return {turn.athlete: n for n, turn in reversed(list(enumerate(turns, start=1)))}


class TestEveryAnswer:
    @THE_SAME
    @FEW
    @given(seed=st.integers(0, 10**6), asked=ASKED)
    def test_tells_the_time_that_a_second_count_finds(
        self, invent: Callable[..., Problem], seed: int, asked: OrderRequest
    ):
        """The coach's stop-watch and the screen agree."""
        problem = asked_for(invent, seed, asked)
        solution = answer_to(invent, seed, asked)
        if solution is None:
            return

        spent = seconds(problem, solution)
        turn_s = {one.id: one.turn_s for one in problem.athletes}
        busy = [
            spent[unit_id] + sum(turn_s[turn.athlete] for turn in turns)
            for unit_id, turns in solution.plan.items()
        ]
        assert solution.change_over_s == sum(spent.values())
        assert solution.makespan_s == max(busy)
        goals = {Goal.TOTAL: solution.change_over_s, Goal.MAKESPAN: solution.makespan_s}
        assert solution.goal_s == goals[problem.goal]

    @THE_SAME
    @FEW
    @given(seed=st.integers(0, 10**6), asked=ASKED)
    def test_claims_no_more_than_it_has_proven(
        self, invent: Callable[..., Problem], seed: int, asked: OrderRequest
    ):
        """Proven and bound say the same, and no usual order is better than the answer."""
        solution = answer_to(invent, seed, asked)
        if solution is None:
            return

        assert 0 <= solution.bound_s <= solution.goal_s
        assert solution.status is Status.BEST_FOUND or solution.bound_s == solution.goal_s
        for usual in (solution.compared.as_listed_s, solution.compared.by_height_s):
            assert usual is None or usual >= solution.goal_s

    @THE_SAME
    @FEW
    @given(seed=st.integers(0, 10**6), asked=ASKED)
    def test_gives_everybody_their_turns_their_rest_and_a_setup_they_accept(
        self, invent: Callable[..., Problem], seed: int, asked: OrderRequest
    ):
        """Nobody is forgotten, rushed, or set up for somebody else."""
        problem = asked_for(invent, seed, asked)
        solution = answer_to(invent, seed, asked)
        if solution is None:
            return

        for one in problem.athletes:
            places = {
                unit_id: [n for n, turn in enumerate(turns) if turn.athlete == one.id]
                for unit_id, turns in solution.plan.items()
            }
            (had,) = [some for some in places.values() if some]
            assert len(had) == problem.turns
            assert all(b - a > problem.rest_turns for a, b in pairwise(had))
        for unit_id, turns in solution.plan.items():
            for turn in turns:
                one = next(who for who in problem.athletes if who.id == turn.athlete)
                for stop, wanted, most in zip(
                    turn.setup, one.setups[unit_id], one.accepted(unit_id), strict=True
                ):
                    assert abs(stop - wanted) <= most

    @FEW
    @given(seed=st.integers(0, 10**6), asked=ASKED)
    def test_keeps_every_wish(self, invent: Callable[..., Problem], seed: int, asked: OrderRequest):
        """A wish is kept, or the coach is told that it cannot be."""
        problem = asked_for(invent, seed, replace(asked, units=1, wishes=True))
        solution = answer(problem)
        if solution is None:
            return

        wishes, first = problem.wishes, first_turns(solution)
        (turns,) = solution.plan.values()
        assert wishes.first in (None, turns[0].athlete)
        assert wishes.last in (None, turns[-1].athlete)
        assert all(first[a] < first[b] for a, b in wishes.before)
        assert all(first[one] == turn for one, turn in wishes.place.items())
        for group in wishes.together:
            begun = sorted(first[one] for one in group)
            assert begun == list(range(begun[0], begun[0] + len(group)))


class TestASmallerRequest:
    @FEW
    @given(seed=st.integers(0, 10**6), athletes=st.integers(2, 6))
    def test_is_never_dearer_without_the_wishes(
        self, invent: Callable[..., Problem], seed: int, athletes: int
    ):
        """Every wish can only cost time."""
        problem = invent(f"any {seed}", athletes=athletes, wishes=True)
        kept = answer(problem)
        free = solve(replace(problem, wishes=Wishes()))

        assert kept is None or free.goal_s <= kept.goal_s

    @FEW
    @given(seed=st.integers(0, 10**6), athletes=st.integers(2, 6))
    def test_is_never_dearer_with_one_athlete_less(
        self, invent: Callable[..., Problem], seed: int, athletes: int
    ):
        """Whoever stays away costs nobody time."""
        problem = invent(f"any {seed}", athletes=athletes)
        fewer = replace(problem, athletes=problem.athletes[1:])

        assert solve(fewer).goal_s <= solve(problem).goal_s


class TestARunningRotation:
    @pytest.mark.parametrize("seed", range(40))
    def test_is_planned_on_as_well_as_it_was_begun(self, seed: int, invent: Callable[..., Problem]):
        """After some turns of a best plan, the best plan for the rest costs just the rest."""
        problem = invent(f"on {seed}", athletes=4, turns=2, rest=1)
        solution = solve(problem)
        (unit,) = problem.apparatus
        done, still = solution.plan[unit.id][:3], solution.plan[unit.id][3:]
        left = {one.id: sum(turn.athlete == one.id for turn in still) for one in problem.athletes}
        going_on = replace(
            problem,
            apparatus=(replace(unit, setup=done[-1].setup),),
            athletes=tuple(
                replace(one, turns=left[one.id]) for one in problem.athletes if left[one.id]
            ),
            just_had=tuple(turn.athlete for turn in done),
        )
        spent = replace(solution, plan={unit.id: done})
        begun = replace(problem, apparatus=(replace(unit, final_setup=None),))

        assert solve(going_on).goal_s == solution.goal_s - sum(seconds(begun, spent).values())
