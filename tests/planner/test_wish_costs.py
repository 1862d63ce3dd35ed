"""What a wish costs: against every order there is, and between its bounds where time ended."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from settingsdesk.planner import wish_costs as planner_costs
from settingsdesk.planner.errors import NoOrderKeepsThis
from settingsdesk.planner.plan import WishCost
from settingsdesk.planner.problem import Problem, Wishes
from settingsdesk.planner.solve import solve
from settingsdesk.planner.wish_costs import wish_costs, without_each
from tests.desk.rotations.test_searches import rotation

MANY_WISHES = replace(
    rotation(14),
    wishes=Wishes(
        first="a1", before=(("a2", "a3"), ("a4", "a5")), together=(("a6", "a7"),), place={"a0": 9}
    ),
)

KINDS = {
    "one turn": (40, {"athletes": 5, "wishes": True}),
    "turns with rest": (25, {"athletes": 3, "turns": 2, "rest": 1, "wishes": True}),
    "deviations": (10, {"athletes": 3, "wishes": True, "bands": True}),
    "two apparatus with rest": (20, {"athletes": 3, "units": 2, "turns": 2, "rest": 1}),
}


def told(problem: Problem) -> dict[tuple[object, ...], WishCost]:
    """The last that is told of each wish."""
    found = wish_costs(problem, solve(problem).plan, 10)
    return {cost.where: cost for cost in found}


class TestWhatAWishCosts:
    @pytest.mark.parametrize("kind", KINDS)
    def test_is_what_trying_every_order_finds(
        self,
        kind: str,
        invent: Callable[..., Problem],
        try_all: Callable[[Problem], tuple[int, int] | None],
    ) -> None:
        """The coach who drops a wish for the sake of a minute gets that minute."""
        count, asked = KINDS[kind]
        weighed = 0
        for seed in range(count):
            problem = invent(f"cost {kind} {seed}", **asked)
            try:
                solution = solve(problem)
            except NoOrderKeepsThis:
                continue
            costs = told(problem)
            assert list(costs) == [where for where, _ in without_each(problem)]
            for where, looser in without_each(problem):
                least = try_all(looser)
                assert least is not None
                at_least_s = costs[where].at_least_s(solution.bound_s)
                at_most_s = costs[where].at_most_s(solution.goal_s)
                assert at_least_s == at_most_s == solution.goal_s - least[0], f"{seed} {where}"
                weighed += 1
        assert weighed >= count // 3

    def test_is_between_two_bounds_where_the_time_ended(
        self, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Nothing that is not proven is said to be exact."""
        solution = solve(MANY_WISHES)
        exact = {cost.where: cost for cost in wish_costs(MANY_WISHES, solution.plan, 120)}
        monkeypatch.setattr(planner_costs, "FIRST_LOOK_S", 0.004)
        hasty = {cost.where: cost for cost in wish_costs(MANY_WISHES, solution.plan, 0)}

        assert any(cost.bound_s < cost.goal_s for cost in hasty.values())
        for where, cost in hasty.items():
            assert cost.bound_s <= exact[where].goal_s
            assert cost.goal_s >= exact[where].bound_s
            assert 0 <= cost.at_least_s(solution.bound_s) <= cost.at_most_s(solution.goal_s)

    def test_is_told_once_more_after_a_second_look_that_knows_more(
        self, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(planner_costs, "FIRST_LOOK_S", 0.004)
        plan = solve(MANY_WISHES).plan
        first: dict[tuple[object, ...], WishCost] = {}
        again: dict[tuple[object, ...], WishCost] = {}
        for cost in wish_costs(MANY_WISHES, plan, 40):
            (again if cost.where in first else first)[cost.where] = cost

        assert again
        for where, cost in again.items():
            assert cost.bound_s >= first[where].bound_s
            assert cost.goal_s <= first[where].goal_s


class TestWithoutEach:
    def test_leaves_out_one_wish_at_a_time_and_rest_among_them(
        self, invent: Callable[..., Problem]
    ) -> None:
        wishes = Wishes(
            first="a1",
            before=(("a1", "a2"), ("a2", "a3")),
            together=(("a2", "a3"),),
            place={"a4": 4},
        )
        problem = replace(invent("each", athletes=4), wishes=wishes, turns=2, rest_turns=1)

        found = dict(without_each(problem))

        assert list(found) == [
            ("wishes", "first"),
            ("wishes", "before", 0),
            ("wishes", "before", 1),
            ("wishes", "together", 0),
            ("wishes", "place", "a4"),
            ("rest_turns",),
        ]
        assert found["wishes", "before", 0].wishes == replace(wishes, before=(("a2", "a3"),))
        assert found["rest_turns",] == replace(problem, rest_turns=0)

    def test_rest_that_nobody_needs_is_no_wish(self, invent: Callable[..., Problem]) -> None:
        problem = replace(invent("each", athletes=4), rest_turns=2)

        assert list(without_each(problem)) == []
        assert list(without_each(replace(problem, just_had=("a1",)))) == [
            (("rest_turns",), replace(problem, just_had=("a1",), rest_turns=0))
        ]
