"""From a problem to its solution: the way that fits, the second count, the comparisons."""

import time
from collections.abc import Callable
from dataclasses import dataclass, replace

from settingsdesk.planner.anneal import annealed
from settingsdesk.planner.compare import compared, usual_plans
from settingsdesk.planner.conflicts import smallest_conflict
from settingsdesk.planner.errors import NoOrderKeepsThis, NoPlanInTime, PlanDoesNotAddUp
from settingsdesk.planner.evening import all_together, group_by_group, parts_in
from settingsdesk.planner.nearest import nearest_to_list
from settingsdesk.planner.one_setup import chosen_once
from settingsdesk.planner.plain import plainly
from settingsdesk.planner.plan import Plan, Solution, Status
from settingsdesk.planner.problem import Goal, Problem
from settingsdesk.planner.recount import broken_rules, count
from settingsdesk.planner.search import Budget
from settingsdesk.planner.settle import settled
from settingsdesk.planner.ways import (
    deviations,
    in_rounds,
    one_turn,
    several_apparatus,
    several_turns,
    turn_by_turn,
)
from settingsdesk.planner.ways.answer import Answer

Way = Callable[[Problem, Budget, Plan | None], Answer]

FEW_TURNS = 16
"""Up to so many turns the model of everything may reach a proof; beyond, good plans go first."""
SHARE_OF_EACH_GROUP = 0.1
"""Of the work, for planning several groups each by itself."""
SHARE_OF_BOUND = 0.1
"""Of the work: more says little more of how good a plan can be."""
MANY_TURNS = 200
"""Beyond so many, a search among plans would try too few of them."""


def solve(
    problem: Problem, *, time_limit_s: float | None = None, work_limit_s: float | None = None
) -> Solution:
    """The best plan, whether it is proven best, and what the usual orders would cost.

    ``time_limit_s`` stands in for the problem's own. ``work_limit_s`` bounds the states that are
    searched, counted as the seconds in which a usual machine searches so many; left out, it follows
    from the time limit so that a usual machine is done before the clock stops it. So the same
    problem gives the same answer every time, and at any load that leaves the work its time.

    Raises NoOrderKeepsThis where there is no plan, and NoPlanInTime where none was found.
    """
    begun = time.perf_counter()
    limit_s = problem.time_limit_s if time_limit_s is None else time_limit_s
    budget = Budget.starting_now(limit_s, work_limit_s)
    plain = plainly(problem)
    problem = plain.problem
    usual = usual_plans(problem)
    if usual[0] is None:
        refuse_conflicts(problem)
    by_groups = None
    if problem.groups:
        by_groups = group_by_group(problem, budget.share(SHARE_OF_EACH_GROUP), _answer)
        budget = budget.share(1 - SHARE_OF_EACH_GROUP)
    answer = _answer(problem, budget, _best(problem, (*usual, by_groups)))
    if answer.plan is None:
        raise _no_plan(problem, limit_s, answer)
    plan = _nearest(problem, answer.plan)
    counted = count(problem, plan)
    _check(problem, plan, answer)
    return Solution(
        status=Status.PROVEN if answer.proven and plain.is_certain else Status.BEST_FOUND,
        goal_s=counted.goal_s(problem.goal),
        bound_s=answer.bound_s,
        change_over_s=counted.change_over_s,
        makespan_s=counted.makespan_s,
        deviation_stops=counted.deviation_stops,
        change_overs=counted.change_overs,
        compared=compared(problem, (*usual, by_groups)),
        plan=plan,
        solve_s=time.perf_counter() - begun,
        least_rest_turns=counted.least_rest_turns,
        group_by_group=by_groups,
    )


@dataclass(frozen=True, slots=True)
class Least:
    """The plan of smallest goal that was found, and a bound below which no goal lies."""

    plan: Plan
    goal_s: int
    bound_s: int


def least_goal(problem: Problem, begin: Plan, *, time_limit_s: float) -> Least:
    """The goal alone, sought from a plan that is known to keep to the problem.

    Raises PlanDoesNotAddUp.
    """
    problem = plainly(problem).problem
    answer = _answer(problem, Budget.starting_now(time_limit_s), begin)
    plan = answer.plan or begin
    _check(problem, plan, answer)
    return Least(plan, count(problem, plan).goal_s(problem.goal), answer.bound_s)


def _answer(problem: Problem, budget: Budget, known: Plan | None) -> Answer:
    """With one apparatus everybody's turns are in any makespan, so both goals are one."""
    if len(problem.apparatus) == 1 and problem.goal is Goal.MAKESPAN:
        turns_s = sum(problem.turns_of(entrant) * entrant.turn_s for entrant in problem.athletes)
        answer = _answer(replace(problem, goal=Goal.TOTAL), budget, known)
        return replace(answer, bound_s=answer.bound_s + turns_s)
    if problem.groups:
        return _groups_answer(problem, budget, known)
    way = _way_for_several(problem) if len(problem.apparatus) > 1 else _way(problem)
    if way is turn_by_turn.solve and turn_by_turn.accepts_deviations(problem):
        return _hard_answer(problem, budget, known)
    return way(problem, budget, known)


