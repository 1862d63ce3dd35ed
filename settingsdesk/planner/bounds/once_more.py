"""What a route costs at least that visits a node once more than it must.

The bound of ``bounds.tree`` holds for at least so many visits of each node. Ask one visit more of
node k, and it bounds all routes that visit k more often than they must, whatever else they do. The
prices that are good without it say already by how much it rises at least; where that is not enough,
others are sought for this one node.
"""

from collections.abc import Collection
from dataclasses import replace

from settingsdesk.planner.bounds.prices import Visits, best_prices, rise_with_one_more
from settingsdesk.planner.bounds.symmetric import HALVES, Symmetric


def least_with_one_more(
    form: Symmetric, visits: Visits, nodes: Collection[int], below: int, rounds: int
) -> dict[int, int]:
    """Seconds for each of ``nodes``, all of which may be visited more often.

    Sought only up to ``below``.
    """
    enough = HALVES * (below - 1) + 1
    prices = best_prices(form, visits, rounds, enough=enough)
    rise = rise_with_one_more(form, visits, prices)
    bound = {k: prices.bound + rise[k] for k in nodes}
    open_nodes = [k for k in nodes if bound[k] < enough]
    for k in open_nodes:
        of = [times + (node == k) for node, times in enumerate(visits.of)]
        again = best_prices(form, replace(visits, of=of), rounds, begin=prices, enough=enough)
        bound[k] = max(bound[k], again.bound)
    return {k: -(-halves // HALVES) for k, halves in bound.items()}
