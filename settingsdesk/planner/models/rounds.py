"""Several turns each, with rest, on one apparatus: for groups who want one setup.

Who exactly of a group goes is settled afterwards: a sequence of groups can be dealt out to the
athletes if and only if no ``rest + 1`` turns in a row hold a group more often than it has members.
(If one did, somebody would go twice among them. If none does, letting the members go in rotation
puts at least ``rest`` turns between two of anybody's.) An athlete whom a wish names, or who has
just had a turn, is a group of one.

Groups go turn by turn or in *blocks*. A group of no more than ``rest`` athletes can have no more
turns in a row than it has members, so it is come to at least as often as each of them has turns; a
larger one must be come to once. Where a group is come to no more often than that, every run of it
is a block: one turn of each member, or all turns of a larger group. A block may follow when the
last one of its group ended at least rest + 1 - members turns ago, the members going in the same
order in each. So only the end of each block matters, and only as long as its group has to wait.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import reduce
from itertools import permutations
from math import prod
from operator import add, and_, or_
from typing import Any

import didppy as dp  # type: ignore[import-untyped]  # the engine ships no types

from settingsdesk.planner.bounds.crowded import crowded_sets
from settingsdesk.planner.bounds.entries import Entries, Matrix, priced_entries
from settingsdesk.planner.bounds.once_more import least_with_one_more
from settingsdesk.planner.bounds.prices import Few, Visits
from settingsdesk.planner.bounds.symmetric import HALVES, symmetric
from settingsdesk.planner.bounds.tree import Tree, priced_tree
from settingsdesk.planner.search import Budget, Found, pricing_steps, search

NOBODY = 0
NO_GROUPS: frozenset[int] = frozenset()
STATES_PER_SECOND = 7.5e6  # of one group; the tree takes the square of the groups
PRICING_STEPS_PER_SECOND = 3e5  # so that they take no more than a third of the time
MOST_PRICING_STEPS = 500
MOST_GROUPS_IN_A_TREE = 100  # beyond, not even one plan would be reached in a few seconds


@dataclass(frozen=True, slots=True)
class Group:
    """Athletes of one setup, with as many turns each."""

    members: int
    turns_each: int

    @property
    def turns(self) -> int:
        return self.members * self.turns_each


@dataclass(frozen=True, slots=True)
class GroupWishes:
    """Wishes of groups of one, by their number; places are counted from 1."""

    first: int | None = None
    last: int | None = None
    before: Sequence[tuple[int, int]] = ()
    together: Sequence[Sequence[int]] = ()
    place: Mapping[int, int] = field(default_factory=dict)

    def __bool__(self) -> bool:
        return bool(self.first or self.last or self.before or self.together or self.place)


@dataclass(frozen=True, slots=True)
class Rounds:
    """Costs with node 0 as start and end; ``groups[k - 1]`` is node k.

    ``just_had`` holds the nodes of the last turns before the start, the latest first.
    """

    costs: Matrix
    groups: Sequence[Group]
    rest: int
    wishes: GroupWishes = field(default_factory=GroupWishes)
    just_had: Sequence[int] = ()

    def is_small(self, k: int) -> bool:
        """Whether the rest limits how long the group can go on."""
        return self.groups[k - 1].members <= self.rest

    def is_single(self, k: int) -> bool:
        """Whether the group is one athlete who must rest: it is come to for every single turn."""
        return self.rest > 0 and self.groups[k - 1].members == 1

    def runs(self, k: int) -> int:
        """How often the group must be come to at least."""
        group = self.groups[k - 1]
        return -(-group.turns // group.members) if self.is_small(k) else 1

    def block(self, k: int) -> int:
        """Turns of a run of the group where it is come to no more often than it must."""
        return self.groups[k - 1].turns // self.runs(k)

    def visits(self) -> list[int]:
        """How often each node must be come to at least, as the bounds ask for it."""
        return [1, *(self.runs(k) for k in self.nodes)]

    def crowded(self, nodes: Collection[int]) -> list[Few]:
        """Sets of these groups with no more athletes together than the rest is long."""
        members = {k: self.groups[k - 1].members for k in nodes if self.is_small(k)}
        each = [0, *(group.turns_each for group in self.groups)]
        return crowded_sets(self.costs, members, each, self.rest)

    @property
    def nodes(self) -> frozenset[int]:
        return frozenset(range(1, len(self.groups) + 1))


def cheapest_rounds(
    rounds: Rounds,
    budget: Budget,
    *,
    in_blocks: frozenset[int] = NO_GROUPS,
    below: int | None = None,
) -> Found:
    """The cheapest sequence in which these groups go in blocks; a step for each turn's node."""
    model = RoundsModel(rounds, _pricing_steps(rounds, budget), in_blocks)
    pace = STATES_PER_SECOND / len(rounds.costs) ** 2
    found = search(model.model, budget, sum(model.count.values()), pace, below=below)
    if found.steps is None:
        return found
    turns = [step for step in found.steps for _ in range(model.length[int(step)])]
    return replace(found, steps=tuple(turns))


