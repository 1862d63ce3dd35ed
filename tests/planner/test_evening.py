"""Several groups on one apparatus: what is planned together, against each group by itself."""

from collections.abc import Callable
from dataclasses import replace
from itertools import permutations

import pytest

from settingsdesk.planner.errors import NoOrderKeepsThis
from settingsdesk.planner.evening import SECOND, _Evening, parts_in
from settingsdesk.planner.plan import Status
from settingsdesk.planner.problem import Problem, Wishes, part_of
from settingsdesk.planner.recount import broken_rules, count
from settingsdesk.planner.search import Budget
from settingsdesk.planner.solve import _answer, solve

KINDS = {
    "one turn": {"athletes": 6, "groups": 2},
    "any order": {"athletes": 6, "groups": 3, "groups_in_order": False},
    "rest": {"athletes": 6, "turns": 2, "rest": 1, "groups": 2},
    "bands and wishes": {"athletes": 4, "groups": 2, "bands": True, "wishes": True},
    "bands and rest": {"athletes": 4, "turns": 2, "rest": 1, "groups": 2, "bands": True},
    "own times": {"athletes": 6, "groups": 2, "own_times": True},
}


class TestWhatIsKnownOfALength:
    @pytest.mark.parametrize("kind", KINDS)
    def test_is_never_more_than_the_group_takes(
        self, kind: str, invent: Callable[..., Problem]
    ) -> None:
        """Every length that was not worked out is bounded by others; a wrong bound proves wrong."""
        said = 0
        for seed in range(5):
            problem = invent(f"length {kind} {seed}", **KINDS[kind])
            evening = _Evening(problem, Budget.starting_now(60, 0.05), _answer)
            evening.best(None)
            for group, part in enumerate(evening.parts):
                for (begin, end), least in evening.least[group].items():
                    (unit,) = part.apparatus
                    there = replace(unit, setup=begin, final_setup=end)
                    try:
                        truth = solve(replace(part, apparatus=(there,)), work_limit_s=0.3)
                    except NoOrderKeepsThis:
                        continue
                    if truth.status is not Status.PROVEN:
                        continue
                    most = truth.goal_s * SECOND + truth.deviation_stops
                    assert least <= most, (seed, group, begin, end)
                    said += least > 0
        assert said > 3


class TestAllGroupsTogether:
    def test_take_no_more_than_each_by_itself_and_both_are_told(
        self, invent: Callable[..., Problem]
    ) -> None:
        """The coach sees what it is worth to look at the whole evening."""
        less = 0
        for seed in range(10):
            problem = invent(f"together {seed}", athletes=9, groups=3)
            solution = solve(problem)
            by_groups = solution.group_by_group

            assert by_groups is not None
            assert broken_rules(problem, by_groups) == []
            assert count(problem, by_groups).change_over_s == solution.compared.group_by_group_s
            assert solution.compared.group_by_group_s is not None
            assert solution.goal_s <= solution.compared.group_by_group_s
            less += solution.goal_s < solution.compared.group_by_group_s
        assert less > 1

    def test_by_itself_each_group_is_best_from_where_the_one_before_ended(
        self, invent: Callable[..., Problem]
    ) -> None:
        problem = invent("itself", athletes=9, groups=3)
        (unit,) = problem.apparatus
        by_groups = solve(problem).group_by_group
        assert by_groups is not None

        here = unit.setup
        for number, (_, own) in enumerate(parts_in(problem, by_groups)):
            end = unit.final_setup if number == 2 else None
            alone = replace(
                part_of(problem, number),
                apparatus=(replace(unit, setup=here, final_setup=end),),
            )
            assert count(alone, own).change_over_s == solve(alone).goal_s
            here = own[unit.id][-1].setup

    def test_of_all_orders_of_the_groups_the_free_one_is_the_best(
        self, invent: Callable[..., Problem]
    ) -> None:
        for seed in range(4):
            problem = invent(f"free {seed}", athletes=7, groups=3)
            goals = [
                solve(replace(problem, groups=order)).goal_s
                for order in permutations(problem.groups)
            ]

            free = solve(replace(problem, groups_in_order=False))

            assert free.goal_s == min(goals)
            assert free.status is Status.PROVEN

    def test_is_called_no_better_proven_than_it_is_where_time_ends(
        self, invent: Callable[..., Problem]
    ) -> None:
        for seed in range(12):
            problem = invent(f"hasty {seed}", athletes=9, groups=3, turns=2, rest=1)
            exact = solve(problem)
            hasty = solve(problem, work_limit_s=0.004)

            assert exact.status is Status.PROVEN
            assert hasty.bound_s <= exact.goal_s <= hasty.goal_s
            assert hasty.status is Status.BEST_FOUND or hasty.goal_s == exact.goal_s

    def test_of_times_that_a_detour_may_save_the_bound_is_one(
        self,
        invent: Callable[..., Problem],
        try_all: Callable[[Problem], tuple[int, int] | None],
    ) -> None:
        for seed in range(12):
            problem = invent(f"own times {seed}", athletes=5, groups=2, own_times=True)
            least = try_all(problem)
            assert least is not None

            solution = solve(problem)

            assert solution.bound_s <= least[0] <= solution.goal_s
            assert solution.status is Status.BEST_FOUND or solution.goal_s == least[0]


class TestWishesOfSeveralGroups:
    def test_that_cannot_hold_are_named_with_their_place_among_all(
        self, invent: Callable[..., Problem]
    ) -> None:
        wishes = Wishes(before=(("a1", "a3"), ("a2", "a4"), ("a4", "a2")), place={"a1": 1, "a2": 1})
        problem = replace(invent("conflict", athletes=4, groups=2), wishes=wishes)

        with pytest.raises(NoOrderKeepsThis) as refused:
            solve(problem)

        assert refused.value.places == (("before", 1), ("before", 2))

    def test_speak_of_the_turns_of_the_athletes_own_group(
        self, invent: Callable[..., Problem]
    ) -> None:
        """First of the girls is whoever goes first of the girls, though the boys went before."""
        problem = replace(
            invent("own", athletes=6, groups=2),
            wishes=Wishes(first="a4", place={"a1": 2, "a6": 3}),
        )

        (turns,) = solve(problem).plan.values()
        order = [turn.athlete for turn in turns]

        assert problem.groups == (("a1", "a3", "a5"), ("a2", "a4", "a6"))
        assert order[1] == "a1"
        assert order[3] == "a4"
        assert order[5] == "a6"


class TestPartOf:
    def test_is_the_group_with_its_own_wishes(self, invent: Callable[..., Problem]) -> None:
        wishes = Wishes(first="a2", last="a3", before=(("a1", "a5"), ("a2", "a6")))
        problem = replace(invent("part", athletes=6, groups=2), wishes=wishes)

        part = part_of(problem, 1)

        assert [one.id for one in part.athletes] == ["a2", "a4", "a6"]
        assert part.wishes == Wishes(first="a2", before=(("a2", "a6"),))
        assert part.groups == ()
