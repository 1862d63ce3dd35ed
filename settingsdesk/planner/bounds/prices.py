"""Prices that make the bound by a priced spanning tree large, sought by subgradient steps.

Any whole numbers that keep to step 4 of ``bounds.tree``, and are not below 0 for sets, give a valid
bound; this module only looks for good ones.
"""

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import permutations

from settingsdesk.planner.bounds.symmetric import SCALE, Symmetric, weights

STALLS = 8
"""So many steps without gain make the next ones shorter."""
SHORTEST_STEP = 0.004
STEP_FROM_OTHERS = 0.3
"""The first step from prices that were good for nearly the same visits."""

Edge = tuple[int, int, int]
"""From, to, and how often."""


@dataclass(frozen=True, slots=True)
class Few:
    """Nodes that the route comes into from elsewhere ``entries`` times at least, in all."""

    nodes: frozenset[int]
    entries: int


@dataclass(frozen=True, slots=True)
class Visits:
    """What a route must do: how often it visits each node (node 0 is its start and end).

    ``may_be_more``: the nodes that may be visited more often.
    """

    of: Sequence[int]
    may_be_more: frozenset[int] = frozenset()
    few: Sequence[Few] = ()


@dataclass(frozen=True, slots=True)
class Prices:
    """In 1/20 s: ``node`` is q of step 2, ``few`` m of step 6, ``bound`` their bound at first."""

    node: list[int]
    few: list[int]
    bound: int = 0


def best_prices(
    form: Symmetric,
    visits: Visits,
    rounds: int,
    begin: Prices | None = None,
    enough: float = math.inf,
) -> Prices:
    """Whole-number prices, found from none at all or from others, in so many steps at most.

    No more is looked for once the bound is ``enough``, in 1/20 s.
    """
    return ascend(Search(form, visits), rounds, begin, enough)


def ascend(
    search: "Search", rounds: int, begin: Prices | None = None, enough: float = math.inf
) -> Prices:
    """The search itself, as ``best_prices`` has it."""
    count = len(search.visits.of)
    found = Prices([0] * count, [0] * search.further) if begin is None else begin
    now = [float(p) for p in [*found.node, *found.few]]
    best = None
    step, stalled = (1.0 if begin is None else STEP_FROM_OTHERS), 0
    for _ in range(rounds):
        prices = search.allowed(now)
        value, slope = search.value_and_slope(prices)
        if best is None or value > best:
            best, found, stalled = value, replace(prices, bound=value), 0
            if value >= enough:
                break
        elif (stalled := stalled + 1) >= STALLS:
            step, stalled, now = 0.8 * step, 0, [float(p) for p in [*found.node, *found.few]]
            if step < SHORTEST_STEP:
                break
            continue
        length = sum(rise * rise for rise in slope)
        if length == 0:
            break
        size = step * max(0.12 * abs(best), SCALE) / length
        now = [p + size * rise for p, rise in zip(now, slope, strict=True)]
    return found


def rise_with_one_more(form: Symmetric, visits: Visits, prices: Prices) -> dict[int, int]:
    """By how much one more visit of each node raises the bound at least, in 1/20 s."""
    return Search(form, visits).rise_with_one_more(prices)


def priced_weights(form: Symmetric, prices: Prices, few: Sequence[Few]) -> list[list[int]]:
    """The symmetric part with the prices of nodes and sets: w of the argument."""
    weight = weights(form.part, prices.node)
    add_few(weight, prices, few)
    return weight


def add_few(table: list[list[int]], prices: Prices, few: Sequence[Few]) -> None:
    """Make what lies within a set dearer by its price."""
    for some, price in zip(few, prices.few, strict=True):
        if price:
            for i, j in permutations(some.nodes, 2):
                table[i][j] += price


