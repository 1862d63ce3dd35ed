"""The bound by the turns of a few, for several turns with rest at setups that athletes accept.

Keep some athletes of whom no two accept one setup, a family as in ``bounds.returns``, and of any
plan only their turns, each at one of the setups of ``stands``, which do for the time alone.

1. Between two kept turns that follow each other, others have been left out. As sums over axes,
   change-over times never grow by a short cut: from x to y takes c(x, y) at least.
2. *Returns.* Where both turns are of one athlete A, the ``rest`` turns right after the first are of
   as many others, none of them kept. If all of them are at x, where A stays, they are of those who
   can go there. If all are at x or y, they are of those who can go at one of the two, and the move
   takes c(x, y). Else one of them is at another stand z where somebody goes who is not kept, and
   the way takes c(x, z) + c(z, y) at least; and z is none of A's stands where fewer than ``rest``
   others can go at any of those.
3. *Fillers.* For any price l(b) >= 0 of a turn of each b that is not kept, add to what stays at x,
   or is at x or y, the ``rest`` least prices among those who can be there, and take l(b) away once
   for each turn that b has: a turn lies between two kept turns only.
4. *Prices of turns.* For any price p(A) take p(A) away for each turn of A, and add it once for each
   turn that A has: the same sum. Where p(A) is no more than any return of A takes, a further turn
   of A at the stand where A just went lowers nothing, and can be left out.

What remains is a walk along stands that comes to each of the family once at least, and to any of
them again where that pays. The cheapest walk is found exactly: first the cheapest ways from stand
to stand, of which none goes round for ever where every round trip takes more than its prices; then,
from those who are left, whom to come to next. Prices that are good for the spanning tree of the
family are good here; beyond the tree, this sees where within a box the apparatus must stand.
Wishes, and turns that were had before, only take plans away.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from operator import add

from settingsdesk.planner.bounds.symmetric import HALVES
from settingsdesk.planner.matrix import costs_among
from settingsdesk.planner.problem import Problem
from settingsdesk.planner.search import Budget
from settingsdesk.planner.stands import stands_for

STEPS_PER_SECOND = 3e7
"""For each two stands of the family: its sets, and the stands by way of which one may go."""

MOST_NUMBERS = 800_000
"""Sets times stands: what is known of each takes 30 MB together."""

NO_WAY = 1 << 40  # more than anything takes


def least_time_of_kept(
    problem: Problem,
    budget: Budget,
    family: Sequence[int],
    price: Sequence[int],
    fillers: Sequence[int],
    *,
    from_anywhere: bool = False,
) -> int:
    """Seconds below which no plan's change-overs lie; 0 where the family has too many stands.

    ``price`` is p of each of the family in 1/20 s, which is lowered where step 4 asks for it, and
    ``fillers`` has l of every athlete. ``from_anywhere``: to the first kept turn costs nothing.
    """
    kept = _Kept(problem, family, fillers)
    if from_anywhere:
        kept.begin = [0] * len(kept.costs)
    sets, places = 1 << len(family), len(kept.places)
    steps = (sets + places + len(kept.costs)) * places**2
    if steps > budget.work_s * STEPS_PER_SECOND or sets * places > MOST_NUMBERS:
        return 0
    return max(0, -(-kept.least(price) // HALVES))


@dataclass(frozen=True, slots=True)
class _Place:
    """A stand by its number, and who of the family (by place in it) goes there."""

    stand: int
    member: int


class _Kept:
    """What is kept of a plan, in 1/20 s."""

    def __init__(self, problem: Problem, family: Sequence[int], fillers: Sequence[int]):
        (unit,) = problem.apparatus
        athletes = problem.athletes
        stands = stands_for(problem, for_time_alone=True)
        others = [b for b in range(len(athletes)) if b not in family]
        self.rest, self.fillers = problem.rest_turns, fillers
        self.turns = [problem.turns_of(athletes[a]) for a in family]
        self.filled = sum(problem.turns_of(athletes[b]) * fillers[b] for b in others)
        self.going = [frozenset(b for b in others if at.serves(athletes[b])) for at in stands]
        self.costs = [
            [HALVES * seconds for seconds in row]
            for row in costs_among(unit, [stand.setup for stand in stands])
        ]
        self.begin = self.costs[0]
        self.end = [HALVES * stand.seconds_to_end() for stand in stands]
        self.places = [
            _Place(number, member)
            for member, a in enumerate(family)
            for number, stand in enumerate(stands)
            if stand.serves(athletes[a])
        ]

    def least(self, wanted: Sequence[int]) -> int:
        """Steps 1 to 4, at these prices or lower ones."""
        step = self._steps()
        price = [min(most, p) for most, p in zip(self._most(step), wanted, strict=True)]
        ways = self._ways(step, price)
        while any(ways[n][n] < 0 for n in range(len(ways))):
            price = [min(p, p // 2) for p in price]
            ways = self._ways(step, price)
        whole = sum(p * turns for p, turns in zip(price, self.turns, strict=True))
        return self._walk(ways, price) + whole - self.filled

    def _steps(self) -> list[list[int]]:
        """From each kept turn to the next, without the prices of turns: steps 1 to 3."""
        step = [[self.costs[a.stand][b.stand] for b in self.places] for a in self.places]
        for member in range(len(self.turns)):
            at = [(n, place.stand) for n, place in enumerate(self.places) if place.member == member]
            by = self._ways_round([stand for _, stand in at])
            to = {x: [NO_WAY if z == x else self.costs[x][z] for z in by] for _, x in at}
            back = {y: [NO_WAY if z == y else self.costs[z][y] for z in by] for _, y in at}
            for (n, x), (m, y) in product(at, repeat=2):
                step[n][m] = min(map(add, to[x], back[y]), default=NO_WAY)
                if x != y:
                    straight = self.costs[x][y] + self._filled(self.going[x] | self.going[y])
                    step[n][m] = min(step[n][m], straight)
        return step

    def _ways_round(self, stands: Sequence[int]) -> list[int]:
        """By way of which other stands somebody can return who has these."""
        crowd = frozenset[int]().union(*(self.going[x] for x in stands))
        at_home = frozenset(stands if len(crowd) < self.rest else ())
        return [z for z, some in enumerate(self.going) if some and z not in at_home]

    def _filled(self, some: frozenset[int]) -> int:
        """The least prices of a rest that is filled by some of these."""
        if len(some) < self.rest:
            return NO_WAY
        return sum(sorted(self.fillers[b] for b in some)[: self.rest])

    def _most(self, step: Sequence[Sequence[int]]) -> list[int]:
        """What any return of each of the family takes at least."""
        most = [NO_WAY] * len(self.turns)
        for (n, a), (m, b) in product(enumerate(self.places), repeat=2):
            if a.member == b.member:
                stays = self._filled(self.going[a.stand]) if n == m else NO_WAY
                most[a.member] = min(most[a.member], step[n][m], stays)
        return most

    def _ways(self, step: Sequence[Sequence[int]], price: Sequence[int]) -> list[list[int]]:
        """The cheapest ways from place to place, each turn's price taken away."""
        ways = [
            [cost - price[b.member] for cost, b in zip(row, self.places, strict=True)]
            for row in step
        ]
        for middle in range(len(ways)):
            onwards = ways[middle]
            for n, row in enumerate(ways):
                to = row[middle]
                ways[n] = [min(a, to + b) for a, b in zip(row, onwards, strict=True)]
        return ways

    def _walk(self, ways: Sequence[Sequence[int]], price: Sequence[int]) -> int:
        """The cheapest walk from the present stand to all of the family and to the end."""
        places = range(len(self.places))
        bits = [1 << place.member for place in self.places]
        ends = [self.end[place.stand] for place in self.places]
        everybody = (1 << len(self.turns)) - 1
        none_left = [
            min([end, *(way + last for way, last in zip(row, ends, strict=True))])
            for row, end in zip(ways, ends, strict=True)
        ]
        still = [none_left]
        for left in range(1, everybody + 1):
            onwards = [(n, still[left ^ bits[n]][n]) for n in places if left & bits[n]]
            still.append(
                [
                    NO_WAY if left & bits[n] else min([row[m] + more for m, more in onwards])
                    for n, row in enumerate(ways)
                ]
            )
        return min(
            self.begin[place.stand] - price[place.member] + still[everybody ^ bits[n]][n]
            for n, place in enumerate(self.places)
        )
