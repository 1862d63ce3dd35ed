"""Prices that make the bound by a priced spanning tree large, sought by subgradient steps.

Any whole numbers that keep to steps 4 and 6 of ``bounds.tree`` give a valid bound; this module only
looks for good ones.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import permutations

from settingsdesk.planner.bounds.symmetric import SCALE, Symmetric, weights

STALLS = 8
"""So many steps without gain make the next ones shorter."""
SHORTEST_STEP = 0.004

Edge = tuple[int, int, int]
"""From, to, and how often."""


@dataclass(frozen=True, slots=True)
class Few:
    """Nodes visited a certain number of times each, come into from elsewhere ``entries`` times."""

    nodes: frozenset[int]
    entries: int


@dataclass(frozen=True, slots=True)
class Visits:
    """What a route must do: how often it visits each node (node 0 is its start and end).

    ``may_be_more``: the nodes that may be visited more often; none of them is in a set of ``few``.
    ``back``: what it costs at least, doubled, to come back to a node with no other one between;
    without it that does not happen.
    """

    of: Sequence[int]
    may_be_more: frozenset[int] = frozenset()
    few: Sequence[Few] = ()
    back: Sequence[int] = ()


@dataclass(frozen=True, slots=True)
class Prices:
    """In 1/20 s: ``node`` is q of step 2, ``few`` m of step 6, ``bound`` their bound at first."""

    node: list[int]
    few: list[int]
    bound: int = 0


def best_prices(form: Symmetric, visits: Visits, rounds: int) -> Prices:
    """Whole-number prices, found from none at all in so many steps at most."""
    search = _Search(form, visits)
    count = len(visits.of)
    now = [0.0] * (count + len(visits.few))
    best, found = None, Prices([0] * count, [0] * len(visits.few))
    step, stalled = 1.0, 0
    for _ in range(rounds):
        prices = search.allowed(now)
        value, slope = search.value_and_slope(prices)
        if best is None or value > best:
            best, found, stalled = value, replace(prices, bound=value), 0
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


class _Search:
    def __init__(self, form: Symmetric, visits: Visits):
        self.form, self.visits = form, visits
        self.inner = range(1, len(visits.of))
        self.may_lie_within = [
            sum(visits.of[k] for k in some.nodes) - some.entries for some in visits.few
        ]

    def allowed(self, wanted: Sequence[float]) -> Prices:
        """Whole numbers that keep to steps 4 and 6."""
        count = len(self.visits.of)
        price = [round(p) for p in wanted[:count]]
        part = self.form.part
        changed = bool(self.visits.may_be_more)
        while changed:  # a price that is lowered can make another node worth a further visit
            changed = False
            for k in self.visits.may_be_more:
                # again(k) >= 2 q(k)  <=>  min over i of s(i, k) + q(i) >= q(k)
                low = min((SCALE * part[i][k] + price[i] for i in self.inner if i != k), default=0)
                if low < price[k]:
                    price[k], changed = low, True
        return Prices(price, [max(0, round(p)) for p in wanted[count:]])

    def value_and_slope(self, prices: Prices) -> tuple[int, list[int]]:
        """The bound at the start, and how it changes with the price of each node and set."""
        form, of, price = self.form, self.visits.of, prices.node
        start = min(self.inner, key=lambda j: SCALE * form.leave[0][j] + price[j])
        end = min(self.inner, key=lambda j: SCALE * form.close[j] + price[j])
        total = SCALE * (form.leave[0][start] + form.close[end] + form.forced * form.edges)
        total += price[start] + price[end]
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
                ways = [(weight[i][k], i) for i in self.inner if i != k]
                if self.visits.back:
                    ways.append((weight[k][k] + SCALE * self.visits.back[k], k))
                length, origin = min(ways)
                total += more * length
                edges.append((origin, k, more))
        return total, edges

    def _within(self, prices: Prices, edges: Sequence[Edge]) -> list[int]:
        """Edges within each set beyond what may lie there; 0 where its price is at its least."""
        beyond = [
            sum(times for i, j, times in edges if i in some.nodes and j in some.nodes) - most
            for some, most in zip(self.visits.few, self.may_lie_within, strict=True)
        ]
        return [d if d > 0 or m else 0 for d, m in zip(beyond, prices.few, strict=True)]
