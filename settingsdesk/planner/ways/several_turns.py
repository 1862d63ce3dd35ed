"""Several turns each on one apparatus, at exactly the wanted setups."""

from collections import defaultdict, deque
from collections.abc import Sequence

from settingsdesk.planner.matrix import costs_between
from settingsdesk.planner.models.rounds import Group, GroupWishes, Rounds, cheapest_rounds
from settingsdesk.planner.plan import Plan, Turn
from settingsdesk.planner.problem import Entrant, Problem, Unit
from settingsdesk.planner.recount import count
from settingsdesk.planner.search import Budget
from settingsdesk.planner.ways.answer import Answer


def solve(problem: Problem, budget: Budget, known: Plan | None) -> Answer:
    """The cheapest sequence; ``known`` is a plan to be beaten. The goal is the change-over time."""
    (unit,) = problem.apparatus
    groups = groups_of(problem, unit)
    bar = None if known is None else count(problem, known).change_over_s
    found = cheapest_rounds(rounds_of(problem, unit, groups), budget, below=bar)
    plan = known
    if found.steps is not None:
        plan = {unit.id: _dealt_out(unit, groups, [int(step) for step in found.steps])}
    return Answer(plan, found.bound, found.proven)


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


def _dealt_out(
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
