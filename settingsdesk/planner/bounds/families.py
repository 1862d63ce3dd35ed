"""The bound by families of boxes, for athletes who accept some stops more or less.

A box is what an athlete accepts: lowest and highest stop per axis. A *family* is a set of boxes.
Those of which no two overlap give much larger bounds, since overlapping boxes lie 0 s apart.

1. The way still to go serves every box of the family that is left at some setup. Keep one such
   setup for each box, in the order in which they come, and leave out all others: as sums over axes,
   change-over times never grow by a short cut. What remains is a path that visits each box of the
   family once.
2. For sums over axes 2 c(x, y) = s(x, y) + p(y) - p(x), with s symmetric and p(x) the sum over the
   axes of ends * (up - down) * stop. Along a path the p of all inner setups cancel.
3. Between two boxes s is at least what the gaps between them cost; from a setup into a box
   likewise; and at the end, where no setup must stand there, p is at least the least p of the box.

So with the gaps as lengths the path costs at least the priced spanning tree of ``bounds.tree``,
each box visited once.
"""

from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache

from settingsdesk.planner.bounds.prices import Visits, best_prices
from settingsdesk.planner.bounds.symmetric import HALVES, SCALE, Symmetric, weights
from settingsdesk.planner.problem import Setup, Unit

Box = tuple[tuple[int, int], ...]

ROUNDS_TO_COMPARE = 60
MOST_TRIES = 40_000
"""Families compared, times the square of the boxes: about a tenth of a second."""


@dataclass(frozen=True, slots=True)
class Family:
    """Tables in 1/20 s over all boxes; only those of ``members`` (by number) are meant."""

    members: tuple[int, ...]
    weight: list[list[int]]
    leave: list[list[int]]
    close: list[int]
    price: list[int]


