"""Several turns each, with rest, on one apparatus: turn by turn, for groups who want one setup.

Who exactly of a group goes is settled afterwards: a sequence of groups can be dealt out to the
athletes if and only if no ``rest + 1`` turns in a row hold a group more often than it has members.
(If one did, somebody would go twice among them. If none does, letting the members go in rotation
puts at least ``rest`` turns between two of anybody's.) An athlete whom a wish names, or who has
just had a turn, is a group of one.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import reduce
from itertools import combinations, permutations
from operator import add, or_
from typing import Any

import didppy as dp  # type: ignore[import-untyped]  # the engine ships no types

from settingsdesk.planner.bounds.entries import Entries, Matrix, priced_entries
from settingsdesk.planner.bounds.prices import Few, Visits
from settingsdesk.planner.bounds.symmetric import HALVES
from settingsdesk.planner.bounds.tree import Tree, priced_tree
from settingsdesk.planner.search import Budget, Found, search

NOBODY = 0
STATES_PER_SECOND = 7.5e6  # of one group; the tree takes the square of the groups
PRICING_STEPS_PER_SECOND = 3e5  # so that they take no more than a third of the time
MOST_SETS = 200
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

    def few(self) -> list[Few]:
        """Sets of single athletes, no more than the rest is long, those nearest together first.

        Such a set is come into at least as often as any of its athletes has turns: one go of the
        set is at most ``rest`` turns long, and so holds nobody twice.
        """
        singles = [k for k in range(1, len(self.costs)) if self.is_single(k)]
        sets = [some for size in range(2, self.rest + 1) for some in combinations(singles, size)]

        def apart(some: tuple[int, ...]) -> float:
            pairs = list(permutations(some, 2))
            return sum(self.costs[a][b] for a, b in pairs) / len(pairs)

        return [
            Few(frozenset(some), max(self.groups[k - 1].turns for k in some))
            for some in sorted(sets, key=apart)[:MOST_SETS]
        ]


def cheapest_rounds(rounds: Rounds, budget: Budget, below: int | None = None) -> Found:
    """The groups turn by turn at the least cost; each step is a node's number."""
    groups = len(rounds.costs)
    steps = max(20, min(250, round(PRICING_STEPS_PER_SECOND * budget.work_s / groups**2)))
    model = RoundsModel(rounds, steps).model
    turns = sum(group.turns for group in rounds.groups)
    pace = STATES_PER_SECOND / groups**2
    return search(model, budget, turns, pace, below=below)