def least_beside_blocks(rounds: Rounds, budget: Budget, below: int) -> dict[int, int]:
    """Per group that need not go in blocks, the seconds at least of plans in which it does not.

    Sought only up to ``below``.
    """
    nodes = [k for k in rounds.nodes if rounds.block(k) > 1 and len(rounds.groups) > 1]
    visits = Visits(rounds.visits(), frozenset(nodes), rounds.crowded(rounds.nodes))
    form = symmetric(rounds.costs, frozenset())
    return least_with_one_more(form, visits, nodes, below, _pricing_steps(rounds, budget))


def _pricing_steps(rounds: Rounds, budget: Budget) -> int:
    most = round(PRICING_STEPS_PER_SECOND * budget.work_s / len(rounds.costs) ** 2)
    states = len(rounds.costs) * prod(group.turns + 1 for group in rounds.groups)
    return pricing_steps(states, min(MOST_PRICING_STEPS, most))


class RoundsModel:
    """The state: runs or turns left per group, the last turns as far as they matter, the setup.

    ``in_blocks`` are the groups that go block by block; all others go turn by turn. The prices of
    its bounds are sought in so many steps.
    """

    def __init__(
        self, rounds: Rounds, steps: int = MOST_PRICING_STEPS, in_blocks: frozenset[int] = NO_GROUPS
    ):
        self.rounds = rounds
        self.nodes = sorted(rounds.nodes)
        self.sure = in_blocks | {k for k in self.nodes if rounds.is_single(k)}
        self.size = {k: rounds.groups[k - 1].members for k in self.nodes}
        self.length = {k: rounds.block(k) if k in self.sure else 1 for k in self.nodes}
        self.count = {k: rounds.groups[k - 1].turns // self.length[k] for k in self.nodes}
        self.model = model = dp.Model()
        self.node = model.add_object_type(number=len(rounds.groups) + 1)
        self.here = model.add_element_var(object_type=self.node, target=0)
        self.open = model.add_set_var(object_type=self.node, target=self.nodes)
        self.left = {k: model.add_int_var(target=self.count[k]) for k in self.nodes}
        rested = [*rounds.just_had, *[NOBODY] * rounds.rest][: rounds.rest]
        self.recent = [model.add_element_var(object_type=self.node, target=k) for k in rested]
        self.total = sum(group.turns for group in rounds.groups)
        self.used = model.add_int_var(target=0)
        self.cost = model.add_int_table(rounds.costs)
        self.kept = [self._kept_at(ago) for ago in range(rounds.rest)]
        for k in self.nodes:
            self._add_turns(k)
        model.add_base_case([self.open.is_empty()], cost=self.cost[self.here, 0])
        self._keep_room_for_rest()
        self._add_bounds(steps)

    def _kept_at(self, ago: int) -> Any:
        """Which groups' turns, or ends of blocks, must still be remembered so many turns later."""
        return self.model.add_element_table(
            [
                NOBODY,
                *(k if k not in self.sure or ago < self._wait(k) else NOBODY for k in self.nodes),
            ]
        )

    def _wait(self, k: int) -> int:
        """Turns between the end of a block of group k and the next one's begin, at least."""
        return max(0, self.rounds.rest + 1 - self.size[k])

    def _add_turns(self, k: int) -> None:
        left, length = self.left[k], self.length[k]
        for is_last in (True, False):
            # of those who can go on for ever, and of those who are done, nobody need remember
            kept = k if self.rounds.is_small(k) and not is_last else NOBODY
            now = [kept, *[NOBODY] * (length - 1)]
            before = [
                table[recent]
                for table, recent in zip(self.kept[length:], self.recent, strict=False)
            ]
            self.model.add_transition(
                dp.Transition(
                    name=str(k),
                    cost=self.cost[self.here, k] + dp.IntExpr.state_cost(),
                    effects=[
                        (left, left - 1),
                        (self.here, k),
                        (self.used, self.used + length),
                        *zip(self.recent, [*now, *before], strict=False),
                        *([(self.open, self.open.remove(k))] if is_last else []),
                    ],
                    preconditions=[
                        left == 1 if is_last else left > 1,
                        *self._rested(k),
                        *self._wished(k),
                    ],
                )
            )

    def _rested(self, k: int) -> list[Any]:
        if not self.rounds.is_small(k):
            return []
        if k in self.sure:
            return [self.recent[ago] != k for ago in range(self._wait(k))]
        lately = [(recent == k).if_then_else(1, 0) for recent in self.recent]
        return [self.model.add_bool_state_fun(reduce(add, lately) < self.size[k])]

    def _wished(self, k: int) -> list[Any]:
        wishes, then = self.rounds.wishes, self.used + self.length[k]
        begins = self._is_new(k)
        rules: list[Any] = []
        if wishes.first not in (None, k):
            rules.append(self.used > 0)
        if wishes.last not in (None, k):
            rules.append(then < self.total)
        for other, place in wishes.place.items():
            if other == k:
                now = self.used == place - 1
                rules.append((begins & now) | (~begins & ~now))
            else:
                rules.append((self.used >= place) | (then < place))
        rules += [~begins | ~self._is_new(a) for a, b in wishes.before if b == k]
        for group in wishes.together:
            waiting = [self._is_new(member).if_then_else(1, 0) for member in group]
            untouched = reduce(add, waiting)
            whole = (untouched == 0) | (untouched == len(group))
            rules.append(begins | whole if k in group else whole)
        return rules

    def _is_new(self, k: int) -> Any:
        return self.left[k] == self.count[k]

    def _keep_room_for_rest(self) -> None:
        """What is left of a small group, with its rest, fits into the turns that are left."""
        span = self.rounds.rest + 1
        remaining = self.model.add_int_state_fun(self.total - self.used)
        whole = self.model.add_int_state_fun(remaining // span)
        for k in self.nodes:
            size = self.size[k]
            if not self.rounds.is_small(k):
                continue
            if k not in self.sure:  # at most its size in every ``rest + 1`` turns
                most = whole * size + dp.min(size, remaining - whole * span)
                self.model.add_state_constr(self.left[k] <= most)
            elif self.count[k] > 1:  # its blocks begin ``rest + 1`` turns apart
                wait = self._wait(k)
                waits = [(self.recent[ago] == k).if_then_else(wait - ago, 0) for ago in range(wait)]
                needs = (self.left[k] - 1) * span + size + reduce(add, waits)
                self.model.add_state_constr(~self.open.contains(k) | (needs <= remaining))

    def _runs_left(self, k: int) -> Any:
        """How often group k must still be come to; the run that goes on now is not counted."""
        left, size = self.left[k], self.size[k]
        if k in self.sure:
            return left
        is_here = self.here == k
        if not self.rounds.is_small(k):
            return self.model.add_int_state_fun(((left > 0) & ~is_here).if_then_else(1, 0))
        # a run has at most ``size`` turns, and the present one has had some of them
        had = is_here.if_then_else(self._turns_in_a_row(k) - 1, size - 1)
        return self.model.add_int_state_fun((left + had) // size)

    def _turns_in_a_row(self, k: int) -> Any:
        """Turns of the run of group k that goes on now."""
        turns, goes_back = 1, None
        for recent in self.recent[1 : self.size[k]]:
            goes_back = (recent == k) if goes_back is None else goes_back & (recent == k)
            turns += goes_back.if_then_else(1, 0)
        return turns

    def _entries_left(self, some: frozenset[int]) -> Any:
        """How often a crowded set of groups in blocks must still be come into from outside.

        Each of them needs an entry per block, save for a block in the go of the set that is going
        on now. Only who has not been in that go can still have one in it.
        """
        needs = []
        for k in sorted(some):
            may_join = reduce(
                or_,
                (
                    reduce(and_, (~been for been in self._been(some, k, here)), self.here == here)
                    for here in sorted(some - {k})
                ),
            )
            needs.append(self.left[k] - may_join.if_then_else(1, 0))
        return dp.max(0, reduce(dp.max, needs))

    def _been(self, some: frozenset[int], k: int, here: int) -> list[Any]:
        """The ways in which k can have been in the go of the set that is now at ``here``."""
        inner = sorted(some - {k, here})
        orders = [order for count in range(len(inner) + 1) for order in permutations(inner, count)]
        ways = []
        for order in orders:
            ago, seen = self.size[here], []
            for group in (*order, k):
                seen.append(self.recent[ago] == group)
                ago += self.size[group]
            ways.append(reduce(and_, seen))
        return ways

    def _add_bounds(self, steps: int) -> None:
        costs, visits = self.rounds.costs, self.rounds.visits()
        self.runs = {k: self._runs_left(k) for k in self.nodes}
        self._add_entries_bound(priced_entries(costs, visits, steps))
        if len(costs) <= MOST_GROUPS_IN_A_TREE:
            more = self.rounds.nodes - self.sure
            asked = Visits(visits, more, self.rounds.crowded(self.sure))
            self._add_tree_bound(priced_tree(costs, asked, steps))

    def _add_entries_bound(self, entries: Entries) -> None:
        bound = self.model.add_int_table(entries.leaving())[self.here]
        for k in self.nodes:
            bound += self.runs[k] * entries.entry[k]
        self.model.add_dual_bound(bound)

    def _add_tree_bound(self, tree: Tree) -> None:
        """See ``bounds.tree``: the present node belongs to the tree only if it is come to again."""
        leave = self.model.add_int_table(tree.leave)
        close = self.model.add_int_table(tree.close)
        others = self.open.remove(self.here)
        least = self._tree(tree, others)
        least += leave.min(self.here, others) + close.min(self.open)
        once = [0] * len(
            tree.again
        )  # of the groups that are come to again as long as they are open
        for k in self.nodes:
            if k not in self.sure:
                least -= (self.runs[k] > 0).if_then_else(tree.again[k], 0)
            elif self.count[k] > 1:
                once[k] = tree.again[k]
            else:
                once[k] = tree.visit[k]
                continue
            least += self.runs[k] * (tree.again[k] - tree.visit[k])
        least -= self.model.add_int_table(once)[self.open]
        for some, price in tree.few:
            least += price * self._entries_left(some)
        self.model.add_dual_bound(
            others.is_empty().if_then_else(0, (least + (HALVES - 1)) // HALVES)
        )

    def _tree(self, tree: Tree, others: Any) -> Any:
        """The spanning tree of what is come to, with the present node where that is certain."""
        weight = self.model.add_int_table(tree.weight)
        with_here = dp.minimum_spanning_tree(self.open, weight)
        loose = [k for k in self.nodes if k not in self.sure]
        if not loose:
            return with_here
        visit = self.model.add_int_table(tree.visit)
        may_come_again = dp.min(
            dp.minimum_spanning_tree(others, weight),
            with_here - self.open.contains(self.here).if_then_else(visit[self.here], 0),
        )
        need_not = reduce(or_, ((self.here == k) & (self.runs[k] == 0) for k in loose))
        return need_not.if_then_else(may_come_again, with_here)
