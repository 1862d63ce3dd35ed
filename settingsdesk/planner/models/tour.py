"""One turn each: visit every node once, from the start and to the end, at the least cost.

The nodes are the setups of a rotation (one node for all athletes of equal setup, where no wish
speaks of them) or simply the rows of a given matrix.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import didppy as dp  # type: ignore[import-untyped]  # the engine ships no types

from settingsdesk.planner.bounds.entries import Matrix, plain_entries, priced_entries
from settingsdesk.planner.bounds.tree import HALVES, Tree, priced_tree
from settingsdesk.planner.search import Budget, Found, search


@dataclass(frozen=True, slots=True)
class Tour:
    """Costs with node 0 as start and end, and what an order of nodes 1 ... n - 1 must keep.

    ``before[j]`` holds the nodes that come before j, ``together`` sets of nodes that come one
    right after the other, ``place`` the nodes with a fixed place, counted from 1. A cost of None
    may not be used.
    """

    costs: Sequence[Sequence[int | None]]
    before: Mapping[int, frozenset[int]] = field(default_factory=dict)
    together: Sequence[frozenset[int]] = ()
    place: Mapping[int, int] = field(default_factory=dict)

    @property
    def open(self) -> range:
        """The nodes to be visited."""
        return range(1, len(self.costs))


def cheapest_tour(tour: Tour, budget: Budget, below: int | None = None) -> Found:
    """The nodes in the cheapest order that keeps everything; each step is a node's number."""
    if not tour.open:
        return Found((), 0, 0, True)
    return search(tour_model(tour), budget, len(tour.open), below=below)


def tour_model(tour: Tour) -> Any:
    """The model: from ``here``, go to a node that is ``left`` and may come now."""
    costs = _without_gaps(tour.costs)
    model = dp.Model()
    node = model.add_object_type(number=len(costs))
    left = model.add_set_var(object_type=node, target=list(tour.open))
    here = model.add_element_var(object_type=node, target=0)
    cost = model.add_int_table(costs)
    for j in tour.open:
        model.add_transition(
            dp.Transition(
                name=str(j),
                cost=cost[here, j] + dp.IntExpr.state_cost(),
                effects=[(left, left.remove(j)), (here, j)],
                preconditions=[left.contains(j), *_may_come(model, tour, node, left, here, j)],
            )
        )
    model.add_base_case([left.is_empty(), *_may_end(model, tour, node, here)], cost=cost[here, 0])
    _add_bounds(model, costs, left, here)
    return model


def _without_gaps(costs: Sequence[Sequence[int | None]]) -> list[list[int]]:
    """Costs that may not be used are dearer than any tour, so that bounds stay whole numbers."""
    known = [cost for row in costs for cost in row if cost is not None]
    dear = 2 * max(known, default=0) + 1
    return [[dear if cost is None else cost for cost in row] for row in costs]


def _may_come(model: Any, tour: Tour, node: Any, left: Any, here: Any, j: int) -> list[Any]:
    place_now = len(tour.costs) - left.len()
    rules = []
    gaps = [i for i, row in enumerate(tour.costs) if i != j and row[j] is None]
    if gaps:
        rules.append(~model.create_set_const(object_type=node, value=gaps).contains(here))
    if tour.before.get(j):
        earlier = model.create_set_const(object_type=node, value=sorted(tour.before[j]))
        rules.append((left & earlier).is_empty())
    for group in tour.together:
        if j not in group:  # nobody from outside while the group is begun and not done
            members = model.create_set_const(object_type=node, value=sorted(group))
            rules.append(members.issubset(left) | (left & members).is_empty())
    for other, place in tour.place.items():
        rules.append(place_now == place if other == j else place_now != place)
    return rules


def _may_end(model: Any, tour: Tour, node: Any, here: Any) -> list[Any]:
    gaps = [i for i, row in enumerate(tour.costs) if i and row[0] is None]
    return [~model.create_set_const(object_type=node, value=gaps).contains(here)] if gaps else []


def _add_bounds(model: Any, costs: Matrix, left: Any, here: Any) -> None:
    once = [1] * len(costs)
    backwards = [list(column) for column in zip(*costs, strict=True)]
    rounds = max(20, min(300, 1_200_000 // len(costs) ** 2))
    for entries in (plain_entries(costs), priced_entries(costs, once, rounds)):
        leaving = model.add_int_table(entries.leaving())
        model.add_dual_bound(leaving[here] + model.add_int_table(list(entries.entry))[left])
    # the same read backwards: every node, and the present one, must be left once
    exits = model.add_int_table(list(plain_entries(backwards).entry))
    model.add_dual_bound(exits[left] + exits[here])
    tree = priced_tree(costs, once, [False] * len(costs), rounds)
    model.add_dual_bound(_tree_bound(model, tree, left, here))


def _tree_bound(model: Any, tree: Tree, left: Any, here: Any) -> Any:
    leave = model.add_int_table(tree.leave)
    close = model.add_int_table(tree.close)
    weight = model.add_int_table(tree.weight)
    prices = model.add_int_table([2 * price for price in tree.price])
    least = (
        dp.minimum_spanning_tree(left, weight)
        + leave.min(here, left)
        + close.min(left)
        - prices[left]
    )
    return left.is_empty().if_then_else(0, (least + (HALVES - 1)) // HALVES)