class RoundsModel:
    """The state: turns left per group, the last turns as far as they matter, the present setup.

    The prices of its bounds are sought in so many steps.
    """

    def __init__(self, rounds: Rounds, steps: int = 250):
        self.rounds = rounds
        self.nodes = range(1, len(rounds.groups) + 1)
        self.model = model = dp.Model()
        self.node = model.add_object_type(number=len(rounds.groups) + 1)
        self.here = model.add_element_var(object_type=self.node, target=0)
        self.open = model.add_set_var(object_type=self.node, target=list(self.nodes))
        self.left = {
            k: model.add_int_var(target=group.turns) for k, group in enumerate(rounds.groups, 1)
        }
        rested = [*rounds.just_had, *[NOBODY] * rounds.rest][: rounds.rest]
        self.recent = [model.add_element_var(object_type=self.node, target=k) for k in rested]
        self.total = sum(group.turns for group in rounds.groups)
        self.used = model.add_int_var(target=0)
        self.cost = model.add_int_table(rounds.costs)
        for k in self.nodes:
            self._add_turns(k)
        model.add_base_case([self.open.is_empty()], cost=self.cost[self.here, 0])
        self._keep_room_for_rest()
        self._add_bounds(steps)

    def _add_turns(self, k: int) -> None:
        left, group = self.left[k], self.rounds.groups[k - 1]
        rested = []
        if self.rounds.is_small(k):
            lately = [(recent == k).if_then_else(1, 0) for recent in self.recent]
            rested = [self.model.add_bool_state_fun(reduce(add, lately) < group.members)]
        for is_last in (True, False):
            # of those who can go on for ever, and of those who are done, nobody need remember
            kept = k if self.rounds.is_small(k) and not is_last else NOBODY
            self.model.add_transition(
                dp.Transition(
                    name=str(k),
                    cost=self.cost[self.here, k] + dp.IntExpr.state_cost(),
                    effects=[
                        (left, left - 1),
                        (self.here, k),
                        (self.used, self.used + 1),
                        *zip(self.recent, [kept, *self.recent], strict=False),
                        *([(self.open, self.open.remove(k))] if is_last else []),
                    ],
                    preconditions=[
                        left == 1 if is_last else left > 1,
                        *rested,
                        *self._wished(k),
                    ],
                )
            )

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
        return self.left[k] == self.rounds.groups[k - 1].turns

    def _keep_room_for_rest(self) -> None:
        """In R turns a small group gets at most its size in every ``rest + 1`` of them."""
        span = self.rounds.rest + 1
        remaining = self.model.add_int_state_fun(self.total - self.used)
        whole = self.model.add_int_state_fun(remaining // span)
        for k in self.nodes:
            size = self.rounds.groups[k - 1].members
            if self.rounds.is_small(k):
                most = whole * size + dp.min(size, remaining - whole * span)
                self.model.add_state_constr(self.left[k] <= most)

    def _runs_left(self, k: int) -> Any:
        """How often group k must still be come to; the run that goes on now is not counted."""
        left, size = self.left[k], self.rounds.groups[k - 1].members
        is_here = self.here == k
        if not self.rounds.is_small(k):
            return ((left > 0) & ~is_here).if_then_else(1, 0)
        # a run has at most ``size`` turns, and the present one has had some of them
        return (left + is_here.if_then_else(self._turns_in_a_row(k) - 1, size - 1)) // size

    def _turns_in_a_row(self, k: int) -> Any:
        """Turns of the run of group k that goes on now."""
        turns, goes_back = 1, None
        for recent in self.recent[1 : self.rounds.groups[k - 1].members]:
            goes_back = (recent == k) if goes_back is None else goes_back & (recent == k)
            turns += goes_back.if_then_else(1, 0)
        return turns

    def _entries_left(self, some: frozenset[int]) -> Any:
        """How often a set of single athletes must still be come into from outside.

        Each of them needs an entry per turn, save for a turn in the go of the set that is going on
        now. Only who has not been in that go can still have a turn in it.
        """
        entries = None
        for k in sorted(some):
            others = reduce(or_, (self.here == other for other in some if other != k))
            may_join = others & (self.recent[1] != k)
            needs = self.left[k] - may_join.if_then_else(1, 0)
            entries = needs if entries is None else dp.max(entries, needs)
        return entries

    def _add_bounds(self, steps: int) -> None:
        costs = self.rounds.costs
        self.runs = {k: self.model.add_int_state_fun(self._runs_left(k)) for k in self.nodes}
        visits = [1, *(self.rounds.runs(k) for k in self.nodes)]
        self._add_entries_bound(priced_entries(costs, visits, steps))
        if len(costs) <= MOST_GROUPS_IN_A_TREE:
            more = frozenset(k for k in self.nodes if not self.rounds.is_single(k))
            tree = priced_tree(costs, Visits(visits, more, self.rounds.few()), steps)
            self._add_tree_bound(tree)

    def _add_entries_bound(self, entries: Entries) -> None:
        bound = self.model.add_int_table(entries.leaving())[self.here]
        for k in self.nodes:
            bound += self.runs[k] * entries.entry[k]
        self.model.add_dual_bound(bound)

    def _add_tree_bound(self, tree: Tree) -> None:
        """See ``bounds.tree``: the present node belongs to the tree only if it is come to again."""
        weight = self.model.add_int_table(tree.weight)
        leave = self.model.add_int_table(tree.leave)
        close = self.model.add_int_table(tree.close)
        visit = self.model.add_int_table(tree.visit)
        others = self.open.remove(self.here)
        comes_again = [(self.here == k) & (self.runs[k] > 0) for k in self.nodes]
        with_here = dp.minimum_spanning_tree(self.open, weight)
        may_come_again = dp.min(
            dp.minimum_spanning_tree(others, weight),
            with_here - self.open.contains(self.here).if_then_else(visit[self.here], 0),
        )
        least = reduce(or_, comes_again).if_then_else(with_here, may_come_again)
        least += leave.min(self.here, others) + close.min(self.open)
        for k in self.nodes:
            least += self.runs[k] * (tree.again[k] - tree.visit[k])
            least -= (self.runs[k] > 0).if_then_else(tree.again[k], 0)
        for some, price in tree.few:
            least += price * self._entries_left(some)
        self.model.add_dual_bound(
            others.is_empty().if_then_else(0, (least + (HALVES - 1)) // HALVES)
        )
