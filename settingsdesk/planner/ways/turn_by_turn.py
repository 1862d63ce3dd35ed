"""Any rotation: the model of the whole problem, first for the goal, then for the deviation."""

from settingsdesk.planner.models.anything import Aim, best_plan, plan_from
from settingsdesk.planner.plan import Plan
from settingsdesk.planner.problem import Problem
from settingsdesk.planner.recount import count
from settingsdesk.planner.search import Budget
from settingsdesk.planner.ways.answer import Answer


def solve(problem: Problem, budget: Budget, known: Plan | None) -> Answer:
    """Exact for every problem, slow to its proof; ``known`` is a plan to be beaten."""
    bar = None if known is None else count(problem, known).goal_s(problem.goal)
    half = budget.share(0.5 if accepts_deviations(problem) else 1)
    found = best_plan(problem, Aim(), half, below=bar)
    plan = known if found.steps is None else plan_from(problem, found.steps)
    if plan is None or not accepts_deviations(problem):
        return Answer(plan, found.bound, found.proven)
    now = count(problem, plan)
    aim = Aim(goal_at_most_s=now.goal_s(problem.goal))
    closer = best_plan(problem, aim, half, below=now.deviation_stops)
    plan = plan if closer.steps is None else plan_from(problem, closer.steps)
    return Answer(plan, found.bound, found.proven and closer.proven)


def accepts_deviations(problem: Problem) -> bool:
    """Whether anybody accepts another setup than the wanted one."""
    return any(any(one.accepted(unit_id)) for one in problem.athletes for unit_id in one.setups)
