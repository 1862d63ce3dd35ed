"""Costs as a symmetric part, a leaving part and a closing part: step 1 of ``bounds.tree``."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import permutations

from settingsdesk.planner.bounds.entries import Matrix

Barred = frozenset[tuple[int, int]]

SCALE = 10
HALVES = 2 * SCALE


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


def kept_together(form: Symmetric, together: Sequence[frozenset[int]], forced: int) -> Symmetric:
    """Step 5 of ``bounds.tree``: edges within a group are cheaper by ``forced``."""
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
    return [0, *(round(total / (n - 1)) for total in lean[1:])]


def weights(part: Matrix, price: Sequence[int]) -> list[list[int]]:
    """The priced symmetric part w of the argument."""
    return [
        [SCALE * s + price[i] + price[j] for j, s in enumerate(row)] for i, row in enumerate(part)
    ]
