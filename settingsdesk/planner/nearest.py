"""The last tie: among plans of equal goal and deviation, one near to the coach's list.

The distance of a plan from the list is the number of pairs of turns on the same apparatus that
stand the other way round than in the list, which is gone through once per round where there are
several turns each. From the plan that the search found, runs of turns are moved, or turned round,
as long as that costs nothing and brings the plan nearer. So the plan given is one that no such
single move brings nearer (or the last of ``MOST_MOVES``); a plan that is nearer still by several
moves at once may exist. Moves are counted, so that the answer does not depend on the clock.
"""

from bisect import bisect_right, insort
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from functools import cache
from itertools import groupby, islice

from settingsdesk.planner.plan import Plan, Turn
from settingsdesk.planner.problem import Problem, Setup, Unit
from settingsdesk.planner.recount import broken_rules

MOST_MOVES = 2_000
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
    moves_left = MOST_MOVES
    found = True
    while found and away and moves_left:
        found = False
        for moved in islice(_moves_for_nothing(unit, turns), moves_left):
            moves_left -= 1
            nearer = distance(problem, moved)
            if nearer < away and not broken_rules(problem, {**plan, unit.id: moved}):
                turns, away, found = moved, nearer, True
                break
    return turns


def _moves_for_nothing(unit: Unit, turns: Turns) -> Iterator[Turns]:
    yield from _swaps(turns)
    runs = [tuple(run) for _, run in groupby(turns, key=lambda turn: turn.setup)]
    seconds = cache(lambda a, b: _seconds(unit, runs, a, b))
    for first in range(len(runs)):
        for after in range(first + 2, len(runs) + 1):
            if _turning_round_s(seconds, first, after) == 0:
                piece = runs[first:after][::-1]
                yield sum([*runs[:first], *piece, *runs[after:]], ())
    for first in range(len(runs)):
        for after in range(first + 1, min(first + LONGEST_PIECE, len(runs)) + 1):
            others = [*range(first), *range(after, len(runs))]
            for gap in range(len(others) + 1):
                if gap != first and _moving_s(seconds, first, after, others, gap) == 0:
                    order = [*others[:gap], *range(first, after), *others[gap:]]
                    yield sum((runs[number] for number in order), ())


def _swaps(turns: Turns) -> Iterator[Turns]:
    """Two turns at the same setup change places."""
    for later in range(len(turns)):
        for earlier in range(later):
            a, b = turns[earlier], turns[later]
            if a.setup == b.setup and a.athlete != b.athlete:
                moved = list(turns)
                moved[earlier], moved[later] = b, a
                yield tuple(moved)


def _seconds(unit: Unit, runs: Sequence[Turns], a: int, b: int) -> int:
    """From run a to run b; -1 is the setup at the start, ``len(runs)`` the one at the end."""
    if b == len(runs):
        return 0 if unit.final_setup is None else unit.seconds(_at(unit, runs, a), unit.final_setup)
    return unit.seconds(_at(unit, runs, a), _at(unit, runs, b))


def _at(unit: Unit, runs: Sequence[Turns], number: int) -> Setup:
    return unit.setup if number < 0 else runs[number][0].setup


def _turning_round_s(seconds: Seconds, first: int, after: int) -> int:
    """Seconds more when the runs from ``first`` to before ``after`` are turned round."""
    was = sum(seconds(i, i + 1) for i in range(first - 1, after))
    inner = sum(seconds(i + 1, i) for i in range(first, after - 1))
    return seconds(first - 1, after - 1) + inner + seconds(first, after) - was


def _moving_s(seconds: Seconds, first: int, after: int, others: Sequence[int], gap: int) -> int:
    """Seconds more when those runs stand before the ``gap``-th of the others instead."""
    end = len(others) + after - first
    left = others[gap - 1] if gap else -1
    right = others[gap] if gap < len(others) else end
    closed = seconds(first - 1, after) - seconds(first - 1, first) - seconds(after - 1, after)
    opened = seconds(left, first) + seconds(after - 1, right) - seconds(left, right)
    return closed + opened
