"""The bound by a priced spanning tree, for routes that may enter a node more than once.

Node 0 is the start and the end of the route, nodes 1 ... n - 1 are setups.

1. *Symmetric part.* Change-over times are nearly symmetric: up and down differ only by a potential.
   For any potential p let s(i, j) = min(2 c(i, j) - p(j) + p(i), 2 c(j, i) - p(i) + p(j)), which is
   symmetric and, for times that are sums over axes, equal to both. A route from h over r1 ... rm to
   the end costs twice

       2 c(h, r1) + sum 2 c(ri, ri+1) + 2 c(rm, 0)  >=  leave(h, r1) + sum s(ri, ri+1) + close(rm)

   with leave(h, j) = 2 c(h, j) - p(j) and close(j) = 2 c(j, 0) + p(j), as the potentials of all
   nodes between cancel.
2. *Prices.* For any prices q, add q(r) to both ends of every visit of r and take 2 q(r) away again
   for each visit: the same sum. With w(i, j) = s(i, j) + q(i) + q(j) the route costs
   leave(h, r1) + q(r1) + sum w + close(rm) + q(rm) - 2 * (prices of all visits).
3. *Tree.* The edges by which the visited nodes other than r1 are entered first form a spanning tree
   of the visited nodes. Every further edge is a further entry of some node k and weighs at least
   again(k) = min over i of w(i, k). So n(k) visits of each visited k cost at least
   minimum spanning tree + sum (n(k) - 1) * again(k) - 2 n(k) q(k), plus leaving and closing.
4. *More visits than needed* cannot lower this where again(k) >= 2 q(k), which is kept for every
   node that may be visited more often than it must.

5. *Groups that stay together.* The part of a route that is still to come has, of each group, one
   edge less than members left between two of its members. Making every such edge cheaper by
   ``FORCED`` and adding that again, once per such edge, changes nothing for the route, but the
   tree can no longer do without these edges.

All weights are whole numbers, ``SCALE`` to half a second, so nothing is lost to rounding.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import permutations

from settingsdesk.planner.bounds.entries import Matrix

Barred = frozenset[tuple[int, int]]

SCALE = 10
HALVES = 2 * SCALE


@dataclass(frozen=True, slots=True)
class Tree:
    """The tables of the argument, in 1/20 s. Row and column 0 of ``weight`` are not used."""

    weight: list[list[int]]
    leave: list[list[int]]
    close: list[int]
    price: list[int]
    again: list[int]
    forced: int


@dataclass(frozen=True, slots=True)
class Symmetric:
    """The three parts of a route's doubled cost; row and column 0 of ``part`` are not used."""

    leave: list[list[int]]
    part: list[list[int]]
    close: list[int]
    forced: int = 0
    edges: int = 0


def symmetric(costs: Matrix, barred: Barred) -> Symmetric:
    """Step 1 of the argument, with s >= 0."""
    potential = _potential(costs)
    form = _with_potential(costs, barred, potential)
    if min(map(min, form.part)) < 0:  # step 4 needs s >= 0; without a potential it is
        form = _with_potential(costs, barred, [0] * len(costs))
    return form


def _with_potential(costs: Matrix, barred: Barred, potential: Sequence[int]) -> Symmetric:
    nodes = range(len(costs))
    dear = dear_cost(costs) * 2
    toward = [
        [dear if (i, j) in barred else 2 * costs[i][j] - potential[j] + potential[i] for j in nodes]
        for i in nodes
    ]
    return Symmetric(
        leave=[
            [dear if (i, j) in barred else 2 * costs[i][j] - potential[j] for j in nodes]
            for i in nodes
        ],
        part=[
            [min(toward[i][j], toward[j][i]) if i and j and i != j else 0 for j in nodes]
            for i in nodes
        ],
        close=[dear if (j, 0) in barred else 2 * costs[j][0] + potential[j] for j in nodes],
    )


def _kept_together(form: Symmetric, together: Sequence[frozenset[int]], forced: int) -> Symmetric:
    part = [list(row) for row in form.part]
    for group in together:
        for i, j in permutations(group, 2):
            part[i][j] -= forced
    edges = sum(len(group) - 1 for group in together)
    return replace(form, part=part, forced=forced, edges=edges)


def dear_cost(costs: Matrix) -> int:
    """Dearer than any arc: what a barred arc counts in a bound, so that no route is missed."""
    return 2 * max(map(max, costs)) + 1