def _groups_answer(problem: Problem, budget: Budget, known: Plan | None) -> Answer:
    """Several groups on one apparatus, each with its turns in one go."""
    loose = turn_by_turn.accepts_deviations(problem)
    if loose and _way(problem) is deviations.solve:
        return deviations.solve_in_groups(problem, budget, known)
    return all_together(problem, budget, known, _answer)


def _hard_answer(problem: Problem, budget: Budget, known: Plan | None) -> Answer:
    """Where accepted deviations come together with what leaves only the general model."""
    least_s = turn_by_turn.least_goal_s(problem, budget.share(SHARE_OF_BOUND))
    if least_s:
        budget = budget.share(1 - SHARE_OF_BOUND)
    early = 0.4 if problem.turn_count <= FEW_TURNS else 0.95
    known = _head_start(problem, budget.share(early), known, least_s)
    return turn_by_turn.solve(problem, budget.share(1 - early), known, least_s)


def _head_start(problem: Problem, budget: Budget, known: Plan | None, least_s: int) -> Plan | None:
    """A good plan, begun at exactly the wanted setups; no plan takes less than ``least_s``."""
    exactly = replace(
        problem,
        athletes=tuple(replace(entrant, accepts={}) for entrant in problem.athletes),
        one_setup=False,
    )
    plan = _answer(exactly, budget.share(0.2), known).plan
    if plan is None:
        return known
    if problem.one_setup:
        return chosen_once(problem, budget.share(0.8), plan, _answer)
    plan = settled(problem, plan)
    if len(problem.apparatus) == 1 and problem.turn_count <= MANY_TURNS:
        plan = settled(problem, annealed(problem, budget.share(0.8), plan, least_s))
    return _best(problem, (known, plan))


def _way_for_several(problem: Problem) -> Way:
    """The quickest of the ways that are exact for this rotation on several apparatus."""
    one_turn_each = problem.turn_count == len(problem.athletes) and not problem.just_had
    exactly = not turn_by_turn.accepts_deviations(problem)
    plain = one_turn_each and exactly and several_apparatus.fits(problem)
    return several_apparatus.solve if plain else turn_by_turn.solve


def _way(problem: Problem) -> Way:
    """The quickest of the ways that are exact for this rotation on one apparatus."""
    one_turn_each = problem.turn_count == len(problem.athletes) and not problem.just_had
    if not turn_by_turn.accepts_deviations(problem):
        several = in_rounds.solve if problem.in_rounds else several_turns.solve
        return one_turn.solve if one_turn_each else several
    sums_over_axes = problem.apparatus[0].change_over is None
    plain = one_turn_each and sums_over_axes and not problem.wishes
    return deviations.solve if plain else turn_by_turn.solve


def _best(problem: Problem, plans: tuple[Plan | None, ...]) -> Plan | None:
    """Of these plans the one of smallest goal; no answer is worse than a plan known before."""
    known = [plan for plan in plans if plan is not None]
    return min(known, key=lambda plan: count(problem, plan).goal_s(problem.goal), default=None)


def refuse_conflicts(problem: Problem) -> None:
    """Raise NoOrderKeepsThis where wishes on one apparatus cannot hold together."""
    conflict = smallest_conflict(problem) if len(problem.apparatus) == 1 else None
    if conflict is not None:
        raise NoOrderKeepsThis(
            [wish.said for wish in conflict],
            "the rest leaves nobody who may go next",
            [wish.where for wish in conflict],
        )


def _no_plan(problem: Problem, limit_s: float, answer: Answer) -> Exception:
    if not answer.proven:
        return NoPlanInTime(limit_s)
    return NoOrderKeepsThis(
        [],
        "the athletes' setups, the turns per apparatus and the rest cannot all be kept"
        if len(problem.apparatus) > 1
        else "the wishes and the rest cannot all be kept",
    )


def _nearest(problem: Problem, plan: Plan) -> Plan:
    """Brought nearer to the list at no cost; of several groups each by itself."""
    if not problem.groups:
        return nearest_to_list(problem, plan)
    (unit,) = problem.apparatus
    turns = [
        turn
        for part, own in parts_in(problem, plan)
        for turn in nearest_to_list(part, own)[unit.id]
    ]
    return {unit.id: tuple(turns)}


def _check(problem: Problem, plan: Plan, answer: Answer) -> None:
    """Nothing is shown that breaks a rule or lies below what the search calls a bound."""
    faults = broken_rules(problem, plan)
    for part, own in parts_in(problem, plan):
        faults += broken_rules(part, own)
    goal_s = count(problem, plan).goal_s(problem.goal)
    if answer.bound_s > goal_s or (answer.proven and answer.bound_s != goal_s):
        faults.append(f"it takes {goal_s} s and the search said {answer.bound_s} s")
    if faults:
        raise PlanDoesNotAddUp(faults)
