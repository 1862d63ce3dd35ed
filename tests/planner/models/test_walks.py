"""Least deviation at the least time: every walk of that time is looked through."""

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise

import pytest

from settingsdesk.planner.bounds.families import FamilyBound
from settingsdesk.planner.models.bands import Bands, least_deviation, least_time
from settingsdesk.planner.models.walks import closest_walk
from settingsdesk.planner.plan import Status
from settingsdesk.planner.problem import Problem
from settingsdesk.planner.search import Budget
from settingsdesk.planner.solve import solve
from settingsdesk.planner.stands import stands_for
from settingsdesk.planner.ways.deviations import bands_of, groups_of

MUCH = 10.0  # seconds of work
BAR = 1 << 10  # more stops than any plan of these is away


@dataclass(frozen=True)
class Squad:
    """A small squad's stands, and the number of the one where the apparatus must end."""

    bands: Bands
    final: int | None

    def least_time_s(self) -> int:
        found = least_time(self.bands, budget(), below=None)
        assert found.proven
        return 0 if found.cost is None else found.cost


@pytest.fixture(scope="module", params=range(40))
def squad(request: pytest.FixtureRequest, invent: Callable[..., Problem]) -> Squad:
    """Every move takes time; some must end somewhere."""
    return squad_of(every_move_takes_time(invent(f"walks {request.param}", athletes=6, bands=True)))


def every_move_takes_time(problem: Problem) -> Problem:
    (unit,) = problem.apparatus
    return replace(problem, apparatus=(replace(unit, any_move_s=max(1, unit.any_move_s)),))


def squad_of(problem: Problem) -> Squad:
    (unit,) = problem.apparatus
    stands = stands_for(problem)
    final = [n for n, stand in enumerate(stands) if stand.setup == unit.final_setup]
    return Squad(bands_of(unit, groups_of(unit, problem.athletes), stands), (*final, None)[0])


def budget(work_s: float = MUCH) -> Budget:
    return Budget.starting_now(MUCH, work_s)


def states(bands: Bands) -> Iterator[tuple[int, int]]:
    """Everybody left or not, the apparatus anywhere."""
    for left in range(1 << len(bands.groups)):
        for stand in range(len(bands.costs)):
            yield left, stand


def rest_s(bands: Bands) -> Callable[[int, int], int]:
    """The least seconds still to come at a state, by trying every way."""
    served = [sum(1 << group for group in bands.served(n)) for n in range(len(bands.costs))]

    @cache
    def least(left: int, here: int) -> int:
        if not left:
            return bands.end_s[here]
        return min(
            bands.costs[here][stand] + least(left & ~serves, stand)
            for stand, serves in enumerate(served)
            if serves & left
        )

    return least


class TestTheBoundAtAState:
    def test_never_exceeds_the_truth(self, squad: Squad):
        """A walk that the bound gives up too early would be a plan that nobody is told of."""
        truth, bound = rest_s(squad.bands), FamilyBound(squad.bands.family)

        for left, stand in states(squad.bands):
            assert bound(left, stand) <= truth(left, stand)


class TestTheClosestWalk:
    def test_is_as_close_as_the_way_group_by_group(self, squad: Squad):
        """Two ways that share only their table of costs."""
        least_s = squad.least_time_s()
        group_by_group = least_deviation(squad.bands, budget(), least_s, below=BAR)
        walk = closest_walk(squad.bands, budget(), least_s, BAR, squad.final)

        assert group_by_group.proven
        assert walk.proven
        assert walk.stands is not None
        assert deviation(squad, walk.stands) == group_by_group.cost
        assert seconds(squad, walk.stands) == least_s

    def test_is_not_looked_for_where_none_can_be_closer(self, squad: Squad):
        least_s = squad.least_time_s()
        walk = closest_walk(squad.bands, budget(), least_s, BAR, squad.final)
        assert walk.stands is not None

        again = closest_walk(
            squad.bands, budget(), least_s, deviation(squad, walk.stands), squad.final
        )

        assert (again.stands, again.proven) == (None, True)

    @pytest.mark.parametrize("spent", [budget(work_s=0), Budget(MUCH, time.perf_counter() - 1)])
    def test_nothing_is_called_closest_when_work_or_time_ran_out(self, squad: Squad, spent: Budget):
        walk = closest_walk(squad.bands, spent, squad.least_time_s(), BAR, squad.final)

        assert not walk.proven


class TestASquad:
    @pytest.mark.parametrize("seed", range(4))
    def test_of_an_evening_gets_the_least_deviation_proven(
        self, invent: Callable[..., Problem], seed: int
    ):
        problem = every_move_takes_time(invent(f"evening {seed}", athletes=18, bands=True))

        assert solve(problem, time_limit_s=30, work_limit_s=1).status is Status.PROVEN

    def test_with_moves_that_cost_nothing_gets_it_group_by_group(
        self, invent: Callable[..., Problem], try_all: Callable[[Problem], tuple[int, int] | None]
    ):
        """Going by another stand may serve somebody better there and take no time."""
        problem = invent("free moves", athletes=3, bands=True)
        (unit,) = problem.apparatus
        axes = tuple(replace(axis, handling_s=0, up_s=0) for axis in unit.axes)
        free = replace(problem, apparatus=(replace(unit, any_move_s=0, axes=axes),))

        solution = solve(free)

        assert (solution.goal_s, solution.deviation_stops) == try_all(free)


def visited(squad: Squad, stands: tuple[int, ...]) -> list[int]:
    return [0, *stands, *([] if squad.final is None else [squad.final])]


def deviation(squad: Squad, stands: tuple[int, ...]) -> int:
    rows = [squad.bands.deviation[n] for n in visited(squad, stands)]
    return sum(
        min(stops for row in rows if (stops := row[group]) is not None)
        for group in squad.bands.groups
    )


def seconds(squad: Squad, stands: tuple[int, ...]) -> int:
    way = [0, *stands]
    moves = sum(squad.bands.costs[a][b] for a, b in pairwise(way))
    return moves + squad.bands.end_s[way[-1]]
