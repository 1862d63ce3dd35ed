"""Change-over times as a matrix, and the planner's core for a matrix given as such."""

import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product

from settingsdesk.planner.bounds.symmetric import Barred
from settingsdesk.planner.errors import NoOrderKeepsThis, NoPlanInTime
from settingsdesk.planner.models.tour import Tour, cheapest_tour
from settingsdesk.planner.plan import Status
from settingsdesk.planner.problem import Setup, Unit
from settingsdesk.planner.search import Budget


def costs_between(unit: Unit, setups: Sequence[Setup]) -> list[list[int]]:
    """Row and column 0 are the setup before the first turn and the one after the last."""
    final = unit.final_setup
    inner = costs_among(unit, setups)
    first = [0, *(unit.seconds(unit.setup, setup) for setup in setups)]
    ends = [0 if final is None else unit.seconds(setup, final) for setup in setups]
    return [first, *([end, *row] for end, row in zip(ends, inner, strict=True))]


def costs_among(unit: Unit, setups: Sequence[Setup]) -> list[list[int]]:
    """Seconds from each setup to each; for sums over axes each move is looked up, not counted."""
    if unit.change_over is not None:
        return [[unit.seconds(a, b) for b in setups] for a in setups]
    moves = [
        [[axis.move_s(b - a) for b in range(axis.stops)] for a in range(axis.stops)]
        for axis in unit.axes
    ]
    return [
        [
            0 if a == b else unit.any_move_s + sum(row[stop] for row, stop in zip(rows, b))  # noqa: B905  # the innermost loop of all, same length by construction
            for b in setups
        ]
        for a in setups
        for rows in [[move[stop] for move, stop in zip(moves, a, strict=True)]]
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
    work_limit_s: float | None = None,
) -> MatrixOrder:
    """The cheapest order of all rows of a matrix: ``costs[i][j]`` from i to j, None where barred.

    ``closed``: from the last row back to the first, which is row 0 unless ``start`` says another.
    Otherwise a path, which begins at ``start`` or, where that is None, anywhere. Each pair of
    ``before`` names an earlier and a later row. Raises NoOrderKeepsThis where no order is possible
    and NoPlanInTime where none was found.
    """
    begun = time.perf_counter()
    first = 0 if closed and start is None else start
    others = [row for row in range(len(costs)) if row != first]
    if any(b == first for _, b in before):
        raise NoOrderKeepsThis([f"row {a} before row {b}" for a, b in before if b == first])
    tour = _tour(costs, others, first, before, closed=closed)
    found = cheapest_tour(tour, Budget.starting_now(time_limit_s, work_limit_s))
    if found.steps is None or found.cost is None:
        if found.proven:
            raise NoOrderKeepsThis([f"row {a} before row {b}" for a, b in before])
        raise NoPlanInTime(time_limit_s)
    order = tuple(others[int(step) - 1] for step in found.steps)
    return MatrixOrder(
        status=Status.PROVEN if found.proven else Status.BEST_FOUND,
        order=order if first is None else (first, *order),
        cost=found.cost,
        bound=found.bound,
        solve_s=time.perf_counter() - begun,
    )


def _tour(
    costs: Sequence[Sequence[int | None]],
    others: Sequence[int],
    first: int | None,
    before: Sequence[tuple[int, int]],
    *,
    closed: bool,
) -> Tour:
    """Node 0 is the first row (and the end); where there is none, coming and going are free."""
    rows = [first, *others]
    barred = set()
    table = [[0] * len(rows) for _ in rows]
    for (i, a), (j, b) in product(enumerate(rows), repeat=2):
        free = i == j or a is None or b is None or (j == 0 and not closed)
        cost = 0 if free else costs[a][b]  # type: ignore[index]  # free where either is None
        if cost is None:
            barred.add((i, j))
            cost = costs[b][a] or 0  # type: ignore[index]  # keeps the table near to symmetric
        table[i][j] = cost
    node = {row: number for number, row in enumerate(rows)}
    earlier = closure({(node[a], node[b]) for a, b in before if a != first}, len(rows))
    return Tour(table, before=earlier, barred=frozenset(barred) | bars_of_precedence(earlier))


def closure(pairs: set[tuple[int, int]], nodes: int) -> dict[int, frozenset[int]]:
    """Per node, all nodes that must come before it, directly or through others."""
    earlier: list[set[int]] = [{a for a, b in pairs if b == node} for node in range(nodes)]
    for through in range(nodes):
        for some in earlier:
            if through in some:
                some |= earlier[through]
    return {node: frozenset(some) for node, some in enumerate(earlier) if some}


def bars_of_precedence(earlier: Mapping[int, frozenset[int]]) -> Barred:
    """Arcs against an order of two, past somebody between them, or at a wrong end."""
    against = {(b, a) for b, some in earlier.items() for a in some}
    past = {
        (a, c) for c, some in earlier.items() for b in some for a in earlier.get(b, frozenset())
    }
    ends = {(0, b) for b in earlier} | {(a, 0) for some in earlier.values() for a in some}
    return frozenset(against | past | ends)