class Search:
    """What prices give: the bound, and which way it rises; ``further`` prices beside the nodes'."""

    def __init__(self, form: Symmetric, visits: Visits):
        self.form, self.visits = form, visits
        self.further = len(visits.few)
        self.leave = [SCALE * s for s in form.leave[0]]
        self.close = [SCALE * s for s in form.close]
        self.inner = range(1, len(visits.of))
        self.may_lie_within = [
            sum(visits.of[k] for k in some.nodes) - some.entries for some in visits.few
        ]
        nodes = frozenset(range(len(visits.of)))
        self.outside = [nodes - some.nodes for some in visits.few]
        self.sets_of = {
            k: [n for n, some in enumerate(visits.few) if k in some.nodes] for k in self.inner
        }
        self.sets_around: dict[tuple[int, int], list[int]] = defaultdict(list)
        for n, some in enumerate(visits.few):
            for pair in permutations(some.nodes, 2):
                self.sets_around[pair].append(n)

    def allowed(self, wanted: Sequence[float]) -> Prices:
        """Whole numbers that keep to step 4."""
        count = len(self.visits.of)
        node = [round(p) for p in wanted[:count]]
        few = [max(0, round(p)) for p in wanted[count:]]
        if not self.visits.may_be_more:
            return Prices(node, few)
        lowered = self._lowered(node, few)
        if lowered is None:  # s >= 0, so that without sets some prices always do
            more = self.visits.may_be_more
            few = [
                0 if some.nodes & more else m for some, m in zip(self.visits.few, few, strict=True)
            ]
            lowered = self._lowered(node, few)
        return Prices(lowered or [0] * count, few)

    def _lowered(self, node: Sequence[int], few: Sequence[int]) -> list[int] | None:
        """Prices of nodes lowered until a further visit never pays; None where none will do.

        A price that is lowered can make another node worth a further visit. Where the sets ask too
        much, that goes round for ever, and else every node has its price after as many passes as
        there are nodes.
        """
        price = list(node)
        more = self.visits.may_be_more
        dear = {k: self._beyond_a_visit(k, few) for k in more}
        for _ in range(len(more) + 1):
            changed = False
            for k in more:
                # again(k) >= visit(k)  <=>  min over i of dear(i) + q(i) >= q(k)
                low = min((dear[k][i] + price[i] for i in self.inner if i != k), default=0)
                if low < price[k]:
                    price[k], changed = low, True
            if not changed:
                return price
        return None

    def _beyond_a_visit(self, k: int, few: Sequence[int]) -> list[int]:
        """What an edge to k weighs without q, less what is taken away for the sets that hold k."""
        row = [SCALE * s for s in self.form.part[k]]
        for n in filter(few.__getitem__, self.sets_of[k]):
            for i in self.outside[n]:
                row[i] -= few[n]
        return row

    def rise_with_one_more(self, prices: Prices) -> dict[int, int]:
        """again(k) - visit(k) of each node."""
        found = {}
        for k in self.inner:
            dear = self._beyond_a_visit(k, prices.few)
            low = min((dear[i] + prices.node[i] for i in self.inner if i != k), default=0)
            found[k] = low - prices.node[k]
        return found

    def value_and_slope(self, prices: Prices) -> tuple[int, list[int]]:
        """The bound at the start, and how it changes with the price of each node and set."""
        form, of, price = self.form, self.visits.of, prices.node
        leave = [s + q for s, q in zip(self.leave, price, strict=True)]
        close = [s + q for s, q in zip(self.close, price, strict=True)]
        start = min(self.inner, key=leave.__getitem__)
        end = min(self.inner, key=close.__getitem__)
        total = leave[start] + close[end] + SCALE * form.forced * form.edges
        length, edges = self._edges(priced_weights(form, prices, self.visits.few), start)
        total += length - 2 * sum(of[k] * price[k] for k in self.inner)
        total -= sum(m * most for m, most in zip(prices.few, self.may_lie_within, strict=True))
        degree = [0, *(-2 * of[k] for k in self.inner)]
        for i, j, times in [(start, end, 1), *edges]:
            degree[i] += times
            degree[j] += times
        return total, [*degree, *self._within(prices, edges)]

    def _edges(self, weight: list[list[int]], start: int) -> tuple[int, list[Edge]]:
        """The tree from ``start`` and the cheapest further entries, with their whole length."""
        total, edges = 0, []
        nearest = {j: (weight[start][j], start) for j in self.inner if j != start}
        while nearest:
            node = min(nearest, key=nearest.__getitem__)
            length, origin = nearest.pop(node)
            total += length
            edges.append((origin, node, 1))
            row = weight[node]
            for other, (known, _) in nearest.items():
                if row[other] < known:
                    nearest[other] = (row[other], node)
        for k in self.inner:
            more = self.visits.of[k] - 1
            if more:
                entries = [math.inf, *weight[k][1:]]
                entries[k] = math.inf
                origin = entries.index(min(entries))
                length = weight[k][origin]
                total += more * length
                edges.append((origin, k, more))
        return total, edges

    def _within(self, prices: Prices, edges: Sequence[Edge]) -> list[int]:
        """Edges within each set beyond what may lie there; 0 where its price is at its least."""
        beyond = [-most for most in self.may_lie_within]
        for i, j, times in edges:
            for n in self.sets_around.get((i, j), ()):
                beyond[n] += times
        return [d if d > 0 or m else 0 for d, m in zip(beyond, prices.few, strict=True)]
