"""The bound by entries: every place still to be visited must be entered, at the least price.

Let ``c`` be the costs, node 0 the start and the end. For any whole numbers ``u`` (one per node) a
route from h over v1, v2, ... back to 0 costs

    sum c(i, j)  =  sum (c(i, j) + u(i) - u(j))  -  u(h) + u(0),

because the prices of all nodes between cancel. Each term of the right-hand sum is at least
y(j) = min over i of c(i, j) + u(i) - u(j), so the route costs at least the sum of y over the nodes
it enters, less u(h), plus u(0). Nodes may be entered more often than they must, so y >= 0 is kept
for every node that this can happen to. The prices that make the bound large are sought by
subgradient steps; any prices give a valid bound.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

Matrix = Sequence[Sequence[int]]


@dataclass(frozen=True, slots=True)
class Entries:
    """``price`` u and ``entry`` y of the module's argument."""

    price: tuple[int, ...]
    entry: tuple[int, ...]

    def leaving(self) -> list[int]:
        """The constant part of the bound at each node: y(0) + u(0) - u(here)."""
        return [self.entry[0] + self.price[0] - price for price in self.price]


def plain_entries(costs: Matrix) -> Entries:
    """The bound without prices: each node's cheapest way in."""
    nothing = (0,) * len(costs)
    return Entries(nothing, _entries(costs, nothing))


def priced_entries(costs: Matrix, visits: Sequence[int], rounds: int) -> Entries:
    """Prices for which ``visits[k]`` entries of each node k make the bound large."""
    nodes = range(len(costs))
    columns = [[costs[i][j] for i in nodes] for j in nodes]
    price = [0.0] * len(costs)
    best, best_price = -math.inf, price
    step = max(map(max, costs)) / 4
    stalled = 0
    for _ in range(rounds):
        total, slope = _value_and_slope(columns, visits, price)
        if total > best + 1e-9:
            best, best_price, stalled = total, price, 0
        elif (stalled := stalled + 1) > 8:
            step, stalled, price = 0.7 * step, 0, best_price
            if step < 0.3:
                break
            continue
        length = math.sqrt(sum(rise * rise for rise in slope)) or 1.0
        price = [u + step * rise / length for u, rise in zip(price, slope, strict=True)]
    whole = _never_negative(costs, [round(u) for u in best_price])
    return Entries(tuple(whole), _entries(costs, whole))


def _value_and_slope(
    columns: Matrix, visits: Sequence[int], price: list[float]
) -> tuple[float, list[float]]:
    total, slope = 0.0, [0.0] * len(price)
    for node, column in enumerate(columns):
        priced = [cost + u for cost, u in zip(column, price, strict=True)]
        priced[node] = math.inf
        cheapest = min(priced)
        total += visits[node] * (cheapest - price[node])
        slope[priced.index(cheapest)] += visits[node]
        slope[node] -= visits[node]
    return total, slope


def _never_negative(costs: Matrix, price: list[int]) -> list[int]:
    """Lower prices until no entry is below 0, so that further entries cannot spoil the bound."""
    changed = True
    while changed:
        changed = False
        for node in range(len(price)):
            low = min(costs[i][node] + price[i] for i in range(len(price)) if i != node)
            if low < price[node]:
                price[node], changed = low, True
    return price


def _entries(costs: Matrix, price: Sequence[int]) -> tuple[int, ...]:
    nodes = range(len(costs))
    return tuple(
        min((costs[i][j] + price[i] - price[j] for i in nodes if i != j), default=0) for j in nodes
    )
