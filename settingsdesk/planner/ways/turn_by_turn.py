"""Any rotation: the model of the whole problem, first for the goal, then for the deviation."""

from dataclasses import replace

from settingsdesk.planner.bounds.returns import least_time_by_returns
from settingsdesk.planner.models.anything import Aim, best_plan, plan_from
from settingsdesk.planner.plan import Plan
from settingsdesk.planner.problem import Goal, Problem
from settingsdesk.planner.recount import count
from settingsdesk.planner.search import Budget, Found
from settingsdesk.planner.ways import deviations
from settingsdesk.planner.ways.answer import Answer


def solve(problem: Problem, budget: Budget, known: Plan | None, least_s: int = 0) -> Answer:
    """Exact for every problem, slow to its proof; ``known`` is a plan to be beaten.

    ``least_s`` is what the goal is known to be at least.
    """
    bar = None if known is None else count(problem, known).goal_s(problem.goal)
    half = budget.share(0.5 if accepts_deviations(problem) else 1)
    if bar is not None and least_s == bar:
        found = Found(None, None, least_s, proven=True)
    else:
        found = best_plan(problem, Aim(), half, below=bar)
        found = replace(found, bound=max(found.bound, least_s))
    plan = known if found.steps is None else plan_from(problem, found.steps)
    if plan is None or not accepts_deviations(problem):
        return Answer(plan, found.bound, found.proven)
    now = count(problem, plan)
    goal_s = now.goal_s(problem.goal)
    in_time = found.proven or found.bound == goal_s
    closer = best_plan(problem, Aim(goal_at_most_s=goal_s), half, below=now.deviation_stops)
    plan = plan if closer.steps is None else plan_from(problem, closer.steps)
    return Answer(plan, found.bound, in_time and closer.proven)


def least_goal_s(problem: Problem, budget: Budget) -> int:
    """What the goal is known to be at least before any plan is; 0 where nothing is known."""
    sums = len(problem.apparatus) == 1 and problem.apparatus[0].change_over is None
    one_goal = problem.goal is Goal.TOTAL
    if not sums or not one_goal:
        return 0
    least_s = max(
        least_time_by_returns(problem, budget), deviations.least_for_one_turn_s(problem, budget)
    )
    if problem.in_rounds:
        return max(least_s, deviations.least_in_rounds_s(problem, budget))
    return least_s


def least_from_anywhere_s(problem: Problem, budget: Budget) -> int:
    """Seconds below which no change-overs lie, from anywhere to anywhere on the one apparatus.

    0 where nothing is known.
    """
    (unit,) = problem.apparatus
    if unit.change_over is not None:
        return 0
    free = replace(problem, apparatus=(replace(unit, final_setup=None),))
    once_s = deviations.from_anywhere_s(free, problem.athletes, budget)
    rounds = min(map(problem.turns_of, problem.athletes)) if problem.in_rounds else 1
    return max(rounds * once_s, least_time_by_returns(free, budget, from_anywhere=True))


def accepts_deviations(problem: Problem) -> bool:
    """Whether anybody accepts another setup than the wanted one."""
    return any(
        any(entrant.accepted(unit_id)) for entrant in problem.athletes for unit_id in entrant.setups
    )
