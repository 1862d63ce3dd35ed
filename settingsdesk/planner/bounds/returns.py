"""The bound by returns, for several turns with rest at setups that athletes accept more or less.

A box is what an athlete accepts, and a family is a set of boxes of which no two overlap, as in
``bounds.families``. Take one athlete for each box of the family.

1. Of the whole way keep only the setups at the turns of those athletes, and leave out all others:
   as sums over axes, change-over times never grow by a short cut. What remains is a route that
   visits each box of the family once for each turn of its athlete.
2. The steps 2 and 3 of ``bounds.families`` hold for it: its doubled cost is a symmetric part, at
   least the gaps between the boxes, a leaving and a closing part.
3. *Returns.* Between two turns of A with no other kept turn between them, somebody has been left
   out: any ``rest + 1`` turns in a row are of different athletes, so the ``rest`` turns right after
   A's are of ``rest`` others. Let the crowd of A be all whose boxes overlap that of A, with A.

   * If the crowd has no more than ``rest`` athletes, one of those others is not of the crowd. So
     the way leads from A's box to that other box and back, and costs at least twice the least gap
     between A's box and one that it does not overlap.
   * If no setup in A's box is accepted by more than ``rest`` athletes, the others cannot all be
     served where A was: the apparatus is moved at least once, by a stop of one axis at least.
   * Else the return may cost nothing.

So the route costs at least the priced spanning tree of ``bounds.tree``, in which a further visit is
entered from another box or by a return. Every number of visits is certain, so that any prices do.
Wishes, and turns that were had before, only take plans away.
"""

from collections.abc import Sequence
from itertools import product

from settingsdesk.planner.bounds.families import Box, choose, double_gap_s, family_form, overlap
from settingsdesk.planner.bounds.prices import Visits, best_prices
from settingsdesk.planner.bounds.symmetric import HALVES
from settingsdesk.planner.problem import Problem, Unit
from settingsdesk.planner.stands import accepted_ranges

ROUNDS_TO_COMPARE = 60
ROUNDS = 300
MOST_STEPS = 300_000
"""Rounds times the square of the boxes: a few tenths of a second."""


def least_time_by_returns(problem: Problem) -> int:
    """Seconds below which no plan's change-overs lie: one apparatus, times that are sums."""
    (unit,) = problem.apparatus
    turns: dict[Box, int] = {}
    everybody = [tuple(accepted_ranges(unit, entrant)) for entrant in problem.athletes]
    for box, entrant in zip(everybody, problem.athletes, strict=True):
        turns[box] = max(turns.get(box, 0), problem.turns_of(entrant))
    boxes = list(turns)
    returns = [_return_s(unit, box, everybody, problem.rest_turns) for box in boxes]

    def bound(members: Sequence[int], most: int = ROUNDS_TO_COMPARE) -> int:
        rounds = max(10, min(most, MOST_STEPS // len(members) ** 2))
        visits = Visits(
            [1, *(turns[boxes[n]] for n in members)], back=[0, *(returns[n] for n in members)]
        )
        return best_prices(family_form(unit, unit.setup, boxes, members), visits, rounds).bound

    return max(0, -(-bound(choose(boxes, bound), ROUNDS) // HALVES))


def _return_s(unit: Unit, box: Box, everybody: Sequence[Box], rest: int) -> int:
    """The least s of a return to the box; ``everybody`` has a box for each athlete."""
    crowd = [other for other in everybody if overlap(box, other)]
    if len(crowd) <= rest:
        away = [double_gap_s(unit, box, other) for other in everybody if not overlap(box, other)]
        return 2 * min(away, default=0)
    return 0 if _most_at_one_setup(box, crowd) > rest else _least_move_s(unit)


def _most_at_one_setup(box: Box, crowd: Sequence[Box]) -> int:
    """How many accept one setup in the box, at the most.

    Boxes with a setup in common have one whose stop on each axis is the lower end of one of them.
    """
    lower_ends = [
        {max(low, other[axis][0]) for other in crowd} for axis, (low, _) in enumerate(box)
    ]
    return max(
        sum(
            all(a <= stop <= b for stop, (a, b) in zip(setup, other, strict=True))
            for other in crowd
        )
        for setup in product(*lower_ends)
    )


def _least_move_s(unit: Unit) -> int:
    """The least s between two setups that differ."""
    return 2 * unit.any_move_s + min(
        axis.ends * (2 * axis.handling_s + axis.up_s + axis.down_s) for axis in unit.axes
    )
