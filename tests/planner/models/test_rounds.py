"""Several turns with rest: blocks where they are enough, and turn by turn where they are not."""

import math
from collections.abc import Callable
from functools import cache

import pytest

from settingsdesk.planner.bounds.crowded import MOST_GROUPS, MOST_SETS
from settingsdesk.planner.models.rounds import Group, Rounds, cheapest_rounds, least_beside_blocks
from settingsdesk.planner.search import Budget
from settingsdesk.planner.ways.several_turns import cheapest_sequence

MUCH = 10.0  # seconds of work
NO_BAR = 1 << 20  # more than anything costs here


def budget(work_s: float = MUCH) -> Budget:
    return Budget.starting_now(60, work_s)


def least_s(rounds: Rounds, once_more: int = 0) -> float:
    """The judge: every sequence that keeps the rest; infinite where there is none.

    Only those that come to the group ``once_more`` more often than they must, where one is named.
    """

    @cache
    def onwards(left: tuple[int, ...], recent: tuple[int, ...], here: int, runs: int) -> float:
        if not any(left):
            is_asked = not once_more or runs > rounds.runs(once_more)
            return rounds.costs[here][0] if is_asked else math.inf
        return min(
            (
                rounds.costs[here][k]
                + onwards(
                    (*left[: k - 1], left[k - 1] - 1, *left[k:]),
                    (k, *recent)[: rounds.rest],
                    k,
                    runs + (k == once_more != here),
                )
                for k, group in enumerate(rounds.groups, start=1)
                if left[k - 1] and recent.count(k) < group.members
            ),
            default=math.inf,
        )

    just_had = (*rounds.just_had, *[0] * rounds.rest)[: rounds.rest]
    return onwards(tuple(group.turns for group in rounds.groups), just_had, 0, 0)


class TestTheCheapestSequence:
    @pytest.mark.parametrize("work_s", [MUCH, 0])
    def test_is_as_cheap_as_the_judge_says(
        self, uneven_rounds: Callable[..., Rounds], work_s: float
    ):
        """What is called proven is so, however little could be searched."""
        for seed in range(80):
            rounds = uneven_rounds(f"sequence {work_s} {seed}", most_turns=10)
            least = least_s(rounds)

            found = cheapest_sequence(rounds, budget(work_s), bar=None)

            assert found.bound <= least
            if found.proven:
                assert found.cost == (None if least == math.inf else least)
            assert found.proven or not work_s

    def test_is_proven_beside_a_plan_that_is_known(self, uneven_rounds: Callable[..., Rounds]):
        """The usual order may be the best one already, or one second dearer."""
        for seed in range(40):
            rounds = uneven_rounds(f"bar {seed}", most_turns=9)
            least = least_s(rounds)
            if least == math.inf:
                continue
            for bar in (int(least), int(least) + 1):
                found = cheapest_sequence(rounds, budget(), bar)

                assert found.proven
                assert found.bound == least
                assert found.cost == (None if bar == least else least)

    def test_is_not_one_of_blocks_where_these_leave_no_rest(self):
        """Ada has three turns and must rest for one; Bo and Cy fill the two gaps, one each."""
        rounds = Rounds([[0, 9, 9], [0, 0, 9], [0, 9, 0]], [Group(1, 3), Group(2, 1)], rest=1)

        found = cheapest_sequence(rounds, budget(), bar=None)

        assert cheapest_rounds(rounds, budget(), in_blocks=rounds.nodes).cost is None
        assert (found.cost, found.steps) == (5 * 9, ("1", "2", "1", "2", "1"))
        assert found.proven

    def test_is_not_one_of_blocks_where_a_crew_is_quicker_otherwise(self):
        """To and from the setup of Bo alone takes the crew 20 s, by way of Ada's and Cy's 3 s."""
        rounds = Rounds([[0, 1, 20], [1, 0, 2], [20, 2, 0]], [Group(2, 1), Group(1, 1)], rest=2)

        found = cheapest_sequence(rounds, budget(), bar=None)

        assert cheapest_rounds(rounds, budget(), in_blocks=rounds.nodes).cost == 1 + 2 + 20
        assert (found.cost, found.steps) == (1 + 2 + 2 + 1, ("1", "2", "1"))
        assert found.proven


class TestAGroupThatIsComeToOnceMore:
    def test_is_never_said_to_cost_more_than_it_does(self, uneven_rounds: Callable[..., Rounds]):
        """Or plans that are better than all of blocks would be forgotten."""
        asked = tight = 0
        for seed in range(60):
            rounds = uneven_rounds(f"once more {seed}", most_turns=9)
            if least_s(rounds) == math.inf:
                continue
            for k, seconds in least_beside_blocks(rounds, budget(), NO_BAR).items():
                truth = least_s(rounds, once_more=k)
                assert seconds <= truth, (seed, k)
                asked, tight = asked + 1, tight + (seconds > 0.9 * truth)

        assert asked > 40
        assert tight > asked / 4, "a bound that says next to nothing"


class TestCrowdedSets:
    def test_of_many_athletes_with_a_very_long_rest_are_not_all_listed(self):
        """30 athletes by twelves would be 86 million sets; the nearest of few are enough."""
        costs = [[abs(a - b) for b in range(31)] for a in range(31)]
        rounds = Rounds(costs, [Group(1, 2)] * 30, rest=12)

        sets = rounds.crowded(rounds.nodes)

        assert len(sets) == MOST_SETS
        assert all(some.entries == 2 and 2 <= len(some.nodes) <= MOST_GROUPS for some in sets)
        assert frozenset({7, 8}) in {some.nodes for some in sets}
