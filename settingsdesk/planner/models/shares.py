"""The earliest end on several apparatus, one turn each, all turns as long: by shares.

A plan that ends by M chooses for every apparatus a set of groups that it can serve by M, with its
room: the number of athletes there is time for (``models.served``). Such a choice is a plan if and
only if the sets cover all groups, and the athletes fit. They fit if and only if, for every choice
of some apparatus, those whose groups are covered there only are no more than there is room there,
and those whose groups are covered there at all are enough for the least numbers asked there. (That
is Hall's condition, for the largest and for the least numbers; where each can be held, both can.)

1. *Which ends are possible.* Prices (``bounds.shares``) rule out ends and, for the others, leave
   few sets per apparatus.
2. *Covers.* What is left is put together, apparatus by apparatus, that with the fewest sets first;
   a beginning is given up where even the best sets of the others would take less than is asked, or
   would leave a group out.
3. *Upwards.* Ends are tried from the least possible one on, in growing strides, so that what is
   found first is near to the best. A plan that is found ends M, or earlier; and where there is
   none, nothing ends by M.
"""

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from functools import reduce
from operator import or_

from settingsdesk.planner.bounds.shares import WHOLE, AthletePrices, Dearest, Share, athlete_prices
from settingsdesk.planner.models.served import Served
from settingsdesk.planner.models.units import Units
from settingsdesk.planner.search import Budget, OutOfSteps, Steps

STEPS_PER_SECOND = 3.5e6
"""Ways, sets and athletes' shares that a usual machine looks at."""
ROUNDS_TO_RULE_OUT = 40
ROUNDS_TO_COVER = 100

Route = list[tuple[int, int]]
"""Groups in their order, with how many athletes of each."""


@dataclass(frozen=True, slots=True)
class Earliest:
    """A route per apparatus, where one was found that ends earlier than asked, and its end.

    Nothing ends before ``bound_s``. ``spent_s`` is the work it took.
    """

    routes: list[Route] | None
    end_s: int
    bound_s: int
    spent_s: float

    @property
    def proven(self) -> bool:
        return self.bound_s == self.end_s


def earliest_end(units: Units, budget: Budget, below: int, least_s: int) -> Earliest:
    """The earliest end before ``below``, if there is any; ``least_s`` bounds it."""
    steps = Steps(budget, STEPS_PER_SECOND)
    search = _Shares(units, steps, end_s=below, least_s=least_s)
    with suppress(OutOfSteps):  # what was found by then counts
        search.close()
    bound_s = min(search.least_s, search.end_s)
    return Earliest(search.routes, search.end_s, bound_s, steps.spent_s)


