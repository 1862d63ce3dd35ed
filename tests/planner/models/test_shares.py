"""The earliest end on several apparatus: shares of the athletes, and prices that rule ends out."""

import random
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import combinations, pairwise, permutations

import pytest

from settingsdesk.planner.bounds.shares import WHOLE, athlete_prices
from settingsdesk.planner.models.served import Served
from settingsdesk.planner.models.shares import earliest_end
from settingsdesk.planner.models.units import Units, cheapest_units
from settingsdesk.planner.plan import Status
from settingsdesk.planner.problem import Goal, Problem
from settingsdesk.planner.search import Budget, Steps
from settingsdesk.planner.solve import solve
from settingsdesk.planner.ways.several_apparatus import groups_of, units_of

MUCH = 10.0  # seconds of work
NO_BAR = 1 << 20  # later than any end of these
END_S = 300


def budget(work_s: float = MUCH) -> Budget:
    return Budget.starting_now(60, work_s)


def steps() -> Steps:
    return Steps(budget(), per_second=1e6)


@pytest.fixture(scope="module", params=range(40))
def units(request: pytest.FixtureRequest, invent: Callable[..., Problem]) -> Units:
    """Two or three apparatus, some with room for a few only, some not for everybody."""
    seed = request.param
    problem = invent(f"shares {seed}", athletes=6, units=2 + seed % 2, goal=Goal.MAKESPAN)
    problem = with_equal_turns(problem, 0 if seed % 7 == 0 else 60)
    return units_of(problem, groups_of(problem.athletes))


def with_equal_turns(problem: Problem, turn_s: int) -> Problem:
    """As long a turn for everybody; and a third wants what the first one wants."""
    first = problem.athletes[0].setups
    athletes = tuple(
        replace(one, turn_s=turn_s, setups=first if number % 3 == 0 else one.setups)
        for number, one in enumerate(problem.athletes)
    )
    return replace(problem, athletes=athletes)


class TestTheEarliestEnd:
    def test_is_the_one_of_the_way_that_fills_one_apparatus_after_the_other(self, units: Units):
        """Two ways that share only their table of costs, at any bar."""
        judged = cheapest_units(units, budget(), below=None)
        assert judged.proven
        least_s = NO_BAR if judged.cost is None else judged.cost
        for below in (NO_BAR, least_s + 1, least_s):
            earliest = earliest_end(units, budget(), below, least_s=0)

            assert earliest.proven
            assert earliest.end_s == min(least_s, below)
            assert (earliest.routes is None) == (least_s >= below)

    def test_has_a_route_for_everybody_that_ends_then(self, units: Units):
        earliest = earliest_end(units, budget(), NO_BAR, least_s=0)
        if earliest.routes is None:
            return
        served = [0] * len(units.sizes)
        ends = []
        for path, route, (least, most) in zip(
            units.paths, earliest.routes, units.rooms, strict=True
        ):
            way = [0, *(k + 1 for k, _ in route), 0]
            assert len(set(way)) == len(way) - 1
            assert not any((0, node) in path.barred for node in way)
            assert least <= sum(some for _, some in route) <= most
            turns_s = sum(some * units.turn_s[k] for k, some in route)
            ends.append(turns_s + cost(path.costs, [k for k, _ in route]))
            for k, some in route:
                served[k] += some

        assert served == list(units.sizes)
        assert max(ends) == earliest.end_s

    @pytest.mark.parametrize("spent", [budget(work_s=0), Budget(MUCH, time.perf_counter() - 1)])
    def test_is_bounded_by_what_was_known_when_work_or_time_ran_out(
        self, units: Units, spent: Budget
    ):
        earliest = earliest_end(units, spent, NO_BAR, least_s=3)

        assert not earliest.proven
        assert 3 <= earliest.bound_s <= earliest.end_s

    @pytest.mark.parametrize("number", [2, 3, 4])
    def test_of_an_evening_is_proven(self, invent: Callable[..., Problem], number: int):
        problem = invent(f"evening {number}", athletes=20, units=number, goal=Goal.MAKESPAN)

        solution = solve(with_equal_turns(problem, 60), time_limit_s=60, work_limit_s=2)

        assert solution.status is Status.PROVEN


class TestWhatAnApparatusCanServe:
    def test_is_every_set_that_there_is_time_for_by_its_cheapest_way(self, units: Units):
        """All orders of all sets, tried one by one."""
        for number, path in enumerate(units.paths):
            served = Served(units, number)
            served.find(END_S, steps())
            for some, way_s in every_set(units, number):
                turns = max(len(some), units.rooms[number][0])
                groups = sum(1 << k for k in some)
                is_allowed = not any((0, k + 1) in path.barred for k in some)
                in_time = way_s + turns * units.turn_s[0] <= END_S
                has_room = turns <= units.rooms[number][1] and (some or not turns)
                if is_allowed and in_time and has_room:
                    assert served.seconds[groups] == way_s
                    assert some == () or cost(path.costs, served.route(some)) == way_s
                else:
                    assert groups not in served.seconds


def every_set(units: Units, number: int) -> Iterator[tuple[tuple[int, ...], int]]:
    """With the seconds of its cheapest way, change-overs alone."""
    costs = units.paths[number].costs
    for size in range(len(units.sizes) + 1):
        for some in combinations(range(len(units.sizes)), size):
            yield some, min(cost(costs, way) for way in permutations(some))


def cost(costs: Sequence[Sequence[int]], way: Sequence[int]) -> int:
    nodes = [0, *(k + 1 for k in way), 0]
    return sum(costs[a][b] for a, b in pairwise(nodes))


class TestPricesPerAthlete:
    def test_never_rule_out_an_end_that_a_plan_keeps(self, units: Units):
        """Whatever the prices: those found, and any others."""
        judged = cheapest_units(units, budget(), below=None)
        if judged.cost is None:
            return
        served = [Served(units, number) for number in range(len(units.paths))]
        for one in served:
            one.find(judged.cost, steps())
        shares = [one.shares(judged.cost, steps()) for one in served]
        rng = random.Random(judged.cost)  # noqa: S311  # any prices will do
        for _ in range(5):
            begin = [rng.randint(0, 3 * WHOLE) for _ in units.sizes]
            assert athlete_prices(shares, units.sizes, 1, begin, steps()).spare >= 0
        assert athlete_prices(shares, units.sizes, 60, begin, steps()).spare >= 0
