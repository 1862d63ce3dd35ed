"""The last tie: among plans of equal goal and deviation, one near to the coach's list.

The distance of a plan from the list is the number of pairs of turns on the same apparatus that
stand the other way round than in the list, which is gone through once per round where there are
several turns each. From the plan that the search found, runs of turns are moved, or turned round,
as long as that costs nothing and brings the plan nearer. So the plan given is one that no such
single move brings nearer (or the last that ``MOST_STEPS`` allow); a plan that is nearer still by
several moves at once may exist. What is looked at is counted, so that the answer does not depend on
the clock.
"""

from bisect import bisect_right, insort
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from functools import cache
from itertools import accumulate, groupby

from settingsdesk.planner.plan import Plan, Turn
from settingsdesk.planner.problem import Problem, Setup, Unit
from settingsdesk.planner.recount import broken_rules

MOST_STEPS = 250_000
"""Turns counted and pieces looked at: about a third of a second."""
LONGEST_PIECE = 3

Turns = tuple[Turn, ...]
Seconds = Callable[[int, int], int]


def nearest_to_list(problem: Problem, plan: Plan) -> Plan:
    """``plan``, brought nearer to the list at no cost."""
    return {unit.id: _nearer(problem, unit, plan) for unit in problem.apparatus}


def distance(problem: Problem, turns: Sequence[Turn]) -> int:
    """Pairs of turns that stand the other way round than in the list."""
    listed = {athlete.id: number for number, athlete in enumerate(problem.athletes)}
    had: Counter[str] = Counter()
    before: list[tuple[int, int]] = []
    pairs = 0
    for turn in turns:
        place = (had[turn.athlete], listed[turn.athlete])
        had[turn.athlete] += 1
        pairs += len(before) - bisect_right(before, place)
        insort(before, place)
    return pairs


def _nearer(problem: Problem, unit: Unit, plan: Plan) -> Turns:
    turns = plan[unit.id]
    away = distance(problem, turns)
    steps_left = MOST_STEPS
    found = True
    while found and away and steps_left > 0:
        found = False
        for moved in _moves_for_nothing(unit, turns):
            steps_left -= 1 if moved is None else len(turns)
            if steps_left <= 0:
                break
            if moved is None or (nearer := distance(problem, moved)) >= away:
                continue
            if not broken_rules(problem, {**plan, unit.id: moved}):
                turns, away, found = moved, nearer, True
                break
    return turns


def _moves_for_nothing(unit: Unit, turns: Turns) -> Iterator[Turns | None]:
    """Every move that costs nothing, and None for every other one that was looked at."""
    yield from _swaps(turns)
    runs = [tuple(run) for _, run in groupby(turns, key=lambda turn: turn.setup)]
    seconds = cache(lambda a, b: _seconds(unit, runs, a, b))
    turning_round_s = _turning_round_s(seconds, len(runs))
    for first in range(len(runs)):
        for after in range(first + 2, len(runs) + 1):
            free = turning_round_s(first, after) == 0
            piece = runs[first:after][::-1] if free else []
            yield sum([*runs[:first], *piece, *runs[after:]], ()) if free else None
    for first in range(len(runs)):
        for after in range(first + 1, min(first + LONGEST_PIECE, len(runs)) + 1):
            others = [*range(first), *range(after, len(runs))]
            for gap in range(len(others) + 1):
                free = gap != first and _moving_s(seconds, first, after, others, gap) == 0
                order = [*others[:gap], *range(first, after), *others[gap:]] if free else []
                yield sum((runs[number] for number in order), ()) if free else None


def _swaps(turns: Turns) -> Iterator[Turns]:
    """Two turns at the same setup change places."""
    places: dict[Setup, list[int]] = {}
    for later, b in enumerate(turns):
        for earlier in places.setdefault(b.setup, []):
            if turns[earlier].athlete != b.athlete:
                moved = list(turns)
                moved[earlier], moved[later] = b, turns[earlier]
                yield tuple(moved)
        places[b.setup].append(later)


def _seconds(unit: Unit, runs: Sequence[Turns], a: int, b: int) -> int:
    """From run a to run b; -1 is the setup at the start, ``len(runs)`` the one at the end."""
    if b == len(runs):
        return 0 if unit.final_setup is None else unit.seconds(_at(unit, runs, a), unit.final_setup)
    return unit.seconds(_at(unit, runs, a), _at(unit, runs, b))


def _at(unit: Unit, runs: Sequence[Turns], number: int) -> Setup:
    return unit.setup if number < 0 else runs[number][0].setup


def _turning_round_s(seconds: Seconds, count: int) -> Seconds:
    """Seconds more when the runs from a first one to before another are turned round."""
    onwards = [0, *accumulate(seconds(i, i + 1) for i in range(-1, count))]
    backwards = [0, *accumulate(seconds(i + 1, i) for i in range(count - 1))]

    def more_s(first: int, after: int) -> int:
        was = onwards[after + 1] - onwards[first]
        inner = backwards[after - 1] - backwards[first]
        return seconds(first - 1, after - 1) + inner + seconds(first, after) - was

    return more_s


def _moving_s(seconds: Seconds, first: int, after: int, others: Sequence[int], gap: int) -> int:
    """Seconds more when those runs stand before the ``gap``-th of the others instead."""
    end = len(others) + after - first
    left = others[gap - 1] if gap else -1
    right = others[gap] if gap < len(others) else end
    closed = seconds(first - 1, after) - seconds(first - 1, first) - seconds(after - 1, after)
    opened = seconds(left, first) + seconds(after - 1, right) - seconds(left, right)
    return closed + opened
