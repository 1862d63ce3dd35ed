"""The bound by returns, for several turns with rest at setups that athletes accept more or less.

A box is what an athlete accepts, and a family is a set of boxes of which no two overlap, as in
``bounds.families``. Take one athlete for each box of the family.

1. Of the whole way keep only the setups at the turns of those athletes, and leave out all others:
   as sums over axes, change-over times never grow by a short cut. What remains is a route that
   visits each box of the family once for each turn of its athlete.
2. The steps 2 and 3 of ``bounds.families`` hold for it: its doubled cost is a symmetric part, at
   least the gaps between the boxes, a leaving and a closing part.
3. *Returns.* Between two turns of A with no other kept turn between them, others have been left
   out: any ``rest + 1`` turns in a row are of different athletes, so the ``rest`` turns right after
   A's are of ``rest`` others, none of them of the family. (Without a rest, a return may cost
   nothing.) The crowd of A be those outside the family whose boxes overlap that of A.

   * *Open*: one of those turns is outside A's box. The way leads there and back. If it is the turn
     of somebody whose box does not overlap that of A, that costs at least twice the least gap
     between such a box and A's, and so it is where the crowd has fewer than ``rest`` athletes.
     (Where there are not ``rest`` others at all, there is no return.)
     Else it may be the turn of one of the crowd, where some accept setups that A does not; the
     apparatus is moved twice then, each time by a stop of one axis at least.
   * *Filled*: all those turns are in A's box, so all of them are of the crowd. Either the apparatus
     is moved, by a stop of one axis at least; or they are all at one setup, which A and ``rest`` of
     the crowd accept, and it costs nothing.
4. *Fillers are few.* A turn lies between two kept turns only, and so fills one return at most. For
   any price l(b) >= 0 of a turn of b, add to each filled return the prices of its fillers, which
   are at least the ``rest`` least ones among those who can be, and take l(b) away again once for
   each turn that b has: a plan costs no less than that.

So the route costs at least the priced spanning tree of ``bounds.tree``, in which a further visit is
entered from another box or by the cheapest return, less what is taken away by step 4. Every number
of visits is certain, so that any prices do. Wishes, and turns that were had before, only take plans
away. With the best prices found, ``bounds.kept_turns`` then says more.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from heapq import nsmallest
from itertools import product

from settingsdesk.planner.bounds.families import Box, choose, double_gap_s, family_form, overlap
from settingsdesk.planner.bounds.kept_turns import least_time_of_kept
from settingsdesk.planner.bounds.prices import Prices, Search, Visits, ascend
from settingsdesk.planner.bounds.symmetric import HALVES, SCALE, Symmetric
from settingsdesk.planner.problem import Problem, Unit
from settingsdesk.planner.search import Budget
from settingsdesk.planner.stands import accepted_ranges

ROUNDS_TO_COMPARE = 60
ROUNDS = 300
MOST_STEPS = 300_000
"""Rounds times the square of the boxes: a few tenths of a second."""

NO_WAY = 1 << 40  # more than anything takes


def least_time_by_returns(problem: Problem, budget: Budget, *, from_anywhere: bool = False) -> int:
    """Seconds below which no plan's change-overs lie: one apparatus, times that are sums.

    ``from_anywhere``: where it may stand at any setup at first. Only the kept turns say that.
    """
    (unit,) = problem.apparatus
    everybody = [tuple(accepted_ranges(unit, entrant)) for entrant in problem.athletes]
    turns = [problem.turns_of(entrant) for entrant in problem.athletes]
    by_box: dict[Box, int] = {}  # of those who accept the same, one who has most turns
    for athlete, box in enumerate(everybody):
        if turns[athlete] > turns[by_box.setdefault(box, athlete)]:
            by_box[box] = athlete
    boxes, who = list(by_box), list(by_box.values())

    def search_of(members: Sequence[int]) -> PricedReturns:
        family = [who[n] for n in members]
        returns = [
            returns_of(unit, athlete, family, everybody, problem.rest_turns) for athlete in family
        ]
        form = family_form(unit, unit.setup, boxes, members)
        visits = [turns[athlete] for athlete in family]
        return PricedReturns(form, visits, returns, turns, problem.rest_turns)

    def priced(search: PricedReturns, most: int) -> Prices:
        return ascend(search, max(10, min(most, MOST_STEPS // len(search.inner) ** 2)))

    members = choose(boxes, lambda some: priced(search_of(some), ROUNDS_TO_COMPARE).bound)
    search = search_of(members)
    prices = priced(search, ROUNDS)
    family = [who[n] for n in members]
    kept_s = least_time_of_kept(
        problem,
        budget,
        family,
        search.further_turns(prices),
        prices.few,
        from_anywhere=from_anywhere,
    )
    return kept_s if from_anywhere else max(kept_s, -(-prices.bound // HALVES))


@dataclass(frozen=True, slots=True)
class Returns:
    """The least s of an open return of one athlete, and of each way to fill one by whom."""

    open_s: int
    filled: list[tuple[int, list[int]]]


def returns_of(
    unit: Unit, athlete: int, family: Sequence[int], everybody: Sequence[Box], rest: int
) -> Returns:
    """Step 3 for an athlete of the family; ``everybody`` has a box for each athlete."""
    box, move_s = everybody[athlete], _least_move_s(unit)
    others = [b for b in range(len(everybody)) if b not in family]
    crowd = [b for b in others if overlap(box, everybody[b])]
    away_s = [2 * double_gap_s(unit, box, everybody[b]) for b in others if b not in crowd]
    if rest == 0:
        return Returns(0, [])
    if len(crowd) < rest:
        return Returns(min(away_s, default=NO_WAY), [])
    if any(not _within(everybody[b], box) for b in crowd):
        away_s.append(2 * move_s)
    at_one = [some for some in _at_one_setup(box, crowd, everybody) if len(some) >= rest]
    return Returns(min(away_s, default=NO_WAY), [(move_s, crowd), *((0, some) for some in at_one)])


def _within(inner: Box, outer: Box) -> bool:
    return all(a0 >= b0 and a1 <= b1 for (a0, a1), (b0, b1) in zip(inner, outer, strict=True))


def _at_one_setup(box: Box, crowd: Sequence[int], everybody: Sequence[Box]) -> list[list[int]]:
    """Who of the crowd accept one setup in the box: the largest such sets.

    Boxes with a setup in common have one whose stop on each axis is the lower end of one of them.
    """
    lower_ends = [
        sorted({max(low, everybody[b][axis][0]) for b in crowd})
        for axis, (low, _) in enumerate(box)
    ]
    sets = {
        frozenset(
            b
            for b in crowd
            if all(a <= stop <= c for stop, (a, c) in zip(setup, everybody[b], strict=True))
        )
        for setup in product(*lower_ends)
        if all(stop <= high for stop, (_, high) in zip(setup, box, strict=True))
    }
    return sorted(sorted(some) for some in sets if not any(some < other for other in sets))


def _least_move_s(unit: Unit) -> int:
    """The least s between two setups that differ."""
    return 2 * unit.any_move_s + min(
        axis.ends * (2 * axis.handling_s + axis.up_s + axis.down_s) for axis in unit.axes
    )


class PricedReturns(Search):
    """The bound of one family: the prices beside the nodes' are those of everybody's turns."""

    def __init__(
        self,
        form: Symmetric,
        visits: Sequence[int],
        returns: Sequence[Returns],
        turns: Sequence[int],
        rest: int,
    ):
        super().__init__(form, Visits([1] * (len(visits) + 1)))
        self.further = len(turns)
        self._visits, self._returns, self._turns, self._rest = visits, returns, turns, rest

    def value_and_slope(self, prices: Prices) -> tuple[int, list[int]]:
        value, slope = super().value_and_slope(Prices(prices.node, []))
        fillers = prices.few
        value -= sum(n * price for n, price in zip(self._turns, fillers, strict=True))
        used = [-n for n in self._turns]
        for k, (visits, returns) in enumerate(zip(self._visits, self._returns, strict=True), 1):
            entry, origin = self._entry(k, prices.node)
            back, by = self._back(returns, fillers)
            value += (visits - 1) * min(entry, back)
            if back <= entry:
                for b in by:
                    used[b] += visits - 1
            else:
                slope[origin] += visits - 1
                slope[k] -= visits - 1
        # a price at its least goes no lower
        rise = [d if d > 0 or price else 0 for d, price in zip(used, fillers, strict=True)]
        return value, [*slope, *rise]

    def further_turns(self, prices: Prices) -> list[int]:
        """What one turn more of each of the family adds to the bound."""
        return [
            min(self._entry(k, prices.node)[0], self._back(returns, prices.few)[0])
            for k, returns in enumerate(self._returns, 1)
        ]

    def _entry(self, k: int, price: Sequence[int]) -> tuple[int, int]:
        """The least that a further visit costs from another box, and from which."""
        row = self.form.part[k]
        return min(
            ((SCALE * row[i] + price[i] - price[k], i) for i in self.inner if i != k),
            default=(NO_WAY, k),
        )

    def _back(self, returns: Returns, fillers: Sequence[int]) -> tuple[int, list[int]]:
        """The least that a return costs, and by whom it is filled."""
        least, by = SCALE * returns.open_s, list[int]()
        for seconds, some in returns.filled:
            cheapest = nsmallest(self._rest, some, key=fillers.__getitem__)
            cost = SCALE * seconds + sum(fillers[b] for b in cheapest)
            if cost < least:
                least, by = cost, cheapest
        return least, by
