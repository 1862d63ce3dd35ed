"""Several turns each in rounds, on one apparatus, at exactly the wanted setups."""

from settingsdesk.planner.matrix import detours_cost_nothing_less
from settingsdesk.planner.models.in_rounds import cheapest_in_rounds
from settingsdesk.planner.plan import Plan
from settingsdesk.planner.problem import Problem
from settingsdesk.planner.recount import count
from settingsdesk.planner.search import Budget
from settingsdesk.planner.ways.answer import Answer
from settingsdesk.planner.ways.several_turns import dealt_out, groups_of, rounds_of


def solve(problem: Problem, budget: Budget, known: Plan | None) -> Answer:
    """The cheapest sequence; ``known`` is a plan to be beaten. The goal is the change-over time."""
    (unit,) = problem.apparatus
    groups = groups_of(problem, unit)
    bar = None if known is None else count(problem, known).change_over_s
    setups = [group[0].setups[unit.id] for group in groups]
    found = cheapest_in_rounds(
        rounds_of(problem, unit, groups),
        budget,
        below=bar,
        by_short_cuts=detours_cost_nothing_less(unit, setups),
    )
    plan = known
    if found.steps is not None:
        plan = {unit.id: dealt_out(unit, groups, [int(step) for step in found.steps])}
    return Answer(plan, found.bound, found.proven, found.spent_s)
