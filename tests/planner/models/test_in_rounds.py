"""Turns in rounds, for groups of unevenly many athletes and turns, against every sequence."""

import math
from collections.abc import Callable
from functools import cache

import pytest

from settingsdesk.planner.models.in_rounds import InRoundsModel, cheapest_in_rounds
from settingsdesk.planner.models.rounds import Group, Rounds
from settingsdesk.planner.search import Budget
from tests.planner.test_bounds import keeps_triangles

MUCH = 10.0  # seconds of work


def budget(work_s: float = MUCH) -> Budget:
    return Budget.starting_now(60, work_s)


def least_s(rounds: Rounds) -> float:
    """The judge: every sequence in rounds that keeps the rest; infinite where there is none.

    Who of a group has the next turn is whoever has most of theirs to come, as all have in turn.
    """
    members = [group.members for group in rounds.groups]

    @cache
    def onwards(left: tuple[int, ...], recent: tuple[int, ...], here: int) -> float:
        if not any(left):
            return rounds.costs[here][0]
        to_come = [-(-turns // some) for turns, some in zip(left, members, strict=True)]
        return min(
            (
                rounds.costs[here][k]
                + onwards(
                    (*left[: k - 1], left[k - 1] - 1, *left[k:]),
                    (k, *recent)[: rounds.rest],
                    k,
                )
                for k in range(1, len(left) + 1)
                if to_come[k - 1] == max(to_come) and recent.count(k) < members[k - 1]
            ),
            default=math.inf,
        )

    just_had = (*rounds.just_had, *[0] * rounds.rest)[: rounds.rest]
    return onwards(tuple(group.turns for group in rounds.groups), just_had, 0)


class TestTheCheapestSequenceInRounds:
    @pytest.mark.parametrize("work_s", [MUCH, 0.001])
    def test_is_as_cheap_as_the_judge_says(
        self, uneven_rounds: Callable[..., Rounds], work_s: float
    ) -> None:
        """What is called proven is so, however little could be searched."""
        by_short_cuts = 0
        for seed in range(120):
            rounds = uneven_rounds(f"in rounds {work_s} {seed}", most_turns=12)
            least = least_s(rounds)
            short = keeps_triangles(rounds)
            by_short_cuts += short

            found = cheapest_in_rounds(rounds, budget(work_s), by_short_cuts=short)

            assert found.bound <= least, seed
            if found.proven:
                assert found.cost == (None if least == math.inf else least), seed
            assert found.proven or work_s < MUCH
        assert 30 < by_short_cuts < 100

    def test_is_proven_beside_a_plan_that_is_known(
        self, uneven_rounds: Callable[..., Rounds]
    ) -> None:
        for seed in range(30):
            rounds = uneven_rounds(f"in rounds, bar {seed}", most_turns=10)
            least = least_s(rounds)
            if least == math.inf:
                continue
            short = keeps_triangles(rounds)
            for bar in (int(least), int(least) + 1):
                found = cheapest_in_rounds(rounds, budget(), below=bar, by_short_cuts=short)

                assert found.proven
                assert found.bound == least
                assert found.cost == (None if bar == least else least)

    def test_goes_to_and_fro_where_nobody_must_rest(self) -> None:
        """Ada at 0, Bo at 1 and Cy at 2: what would be gone back for nothing is not gone back."""
        costs = [[0, 0, 0, 0], *([0, *(10 * abs(a - b) for b in range(3))] for a in range(3))]
        rounds = Rounds(costs, [Group(1, 2)] * 3, rest=0)

        found = cheapest_in_rounds(rounds, budget())

        assert found.cost == 40
        assert found.steps in (("1", "2", "3", "3", "2", "1"), ("3", "2", "1", "1", "2", "3"))


class TestWhatTheNextRoundCostsToComeTo:
    def test_is_something_only_where_every_group_has_to_rest(self) -> None:
        costs = [[0, 0, 0], [0, 0, 7], [0, 7, 0]]
        rests = Rounds(costs, [Group(1, 2), Group(2, 2)], rest=2)
        goes_on = Rounds(costs, [Group(1, 2), Group(3, 2)], rest=2)

        assert InRoundsModel(rests, budget())._between_s == 7
        assert InRoundsModel(goes_on, budget())._between_s == 0
        assert InRoundsModel(rests, budget(), by_short_cuts=False)._between_s == 0
