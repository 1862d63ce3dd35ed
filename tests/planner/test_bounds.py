"""Every bound against the truth, at every state that a search can reach.

A bound that is too large by one second would let the planner call a plan proven that is not. So for
many small rotations every way through the model is walked to its end, and at every state on the way
each bound must not exceed what the cheapest way onwards really costs.
"""

import math
import random
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import pytest

from settingsdesk.planner.bounds.families import family_form, overlap
from settingsdesk.planner.bounds.forest import Paths, priced_forest
from settingsdesk.planner.bounds.kept_turns import least_time_of_kept
from settingsdesk.planner.bounds.prices import Few, Search, Visits
from settingsdesk.planner.bounds.returns import (
    PricedReturns,
    least_time_by_returns,
    returns_of,
)
from settingsdesk.planner.bounds.symmetric import HALVES, symmetric
from settingsdesk.planner.models.anything import Aim, AnythingModel, best_plan
from settingsdesk.planner.models.bands import Bands, deviation_model, time_model
from settingsdesk.planner.models.in_rounds import InRoundsModel
from settingsdesk.planner.models.rounds import Rounds, RoundsModel
from settingsdesk.planner.models.tour import Tour, tour_model
from settingsdesk.planner.models.units import UnitsModel
from settingsdesk.planner.problem import AxisTimes, Entrant, Goal, Problem, Unit, part_of
from settingsdesk.planner.search import Budget
from settingsdesk.planner.solve import solve
from settingsdesk.planner.stands import Stand, accepted_ranges, stands_for
from settingsdesk.planner.ways import (
    deviations,
    one_turn,
    several_apparatus,
    several_turns,
    turn_by_turn,
)

Invent = Callable[..., Problem]

PRICING_STEPS = 60


class Walk:
    """All ways through a model from its start, with the bounds checked on the way."""

    def __init__(self, model: Any):
        self.model = model
        self.transitions = model.get_transitions()
        self.reached = 0
        self.tight = 0

    def cheapest(self, state: Any) -> float:
        """The cheapest way from ``state`` to an end; infinite where there is none."""
        model = self.model
        if not model.check_state_constr(state):
            return math.inf
        least = math.inf
        if model.is_base(state):
            least = model.eval_base_cost(state)
        for step in self.transitions:
            if step.is_applicable(state, model):
                onwards = self.cheapest(step.apply(state, model))
                if onwards < math.inf:
                    least = min(least, step.eval_cost(int(onwards), state, model))
        bound = model.eval_dual_bound(state)
        assert bound <= least, f"bound {bound} above {least}"
        self.reached += 1
        self.tight += bound == least
        return least


def keeps_triangles(rounds: Rounds) -> bool:
    """Whether no way is quicker by a third setup."""
    costs, nodes = rounds.costs, range(len(rounds.costs))
    return all(
        costs[a][c] <= costs[a][b] + costs[b][c] for a in nodes for b in nodes for c in nodes
    )


def tour(problem: Problem) -> Any:
    (unit,) = problem.apparatus
    return tour_model(one_turn.tour_of(problem, unit, one_turn.groups_of(problem, unit)))


def rounds(problem: Problem) -> Any:
    (unit,) = problem.apparatus
    groups = several_turns.groups_of(problem, unit)
    return RoundsModel(several_turns.rounds_of(problem, unit, groups), PRICING_STEPS).model


def in_rounds(problem: Problem) -> Any:
    (unit,) = problem.apparatus
    groups = several_turns.groups_of(problem, unit)
    asked = several_turns.rounds_of(problem, unit, groups)
    return InRoundsModel(asked, Budget.starting_now(60, 1)).model


def units(problem: Problem) -> Any:
    return UnitsModel(
        several_apparatus.units_of(problem, several_apparatus.groups_of(problem.athletes))
    ).model


def bands_for_time(problem: Problem) -> Any:
    (unit,) = problem.apparatus
    groups = deviations.groups_of(unit, problem.athletes)
    return time_model(deviations.bands_of(unit, groups, stands_for(problem, for_time_alone=True)))


