"""What is asked of all turns alike, as numbers: the longest rest there is, equal numbers."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from settingsdesk.planner import plain
from settingsdesk.planner.errors import NotARotationProblem
from settingsdesk.planner.orders import TooManyTries
from settingsdesk.planner.plain import longest_rest, plainly
from settingsdesk.planner.plan import Status
from settingsdesk.planner.problem import Problem, Wishes
from settingsdesk.planner.recount import broken_rules, count
from settingsdesk.planner.solve import solve
from tests.planner.conftest import every_order


class TestTheLongestRest:
    def test_is_the_longest_that_some_order_has(self, invent: Callable[..., Problem]) -> None:
        """Also where wishes leave less, or somebody has had turns before."""
        less = 0
        for seed in range(40):
            problem = invent(f"longest {seed}", athletes=3, turns=2, wishes=True)
            if seed % 3 == 0:
                one, *others = problem.athletes
                problem = replace(
                    problem, athletes=(replace(one, turns=1), *others), just_had=(one.id,)
                )
            rests = [
                count(problem, order).least_rest_turns or 0
                for order, _ in every_order(problem)
                if not broken_rules(problem, order)
            ]
            if not rests:
                continue
            assert longest_rest(problem) == (max(rests), True), seed
            less += max(rests) < 2
        assert less > 1

    def test_is_all_others_where_nothing_else_is_asked(
        self, invent: Callable[..., Problem]
    ) -> None:
        problem = invent("nothing else", athletes=9, turns=3)

        assert plainly(replace(problem, longest_rest=True)).problem.rest_turns == 8

    def test_is_not_called_certain_where_the_search_was_broken_off(
        self, invent: Callable[..., Problem], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """A plan is shown as proven only where no longer rest is possible."""

        def broken_off(*_: object) -> None:
            raise TooManyTries

        problem = replace(invent("broken off", athletes=3, turns=2), longest_rest=True)
        monkeypatch.setattr(plain, "first_order", broken_off)

        assert longest_rest(problem) == (0, False)
        assert solve(problem).status is Status.BEST_FOUND

    def test_without_a_second_turn_of_anybody_is_none(self, invent: Callable[..., Problem]) -> None:
        problem = replace(invent("one each", athletes=4), longest_rest=True)

        assert plainly(problem).problem.rest_turns == 0
        assert solve(problem).least_rest_turns is None


class TestEqualNumbers:
    @pytest.mark.parametrize(("athletes", "units"), [(4, 2), (5, 2), (7, 3), (2, 3)])
    def test_differ_by_one_athlete_at_most(
        self, invent: Callable[..., Problem], athletes: int, units: int
    ) -> None:
        problem = invent("equal", athletes=athletes, units=units)
        everywhere = tuple(
            replace(one, setups={unit.id: unit.setup for unit in problem.apparatus})
            for one in problem.athletes
        )
        free = tuple(replace(unit, turns_min=None, turns_max=None) for unit in problem.apparatus)
        problem = replace(problem, athletes=everywhere, apparatus=free, equal_numbers=True)

        numbers = [len(turns) for turns in solve(problem).plan.values()]

        assert max(numbers) - min(numbers) <= 1

    def test_that_an_apparatus_cannot_have_are_refused_at_its_place(
        self, invent: Callable[..., Problem]
    ) -> None:
        problem = invent("cannot", athletes=4, units=2)
        one, other = problem.apparatus
        units = (one, replace(other, turns_min=None, turns_max=1))

        with pytest.raises(NotARotationProblem) as refused:
            solve(replace(problem, apparatus=units, equal_numbers=True))

        assert refused.value.place == "apparatus[1].turns_min"


class TestWhatMakesNoDifference:
    def test_is_left_out_so_that_quick_searches_do(self, invent: Callable[..., Problem]) -> None:
        asked = {"one_setup": True, "in_rounds": True}
        exactly = invent("exactly", athletes=4, turns=2, **asked)
        once = invent("once", athletes=4, bands=True, **asked)
        rested = replace(exactly, rest_turns=3)
        wished = replace(exactly, rest_turns=3, wishes=Wishes(first="a1"))

        for problem, left in (
            (exactly, (False, True)),
            (once, (False, False)),
            (rested, (False, False)),
            (wished, (False, False)),
            (replace(exactly, turns=3, rest_turns=2), (False, True)),
            (replace(once, turns=2, rest_turns=3, in_rounds=False), (True, True)),
        ):
            found = plainly(problem).problem
            assert (found.one_setup, found.in_rounds) == left
