"""Change-over times as a matrix, and the planner's core for a matrix given as such."""

import time
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from settingsdesk.planner.errors import NoOrderKeepsThis, NoPlanInTime
from settingsdesk.planner.models.tour import Tour, cheapest_tour
from settingsdesk.planner.plan import Status
from settingsdesk.planner.problem import Setup, Unit
from settingsdesk.planner.search import Budget, default_work


def costs_between(unit: Unit, setups: Sequence[Setup]) -> list[list[int]]:
    """Row and column 0 are the setup before the first turn and the one after the last."""
    final = unit.final_setup
    first = [0, *(unit.seconds(unit.setup, setup) for setup in setups)]
    return [
        first,
        *(
            [0 if final is None else unit.seconds(a, final), *(unit.seconds(a, b) for b in setups)]
            for a in setups
        ),
    ]


def detours_cost_nothing_less(unit: Unit, setups: Sequence[Setup]) -> bool:
    """Whether going by way of a third setup is never quicker; sums over the axes are so."""
    if unit.change_over is None:
        return True
    places = list(dict.fromkeys([unit.setup, *setups, *filter(None, [unit.final_setup])]))
    costs = [[unit.seconds(a, b) for b in places] for a in places]
    ways = range(len(places))
    return all(costs[a][c] <= costs[a][b] + costs[b][c] for a in ways for b in ways for c in ways)


@dataclass(frozen=True, slots=True)
class MatrixOrder:
    """The rows of a matrix in the order found, its cost, and a bound below which no cost lies."""

    status: Status
    order: tuple[int, ...]
    cost: int
    bound: int
    solve_s: float


def order_matrix(
    costs: Sequence[Sequence[int | None]],
    *,
    closed: bool,
    start: int | None = None,
    before: Sequence[tuple[int, int]] = (),
    time_limit_s: float = 10,
    work_limit: int | None = None,
) -> MatrixOrder:
    """The cheapest order of all rows of a matrix: ``costs[i][j]`` from i to j, None where barred.

    ``closed``: from the last row back to the first, which is row 0 unless ``start`` says another.
    Otherwise a path, which begins at ``start`` or, where that is None, anywhere. Each pair of
    ``before`` names an earlier and a later row. Raises NoOrderKeepsThis where no order is possible
    and NoPlanInTime where none was found.
    """
    begun = time.perf_counter()
    rows = len(costs)
    first = 0 if closed and start is None else start
    others = [row for row in range(rows) if row != first]
    node = {row: number for number, row in enumerate(others, start=1)}
    earlier: dict[int, set[int]] = defaultdict(set)
    for a, b in before:
        if b == first:
            raise NoOrderKeepsThis([f"row {a} before row {b}, which is the first"])
        if a != first:
            earlier[node[b]].add(node[a])
    tour = Tour(
        costs=[
            [0, *(0 if first is None else costs[first][row] for row in others)],
            *(
                [costs[row][first] if closed and first is not None else 0]
                + [0 if row == to else costs[row][to] for to in others]
                for row in others
            ),
        ],
        before={later: frozenset(some) for later, some in earlier.items()},
    )
    work = default_work(time_limit_s) if work_limit is None else work_limit
    found = cheapest_tour(tour, Budget.starting_now(work, time_limit_s))
    if found.steps is None or found.cost is None:
        raise (
            NoOrderKeepsThis([f"{a} before {b}" for a, b in before])
            if found.proven
            else (NoPlanInTime(time_limit_s))
        )
    order = tuple(others[int(step) - 1] for step in found.steps)
    return MatrixOrder(
        status=Status.PROVEN if found.proven else Status.BEST_FOUND,
        order=order if first is None else (first, *order),
        cost=found.cost,
        bound=found.bound,
        solve_s=time.perf_counter() - begun,
    )