def bands_for_deviation(problem: Problem) -> Any:
    (unit,) = problem.apparatus
    groups = deviations.groups_of(unit, problem.athletes)
    return deviation_model(deviations.bands_of(unit, groups, stands_for(problem)), weight=7)


def parts_for_time(problem: Problem) -> Any:
    return time_model(parts(problem, stands_for(problem, for_time_alone=True)))


def parts_for_deviation(problem: Problem) -> Any:
    return deviation_model(parts(problem, stands_for(problem)), weight=7)


def parts(problem: Problem, stands: Sequence[Stand]) -> Bands:
    (unit,) = problem.apparatus
    there = [part_of(problem, group).athletes for group in range(len(problem.groups))]
    budget = Budget.starting_now(60, 1)
    least_s = [deviations.from_anywhere_s(problem, some, budget) for some in there]
    each = [deviations.groups_of(unit, some) for some in there]
    return deviations.bands_in_parts(problem, each, least_s, stands)


def anything(problem: Problem) -> Any:
    return AnythingModel(problem, Aim()).model


def anything_for_deviation(problem: Problem) -> Any:
    return AnythingModel(problem, Aim(goal_at_most_s=solve(problem).goal_s + 5)).model


MAKESPAN = Goal.MAKESPAN
CASES: dict[str, tuple[Callable[[Problem], Any], int, dict[str, Any]]] = {
    "tour": (tour, 150, {"athletes": 6}),
    "tour with wishes": (tour, 150, {"athletes": 5, "wishes": True}),
    "rounds": (rounds, 60, {"athletes": 4, "turns": 2, "rest": 1}),
    "rounds with long rest": (rounds, 100, {"athletes": 3, "turns": 3, "rest": 2}),
    "rounds with sets": (rounds, 150, {"athletes": 4, "turns": 2, "rest": 2}),
    "rounds with larger sets": (rounds, 150, {"athletes": 4, "turns": 2, "rest": 3}),
    "rounds with fillers": (rounds, 150, {"athletes": 3, "turns": 3, "rest": 1}),
    "rounds without rest": (rounds, 40, {"athletes": 3, "turns": 2}),
    "rounds with wishes": (rounds, 100, {"athletes": 3, "turns": 2, "rest": 1, "wishes": True}),
    "in rounds": (in_rounds, 60, {"athletes": 4, "turns": 2}),
    "in rounds with rest": (in_rounds, 100, {"athletes": 3, "turns": 2, "rest": 1}),
    "in rounds with long rest": (in_rounds, 60, {"athletes": 3, "turns": 3, "rest": 2}),
    "in rounds with wishes": (
        (in_rounds, 60, {"athletes": 3, "turns": 2, "rest": 1, "wishes": True})
    ),
    "parts, time": (parts_for_time, 60, {"athletes": 4, "groups": 2, "bands": True}),
    "parts in any order, time": (
        parts_for_time,
        60,
        {"athletes": 4, "groups": 2, "bands": True, "groups_in_order": False},
    ),
    "parts, deviation": (parts_for_deviation, 60, {"athletes": 3, "groups": 2, "bands": True}),
    "parts in any order, deviation": (
        parts_for_deviation,
        60,
        {"athletes": 3, "groups": 2, "bands": True, "groups_in_order": False},
    ),
    "anything in rounds": (anything, 20, {"athletes": 2, "turns": 2, "in_rounds": True}),
    "anything at one setup": (
        (anything, 20, {"athletes": 2, "turns": 2, "bands": True, "one_setup": True})
    ),
    "units": (units, 60, {"athletes": 4, "units": 2}),
    "units, makespan": (units, 60, {"athletes": 4, "units": 2, "goal": MAKESPAN}),
    "three units": (units, 40, {"athletes": 3, "units": 3}),
    "bands, time": (bands_for_time, 150, {"athletes": 4, "bands": True}),
    "bands, deviation": (bands_for_deviation, 100, {"athletes": 3, "bands": True}),
    "anything": (anything, 60, {"athletes": 2, "turns": 2, "rest": 1, "bands": True}),
    "anything, wishes": (anything, 40, {"athletes": 3, "bands": True, "wishes": True}),
    "anything on two": (anything, 60, {"athletes": 3, "units": 2, "bands": True}),
    "anything, makespan": (anything, 60, {"athletes": 3, "units": 2, "goal": MAKESPAN}),
    "anything, deviation": (anything_for_deviation, 60, {"athletes": 3, "bands": True}),
}


