"""One turn each on one of several apparatus, at exactly the wanted setups."""

from collections import defaultdict
from collections.abc import Sequence
from itertools import islice

from settingsdesk.planner.bounds.forest import Paths
from settingsdesk.planner.bounds.symmetric import Barred
from settingsdesk.planner.matrix import costs_between, detours_cost_nothing_less
from settingsdesk.planner.models.shares import Route, earliest_end
from settingsdesk.planner.models.units import NEXT, Units, cheapest_units
from settingsdesk.planner.plan import Plan, Turn
from settingsdesk.planner.problem import Entrant, Goal, Problem, Unit
from settingsdesk.planner.recount import count
from settingsdesk.planner.search import Budget
from settingsdesk.planner.ways.answer import Answer

Group = Sequence[Entrant]

SHARE_OF_FIRST = 0.06
SHARE_OF_SHARES = 0.8
"""Of the work; the rest is for the search again, where shares do not end in a proof."""


def fits(problem: Problem) -> bool:
    """Whether no detour ever saves time, which lets a group be taken in one go."""
    return all(
        detours_cost_nothing_less(
            unit,
            [entrant.setups[unit.id] for entrant in problem.athletes if unit.id in entrant.setups],
        )
        for unit in problem.apparatus
    )


def solve(problem: Problem, budget: Budget, known: Plan | None) -> Answer:
    """The best distribution and orders; ``known`` is a plan to be beaten.

    For the earliest end with turns of one length, shares are looked at after a short search, and
    the search goes on where they are too many.
    """
    groups = groups_of(problem.athletes)
    units = units_of(problem, groups)
    if not units.busy or len(set(units.turn_s)) > 1:
        return _searched(problem, units, groups, budget, Answer(known, 0, proven=False))
    first = _searched(
        problem, units, groups, budget.share(SHARE_OF_FIRST), Answer(known, 0, proven=False)
    )
    if first.proven:
        return first
    end_s = _later_than_any(units)
    if first.plan is not None:
        end_s = count(problem, first.plan).goal_s(problem.goal)
    shares = earliest_end(units, budget.share(SHARE_OF_SHARES), end_s, first.bound_s)
    plan = first.plan if shares.routes is None else _shared_out(problem, groups, shares.routes)
    answer = Answer(plan, shares.bound_s, shares.proven)
    if shares.proven:
        return answer
    left = budget.share(1 - SHARE_OF_FIRST).less(shares.spent_s)
    return _searched(problem, units, groups, left, answer)


def _later_than_any(units: Units) -> int:
    """An end that no plan reaches."""
    turns_s = sum(size * turn_s for size, turn_s in zip(units.sizes, units.turn_s, strict=True))
    dearest_s = max(max(map(max, path.costs)) for path in units.paths)
    return turns_s + (len(units.sizes) + 1) * dearest_s + 1


def _searched(
    problem: Problem, units: Units, groups: Sequence[Group], budget: Budget, so_far: Answer
) -> Answer:
    """By the model that fills one apparatus after the other, beside what is known."""
    known = so_far.plan
    bar = None if known is None else count(problem, known).goal_s(problem.goal)
    found = cheapest_units(units, budget, below=bar)
    plan = known if found.steps is None else _plan(problem, groups, found.steps)
    if found.proven:
        return Answer(plan, found.bound, proven=True)
    bound_s = max(so_far.bound_s, found.bound)
    goal_s = bar if found.cost is None else found.cost
    return Answer(plan, bound_s, proven=bound_s == goal_s)


def _shared_out(problem: Problem, groups: Sequence[Group], routes: Sequence[Route]) -> Plan:
    waiting = [iter(group) for group in groups]
    return {
        unit.id: tuple(
            Turn(entrant.id, entrant.setups[unit.id])
            for k, some in route
            for entrant in islice(waiting[k], some)
        )
        for unit, route in zip(problem.apparatus, routes, strict=True)
    }


def groups_of(athletes: Sequence[Entrant]) -> list[Group]:
    """Athletes with the same setups everywhere and as long a turn."""
    groups: dict[object, list[Entrant]] = defaultdict(list)
    for entrant in athletes:
        groups[tuple(sorted(entrant.setups.items())), entrant.turn_s].append(entrant)
    return list(groups.values())


def units_of(problem: Problem, groups: Sequence[Group]) -> Units:
    """The groups and apparatus by number."""
    everybody = len(problem.athletes)
    return Units(
        paths=[_paths(unit, groups) for unit in problem.apparatus],
        sizes=[len(group) for group in groups],
        turn_s=[group[0].turn_s for group in groups],
        rooms=[
            (unit.turns_min or 0, everybody if unit.turns_max is None else unit.turns_max)
            for unit in problem.apparatus
        ],
        busy=problem.goal is Goal.MAKESPAN,
    )


def _paths(unit: Unit, groups: Sequence[Group]) -> Paths:
    """A group that cannot go here has no arcs; its costs are those of the first setup."""
    setups = [group[0].setups.get(unit.id, unit.setup) for group in groups]
    away = [k for k, group in enumerate(groups, start=1) if unit.id not in group[0].setups]
    nodes = range(len(groups) + 1)
    barred: Barred = frozenset((i, k) for k in away for i in nodes)
    barred |= frozenset((k, i) for k in away for i in nodes)
    costs = costs_between(unit, setups)
    if unit.final_setup is not None:
        costs[0][0] = unit.seconds(unit.setup, unit.final_setup)
    return Paths(costs, barred, must_be_used=(unit.turns_min or 0) > 0)


def _plan(problem: Problem, groups: Sequence[Group], steps: Sequence[str]) -> Plan:
    waiting = [list(group) for group in groups]
    parts: list[list[Turn]] = [[]]
    for step in steps:
        if step == NEXT:
            parts.append([])
            continue
        unit = problem.apparatus[len(parts) - 1]
        group, some = map(int, step.split())
        for entrant in waiting[group - 1][:some]:
            parts[-1].append(Turn(entrant.id, entrant.setups[unit.id]))
        del waiting[group - 1][:some]
    return {unit.id: tuple(part) for unit, part in zip(problem.apparatus, parts, strict=True)}
