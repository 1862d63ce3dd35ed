"""One turn each on one of several apparatus, at exactly the wanted setups."""

from collections import defaultdict
from collections.abc import Sequence

from settingsdesk.planner.bounds.forest import Paths
from settingsdesk.planner.bounds.symmetric import Barred
from settingsdesk.planner.matrix import costs_between, detours_cost_nothing_less
from settingsdesk.planner.models.units import NEXT, Units, cheapest_units
from settingsdesk.planner.plan import Plan, Turn
from settingsdesk.planner.problem import Entrant, Goal, Problem, Unit
from settingsdesk.planner.recount import count
from settingsdesk.planner.search import Budget
from settingsdesk.planner.ways.answer import Answer

Group = Sequence[Entrant]


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
    """The best distribution and orders; ``known`` is a plan to be beaten."""
    groups = groups_of(problem.athletes)
    bar = None if known is None else count(problem, known).goal_s(problem.goal)
    found = cheapest_units(units_of(problem, groups), budget, below=bar)
    plan = known
    if found.steps is not None:
        plan = _plan(problem, groups, found.steps)
    return Answer(plan, found.bound, found.proven)


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
