"""One turn each: visit every node once, from the start and to the end, at the least cost.

The nodes are the setups of a rotation (one node for all athletes of equal setup, where no wish
speaks of them) or simply the rows of a given matrix.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import didppy as dp  # type: ignore[import-untyped]  # the engine ships no types

from settingsdesk.planner.bounds.entries import Matrix, plain_entries, priced_entries
from settingsdesk.planner.bounds.prices import Visits
from settingsdesk.planner.bounds.symmetric import HALVES, Barred, dear_cost
from settingsdesk.planner.bounds.tree import Tree, priced_tree
from settingsdesk.planner.search import Budget, Found, pricing_steps, search

STATES_PER_SECOND = 9e7  # of one node; the tree takes the square of the nodes
MOST_PRICING_STEPS = 600


@dataclass(frozen=True, slots=True)
class Tour:
    """Costs with node 0 as start and end, and what an order of nodes 1 ... n - 1 must keep.

    ``before[j]`` holds the nodes that come before j, ``together`` sets of nodes that come one
    right after the other, ``place`` the nodes with a fixed place and ``latest`` the last possible
    place, counted from 1. ``barred``: arcs that no order has; what they cost does not matter.
    """

    costs: Matrix
    before: Mapping[int, frozenset[int]] = field(default_factory=dict)
    together: Sequence[frozenset[int]] = ()
    place: Mapping[int, int] = field(default_factory=dict)
    latest: Mapping[int, int] = field(default_factory=dict)
    barred: Barred = frozenset()

    @property
    def open(self) -> range:
        """The nodes to be visited."""
        return range(1, len(self.costs))


def cheapest_tour(tour: Tour, budget: Budget, below: int | None = None) -> Found:
    """The nodes in the cheapest order that keeps everything; each step is a node's number."""
    if not tour.open:
        return Found((), 0, 0, True)
    pace = STATES_PER_SECOND / len(tour.costs) ** 2
    most = max(20, min(MOST_PRICING_STEPS, 2_400_000 // len(tour.costs) ** 2))
    steps = pricing_steps(len(tour.costs) << len(tour.open), most)
    return search(tour_model(tour, steps), budget, len(tour.open), pace, below=below)


def tour_model(tour: Tour, steps: int = MOST_PRICING_STEPS) -> Any:
    """The model: from ``here``, go to a node that is ``left`` and may come now.

    The prices of its bounds are sought in so many steps.
    """
    model = dp.Model()
    node = model.add_object_type(number=len(tour.costs))
    left = model.add_set_var(object_type=node, target=list(tour.open))
    here = model.add_element_var(object_type=node, target=0)
    cost = model.add_int_table(tour.costs)
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
    _leave_no_one_behind(model, tour, node, left)
    _add_bounds(model, tour, node, left, here, steps)
    return model


def _leave_no_one_behind(model: Any, tour: Tour, node: Any, left: Any) -> None:
    """By every place, all who must have come by then still find places up to it."""
    for place in sorted(set(tour.latest.values())):
        due = [j for j in tour.open if tour.latest.get(j, len(tour.open)) <= place]
        gone = len(tour.open) - left.len()
        members = model.create_set_const(object_type=node, value=due)
        model.add_state_constr((left & members).len() + gone <= dp.max(place, gone))


def _may_come(model: Any, tour: Tour, node: Any, left: Any, here: Any, j: int) -> list[Any]:
    place_now = len(tour.costs) - left.len()
    rules = []
    gaps = [i for i, to in sorted(tour.barred) if to == j]
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
    gaps = [i for i, to in sorted(tour.barred) if to == 0]
    return [~model.create_set_const(object_type=node, value=gaps).contains(here)] if gaps else []


def _add_bounds(model: Any, tour: Tour, node: Any, left: Any, here: Any, steps: int) -> None:
    dear = dear_cost(tour.costs)
    costs = [
        [dear if (i, j) in tour.barred else cost for j, cost in enumerate(row)]
        for i, row in enumerate(tour.costs)
    ]
    once = [1] * len(costs)
    backwards = [list(column) for column in zip(*costs, strict=True)]
    for entries in (plain_entries(costs), priced_entries(costs, once, steps)):
        leaving = model.add_int_table(entries.leaving())
        model.add_dual_bound(leaving[here] + model.add_int_table(list(entries.entry))[left])
    # the same read backwards: every node, and the present one, must be left once
    exits = model.add_int_table(list(plain_entries(backwards).entry))
    model.add_dual_bound(exits[left] + exits[here])
    tree = priced_tree(tour.costs, Visits(once), steps, tour.barred, tour.together)
    groups = [
        model.create_set_const(object_type=node, value=sorted(group)) for group in tour.together
    ]
    model.add_dual_bound(_tree_bound(model, tree, groups, left, here))


def _tree_bound(model: Any, tree: Tree, groups: list[Any], left: Any, here: Any) -> Any:
    leave = model.add_int_table(tree.leave)
    close = model.add_int_table(tree.close)
    weight = model.add_int_table(tree.weight)
    prices = model.add_int_table(tree.visit)
    least = (
        dp.minimum_spanning_tree(left, weight)
        + leave.min(here, left)
        + close.min(left)
        - prices[left]
    )
    for group in groups:
        least += tree.forced * dp.max((left & group).len() - 1, 0)
    return left.is_empty().if_then_else(0, (least + (HALVES - 1)) // HALVES)
