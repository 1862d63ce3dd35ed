"""Several turns each on one apparatus, at exactly the wanted setups."""

from collections import defaultdict, deque
from collections.abc import Sequence
from dataclasses import replace

from settingsdesk.planner.matrix import costs_between
from settingsdesk.planner.models.rounds import (
    MOST_GROUPS_IN_A_TREE,
    Group,
    GroupWishes,
    Rounds,
    cheapest_rounds,
    least_beside_blocks,
)
from settingsdesk.planner.plan import Plan, Turn
from settingsdesk.planner.problem import Entrant, Problem, Unit
from settingsdesk.planner.recount import count
from settingsdesk.planner.search import Budget, Found
from settingsdesk.planner.ways.answer import Answer


def solve(problem: Problem, budget: Budget, known: Plan | None) -> Answer:
    """The cheapest sequence; ``known`` is a plan to be beaten. The goal is the change-over time."""
    (unit,) = problem.apparatus
    groups = groups_of(problem, unit)
    bar = None if known is None else count(problem, known).change_over_s
    found = cheapest_sequence(rounds_of(problem, unit, groups), budget, bar)
    plan = known
    if found.steps is not None:
        plan = {unit.id: dealt_out(unit, groups, [int(step) for step in found.steps])}
    return Answer(plan, found.bound, found.proven, found.spent_s)


def cheapest_sequence(rounds: Rounds, budget: Budget, bar: int | None) -> Found:
    """First in blocks; then those groups turn by turn of which no bound says that blocks do.

    A plan comes to every group as often as it must, and then it is one of blocks, or to some group
    once more, and then it costs what ``least_beside_blocks`` says of that group at least.
    """
    if not rounds.rest or len(rounds.groups) > MOST_GROUPS_IN_A_TREE:
        return cheapest_rounds(rounds, budget, below=bar)
    first = cheapest_rounds(rounds, budget, in_blocks=rounds.nodes, below=bar)
    best_s = bar if first.cost is None else first.cost
    if best_s is None:
        return cheapest_rounds(rounds, budget.less(first.spent_s))
    beside = least_beside_blocks(rounds, budget, best_s)
    least_s = min(first.bound, best_s, *beside.values())
    loose = {k for k, seconds in beside.items() if seconds < best_s}
    if least_s == best_s or not loose:
        return replace(first, bound=least_s, proven=least_s == best_s)
    left = budget.less(first.spent_s)
    again = cheapest_rounds(rounds, left, in_blocks=rounds.nodes - loose, below=best_s)
    best = first if again.cost is None else again
    cost = best_s if again.cost is None else again.cost
    bound = cost if again.proven else min(cost, max(least_s, again.bound))
    spent_s = first.spent_s + again.spent_s
    return replace(best, bound=bound, proven=bound == cost, spent_s=spent_s)


def groups_of(problem: Problem, unit: Unit) -> list[list[Entrant]]:
    """Athletes of one setup and one number of turns; alone whoever is named or must rest now."""
    alone = {*problem.wishes.named(), *problem.just_had}
    groups: dict[object, list[Entrant]] = defaultdict(list)
    for entrant in problem.athletes:
        apart = entrant.id if entrant.id in alone else None
        groups[entrant.setups[unit.id], problem.turns_of(entrant), apart].append(entrant)
    return list(groups.values())


def rounds_of(problem: Problem, unit: Unit, groups: Sequence[Sequence[Entrant]]) -> Rounds:
    """The groups' turns, rest and wishes, by number."""
    wishes = problem.wishes
    node = {group[0].id: number for number, group in enumerate(groups, start=1)}
    return Rounds(
        costs=costs_between(unit, [group[0].setups[unit.id] for group in groups]),
        groups=[Group(len(group), problem.turns_of(group[0])) for group in groups],
        rest=problem.rest_turns,
        wishes=GroupWishes(
            first=None if wishes.first is None else node[wishes.first],
            last=None if wishes.last is None else node[wishes.last],
            before=[(node[a], node[b]) for a, b in wishes.before],
            together=[[node[member] for member in group] for group in wishes.together],
            place={node[athlete]: turn for athlete, turn in wishes.place.items()},
        ),
        just_had=[node.get(athlete, 0) for athlete in reversed(problem.just_had)],
    )


def dealt_out(
    unit: Unit, groups: Sequence[Sequence[Entrant]], nodes: Sequence[int]
) -> tuple[Turn, ...]:
    """The members of each group take its turns in rotation."""
    queues = {number: deque(group) for number, group in enumerate(groups, start=1)}
    turns = []
    for node in nodes:
        athlete = queues[node].popleft()
        queues[node].append(athlete)
        turns.append(Turn(athlete.id, athlete.setups[unit.id]))
    return tuple(turns)
