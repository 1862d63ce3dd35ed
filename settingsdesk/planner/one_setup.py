"""Good plans where all turns of an athlete are at one setup: the setups are chosen beforehand.

With its setups chosen such a problem is one of exactly wanted setups, which is solved quickly. The
first choice is what everybody wants; the second, what they have in the best order of one turn each.
The better one is then changed as long as that helps: whoever can, of those at some setup, goes to
another one. A plan is found that way, and nothing is proven.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace

from settingsdesk.planner.plan import Plan
from settingsdesk.planner.problem import Entrant, Problem, Setup, Wishes
from settingsdesk.planner.recount import count
from settingsdesk.planner.search import Budget
from settingsdesk.planner.stands import Stand, stands_for
from settingsdesk.planner.ways.answer import Answer

Solve = Callable[[Problem, Budget, Plan | None], Answer]
Chosen = Mapping[str, Mapping[str, Setup]]
"""By athlete and apparatus."""

MOST_TRIES = 300
WORK_OF_A_TRY_S = 0.01
"""At least: what it takes to begin a search counts too."""
SHARE_OF_ONE_TURN = 0.2
"""Of the work; the rest is for changing the choice."""


def chosen_once(problem: Problem, budget: Budget, begin: Plan, solve: Solve) -> Plan:
    """A plan of one setup for each athlete; ``begin`` is one, and what is given is no worse."""
    best, best_s = begin, _goal_s(problem, begin)
    chosen = _chosen_in(problem, begin)
    left_s = (1 - SHARE_OF_ONE_TURN) * budget.work_s
    tries = min(MOST_TRIES, int(left_s / WORK_OF_A_TRY_S))
    each = Budget(left_s / max(1, tries), budget.ends_at)

    def tried(other: Chosen) -> bool:
        nonlocal best, best_s, chosen, tries
        tries -= 1
        plan = solve(_at(problem, other), each, None).plan
        if plan is None or _goal_s(problem, plan) >= best_s:
            return False
        best, best_s, chosen = plan, _goal_s(problem, plan), other
        return True

    one_turn = solve(_one_turn_each(problem), budget.share(SHARE_OF_ONE_TURN), None).plan
    if one_turn is not None:
        tried(_chosen_in(problem, one_turn))
    better = True
    while better:
        better = False
        for other in _changes(problem, chosen):
            if tries <= 0 or budget.is_over:
                return best
            if tried(other):
                better = True
                break
    return best


def _goal_s(problem: Problem, plan: Plan) -> int:
    return count(problem, plan).goal_s(problem.goal)


def _chosen_in(problem: Problem, plan: Plan) -> Chosen:
    """The setups of a plan; where somebody does not go in it, what they want."""
    there = {
        (turn.athlete, unit_id): turn.setup for unit_id, turns in plan.items() for turn in turns
    }
    return {
        one.id: {
            unit_id: there.get((one.id, unit_id), wanted) for unit_id, wanted in one.setups.items()
        }
        for one in problem.athletes
    }


def _at(problem: Problem, chosen: Chosen) -> Problem:
    """The same where everybody wants what was chosen, and nothing else."""
    athletes = tuple(replace(one, setups=chosen[one.id], accepts={}) for one in problem.athletes)
    return replace(problem, athletes=athletes, one_setup=False)


def _one_turn_each(problem: Problem) -> Problem:
    athletes = tuple(replace(one, turns=None) for one in problem.athletes)
    return replace(
        problem,
        athletes=athletes,
        turns=1,
        rest_turns=0,
        wishes=Wishes(),
        in_rounds=False,
        one_setup=False,
        just_had=(),
    )


def _changes(problem: Problem, chosen: Chosen) -> Iterator[Chosen]:
    """Whoever accepts it, of all who have a setup, goes to another one that somebody has.

    First all of them at once, then one after the other, and those to any setup worth considering.
    """
    for number, unit in enumerate(problem.apparatus):
        there = [one for one in problem.athletes if unit.id in one.setups]
        used = list(dict.fromkeys(chosen[one.id][unit.id] for one in there))
        for now in used:
            have = [one for one in there if chosen[one.id][unit.id] == now]
            for other in used:
                moved = [one for one in have if Stand(number, unit, other).serves(one)]
                if other != now and moved:
                    yield _moved(chosen, moved, unit.id, other)
        stands = [s for s in stands_for(problem, for_time_alone=True) if s.unit_number == number]
        for stand in sorted(stands, key=lambda stand: stand.setup not in used):
            for one in there:
                if stand.serves(one) and chosen[one.id][unit.id] != stand.setup:
                    yield _moved(chosen, [one], unit.id, stand.setup)


def _moved(chosen: Chosen, some: Sequence[Entrant], unit_id: str, setup: Setup) -> Chosen:
    return {**chosen, **{one.id: {**chosen[one.id], unit_id: setup} for one in some}}
