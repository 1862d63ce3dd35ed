"""What each wish costs: the problem is solved once more without it.

A plan that keeps a wish keeps all the others too, so the plan that was found is where each of these
searches begins. They have a share of the time of their own. Where a search ends before its proof,
what the wish costs is known between two bounds, and is never said to be more exact.
"""

from collections.abc import Iterator
from dataclasses import replace

from settingsdesk.planner.conflicts import joined, single_wishes
from settingsdesk.planner.errors import Where
from settingsdesk.planner.plan import Plan, WishCost
from settingsdesk.planner.problem import Problem
from settingsdesk.planner.solve import Least, least_goal

SHARE = 0.25
"""Of the time that the search for the plan may take, for all wishes together."""
FIRST_LOOK_S = 0.3
"""For each wish; most are settled in a fraction of it, the others share what is left."""
LEAST_WORTH_S = 2 * FIRST_LOOK_S
"""A second look begins anew: a shorter one would see no further."""


def wish_costs(problem: Problem, plan: Plan, search_s: float) -> Iterator[WishCost]:
    """For each wish of a problem what the goal could be without it, one after the other.

    What is not settled at the first look is told once more after a longer one. ``plan`` keeps all
    wishes; the search for it was given ``search_s``. Raises what ``solve`` does where a plan does
    not pass its second count.
    """
    loose = dict(without_each(problem))
    found: dict[Where, Least] = {}
    for where, looser in loose.items():
        found[where] = least_goal(looser, plan, time_limit_s=FIRST_LOOK_S)
        yield _told(where, found[where])
    unsettled = [where for where, least in found.items() if least.bound_s < least.goal_s]
    left_s = SHARE * search_s - FIRST_LOOK_S * len(loose)
    for where in unsettled:
        limit_s = left_s / len(unsettled)
        if limit_s < LEAST_WORTH_S:
            return
        before = found[where]
        again = least_goal(loose[where], before.plan, time_limit_s=limit_s)
        yield _told(where, replace(again, bound_s=max(again.bound_s, before.bound_s)))


def _told(where: Where, least: Least) -> WishCost:
    return WishCost(where, least.goal_s, least.bound_s)


def without_each(problem: Problem) -> Iterator[tuple[Where, Problem]]:
    """Every wish, by its place in the problem, with the problem in which it alone is not asked."""
    wishes = single_wishes(problem.wishes)
    for wish in wishes:
        others = joined([other.wishes for other in wishes if other is not wish])
        yield ("wishes", *wish.where), replace(problem, wishes=others)
    several = problem.most_turns > 1
    rests = several or bool(problem.just_had)
    if problem.longest_rest and rests:
        yield ("longest_rest",), replace(problem, longest_rest=False)
    elif problem.rest_turns and rests:
        yield ("rest_turns",), replace(problem, rest_turns=0)
    if problem.in_rounds and several:
        yield ("in_rounds",), replace(problem, in_rounds=False)
    if problem.one_setup and several:
        yield ("one_setup",), replace(problem, one_setup=False)
    if problem.groups_in_order and len(problem.groups) > 1:
        yield ("groups_in_order",), replace(problem, groups_in_order=False)
    if problem.equal_numbers and len(problem.apparatus) > 1:
        yield ("equal_numbers",), replace(problem, equal_numbers=False)
