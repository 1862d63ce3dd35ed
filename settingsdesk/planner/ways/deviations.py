"""One turn each on one apparatus, with accepted deviations: first the time, then the deviation."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

from settingsdesk.planner.bounds.families import from_nowhere, good_family
from settingsdesk.planner.matrix import costs_among
from settingsdesk.planner.models.bands import Bands, Part, least_deviation, least_time
from settingsdesk.planner.models.walks import closest_walk
from settingsdesk.planner.plan import Plan, Turn
from settingsdesk.planner.problem import Entrant, Problem, Unit, part_of
from settingsdesk.planner.recount import count
from settingsdesk.planner.search import Budget, Found
from settingsdesk.planner.stands import Stand, accepted_ranges, stands_for
from settingsdesk.planner.ways.answer import Answer

LARGEST_COST = 1 << 30  # the engine counts with 32 bits

SHARE_OF_WALKS = 0.8
"""Of the work: what is left is for the way group by group, where there are too many walks."""

Group = Sequence[Entrant]


SHARE_OF_PARTS = 0.1
"""Of the work, for what each of several groups takes by itself."""


def solve(problem: Problem, budget: Budget, known: Plan | None) -> Answer:
    """For change-over times that are sums over axes; the goal is the change-over time."""
    (unit,) = problem.apparatus
    groups = groups_of(unit, problem.athletes)
    stands = stands_for(problem, for_time_alone=True)
    bar = None if known is None else count(problem, known).change_over_s
    found = least_time(bands_of(unit, groups, stands), budget, below=bar)
    plan = known
    if found.steps is not None:
        plan = _served(unit, groups, [stands[0], *(stands[int(step)] for step in found.steps)])
    if plan is None:
        return Answer(plan, found.bound, found.proven)
    return _closer(problem, budget, groups, plan, found)


def solve_in_groups(problem: Problem, budget: Budget, known: Plan | None) -> Answer:
    """The same where groups of the problem go one after the other, all of them planned together."""
    (unit,) = problem.apparatus
    share = budget.share(SHARE_OF_PARTS / len(problem.groups))
    there = [part_of(problem, group).athletes for group in range(len(problem.groups))]
    least_s = [from_anywhere_s(problem, athletes, share) for athletes in there]
    each = [groups_of(unit, athletes) for athletes in there]
    budget = budget.share(1 - SHARE_OF_PARTS)
    stands = stands_for(problem, for_time_alone=True)
    bands = bands_in_parts(problem, each, least_s, stands)
    bar = None if known is None else count(problem, known).change_over_s
    found = least_time(bands, budget, below=bar)
    groups = [group for some in each for group in some]
    plan = known
    if found.steps is not None:
        plan = _served_in_parts(unit, groups, bands, stands, found.steps)
    if plan is None:
        return Answer(plan, found.bound, found.proven)
    now, stands = count(problem, plan), stands_for(problem)
    bands = bands_in_parts(problem, each, least_s, stands)
    dearest = now.change_over_s + max(map(max, bands.costs))
    proven = now.deviation_stops == 0
    if not proven and (now.deviation_stops + 1) * dearest <= LARGEST_COST:
        left = budget.less(found.spent_s)
        closer = least_deviation(bands, left, now.change_over_s, below=now.deviation_stops)
        proven = closer.proven
        if closer.steps is not None:
            plan = _plan(unit, groups, stands, closer.steps)
    return Answer(plan, found.bound, found.proven and proven)


def from_anywhere_s(problem: Problem, athletes: Group, budget: Budget) -> int:
    """What one turn of each of these takes at least, from any setup on."""
    alone = _round(problem, athletes, is_first=False, is_last=False)
    return least_time(alone, budget, below=None).bound


def bands_in_parts(
    problem: Problem,
    each: Sequence[Sequence[Group]],
    least_s: Sequence[int],
    stands: Sequence[Stand],
) -> Bands:
    """The groups of one setup, numbered part by part."""
    (unit,) = problem.apparatus
    groups = [group for some in each for group in some]
    boxes = [tuple(accepted_ranges(unit, group[0])) for group in groups]
    nowhere = replace(unit, final_setup=None)
    parts, begin = [], 0
    for some, least in zip(each, least_s, strict=True):
        numbers = tuple(range(begin, begin + len(some)))
        setups = [stand.setup for stand in stands]
        family = good_family(nowhere, setups, boxes, rounds=120, among=numbers)
        parts.append(Part(numbers, family, least))
        begin += len(some)
    bands = bands_of(unit, groups, stands)
    return replace(bands, parts=tuple(parts), in_order=problem.groups_in_order)


def _served_in_parts(
    unit: Unit, groups: Sequence[Group], bands: Bands, stands: Sequence[Stand], steps: Sequence[str]
) -> Plan:
    """Part by part as ``_served``: a step is a stand and the part that is served there."""
    visited: dict[int, list[Stand]] = {}
    for step in steps:
        stand, part = map(int, step.split())
        visited.setdefault(part, []).append(stands[stand])
    turns: list[Turn] = []
    for part, there in visited.items():
        some = [groups[number] for number in bands.parts[part].groups]
        turns += _served(unit, some, there)[unit.id]
    return {unit.id: tuple(turns)}


def least_for_one_turn_s(problem: Problem, budget: Budget) -> int:
    """Seconds below which no plan's change-overs lie, from what one turn each takes at least.

    Of any plan keep everybody's first turn, and leave out all others: as sums over axes,
    change-over times never grow by a short cut. What remains is a plan of one turn each, without
    rest; wishes only take plans away.
    """
    (unit,) = problem.apparatus
    stands = stands_for(problem, for_time_alone=True)
    bands = bands_of(unit, groups_of(unit, problem.athletes), stands)
    return least_time(bands, budget, below=None).bound


def least_in_rounds_s(problem: Problem, budget: Budget) -> int:
    """Seconds below which no plan's change-overs lie in which turns go in rounds.

    Each round is a plan of one turn each of all who are in it, and begins where the one before
    ended: anywhere. Who has fewer turns than others begins in a later round.
    """
    rounds, seconds = problem.most_turns, 0
    for to_come in range(1, rounds + 1):
        there = [one for one in problem.athletes if problem.turns_of(one) >= to_come]
        bands = _round(problem, there, is_first=to_come == rounds, is_last=to_come == 1)
        seconds += least_time(bands, budget.share(1 / rounds), below=None).bound
    return seconds


def _round(problem: Problem, there: Group, *, is_first: bool, is_last: bool) -> Bands:
    """One round by itself: a later one begins at any setup, for nothing."""
    (unit,) = problem.apparatus
    unit = unit if is_last else replace(unit, final_setup=None)
    stands = stands_for(replace(problem, apparatus=(unit,)), for_time_alone=True)
    groups = groups_of(unit, there)
    if is_first:
        return bands_of(unit, groups, stands)
    nowhere = bands_of(unit, groups, [stands[0], *stands])
    boxes = [tuple(accepted_ranges(unit, group[0])) for group in groups]
    return replace(
        nowhere,
        costs=[[0] * len(nowhere.costs), *nowhere.costs[1:]],
        deviation=[[None] * len(groups), *nowhere.deviation[1:]],
        family=from_nowhere(unit, boxes, nowhere.family),
    )


def _closer(
    problem: Problem, budget: Budget, groups: Sequence[Group], plan: Plan, in_time: Found
) -> Answer:
    """The same time with the least deviation."""
    (unit,) = problem.apparatus
    now = count(problem, plan)
    if now.deviation_stops == 0:
        return Answer(plan, in_time.bound, in_time.proven)
    left = budget.less(in_time.spent_s)
    stands = stands_for(problem)
    bands = bands_of(unit, groups, stands)
    proven = False
    if unit.any_move_s > 0:  # else there is no end of walks of the same time
        at_end = (n for n, stand in enumerate(stands) if stand.setup == unit.final_setup)
        final = next(at_end, None)
        walk = closest_walk(
            bands, left.share(SHARE_OF_WALKS), now.change_over_s, now.deviation_stops, final
        )
        proven = walk.proven
        if walk.stands is not None:
            visited = [0, *walk.stands, *([] if final is None else [final])]
            plan = _served(unit, groups, [stands[n] for n in visited])
            now = count(problem, plan)
        left = left.share(1 - SHARE_OF_WALKS)
    dearest = now.change_over_s + max(map(max, bands.costs))
    if not proven and (now.deviation_stops + 1) * dearest <= LARGEST_COST:
        found = least_deviation(bands, left, now.change_over_s, below=now.deviation_stops)
        proven = found.proven
        if found.steps is not None:
            plan = _plan(unit, groups, stands, found.steps)
    return Answer(plan, in_time.bound, in_time.proven and proven)


def groups_of(unit: Unit, athletes: Sequence[Entrant]) -> list[Group]:
    """Athletes who want and accept the same: all of them are best served at one stand."""
    groups: dict[object, list[Entrant]] = defaultdict(list)
    for entrant in athletes:
        groups[entrant.setups[unit.id], tuple(accepted_ranges(unit, entrant))].append(entrant)
    return list(groups.values())


def bands_of(unit: Unit, groups: Sequence[Group], stands: Sequence[Stand]) -> Bands:
    """What each stand costs and whom it serves, by number."""
    setups = [stand.setup for stand in stands]
    boxes = [tuple(accepted_ranges(unit, group[0])) for group in groups]
    return Bands(
        costs=costs_among(unit, setups),
        end_s=[stand.seconds_to_end() for stand in stands],
        deviation=[
            [
                len(group) * stand.deviation(group[0]) if stand.serves(group[0]) else None
                for group in groups
            ]
            for stand in stands
        ],
        family=good_family(unit, setups, boxes, rounds=120),
    )


def _served(unit: Unit, groups: Sequence[Group], visited: Sequence[Stand]) -> Plan:
    """At each stand, everybody for whom none of the stands to come is closer to what they want."""
    at: dict[int, list[Turn]] = defaultdict(list)
    for group in groups:
        serving = [n for n, stand in enumerate(visited) if stand.serves(group[0])]
        best = min(serving, key=lambda n: (visited[n].deviation(group[0]), n))
        at[best] += [Turn(entrant.id, visited[best].setup) for entrant in group]
    return {unit.id: tuple(turn for n in range(len(visited)) for turn in at[n])}


def _plan(
    unit: Unit, groups: Sequence[Group], stands: Sequence[Stand], steps: Sequence[str]
) -> Plan:
    turns = []
    for step in steps:
        group, stand = map(int, step.split())
        turns += [Turn(entrant.id, stands[stand].setup) for entrant in groups[group]]
    return {unit.id: tuple(turns)}
