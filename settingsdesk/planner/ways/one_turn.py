"""One turn each on one apparatus, at exactly the wanted setups: a tour of the setups."""

from collections import defaultdict
from collections.abc import Sequence

from settingsdesk.planner.bounds.symmetric import Barred
from settingsdesk.planner.matrix import costs_between, detours_cost_nothing_less
from settingsdesk.planner.models.tour import Tour, cheapest_tour
from settingsdesk.planner.plan import Plan, Turn
from settingsdesk.planner.problem import Entrant, Problem, Unit
from settingsdesk.planner.recount import count
from settingsdesk.planner.search import Budget
from settingsdesk.planner.twins import twins
from settingsdesk.planner.ways.answer import Answer
from settingsdesk.planner.windows import Windows, windows


def solve(problem: Problem, budget: Budget, known: Plan | None) -> Answer:
    """The cheapest order; ``known`` is a plan to be beaten. The goal is the change-over time."""
    (unit,) = problem.apparatus
    groups = groups_of(problem, unit)
    tour = tour_of(problem, unit, groups)
    bar = None if known is None else count(problem, known).change_over_s
    found = cheapest_tour(tour, budget, below=bar)
    plan = known
    if found.steps is not None:
        order = [athlete for step in found.steps for athlete in groups[int(step) - 1]]
        plan = {unit.id: tuple(Turn(entrant.id, entrant.setups[unit.id]) for entrant in order)}
    return Answer(plan, found.bound, found.proven, found.spent_s)


def groups_of(problem: Problem, unit: Unit) -> list[list[Entrant]]:
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


def tour_of(problem: Problem, unit: Unit, groups: Sequence[Sequence[Entrant]]) -> Tour:
    """The tour of the groups' setups that keeps the wishes."""
    costs = costs_between(unit, [group[0].setups[unit.id] for group in groups])
    node = {group[0].id: number for number, group in enumerate(groups, start=1)}
    if not problem.wishes:
        return Tour(costs)
    known = windows(problem, problem.wishes)
    before = {
        node[athlete]: frozenset(node[k] for k in [*known.earlier[athlete], *filter(None, [twin])])
        for athlete, twin in twins(problem).items()
    }
    return Tour(
        costs=costs,
        before=before,
        together=[frozenset(node[member] for member in group) for group in problem.wishes.together],
        place={node[athlete]: turn for athlete, turn in problem.wishes.place.items()},
        latest={node[athlete]: turn for athlete, turn in known.latest.items()},
        barred=_barred(known, node, len(groups)),
    )


def _barred(known: Windows, node: dict[str, int], last: int) -> Barred:
    """Arcs that no order has which keeps the wishes."""
    inner = {
        (node[a], node[b]) for a in node for b in node if a != b and not known.may_follow(a, b)
    }
    first = {(0, node[athlete]) for athlete in node if known.earliest[athlete] > 1}
    end = {(node[athlete], 0) for athlete in node if known.latest[athlete] < last}
    return frozenset(inner | first | end)
