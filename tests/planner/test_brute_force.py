"""The planner against brute force: no plan that is called best is ever beaten."""

from collections.abc import Callable

import pytest

from settingsdesk.planner.errors import NoOrderKeepsThis
from settingsdesk.planner.plan import Status
from settingsdesk.planner.problem import Goal, Problem
from settingsdesk.planner.solve import solve

KINDS = {
    "one turn": (100, {"athletes": 5}),
    "wishes": (90, {"athletes": 5, "wishes": True}),
    "rest": (70, {"athletes": 3, "turns": 2, "rest": 1}),
    "long rest": (60, {"athletes": 3, "turns": 2, "rest": 2}),
    "rest and wishes": (50, {"athletes": 3, "turns": 2, "rest": 1, "wishes": True}),
    "own times and rest": (30, {"athletes": 3, "turns": 2, "rest": 1, "own_times": True}),
    "own times and long rest": (30, {"athletes": 3, "turns": 2, "rest": 2, "own_times": True}),
    "bands": (50, {"athletes": 3, "bands": True}),
    "bands and wishes": (30, {"athletes": 3, "bands": True, "wishes": True}),
    "bands and rest": (25, {"athletes": 2, "turns": 2, "rest": 1, "bands": True}),
    "own times, bands and rest": (
        (5, {"athletes": 2, "turns": 2, "rest": 1, "bands": True, "own_times": True})
    ),
    "two apparatus": (40, {"athletes": 4, "units": 2}),
    "two apparatus, makespan": (40, {"athletes": 4, "units": 2, "goal": Goal.MAKESPAN}),
    "two apparatus, rest": (15, {"athletes": 3, "units": 2, "turns": 2, "rest": 1}),
    "two apparatus, bands": (15, {"athletes": 2, "units": 2, "bands": True}),
    "two apparatus, bands, makespan": (
        (15, {"athletes": 2, "units": 2, "bands": True, "goal": Goal.MAKESPAN})
    ),
    "longest rest": (30, {"athletes": 3, "turns": 2, "longest_rest": True}),
    "longest rest and wishes": (
        (40, {"athletes": 3, "turns": 2, "rest": 1, "wishes": True, "longest_rest": True})
    ),
    "in rounds": (30, {"athletes": 3, "turns": 2, "in_rounds": True}),
    "in rounds of four": (6, {"athletes": 4, "turns": 2, "rest": 1, "in_rounds": True}),
    "in rounds with rest": (40, {"athletes": 3, "turns": 2, "rest": 1, "in_rounds": True}),
    "in rounds with rest and wishes": (
        (40, {"athletes": 3, "turns": 2, "rest": 1, "wishes": True, "in_rounds": True})
    ),
    "own times, in rounds": (
        (30, {"athletes": 3, "turns": 2, "rest": 1, "own_times": True, "in_rounds": True})
    ),
    "bands in rounds": (20, {"athletes": 2, "turns": 2, "bands": True, "in_rounds": True}),
    "one setup": (20, {"athletes": 2, "turns": 2, "rest": 1, "bands": True, "one_setup": True}),
    "one setup and wishes": (
        (15, {"athletes": 2, "turns": 2, "bands": True, "wishes": True, "one_setup": True})
    ),
    "groups": (40, {"athletes": 5, "groups": 2}),
    "groups in any order": (30, {"athletes": 5, "groups": 2, "groups_in_order": False}),
    "three groups in any order": (30, {"athletes": 5, "groups": 3, "groups_in_order": False}),
    "groups with wishes": (30, {"athletes": 5, "groups": 2, "wishes": True}),
    "groups with wishes in any order": (
        (30, {"athletes": 5, "groups": 2, "wishes": True, "groups_in_order": False})
    ),
    "groups, makespan": (20, {"athletes": 4, "groups": 2, "goal": Goal.MAKESPAN}),
    "groups with rest": (8, {"athletes": 4, "turns": 2, "rest": 1, "groups": 2}),
    "groups with rest in any order": (
        (8, {"athletes": 4, "turns": 2, "rest": 1, "groups": 2, "groups_in_order": False})
    ),
    "groups, each with the longest rest": (
        (6, {"athletes": 4, "turns": 2, "groups": 2, "longest_rest": True})
    ),
    "groups, each in rounds": (6, {"athletes": 4, "turns": 2, "groups": 2, "in_rounds": True}),
    "groups with bands": (25, {"athletes": 3, "groups": 2, "bands": True}),
    "groups with bands in any order": (
        (25, {"athletes": 3, "groups": 2, "bands": True, "groups_in_order": False})
    ),
    "groups with bands and wishes": (
        (15, {"athletes": 3, "groups": 2, "bands": True, "wishes": True})
    ),
    "groups with bands and two turns": (
        (4, {"athletes": 2, "turns": 2, "groups": 2, "bands": True})
    ),
    "equal numbers": (30, {"athletes": 4, "units": 2, "equal_numbers": True}),
    "equal numbers, makespan": (
        (30, {"athletes": 4, "units": 2, "goal": Goal.MAKESPAN, "equal_numbers": True})
    ),
}


class TestEveryKindOfRotation:
    @pytest.mark.parametrize("kind", KINDS)
    def test_is_solved_as_well_as_by_trying_every_plan(
        self,
        kind: str,
        invent: Callable[..., Problem],
        try_all: Callable[[Problem], tuple[int, int] | None],
    ):
        """A coach who reads "proven best" can rely on it, whatever was asked for."""
        count, asked = KINDS[kind]
        for seed in range(count):
            problem = invent(f"{kind} {seed}", **asked)
            least = try_all(problem)
            if least is None:
                with pytest.raises(NoOrderKeepsThis):
                    solve(problem)
                continue

            solution = solve(problem)

            assert (solution.goal_s, solution.deviation_stops) == least, f"{kind} {seed}"
            assert solution.status is Status.PROVEN, f"{kind} {seed}"
            assert solution.bound_s == solution.goal_s

    def test_is_tried_often_enough(self):
        """The planner's promise counts on at least 500 small rotations of every kind."""
        assert sum(count for count, _ in KINDS.values()) >= 500
