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
4. *More visits than needed* cannot lower this where again(k) >= visit(k), with visit(k) what is
   taken away for each visit: 2 q(k), and the prices of the sets of step 6 that k is in. That is
   kept for every node that may be visited more often than it must, and again(k) - visit(k) is what
   each visit beyond raises the bound by.
5. *Groups that stay together.* The part of a route that is still to come has, of each group, one
   edge less than members left between two of its members. Making every such edge cheaper by
   ``FORCED`` and adding that again, once per such edge, changes nothing for the route, but the
   tree can no longer do without these edges.
6. *Few.* Let the part of the route that is still to come, of which its first edge starts at h,
   come into a set of nodes from outside at least e times. Every visit of the set is entered by an
   edge from outside or by one from within, so at most as many edges lie within as there are
   visits, less e. So for any m >= 0 make every edge within the set dearer by m, the first one too,
   take m away again for each visit and add it e times: the route costs no less than that. Steps 3
   and 4 hold for the dearer edges as they stand.

All weights are whole numbers, ``SCALE`` to half a second, so nothing is lost to rounding.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from settingsdesk.planner.bounds.entries import Matrix
from settingsdesk.planner.bounds.prices import Visits, add_few, best_prices, priced_weights
from settingsdesk.planner.bounds.symmetric import (
    HALVES,
    SCALE,
    Barred,
    dear_cost,
    kept_together,
    symmetric,
)


@dataclass(frozen=True, slots=True)
class Tree:
    """The tables of the argument, in 1/20 s. Row and column 0 of ``weight`` are not used.

    ``visit`` is what is taken away for each visit; ``few`` holds the sets of step 6 that have a
    price, with that price.
    """

    weight: list[list[int]]
    leave: list[list[int]]
    close: list[int]
    visit: list[int]
    again: list[int]
    forced: int
    few: list[tuple[frozenset[int], int]]


def priced_tree(
    costs: Matrix,
    visits: Visits,
    rounds: int,
    barred: Barred = frozenset(),
    together: Sequence[frozenset[int]] = (),
) -> Tree:
    """Prices that make the tree bound large at the start of the route.

    No route uses an arc of ``barred``, and each group of ``together`` is visited in one go.
    """
    form = kept_together(symmetric(costs, barred), together, forced=2 * dear_cost(costs))
    # where the sets ask what no route can do, the bound would rise for ever
    enough = HALVES * sum(visits.of) * dear_cost(costs)
    prices = best_prices(form, visits, rounds, enough=enough)
    nodes = range(len(costs))
    weight = priced_weights(form, prices, visits.few)
    leave = [[SCALE * s + q for s, q in zip(row, prices.node, strict=True)] for row in form.leave]
    add_few(leave, prices, visits.few)
    sets = list(zip(visits.few, prices.few, strict=True))
    return Tree(
        weight=weight,
        leave=leave,
        close=[SCALE * s + q for s, q in zip(form.close, prices.node, strict=True)],
        visit=[2 * prices.node[k] + sum(m for some, m in sets if k in some.nodes) for k in nodes],
        again=[min((weight[i][k] for i in nodes[1:] if i != k and k), default=0) for k in nodes],
        forced=SCALE * form.forced,
        few=[(some.nodes, m) for some, m in sets if m],
    )