class FamilyBound:
    """Seconds that are still to come at least, worked out at one state after the other.

    The boxes that are left are bits by number; trees of the same boxes are worked out once.
    """

    def __init__(self, family: Family) -> None:
        self._family = family
        self._members = sum(1 << n for n in family.members)
        self._trees: dict[int, tuple[int, list[int]]] = {}
        self._known: dict[tuple[int, int], int] = {}

    def __call__(self, left: int, stand: int) -> int:
        some = left & self._members
        if not some:
            return 0
        known = self._known.get((some, stand))
        if known is None:
            length, members = self._tree(some)
            leave = self._family.leave[stand]
            least = length + min(leave[n] for n in members)
            known = self._known[some, stand] = max(0, -(-least // HALVES))
        return known

    def _tree(self, some: int) -> tuple[int, list[int]]:
        """All but the first way of the path: the least tree, its prices, and the least close."""
        found = self._trees.get(some)
        if found is None:
            family = self._family
            members = [n for n in family.members if some >> n & 1]
            length = min(family.close[n] for n in members)
            length -= 2 * sum(family.price[n] for n in members)
            nearest = {n: family.weight[members[0]][n] for n in members[1:]}
            while nearest:
                node = min(nearest, key=nearest.__getitem__)
                length += nearest.pop(node)
                row = family.weight[node]
                for n, known in nearest.items():
                    nearest[n] = min(known, row[n])
            found = self._trees[some] = (length, members)
        return found


def point(setup: Setup) -> Box:
    """The box that holds one setup only."""
    return tuple((stop, stop) for stop in setup)


def overlap(a: Box, b: Box) -> bool:
    """Whether one setup can lie in both."""
    return all(max(a0, b0) <= min(a1, b1) for (a0, a1), (b0, b1) in zip(a, b, strict=True))


def double_gap_s(unit: Unit, a: Box, b: Box) -> int:
    """The least s between a setup of one box and a setup of the other."""
    total, moves = 0, False
    for axis, (a0, a1), (b0, b1) in zip(unit.axes, a, b, strict=True):
        gap = max(b0 - a1, a0 - b1, 0)
        if gap:
            moves = True
            total += axis.ends * (2 * axis.handling_s + gap * (axis.up_s + axis.down_s))
    return total + 2 * unit.any_move_s if moves else 0


def least_potential_s(unit: Unit, box: Box) -> int:
    """The least p of a setup in the box."""
    return sum(
        min(axis.ends * (axis.up_s - axis.down_s) * stop for stop in ends)
        for axis, ends in zip(unit.axes, box, strict=True)
    )


def greatest_potential_s(unit: Unit, box: Box) -> int:
    """The greatest p of a setup in the box."""
    return sum(
        max(axis.ends * (axis.up_s - axis.down_s) * stop for stop in ends)
        for axis, ends in zip(unit.axes, box, strict=True)
    )


def from_nowhere(unit: Unit, boxes: Sequence[Box], family: Family) -> Family:
    """The same where stand 0 is no setup: the way begins at the first of its setups, for nothing.

    Of step 2 the p of that first setup stays, taken away once; it is at most the greatest of its
    box.
    """
    first = [
        price - SCALE * greatest_potential_s(unit, box)
        for box, price in zip(boxes, family.price, strict=True)
    ]
    return replace(family, leave=[first, *family.leave[1:]])


def good_family(
    unit: Unit,
    stands: Sequence[Setup],
    boxes: Sequence[Box],
    rounds: int,
    among: Sequence[int] | None = None,
) -> Family:
    """A family whose bound is large at the start, which is at ``stands[0]``, with its tables.

    One bound that is quick to work out at every state serves better than several. ``among`` are the
    numbers of the boxes to choose from, where not all are meant.
    """
    asked = range(len(boxes)) if among is None else among

    def bound(members: Sequence[int]) -> int:
        form = family_form(unit, stands[0], boxes, [asked[n] for n in members])
        return best_prices(form, Visits([1] * (len(members) + 1)), ROUNDS_TO_COMPARE).bound

    chosen = choose([boxes[n] for n in asked], bound)
    return _family(unit, stands, boxes, tuple(asked[n] for n in chosen), rounds)


def choose(boxes: Sequence[Box], bound: Callable[[Sequence[int]], int]) -> tuple[int, ...]:
    """Greedy by fewest overlaps, begun with each box in turn; then boxes are brought into the best.

    A box that is brought in drives out those that it overlaps. The best has the largest ``bound``.
    """
    overlaps = [
        frozenset(n for n, other in enumerate(boxes) if overlap(box, other)) for box in boxes
    ]
    by_overlaps = sorted(range(len(boxes)), key=lambda n: (len(overlaps[n]), n))

    def around(n: int, kept: Sequence[int] = ()) -> tuple[int, ...]:
        chosen = [n, *(k for k in kept if k not in overlaps[n])]
        for k in by_overlaps:
            if not overlaps[k].intersection(chosen):
                chosen.append(k)
        return tuple(sorted(chosen))

    value = cache(bound)
    tries = max(4, MOST_TRIES // len(boxes) ** 2)
    best = max(dict.fromkeys(around(n) for n in by_overlaps[: tries // 2]), key=value)
    waiting = deque(by_overlaps)
    for _ in range(tries):
        if not waiting:
            break
        changed = around(waiting.popleft(), best)
        if value(changed) > value(best):
            best, waiting = changed, deque(by_overlaps)
    return best


def family_form(
    unit: Unit, start: Setup, boxes: Sequence[Box], members: Sequence[int]
) -> Symmetric:
    """The three parts of the doubled cost of a path from ``start`` through the members."""
    some = [boxes[n] for n in members]
    return Symmetric(
        leave=[[0, *(_leaving(unit, start, box) for box in some)]],
        part=[
            [0] * (len(some) + 1),
            *([0, *(double_gap_s(unit, a, b) for b in some)] for a in some),
        ],
        close=[0, *(_closing(unit, box) for box in some)],
    )


def _family(
    unit: Unit,
    stands: Sequence[Setup],
    boxes: Sequence[Box],
    members: tuple[int, ...],
    rounds: int,
) -> Family:
    form = family_form(unit, stands[0], boxes, members)
    found = best_prices(form, Visits([1] * (len(members) + 1)), rounds)
    price = [0] * len(boxes)
    for n, member_price in zip(members, found.node[1:], strict=True):
        price[n] = member_price
    leave = [[_leaving(unit, stand, box) for box in boxes] for stand in stands]
    return Family(
        members=members,
        weight=weights([[double_gap_s(unit, a, b) for b in boxes] for a in boxes], price),
        leave=[[SCALE * s + q for s, q in zip(row, price, strict=True)] for row in leave],
        close=[SCALE * _closing(unit, box) + q for box, q in zip(boxes, price, strict=True)],
        price=price,
    )


def _leaving(unit: Unit, stand: Setup, box: Box) -> int:
    here = point(stand)
    return double_gap_s(unit, here, box) - least_potential_s(unit, here)


def _closing(unit: Unit, box: Box) -> int:
    if unit.final_setup is None:
        return least_potential_s(unit, box)
    final = point(unit.final_setup)
    return double_gap_s(unit, box, final) + least_potential_s(unit, final)
