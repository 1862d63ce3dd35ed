"""The second count of a plan: written from the format alone, sharing nothing with the search.

A plan is shown as proven only after this count agrees with what the search said of it.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

from settingsdesk.planner.plan import Plan, Turn
from settingsdesk.planner.problem import Goal, Problem, Setup, Unit


@dataclass(frozen=True, slots=True)
class Count:
    """What a plan costs, and how long the shortest rest in it is.

    ``least_rest_turns`` are turns of others between two of one athlete; None where nobody has two.
    """

    change_over_s: int
    makespan_s: int
    deviation_stops: int
    change_overs: int
    least_rest_turns: int | None

    def goal_s(self, goal: Goal) -> int:
        """The figure that the goal asks to be small."""
        return self.change_over_s if goal is Goal.TOTAL else self.makespan_s


def count(problem: Problem, plan: Plan) -> Count:
    """Price every change-over, turn and deviation of a plan afresh."""
    athletes = {athlete.id: athlete for athlete in problem.athletes}
    total_s = deviation = moves = 0
    ends_s = [0]
    for unit in problem.apparatus:
        stands = [unit.setup, *(turn.setup for turn in plan[unit.id])]
        stands += [] if unit.final_setup is None else [unit.final_setup]
        work_s = sum(_seconds(unit, a, b) for a, b in pairwise(stands))
        moves += sum(a != b for a, b in pairwise(stands))
        total_s += work_s
        ends_s.append(work_s + sum(athletes[turn.athlete].turn_s for turn in plan[unit.id]))
        for turn in plan[unit.id]:
            wanted = athletes[turn.athlete].setups[unit.id]
            deviation += sum(abs(a - w) for a, w in zip(turn.setup, wanted, strict=True))
    return Count(total_s, max(ends_s), deviation, moves, _least_rest(problem, plan))


def _least_rest(problem: Problem, plan: Plan) -> int | None:
    rests = []
    for turns in plan.values():
        latest = {athlete: place for place, athlete in enumerate(problem.just_had)}
        for place, turn in enumerate(turns, start=len(problem.just_had)):
            if turn.athlete in latest:
                rests.append(place - latest[turn.athlete] - 1)
            latest[turn.athlete] = place
    return min(rests, default=None)


def _seconds(unit: Unit, start: Setup, end: Setup) -> int:
    if start == end or unit.change_over is not None:
        return 0 if start == end else unit.change_over(start, end)  # type: ignore[misc]  # not None
    total = unit.any_move_s
    for axis, a, b in zip(unit.axes, start, end, strict=True):
        if b > a:
            total += axis.ends * (axis.handling_s + (b - a) * axis.up_s)
        if b < a:
            total += axis.ends * (axis.handling_s + (a - b) * axis.down_s)
    return total


def broken_rules(problem: Problem, plan: Plan) -> list[str]:
    """What in this plan is against the problem; empty for a plan that may be shown."""
    return [
        *_broken_turns(problem, plan),
        *(fault for unit in problem.apparatus for fault in _broken_unit(problem, unit, plan)),
        *_broken_wishes(problem, plan),
        *_broken_spread(problem, plan),
        *_broken_groups(problem, plan),
    ]


def _broken_turns(problem: Problem, plan: Plan) -> list[str]:
    faults = []
    had = {unit_id: Counter(turn.athlete for turn in turns) for unit_id, turns in plan.items()}
    for athlete in problem.athletes:
        wanted = problem.turns if athlete.turns is None else athlete.turns
        counts = sorted(counted[athlete.id] for counted in had.values() if counted[athlete.id])
        if counts != [wanted]:
            faults.append(f"{athlete.id} has {counts} turns, not {wanted} on one apparatus")
    return faults


def _broken_unit(problem: Problem, unit: Unit, plan: Plan) -> list[str]:
    turns, faults = plan[unit.id], []
    for number, turn in enumerate(turns):
        faults += _broken_setup(problem, unit, turn)
        since = [*problem.just_had, *(earlier.athlete for earlier in turns[:number])]
        if problem.rest_turns and turn.athlete in since[-problem.rest_turns :]:
            faults.append(f"{turn.athlete} has no rest before turn {number + 1} on {unit.id}")
    if len(turns) < (unit.turns_min or 0):
        faults.append(f"{unit.id} has fewer than {unit.turns_min} turns")
    if unit.turns_max is not None and len(turns) > unit.turns_max:
        faults.append(f"{unit.id} has more than {unit.turns_max} turns")
    return faults


def _broken_setup(problem: Problem, unit: Unit, turn: Turn) -> list[str]:
    athlete = next(entrant for entrant in problem.athletes if entrant.id == turn.athlete)
    if unit.id not in athlete.setups:
        return [f"{athlete.id} has no setup on {unit.id}"]
    for stop, wanted, accepted, axis in zip(
        turn.setup,
        athlete.setups[unit.id],
        athlete.accepts.get(unit.id) or [0] * len(unit.axes),
        unit.axes,
        strict=True,
    ):
        if abs(stop - wanted) > accepted or not 0 <= stop < axis.stops:
            return [f"{athlete.id} does not accept stop {stop} of the {axis.id} on {unit.id}"]
    return []


def _broken_wishes(problem: Problem, plan: Plan) -> list[str]:
    wishes = problem.wishes
    if not wishes:
        return []
    order = [turn.athlete for turns in plan.values() for turn in turns]
    faults = []
    if wishes.first is not None and _own_group(problem, wishes.first, order)[0] != wishes.first:
        faults.append(f"{wishes.first} is not first")
    if wishes.last is not None and _own_group(problem, wishes.last, order)[-1] != wishes.last:
        faults.append(f"{wishes.last} is not last")
    faults += [
        f"{a} is not before {b}" for a, b in wishes.before if order.index(a) > order.index(b)
    ]
    for group in wishes.together:
        turns = [order.index(athlete) for athlete in group]
        if max(turns) - min(turns) != len(group) - 1:
            faults.append(f"{', '.join(group)} are not together")
    faults += [
        f"{athlete} is not at turn {turn}"
        for athlete, turn in wishes.place.items()
        if _own_group(problem, athlete, order).index(athlete) != turn - 1
    ]
    return faults


def _own_group(problem: Problem, athlete: str, order: Sequence[str]) -> list[str]:
    """The turns of an athlete's group, in order; all of them where there are no groups."""
    group = next((some for some in problem.groups if athlete in some), order)
    return [one for one in order if one in group]