class TestNoBoundExceedsTheTruth:
    @pytest.mark.parametrize("case", CASES)
    def test_at_any_state_of_a_small_rotation(self, case: str, invent: Invent):
        """A coach who reads "proven" relies on nothing else."""
        made, count, asked = CASES[case]
        reached = tight = 0
        for seed in range(count):
            walk = Walk(made(invent(f"bound {case} {seed}", **asked)))
            walk.cheapest(walk.model.target_state)
            reached, tight = reached + walk.reached, tight + walk.tight

        assert reached > 8 * count
        assert tight > reached / 4, "bounds that say next to nothing"


class TestRoundsOfUnevenGroups:
    @pytest.mark.parametrize("share", [0, 0.5, 1])
    def test_have_no_bound_above_the_truth_however_many_go_in_blocks(
        self, share: float, uneven_rounds: Callable[..., Rounds]
    ):
        """Whatever the change-over times are like: a crew's times may differ both ways."""
        reached = tight = 0
        for seed in range(60):
            rounds = uneven_rounds(f"blocks {share} {seed}", most_turns=8)
            rng = random.Random(seed)  # noqa: S311  # any groups will do
            in_blocks = frozenset(k for k in sorted(rounds.nodes) if rng.random() < share)
            walk = Walk(RoundsModel(rounds, PRICING_STEPS, in_blocks).model)
            walk.cheapest(walk.model.target_state)
            reached, tight = reached + walk.reached, tight + walk.tight

        assert reached > 8 * 60
        assert tight > reached / 4, "bounds that say next to nothing"

    @pytest.mark.parametrize("by_short_cuts", [False, True])
    def test_in_rounds_have_none_either(
        self, by_short_cuts: bool, uneven_rounds: Callable[..., Rounds]
    ):
        reached = tight = 0
        for seed in range(80):
            rounds = uneven_rounds(f"uneven in rounds {seed}", most_turns=8)
            if by_short_cuts and not keeps_triangles(rounds):
                continue
            budget = Budget.starting_now(60, 1)
            walk = Walk(InRoundsModel(rounds, budget, by_short_cuts).model)
            walk.cheapest(walk.model.target_state)
            reached, tight = reached + walk.reached, tight + walk.tight

        assert reached > 8 * 40
        assert tight > reached / 8, "bounds that say next to nothing"


