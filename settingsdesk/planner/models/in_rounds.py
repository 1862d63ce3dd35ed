"""Several turns each in rounds, on one apparatus: nobody has the next turn before all had one.

Groups are those of ``models.rounds``, and they are dealt out in the same way: in each round every
member of a group has one turn, in the same order as in the round before. So a sequence of groups
can be dealt out if and only if no ``rest + 1`` turns in a row hold a group more often than it has
members.

The state: which groups have turns left in this round, and how many; the last turns, as far as the
rest makes them matter; the setup. A round is counted by how many there are still to come, itself
included: whoever has fewer turns begins in a later one.

The bound: of what is left of this round every group must be entered once more, save for the one
whose setup stands there, so the priced spanning tree of ``bounds.tree`` holds for it, with a free
end. Where a detour never saves time, no later round costs less than the cheapest way that visits
each of its groups once, from any of them to any other; that is sought once. Between two rounds the
apparatus may stand still, but that costs something too where every group has to rest: if the last
turn of a round and the first of the next are of one group, not all of its turns in that next round
can follow at once, or ``rest + 1`` turns in a row would hold it too often. So the next round comes
to that group again, and is at least as dear as the cheapest way and the move away from it, at its
beginning. If they are of two groups, there is the move from one to the other.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, reduce
from itertools import permutations
from operator import add
from typing import Any

import didppy as dp  # type: ignore[import-untyped]  # the engine ships no types

from settingsdesk.planner.bounds.entries import Matrix
from settingsdesk.planner.bounds.prices import Visits
from settingsdesk.planner.bounds.symmetric import HALVES
from settingsdesk.planner.bounds.tree import Tree, priced_tree
from settingsdesk.planner.models.rounds import NOBODY, Rounds
from settingsdesk.planner.models.tour import Tour, cheapest_tour
from settingsdesk.planner.search import Budget, Found, pricing_steps, search

STATES_PER_SECOND = 2e7  # of one group; the tree takes the square of the groups
MOST_PRICING_STEPS = 400
SHARE_OF_ONE_ROUND = 0.1
"""Of the work, for the cheapest way through a round by itself."""


def cheapest_in_rounds(
    rounds: Rounds, budget: Budget, *, below: int | None = None, by_short_cuts: bool = True
) -> Found:
    """The cheapest sequence; a step for each turn's node.

    ``by_short_cuts``: going by way of another setup never saves time.
    """
    model = InRoundsModel(rounds, budget.share(SHARE_OF_ONE_ROUND), by_short_cuts).model
    pace = STATES_PER_SECOND / len(rounds.costs) ** 2
    turns = sum(group.turns for group in rounds.groups)
    return search(model, budget.share(1 - SHARE_OF_ONE_ROUND), turns, pace, below=below)


@dataclass(frozen=True)
class OneRound:
    """A round by itself: who is in it, and what it costs at least from anywhere to anywhere.

    ``to_end_s`` is the same for the last round, whose end is that of the plan.
    """

    nodes: tuple[int, ...]
    least_s: int
    to_end_s: int


class InRoundsModel:
    """See the module. ``budget`` is for the cheapest way through a round by itself."""

    def __init__(self, rounds: Rounds, budget: Budget, by_short_cuts: bool = True):
        self.rounds, self.by_short_cuts = rounds, by_short_cuts
        self.groups = rounds.groups
        self.nodes = sorted(rounds.nodes)
        self.most = max(group.turns_each for group in self.groups)
        self.total = sum(group.turns for group in self.groups)
        self.small = [k for k in self.nodes if rounds.is_small(k)]
        self.ways = self._ways(budget)
        self.model = model = dp.Model()
        self.node = model.add_object_type(number=len(self.groups) + 1)
        self.here = model.add_element_var(object_type=self.node, target=0)
        numbers = model.add_object_type(number=self.most + 1)
        self.to_come = model.add_element_var(object_type=numbers, target=self.most)
        self.open = model.add_set_var(object_type=self.node, target=list(self.of(self.most).nodes))
        self.left = {
            k: model.add_int_var(target=self.members(k)) for k in self.nodes if self.members(k) > 1
        }
        self.used = model.add_int_var(target=0)
        rested = [*rounds.just_had, *[NOBODY] * rounds.rest][: rounds.rest]
        self.recent = [model.add_element_var(object_type=self.node, target=k) for k in rested]
        self.cost = model.add_int_table(rounds.costs)
        for k in self.nodes:
            self._add_turns(k)
        model.add_base_case([self.to_come == 0], cost=self.cost[self.here, 0])
        self._add_bounds()

    def members(self, k: int) -> int:
        return self.groups[k - 1].members

    def of(self, to_come: int) -> OneRound:
        """The round with which so many are still to come."""
        return self.ways[to_come]

    def _ways(self, budget: Budget) -> list[OneRound]:
        found: dict[tuple[int, ...], OneRound] = {(): OneRound((), 0, 0)}
        ways = [found[()]]
        for to_come in range(1, self.most + 1):
            nodes = tuple(k for k in self.nodes if self.groups[k - 1].turns_each >= to_come)
            if nodes not in found:
                found[nodes] = (
                    one_round(self.rounds.costs, nodes, budget)
                    if self.by_short_cuts
                    else OneRound(nodes, 0, 0)
                )
            ways.append(found[nodes])
        return ways

    def _add_turns(self, k: int) -> None:
        """A turn of group k: not its last one in this round, its last one, and the round's last."""
        left = self.left.get(k)
        here = [self.open.contains(k), *self._rested(k), *self._wished(k)]
        if left is not None:
            self._add(k, [left > 1, *here], [(left, left - 1)])
        last = [] if left is None else [left == 1]
        filled = [] if left is None else [(left, self.members(k))]
        others = self.open.len() > 1
        self._add(k, [*last, others, *here], [*filled, (self.open, self.open.remove(k))])
        for to_come in range(1, self.groups[k - 1].turns_each + 1):
            following = self.model.create_set_const(
                object_type=self.node, value=list(self.of(to_come - 1).nodes)
            )
            self._add(
                k,
                [*last, self.open.len() == 1, self.to_come == to_come, *here],
                [*filled, (self.open, following), (self.to_come, to_come - 1)],
            )

    def _add(self, k: int, rules: Sequence[Any], effects: Sequence[Any]) -> None:
        kept = k if k in self.small else NOBODY  # of all others nobody need remember
        self.model.add_transition(
            dp.Transition(
                name=str(k),
                cost=self.cost[self.here, k] + dp.IntExpr.state_cost(),
                effects=[
                    (self.here, k),
                    (self.used, self.used + 1),
                    *zip(self.recent, [kept, *self.recent], strict=False),
                    *effects,
                ],
                preconditions=list(rules),
            )
        )

    def _rested(self, k: int) -> list[Any]:
        if k not in self.small:
            return []
        lately = [(recent == k).if_then_else(1, 0) for recent in self.recent]
        return [self.model.add_bool_state_fun(reduce(add, lately) < self.members(k))]

    def _wished(self, k: int) -> list[Any]:
        wishes = self.rounds.wishes
        begins = self._is_new(k)
        rules: list[Any] = []
        if wishes.first not in (None, k):
            rules.append(self.used > 0)
        if wishes.last not in (None, k):
            rules.append(self.used < self.total - 1)
        for other, place in wishes.place.items():
            now = self.used == place - 1
            rules.append((begins & now) | (~begins & ~now) if other == k else ~now)
        rules += [~begins | ~self._is_new(a) for a, b in wishes.before if b == k]
        for group in wishes.together:
            waiting = [self._is_new(member).if_then_else(1, 0) for member in group]
            untouched = reduce(add, waiting)
            whole = (untouched == 0) | (untouched == len(group))
            rules.append(begins | whole if k in group else whole)
        return rules

    def _is_new(self, k: int) -> Any:
        """Whether a group of one has had no turn yet."""
        first = self.groups[k - 1].turns_each
        return (self.to_come > first) | ((self.to_come == first) & self.open.contains(k))

    def _add_bounds(self) -> None:
        later = [0]  # by rounds still to come, this one included: what those after it cost
        for to_come in range(1, self.most):
            way = self.of(to_come)
            later.append(
                later[-1] + (way.to_end_s if to_come == 1 else way.least_s) + self._between_s
            )
        later_s = self.model.add_int_table([0, *later])[self.to_come]
        self.model.add_dual_bound(later_s)  # where the tree says less
        free = _with_free_end(self.rounds.costs)
        self._add_tree_bound(free, later_s)
        if free != self.rounds.costs:
            self._add_tree_bound(self.rounds.costs, 0, only=self.to_come == 1)

    @cached_property
    def _between_s(self) -> int:
        """What it costs at least to go on to the next round, beyond the cheapest ways of both."""
        all_rest = len(self.small) == len(self.nodes) > 1
        if not all_rest or not self.by_short_cuts:
            return 0
        return min(self.rounds.costs[a][b] for a, b in permutations(self.nodes, 2))

    def _add_tree_bound(self, costs: Matrix, later_s: Any, only: Any = None) -> None:
        several = frozenset(self.left)
        states = len(costs) << len(self.nodes)
        steps = pricing_steps(states, MOST_PRICING_STEPS)
        tree = priced_tree(costs, Visits([1] * len(costs), several), steps)
        others = self.open.remove(self.here)
        least = self._tree(tree, others)
        seconds = dp.max(0, (least + (HALVES - 1)) // HALVES)
        bound = later_s + others.is_empty().if_then_else(0, seconds)
        self.model.add_dual_bound(bound if only is None else only.if_then_else(bound, 0))

    def _tree(self, tree: Tree, others: Any) -> Any:
        """The present group belongs to the tree only if it is come to again, which it may be."""
        leave = self.model.add_int_table(tree.leave)
        close = self.model.add_int_table(tree.close)
        visit = self.model.add_int_table(tree.visit)
        weight = self.model.add_int_table(tree.weight)
        with_here = dp.minimum_spanning_tree(self.open, weight)
        again = self.open.contains(self.here).if_then_else(visit[self.here], 0)
        return (
            dp.min(dp.minimum_spanning_tree(others, weight), with_here - again)
            + leave.min(self.here, others)
            + close.min(self.open)
            - visit[others]
        )


def one_round(costs: Matrix, nodes: Sequence[int], budget: Budget) -> OneRound:
    """What the cheapest way through these nodes costs at least, from any of them."""
    inner = [[costs[a][b] for b in nodes] for a in nodes]
    free = [[0] * (len(nodes) + 1), *([0, *row] for row in inner)]
    to_end = [free[0], *([costs[a][0], *row] for a, row in zip(nodes, inner, strict=True))]
    least = cheapest_tour(Tour(free), budget.share(0.5))
    ending = least if to_end == free else cheapest_tour(Tour(to_end), budget.share(0.5))
    return OneRound(tuple(nodes), least.bound, ending.bound)


def _with_free_end(costs: Matrix) -> list[list[int]]:
    return [[0, *row[1:]] for row in costs]