def _broken_groups(problem: Problem, plan: Plan) -> list[str]:
    if not problem.groups:
        return []
    number = {athlete: n for n, group in enumerate(problem.groups) for athlete in group}
    (turns,) = plan.values()
    blocks = [n for n, _ in groupby(number[turn.athlete] for turn in turns)]
    if len(blocks) != len(set(blocks)):
        return ["the turns of a group are not one after the other"]
    if problem.groups_in_order and blocks != sorted(blocks):
        return ["the groups are not in their order"]
    return []


def _broken_spread(problem: Problem, plan: Plan) -> list[str]:
    """What is asked of all turns alike: one setup each, rounds, equal numbers."""
    faults = []
    for unit_id, turns in plan.items():
        if problem.one_setup:
            setups = {(turn.athlete, turn.setup) for turn in turns}
            counted = Counter(athlete for athlete, _ in setups)
            faults += [f"{a} has several setups on {unit_id}" for a, n in counted.items() if n > 1]
        for group in problem.groups or ([one.id for one in problem.athletes],):
            there = [turn.athlete for turn in turns if turn.athlete in group]
            if problem.in_rounds and not _goes_in_rounds(problem, there):
                faults.append(f"turns on {unit_id} are not in rounds")
    numbers = [len({turn.athlete for turn in turns}) for turns in plan.values()]
    if problem.equal_numbers and max(numbers) - min(numbers) > 1:
        faults.append(f"{numbers} athletes are not as many on each apparatus")
    return faults


def _goes_in_rounds(problem: Problem, order: Sequence[str]) -> bool:
    """Whether whoever has most turns left always goes before all others of these."""
    left = {one.id: problem.turns_of(one) for one in problem.athletes if one.id in order}
    for athlete in order:
        if left[athlete] < max(left.values()):
            return False
        left[athlete] -= 1
    return True
