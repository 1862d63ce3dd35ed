"""One turn each on one of several apparatus, which are filled one after the other.

A step brings some athletes of a group, who want the same everywhere, to the apparatus filled now,
or goes on to the next one. Numbers of athletes per group and apparatus are all that matters, since
the athletes of a group on one apparatus are best taken in one go.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import reduce
from math import prod
from operator import add
from typing import Any

import didppy as dp  # type: ignore[import-untyped]  # the engine ships no types

from settingsdesk.planner.bounds.forest import Paths, priced_forest
from settingsdesk.planner.bounds.symmetric import HALVES
from settingsdesk.planner.search import Budget, Found, pricing_steps, search

NEXT = "next apparatus"
STATES_PER_SECOND = 1.1e7  # with one transition
MOST_PRICING_STEPS = 150


@dataclass(frozen=True, slots=True)
class Units:
    """``paths[y].costs``: row and column 0 are the first and last setup, k is ``groups[k - 1]``.

    ``sizes`` and ``turn_s`` are per group, ``rooms`` the least and largest number per apparatus.
    ``busy``: the goal is the end of the last apparatus, not all change-overs together.
    """

    paths: Sequence[Paths]
    sizes: Sequence[int]
    turn_s: Sequence[int]
    rooms: Sequence[tuple[int, int]]
    busy: bool


def cheapest_units(units: Units, budget: Budget, below: int | None) -> Found:
    """Steps are "group number-of-athletes" or ``NEXT``."""
    layers = len(units.sizes) + 2 * len(units.paths)
    states = len(units.paths) * len(units.sizes) * prod(size + 1 for size in units.sizes)
    model = UnitsModel(units, pricing_steps(states, MOST_PRICING_STEPS)).model
    pace = STATES_PER_SECOND / len(model.get_transitions())
    return search(model, budget, layers, pace, below=below, largest=units.busy)


class UnitsModel:
    """The state: who waits, which apparatus is filled, where it stands and how long it is busy.

    The prices of its bounds are sought in so many steps.
    """

    def __init__(self, units: Units, steps: int = MOST_PRICING_STEPS):
        self.units = units
        self.count = len(units.paths)
        self.groups = range(1, len(units.sizes) + 1)
        self.model = model = dp.Model()
        # beyond the groups there is one number for the root of the bound at each ``here``
        self.node = model.add_object_type(number=2 * (len(units.sizes) + 1))
        apparatus = model.add_object_type(number=self.count)
        self.open = model.add_set_var(object_type=self.node, target=list(self.groups))
        self.left = {k: model.add_int_var(target=units.sizes[k - 1]) for k in self.groups}
        self.here = model.add_element_var(object_type=self.node, target=0)
        self.unit = model.add_element_var(object_type=apparatus, target=0)
        self.used = model.add_int_var(target=0)
        self.waiting = model.add_int_var(target=sum(units.sizes))
        self.spent = model.add_int_resource_var(target=0, less_is_better=True)
        self.cost = model.add_int_table([path.costs for path in units.paths])
        for y in range(self.count):
            for k in self.groups:
                if (0, k) not in units.paths[y].barred:
                    self._add_visits(y, k)
        for y in range(self.count - 1):
            self._add_next(y)
        self._add_end()
        self._keep_room()
        self._add_bounds(steps)

    def _price(self, seconds: Any) -> Any:
        state = dp.IntExpr.state_cost()
        return state if self.units.busy else seconds + state

    def _spent(self, seconds: Any, turns_s: int) -> Any:
        return self.spent + seconds + turns_s if self.units.busy else self.spent

    def _add_visits(self, y: int, k: int) -> None:
        left = self.left[k]
        seconds = self.cost[y, self.here, k]
        for some in range(1, self.units.sizes[k - 1] + 1):
            for is_last in (True, False):
                self.model.add_transition(
                    dp.Transition(
                        name=f"{k} {some}",
                        cost=self._price(seconds),
                        effects=[
                            (left, left - some),
                            (self.here, k),
                            (self.used, self.used + some),
                            (self.waiting, self.waiting - some),
                            (self.spent, self._spent(seconds, some * self.units.turn_s[k - 1])),
                            *([(self.open, self.open.remove(k))] if is_last else []),
                        ],
                        preconditions=[
                            self.unit == y,
                            left == some if is_last else left > some,
                            self.here != k,
                            self.used + some <= self.units.rooms[y][1],
                        ],
                    )
                )

    def _add_next(self, y: int) -> None:
        seconds = self.cost[y, self.here, 0]
        price = self._price(seconds)
        if self.units.busy:
            price = dp.max(self.spent + seconds, dp.IntExpr.state_cost())
        self.model.add_transition(
            dp.Transition(
                name=NEXT,
                cost=price,
                effects=[
                    (self.unit, y + 1),
                    (self.here, 0),
                    (self.used, 0),
                    (self.spent, 0),
                ],
                preconditions=[self.unit == y, self.used >= self.units.rooms[y][0]],
            )
        )

    def _add_end(self) -> None:
        last = self.count - 1
        seconds = self.cost[last, self.here, 0]
        self.model.add_base_case(
            [self.unit == last, self.waiting == 0, self.used >= self.units.rooms[last][0]],
            cost=self.spent + seconds if self.units.busy else seconds,
        )

    def _keep_room(self) -> None:
        """Those who wait fit on this and the later apparatus, and are enough for the later ones."""
        for y in range(self.count):
            later = self.units.rooms[y + 1 :]
            room = self.units.rooms[y][1] + sum(most for _, most in later)
            enough = sum(least for least, _ in later)
            elsewhere = self.unit != y
            self.model.add_state_constr(elsewhere | (self.waiting + self.used <= room))
            self.model.add_state_constr(elsewhere | (self.waiting >= enough))

    def _add_bounds(self, steps: int) -> None:
        self.model.add_dual_bound(self.spent if self.units.busy else 0)
        forest = priced_forest(self.units.paths, steps)
        if forest is None:
            return
        prices = self.model.add_int_table(
            [2 * price for price in [*forest.price, *[0] * len(forest.price)]]
        )
        root = self.here + len(forest.price)
        for y in range(self.count):
            weight = self.model.add_int_table(forest.weight[y])
            least = dp.minimum_spanning_tree(self.open.add(root), weight) - prices[self.open]
            seconds = dp.max(0, (least + forest.added[y] + (HALVES - 1)) // HALVES)
            if self.units.busy:
                seconds = self._shared_out(y, seconds)
            self.model.add_dual_bound((self.unit == y).if_then_else(seconds, 0))

    def _shared_out(self, y: int, seconds: Any) -> Any:
        """All that is left, spread evenly over this and the later apparatus."""
        turns_s = reduce(add, (self.left[k] * self.units.turn_s[k - 1] for k in self.groups))
        units = self.count - y
        return (self.spent + turns_s + seconds + (units - 1)) // units
