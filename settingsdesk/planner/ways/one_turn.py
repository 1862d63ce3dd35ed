"""One turn each on one apparatus, at exactly the wanted setups: a tour of the setups."""

from collections import defaultdict
from collections.abc import Sequence

from settingsdesk.planner.matrix import costs_between, detours_cost_nothing_less
from settingsdesk.planner.models.tour import Tour, cheapest_tour
from settingsdesk.planner.plan import Plan, Turn
from settingsdesk.planner.problem import Entrant, Problem, Unit
from settingsdesk.planner.recount import count
from settingsdesk.planner.search import Budget
from settingsdesk.planner.twins import twins
from settingsdesk.planner.ways.answer import Answer


def solve(problem: Problem, budget: Budget, known: Plan | None) -> Answer:
    """The cheapest order; ``known`` is a plan to be beaten. The goal is the change-over time."""
    (unit,) = problem.apparatus
    groups = _groups(problem, unit)
    tour = _tour(problem, unit, groups)
    bar = None if known is None else count(problem, known).change_over_s
    found = cheapest_tour(tour, budget, below=bar)
    plan = known
    if found.steps is not None:
        order = [athlete for step in found.steps for athlete in groups[int(step) - 1]]
        plan = {unit.id: tuple(Turn(one.id, one.setups[unit.id]) for one in order)}
    return Answer(plan, found.bound, found.proven)


def _groups(problem: Problem, unit: Unit) -> list[list[Entrant]]:
    """Who goes one right after the other: all athletes of a setup, where no wish is expressed.

    That is exact where a detour never saves time: take athletes of a setup that is visited twice
    out of their later visit, and the way becomes no dearer.
    """
    if not problem.wishes:
        by_setup = defaultdict(list)
        for athlete in problem.athletes:
            by_setup[athlete.setups[unit.id]].append(athlete)
        if detours_cost_nothing_less(unit, list(by_setup)):
            return list(by_setup.values())
    return [[athlete] for athlete in problem.athletes]


def _tour(problem: Problem, unit: Unit, groups: Sequence[Sequence[Entrant]]) -> Tour:
    costs = costs_between(unit, [group[0].setups[unit.id] for group in groups])
    node = {group[0].id: number for number, group in enumerate(groups, start=1)}
    before: dict[int, set[int]] = defaultdict(set)
    for earlier, later in _pairs_in_order(problem, list(node)):
        before[node[later]].add(node[earlier])
    return Tour(
        costs=costs,
        before={later: frozenset(earlier) for later, earlier in before.items()},
        together=[frozenset(node[one] for one in group) for group in problem.wishes.together],
        place={node[one]: turn for one, turn in problem.wishes.place.items()},
    )


def _pairs_in_order(problem: Problem, ids: Sequence[str]) -> list[tuple[str, str]]:
    """Wished pairs; of twins, the one listed first; first and last against everybody."""
    wishes = problem.wishes
    pairs = list(wishes.before)
    pairs += [(twin, one) for one, twin in twins(problem).items() if twin and {one, twin} <= {*ids}]
    if wishes.first is not None:
        pairs += [(wishes.first, one) for one in ids if one != wishes.first]
    if wishes.last is not None:
        pairs += [(one, wishes.last) for one in ids if one != wishes.last]
    return pairs