@dataclass(slots=True)
class _Shares:
    units: Units
    steps: Steps
    end_s: int
    least_s: int
    routes: list[Route] | None = None
    _served: list[Served] = field(default_factory=list)
    _price: Sequence[int] = ()

    def close(self) -> None:
        """Raise the bound and lower the end until they meet."""
        self._price = [WHOLE] * len(self.units.sizes)
        for number in range(len(self.units.paths)):
            self._served.append(Served(self.units, number))
            self._served[-1].find(self.end_s - 1, self.steps)
        self._rule_out()
        stride = 1
        while self.least_s < self.end_s:
            at_s = min(self.least_s + stride, self.end_s) - 1
            if self.routes is not None:
                at_s = min(at_s, (self.least_s + self.end_s - 1) // 2)
            chosen = self._chosen(at_s)
            if chosen is None:
                self.least_s = at_s + 1
                stride *= 2
            else:
                self.routes = self._routes(chosen)
                self.end_s = max(map(self._ends, range(len(chosen)), self.routes))
                stride = max(1, (self.end_s - self.least_s) // 2)

    def _rule_out(self) -> None:
        """Raise the bound as far as prices alone do."""
        possible_s = self.end_s
        while self.least_s < possible_s:
            at_s = (self.least_s + possible_s) // 2
            prices = self._priced(self._shares(at_s), ROUNDS_TO_RULE_OUT)
            if prices is None:
                self.least_s = at_s + 1
            else:
                possible_s = at_s

    def _shares(self, end_s: int) -> list[list[Share]]:
        return [served.shares(end_s, self.steps) for served in self._served]

    def _priced(self, shares: Sequence[Sequence[Share]], rounds: int) -> AthletePrices | None:
        """Good prices; None where they say that there is no plan."""
        if not all(shares):
            return None
        prices = athlete_prices(shares, self.units.sizes, rounds, self._price, self.steps)
        self._price = prices.of
        return prices if prices.spare >= 0 else None

    def _chosen(self, end_s: int) -> list[Share] | None:
        """A share per apparatus that together are a plan, or None where there is none."""
        shares = self._shares(end_s)
        prices = self._priced(shares, ROUNDS_TO_COVER)
        if prices is None:
            return None
        return _Cover(self.units, self.steps, shares, prices).found()

    def _routes(self, chosen: Sequence[Share]) -> list[Route]:
        given = dealt_out(self.units, chosen)
        return [
            [(k, given[k][y]) for k in self._served[y].route([k for k in given if given[k][y]])]
            for y in range(len(chosen))
        ]

    def _ends(self, number: int, route: Route) -> int:
        costs, here, end_s = self.units.paths[number].costs, 0, 0
        for k, some in route:
            end_s += costs[here][k + 1] + some * self.units.turn_s[k]
            here = k + 1
        return end_s + costs[here][0]


class _Cover:
    """Shares of one end, put together: step 2."""

    def __init__(
        self,
        units: Units,
        steps: Steps,
        shares: Sequence[Sequence[Share]],
        prices: AthletePrices,
    ):
        self.units, self.steps = units, steps
        dearest = Dearest(prices.of, units.sizes)
        steps.spend(2 * sum(map(len, shares)))
        taking = [
            sorted(((dearest.filled(share), share) for share in some), reverse=True)
            for some in shares
        ]
        tops = [some[0][0] for some in taking]
        self.asked = dearest.asked
        spare = sum(tops) - self.asked
        self.taking = [
            [(taken, share) for taken, share in some if taken >= top - spare]
            for some, top in zip(taking, tops, strict=True)
        ]
        self.order = sorted(range(len(shares)), key=lambda y: len(self.taking[y]))
        self.later_take = [0]
        self.later_reach = [0]
        for y in reversed(self.order[1:]):
            self.later_take.append(self.later_take[-1] + tops[y])
            reached = reduce(or_, (share.groups for _, share in self.taking[y]))
            self.later_reach.append(self.later_reach[-1] | reached)
        self.later_take.reverse()
        self.later_reach.reverse()
        self.chosen: dict[int, Share] = {}

    def found(self) -> list[Share] | None:
        everybody = (1 << len(self.units.sizes)) - 1
        if not self._goes_on(0, everybody, 0):
            return None
        return [self.chosen[y] for y in range(len(self.order))]

    def _goes_on(self, place: int, missing: int, taken: int) -> bool:
        """Whether shares from this place of the order on make what is chosen a plan."""
        if place == len(self.order):
            return self._fits()
        y = self.order[place]
        must_cover = missing & ~self.later_reach[place]
        for more, share in self.taking[y]:
            self.steps.spend(1)
            if taken + more + self.later_take[place] < self.asked:
                break
            if must_cover & ~share.groups:
                continue
            self.chosen[y] = share
            if self._goes_on(place + 1, missing & ~share.groups, taken + more):
                return True
        return False

    def _fits(self) -> bool:
        """Hall's condition, of every choice of some apparatus."""
        sizes, rooms = self.units.sizes, self.units.rooms
        self.steps.spend(1 << len(rooms))
        covering = [
            sum(1 << y for y, share in self.chosen.items() if share.groups >> k & 1)
            for k in range(len(sizes))
        ]
        for some in range(1, 1 << len(rooms)):
            there = [y for y in self.chosen if some >> y & 1]
            only = sum(n for n, at in zip(sizes, covering, strict=True) if not at & ~some)
            at_all = sum(n for n, at in zip(sizes, covering, strict=True) if at & some)
            if only > sum(self.chosen[y].room for y in there):
                return False
            if at_all < sum(rooms[y][0] for y in there):
                return False
        return True


def dealt_out(units: Units, chosen: Sequence[Share]) -> Mapping[int, list[int]]:
    """How many athletes of each group go to each apparatus, by ways that make room.

    First as many as every apparatus needs at least, then all others; who is moved on leaves an
    apparatus as full as it was.
    """
    given = {k: [0] * len(chosen) for k in range(len(units.sizes))}
    waiting = list(units.sizes)

    def brings(k: int, rooms: Sequence[int], seen: set[int]) -> bool:
        for y, share in enumerate(chosen):
            if not share.groups >> k & 1 or y in seen:
                continue
            seen.add(y)
            if sum(row[y] for row in given.values()) < rooms[y]:
                given[k][y] += 1
                return True
            for other, row in given.items():
                if row[y] and other != k and brings(other, rooms, seen):
                    row[y] -= 1
                    given[k][y] += 1
                    return True
        return False

    for rooms in ([least for least, _ in units.rooms], [share.room for share in chosen]):
        for k in given:
            while waiting[k] and brings(k, rooms, set()):
                waiting[k] -= 1
    return given