class TestTheBoundByReturns:
    def test_never_exceeds_the_best_of_all_plans(
        self, invent: Invent, try_all: Callable[[Problem], tuple[int, int] | None]
    ):
        """It is shown as the time below which no plan lies, so nothing may lie below."""
        reached = 0
        for seed in range(200):
            problem = invent(f"returns {seed}", athletes=2, turns=2, rest=1, bands=True)
            least = try_all(problem)
            assert least is not None
            bound = least_time_by_returns(problem, Budget.starting_now(60))

            assert bound <= least[0], seed
            reached += bound == least[0]

        assert reached > 100, "a bound that says next to nothing"

    def test_never_exceeds_what_the_whole_model_proves(self, invent: Invent):
        """The same for rotations with so many plans that not all can be tried.

        The model is asked by itself: a whole solve begins with the bound that is tried here.
        """
        for seed in range(300):
            longer = {"athletes": 3, "turns": 2, "rest": 2} if seed % 2 else {"athletes": 2}
            problem = invent(f"returns {seed}", **{"turns": 3, "rest": 1, "bands": True, **longer})

            best = best_plan(problem, Aim(), Budget.starting_now(60), below=None)

            assert best.proven
            assert best.cost is not None
            assert least_time_by_returns(problem, Budget.starting_now(60)) <= best.cost, seed
            if seed % 3 == 0:
                one_turn_s = deviations.least_for_one_turn_s(problem, Budget.starting_now(60))
                assert one_turn_s <= best.cost, seed

    def test_sees_what_one_turn_each_takes_already(self):
        """Where crowds are large the rests cost nothing, and going round once is all there is."""
        axes = tuple(
            AxisTimes(name, stops=9, ends=1, handling_s=10, up_s=1, down_s=1)
            for name in ("high rail", "spread")
        )
        unit = Unit("bars", axes, any_move_s=0, setup=(4, 4))
        wanted = [((7, 5), (1, 1)), ((2, 6), (0, 1)), ((6, 5), (1, 0))]  # two overlap
        athletes = tuple(
            Entrant(f"a{n}", {"bars": setup}, turn_s=70, accepts={"bars": most})
            for n, (setup, most) in enumerate(2 * wanted)
        )
        problem = Problem((unit,), athletes, turns=2, rest_turns=1)

        least_s = turn_by_turn.least_goal_s(problem, Budget.starting_now(60))

        assert least_s == solve(problem, time_limit_s=1).goal_s
        assert least_s > least_time_by_returns(problem, Budget.starting_now(60))

    def test_sees_that_the_rest_sends_the_bars_to_and_fro(self):
        """Ada, Bo and Cy take turns three times, and Bo and Cy are far from Ada every time."""
        axis = AxisTimes("spread", stops=9, ends=1, handling_s=10, up_s=1, down_s=1)
        unit = Unit("bars", (axis,), any_move_s=0, setup=(1,))
        athletes = tuple(
            Entrant(name, {"bars": (stop,)}, turn_s=70, accepts={"bars": (1,)})
            for name, stop in (("Ada", 0), ("Bo", 8), ("Cy", 8))
        )
        problem = Problem((unit,), athletes, turns=3, rest_turns=2)

        # from 1 to 7 and back, five times in all
        assert (
            least_time_by_returns(problem, Budget.starting_now(60))
            == 5 * (10 + 6)
            == solve(problem).goal_s
        )

    def test_lets_whoever_accepts_more_on_one_axis_have_their_turn_elsewhere(self):
        """Between two turns of the first: there and back, by the least move, in half seconds."""
        axes = tuple(AxisTimes(name, 9, 1, 0, 1, 1) for name in ("low", "high"))
        unit = Unit("bars", axes, 10, setup=(0, 0))
        first, wider = ((2, 3), (2, 3)), ((2, 2), (3, 5))

        assert returns_of(unit, 0, [0], [first, wider], 1).open_s == 2 * 2 * (10 + 1)

    def test_holds_at_any_prices_of_any_family(self, invent: Invent):
        """Prices are only sought; it is not they that make the bound true."""
        rng = random.Random(3)  # noqa: S311  # any prices will do
        for seed in range(60):
            asked = {"athletes": 3, "turns": 2, "rest": 1 + seed % 2, "bands": True}
            problem = invent(f"prices {seed}", **asked)
            best = best_plan(problem, Aim(), Budget.starting_now(60), below=None)
            (unit,) = problem.apparatus
            boxes = [tuple(accepted_ranges(unit, one)) for one in problem.athletes]
            family: list[int] = []
            for n in rng.sample(range(3), 3):
                if not any(overlap(boxes[n], boxes[other]) for other in family):
                    family.append(n)
            rest = problem.rest_turns
            returns = [returns_of(unit, n, family, boxes, rest) for n in family]
            form = family_form(unit, unit.setup, boxes, family)
            search = PricedReturns(form, [2] * len(family), returns, [2] * 3, rest)
            for _ in range(10):
                nodes = [rng.randint(-900, 900) for _ in range(len(family) + 1)]
                prices = search.allowed([*nodes, *(rng.randint(-200, 500) for _ in range(3))])

                assert best.cost is not None
                assert search.value_and_slope(prices)[0] <= HALVES * best.cost, seed

    def test_holds_at_any_prices_of_the_turns_that_are_kept(self, invent: Invent):
        """Prices that would pay for going round for ever are lowered, and those below 0 do, too."""
        rng = random.Random(4)  # noqa: S311  # any prices will do
        reached = lowered = 0
        for seed in range(120):
            asked = {"athletes": 3 + seed % 2, "turns": 2, "rest": seed % 3, "bands": True}
            problem = invent(f"kept {seed}", **asked)
            best = best_plan(problem, Aim(), Budget.starting_now(60), below=None)
            (unit,) = problem.apparatus
            everybody = range(len(problem.athletes))
            boxes = [tuple(accepted_ranges(unit, one)) for one in problem.athletes]
            family: list[int] = []
            for n in rng.sample(everybody, len(everybody)):
                if not any(overlap(boxes[n], boxes[other]) for other in family):
                    family.append(n)
            del family[1 + seed % 3 :]
            for most in (0, 100, 1000, 1000, 3000):
                price = [rng.randint(-most // 4, most) for _ in family]
                fillers = [rng.choice([0, 0, rng.randint(0, most // 4)]) for _ in everybody]

                bound = least_time_of_kept(problem, Budget.starting_now(60), family, price, fillers)

                assert best.cost is not None
                assert bound <= best.cost, seed
                reached += bound == best.cost
                lowered += most == 3000 and bound > 0

        assert reached > 40, "a bound that says next to nothing"
        assert lowered > 10

    def test_sees_where_in_a_band_the_bars_must_stand(self):
        """A band that reaches to two others has them next to it, and still lies between them."""
        axis = AxisTimes("spread", stops=9, ends=1, handling_s=10, up_s=1, down_s=1)
        unit = Unit("bars", (axis,), any_move_s=0, setup=(4,))
        bands = [(0, 1), (2, 1), (4, 1), (6, 1), (8, 1)]  # each overlaps the next
        athletes = tuple(
            Entrant(f"a{n}", {"bars": (stop,)}, turn_s=70, accepts={"bars": (most,)})
            for n, (stop, most) in enumerate(2 * bands)
        )
        problem = Problem((unit,), athletes, turns=2, rest_turns=1)

        least_s = least_time_by_returns(problem, Budget.starting_now(60))

        # from 4 to 1 and then to 7, or the other way round
        assert least_s == 2 * 10 + 3 + 6 == solve(problem).goal_s
        assert least_s > least_time_by_returns(problem, Budget.starting_now(60, work_s=0))

    def test_sees_that_one_athlete_cannot_fill_everybodys_rest(self):
        """Cy can go before and after Ada or Bo at their setups, but has only four turns."""
        axis = AxisTimes("spread", stops=9, ends=1, handling_s=10, up_s=1, down_s=1)
        unit = Unit("bars", (axis,), any_move_s=0, setup=(0,))
        athletes = tuple(
            Entrant(name, {"bars": (stop,)}, turn_s=70, accepts={"bars": (most,)})
            for name, stop, most in (("Ada", 0, 0), ("Bo", 8, 0), ("Cy", 4, 4))
        )
        problem = Problem((unit,), athletes, turns=4, rest_turns=1)

        # Ada and Bo rest three times each: to Bo's setup once, and two rests are left to fill
        assert (
            least_time_by_returns(problem, Budget.starting_now(60))
            == 3 * (10 + 8)
            == solve(problem).goal_s
        )


class TestPricesOfSetsThatMayBeComeToMoreOften:
    def test_never_make_a_further_visit_pay(self):
        """Sets that ask too much of uneven groups would lower prices for ever; they are dropped."""
        dropped = kept = 0
        for seed in range(200):
            rng = random.Random(seed)  # noqa: S311  # invented costs
            size = rng.randint(4, 7)
            costs = [[rng.randint(0, 30) * (i != j) for j in range(size)] for i in range(size)]
            few = [Few(frozenset(rng.sample(range(1, size), 2)), 2) for _ in range(3)]
            more = frozenset(rng.sample(range(1, size), rng.randint(1, size - 1)))
            search = Search(symmetric(costs, frozenset()), Visits([1] * size, more, few))
            most = rng.choice([50, 3000])
            wanted = [rng.randint(-300, 300) for _ in range(size)]
            prices = search.allowed([*wanted, *(rng.randint(1, most) for _ in few)])

            rise = search.rise_with_one_more(prices)
            assert min(rise[k] for k in more) >= 0
            assert min(prices.few) >= 0
            dropped, kept = dropped + (0 in prices.few), kept + (0 not in prices.few)

        assert dropped > 20
        assert kept > 20


class TestThePricesOfAForest:
    def test_are_found_whatever_the_apparatus_cost(self):
        """Where there are none the search goes by a bound that says nothing."""
        for seed in range(60):
            rng = random.Random(seed)  # noqa: S311  # invented costs
            nodes = range(rng.randint(3, 6))
            every = [[[rng.randint(0, 30) * (i != j) for j in nodes] for i in nodes] for _ in "12"]
            paths = [Paths(costs, frozenset(), rng.random() < 0.5) for costs in every]

            assert priced_forest(paths, 60) is not None, seed


class TestTheSlopeOfABoundByPrices:
    def test_promises_no_less_than_any_other_prices_bring(self):
        """A least length is a concave function of prices; its slope decides where better ones are
        sought, and one that is wrong would leave bounds true, and too low."""
        for seed in range(200):
            rng = random.Random(seed)  # noqa: S311  # invented costs
            size = rng.randint(3, 7)
            costs = [[rng.randint(0, 30) * (i != j) for j in range(size)] for i in range(size)]
            few = [Few(frozenset(rng.sample(range(1, size), 2)), 2) for _ in range(3)]
            visits = Visits([1, *(rng.randint(1, 3) for _ in range(size - 1))], frozenset(), few)
            search = Search(symmetric(costs, frozenset()), visits)
            here, there = (
                search.allowed([rng.randint(-300, 300) for _ in range(size + len(few))])
                for _ in range(2)
            )

            value, slope = search.value_and_slope(here)
            other, _ = search.value_and_slope(there)
            steps = zip(slope, here.node + here.few, there.node + there.few, strict=True)
            assert other <= value + sum(up * (to - at) for up, at, to in steps), seed


class TestTheTreeBoundOfAMatrix:
    def test_holds_for_costs_that_are_not_symmetric_at_all(self):
        """A crew's times, or a matrix from elsewhere, need not be alike both ways."""
        rng = random.Random(5)  # noqa: S311  # invented costs
        for _ in range(40):
            size = rng.randint(3, 6)
            costs = [[rng.randint(0, 30) * (i != j) for j in range(size)] for i in range(size)]
            barred = frozenset(
                (i, j) for i in range(size) for j in range(1, size) if rng.random() < 0.15
            )
            walk = Walk(tour_model(Tour(costs, barred=barred)))

            walk.cheapest(walk.model.target_state)

            assert walk.reached


class TestTheBoundsFromAnywhere:
    """What a group or a round takes at least, wherever the apparatus stands at first."""

    @pytest.mark.parametrize("asked", [{}, {"turns": 2, "rest": 1}])
    def test_never_exceed_the_best_of_all_plans_from_any_setup(
        self,
        asked: dict[str, int],
        invent: Callable[..., Problem],
        try_all: Callable[[Problem], tuple[int, int] | None],
    ):
        said = 0
        for seed in range(12):
            problem = invent(f"anywhere {asked} {seed}", athletes=2, bands=True, **asked)
            unit = replace(problem.apparatus[0], final_setup=None)
            bound_s = turn_by_turn.least_from_anywhere_s(problem, Budget.starting_now(60, 1))
            stands = [stand.setup for stand in stands_for(problem)]
            truths = [
                try_all(replace(problem, apparatus=(replace(unit, setup=setup),)))
                for setup in stands[:12]
            ]

            assert all(truth is not None and bound_s <= truth[0] for truth in truths), seed
            said += bound_s > 0
        assert said > 2

    def test_of_rounds_never_exceed_the_best_of_all_plans_in_rounds(
        self,
        invent: Callable[..., Problem],
        try_all: Callable[[Problem], tuple[int, int] | None],
    ):
        tight = 0
        for seed in range(12):
            problem = invent(f"rounds {seed}", athletes=2, turns=2, bands=True, in_rounds=True)
            truth = try_all(problem)
            bound_s = deviations.least_in_rounds_s(problem, Budget.starting_now(60, 1))

            assert truth is not None
            assert bound_s <= truth[0], seed
            tight += bound_s == truth[0] > 0
        assert tight > 2