def _potential(costs: Matrix) -> list[int]:
    """The exact potential where there is one, else the mean lean of each node's costs."""
    n = len(costs)
    exact = [0, *(costs[1][j] - costs[j][1] for j in range(1, n))]
    if all(
        costs[i][j] - costs[j][i] == exact[j] - exact[i] for i in range(1, n) for j in range(1, i)
    ):
        return exact
    lean = [sum(costs[i][j] - costs[j][i] for i in range(1, n)) for j in range(n)]
    return [0, *(round(one / (n - 1)) for one in lean[1:])]


def priced_tree(
    costs: Matrix,
    visits: Sequence[int],
    more_visits: Sequence[bool],
    rounds: int,
    barred: Barred = frozenset(),
    together: Sequence[frozenset[int]] = (),
) -> Tree:
    """Prices that make the tree bound large at the start of the route.

    ``visits[k]`` is how often k must be visited, ``more_visits[k]`` whether it may be more often.
    No route uses an arc of ``barred``, and each group of ``together`` is visited in one go.
    """
    form = _kept_together(symmetric(costs, barred), together, forced=2 * dear_cost(costs))
    price = best_prices(form, visits, more_visits, rounds)
    n = len(costs)
    weight = weights(form.part, price)
    return Tree(
        weight=weight,
        leave=[[SCALE * form.leave[i][j] + price[j] for j in range(n)] for i in range(n)],
        close=[SCALE * form.close[j] + price[j] for j in range(n)],
        price=price,
        forced=SCALE * form.forced,
        again=[
            min((weight[i][k] for i in range(1, n) if i != k and k), default=0) for k in range(n)
        ],
    )


def weights(part: Matrix, price: Sequence[int]) -> list[list[int]]:
    """The priced symmetric part w of the argument."""
    return [
        [SCALE * s + price[i] + price[j] for j, s in enumerate(row)] for i, row in enumerate(part)
    ]


def best_prices(
    form: Symmetric, visits: Sequence[int], more_visits: Sequence[bool], rounds: int
) -> list[int]:
    """Whole-number prices, in 1/20 s, found by subgradient steps from none at all."""
    n = len(visits)
    price = [0.0] * n
    best, best_price = None, [0] * n
    step, stalled = 1.0, 0
    for _ in range(rounds):
        whole = _never_worth_more([round(p) for p in price], form, more_visits)
        value, slope = _value_and_slope(form, whole, visits)
        if best is None or value > best:
            best, best_price, stalled = value, whole, 0
        elif (stalled := stalled + 1) >= 8:
            step, stalled, price = 0.8 * step, 0, [float(p) for p in best_price]
            if step < 0.004:
                break
            continue
        length = sum(one * one for one in slope)
        if length == 0:
            break
        size = step * max(0.12 * abs(best), SCALE) / length
        price = [p + size * one for p, one in zip(price, slope, strict=True)]
    return best_price


def _never_worth_more(price: list[int], form: Symmetric, more_visits: Sequence[bool]) -> list[int]:
    """Lower the price of a node that may be visited more often until a visit costs nothing less."""
    inner = range(1, len(price))
    changed = any(more_visits)
    while changed:  # a price that is lowered can make another node worth a further visit
        changed = False
        for k in inner:
            # again(k) >= 2 q(k)  <=>  min over i of s(i, k) + q(i) >= q(k)
            low = min((SCALE * form.part[i][k] + price[i] for i in inner if i != k), default=0)
            if more_visits[k] and low < price[k]:
                price[k], changed = low, True
    return price


def _value_and_slope(
    form: Symmetric, price: Sequence[int], visits: Sequence[int]
) -> tuple[int, list[int]]:
    """The bound at the start, and how often its edges end at each node beyond two per visit."""
    n = len(price)
    weight = weights(form.part, price)
    degree = [-2 * v for v in visits]
    degree[0] = 0
    start = min(range(1, n), key=lambda j: SCALE * form.leave[0][j] + price[j])
    end = min(range(1, n), key=lambda j: SCALE * form.close[j] + price[j])
    total = SCALE * (form.leave[0][start] + form.close[end] + form.forced * form.edges)
    total += price[start] + price[end]
    degree[start] += 1
    degree[end] += 1
    nearest = {j: (weight[start][j], start) for j in range(1, n) if j != start}
    while nearest:
        node = min(nearest, key=nearest.__getitem__)
        length, origin = nearest.pop(node)
        total += length
        degree[origin] += 1
        degree[node] += 1
        row = weight[node]
        for other, (known, _) in nearest.items():
            if row[other] < known:
                nearest[other] = (row[other], node)
    for k in range(1, n):
        total -= 2 * visits[k] * price[k]
        if visits[k] > 1:
            length, origin = min((weight[i][k], i) for i in range(1, n) if i != k)
            total += (visits[k] - 1) * length
            degree[k] += visits[k] - 1
            degree[origin] += visits[k] - 1
    return total, degree
