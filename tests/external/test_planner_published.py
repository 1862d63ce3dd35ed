"""The planner's core against published optima of published matrices.

Sources: TSPLIB95 (G. Reinelt, University of Heidelberg), files *.atsp and *.sop and its list of
best solutions: br17 39, ESC07 2125, ESC11 2075, ESC12 1675, br17.10 55, br17.12 55; larger ones
are in scripts/bench/planner_published.py. M. Held and R. M. Karp 1962, four nodes; J. D. C. Little
and others 1963, six cities: both retyped here, their optima checked by exhaustion in this file.
"""

from itertools import pairwise, permutations
from pathlib import Path

import pytest

from settingsdesk.planner.errors import NoOrderKeepsThis
from settingsdesk.planner.matrix import MatrixOrder, order_matrix
from settingsdesk.planner.plan import Status

LIMITS = {"time_limit_s": 300, "work_limit_s": 8}
"""The work decides; the clock is far off, so that a busy machine finds as much."""

DATA = Path(__file__).resolve().parents[3] / "shared" / "data"

Costs = list[list[int | None]]

HELD_KARP: Costs = [[None, 2, 9, 10], [1, None, 6, 4], [15, 7, None, 8], [6, 3, 12, None]]
LITTLE: Costs = [
    [None, 27, 43, 16, 30, 26],
    [7, None, 16, 1, 30, 25],
    [20, 13, None, 35, 5, 0],
    [21, 16, 25, None, 18, 18],
    [12, 46, 27, 48, None, 5],
    [23, 5, 5, 9, 5, None],
]


def published(name: str) -> Costs:
    """The matrix of an instance file; -1 says that the column comes before the row."""
    file = DATA / name
    if not file.is_file():
        pytest.skip(f"{file.name} is not here: it is kept in {DATA}")
    head, _, rest = file.read_text().partition("EDGE_WEIGHT_SECTION")
    size = next(int(line.split(":")[1]) for line in head.splitlines() if "DIMENSION" in line)
    numbers = [int(word) for word in rest.replace("EOF", "").split()][-size * size :]
    return [[None if i == j else numbers[i * size + j] for j in range(size)] for i in range(size)]


def sequencing(name: str) -> tuple[Costs, list[tuple[int, int]]]:
    costs = published(name)
    before = [(j, i) for i, row in enumerate(costs) for j, cost in enumerate(row) if cost == -1]
    return [[None if cost == -1 else cost for cost in row] for row in costs], before


def cost_of(costs: Costs, order: tuple[int, ...], *, closed: bool) -> int:
    steps = [*pairwise(order), *([(order[-1], order[0])] if closed else [])]
    return sum(costs[a][b] or 0 for a, b in steps)


def check(found: MatrixOrder, costs: Costs, optimum: int, *, closed: bool) -> None:
    """Reached, never undercut, and proven only where the bound says so."""
    assert sorted(found.order) == list(range(len(costs)))
    assert cost_of(costs, found.order, closed=closed) == found.cost == optimum
    assert found.bound <= optimum
    assert (found.status is Status.PROVEN) == (found.bound == optimum)


class TestClosedTours:
    def test_reach_the_published_optimum(self):
        """TSPLIB95, best solutions for the asymmetric problem."""
        costs = published("br17.atsp")

        found = order_matrix(costs, closed=True, **LIMITS)

        check(found, costs, 39, closed=True)
        assert found.status is Status.PROVEN

    @pytest.mark.parametrize(("costs", "optimum"), [(HELD_KARP, 21), (LITTLE, 63)])
    def test_of_small_matrices_are_proven(self, costs: Costs, optimum: int):
        """Held and Karp 1962; Little and others 1963."""
        tours = ((0, *rest) for rest in permutations(range(1, len(costs))))
        assert min(cost_of(costs, tour, closed=True) for tour in tours) == optimum

        found = order_matrix(costs, closed=True)

        check(found, costs, optimum, closed=True)
        assert found.status is Status.PROVEN


class TestPaths:
    @pytest.mark.parametrize(
        ("costs", "start", "optimum"),
        [(HELD_KARP, None, 12), (HELD_KARP, 0, 16), (LITTLE, None, 36), (LITTLE, 0, 53)],
    )
    def test_of_small_matrices_are_proven(self, costs: Costs, start: int | None, optimum: int):
        """The same matrices, not closed; optima by exhaustion here."""
        orders = (o for o in permutations(range(len(costs))) if start is None or o[0] == start)
        assert min(cost_of(costs, order, closed=False) for order in orders) == optimum

        found = order_matrix(costs, closed=False, start=start)

        check(found, costs, optimum, closed=False)
        assert found.status is Status.PROVEN


class TestPathsWithPrecedences:
    @pytest.mark.parametrize(
        ("name", "optimum"),
        [
            ("ESC07.sop", 2125),
            ("ESC11.sop", 2075),
            ("ESC12.sop", 1675),
            ("br17.10.sop", 55),
            ("br17.12.sop", 55),
        ],
    )
    def test_reach_the_published_optimum(self, name: str, optimum: int):
        """TSPLIB95, best solutions for sequential ordering."""
        costs, before = sequencing(name)

        found = order_matrix(costs, closed=False, start=0, before=before, **LIMITS)

        check(found, costs, optimum, closed=False)
        assert all(found.order.index(a) < found.order.index(b) for a, b in before)
        assert found.status is Status.PROVEN

    def test_that_contradict_each_other_are_refused(self):
        """Two rows, each before the other."""
        with pytest.raises(NoOrderKeepsThis, match="row 1 before row 2"):
            order_matrix(HELD_KARP, closed=False, start=0, before=[(1, 2), (2, 1)])
