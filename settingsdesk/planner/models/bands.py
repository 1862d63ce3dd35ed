"""One turn each with accepted deviations: the setups are chosen together with the order.

Two models. The first asks for the time alone: wherever the apparatus stands, everybody is served
who accepts that, since waiting for another stand saves no time. The second holds that time and asks
for the least deviation: of those who accept a stand, some may be served there and others elsewhere.
Where every move takes time ``walks`` answers that sooner; the second model is for moves that cost
nothing, and for squads that have too many walks of the least time.

With *parts*, all of one are served before any of another: wherever the apparatus stands, everybody
of the part that goes on is served who accepts that. What is still to come takes at least what is
left of that part from there, and every part that was not begun from anywhere; between two parts the
apparatus may stand still.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import reduce
from operator import add
from typing import Any

import didppy as dp  # type: ignore[import-untyped]  # the engine ships no types

from settingsdesk.planner.bounds.families import Family
from settingsdesk.planner.bounds.symmetric import HALVES
from settingsdesk.planner.search import Budget, Found, search

STATES_PER_SECOND_FOR_TIME = 9e7  # with one group and one transition
STATES_PER_SECOND_FOR_DEVIATION = 6e7


@dataclass(frozen=True, slots=True)
class Part:
    """Groups who go together, by number: a family of theirs, and what they take from anywhere."""

    groups: tuple[int, ...]
    family: Family
    least_s: int


@dataclass(frozen=True, slots=True)
class Bands:
    """Stand 0 is where the apparatus stands at the start; ``end_s`` leads to where it must end.

    ``deviation[stand][group]`` counts the stops for all athletes of the group, and is None where
    they do not accept the stand. ``parts``, where there are any, go one after the other, as listed
    or in any order.
    """

    costs: Sequence[Sequence[int]]
    end_s: Sequence[int]
    deviation: Sequence[Sequence[int | None]]
    family: Family
    parts: tuple[Part, ...] = ()
    in_order: bool = True

    @property
    def groups(self) -> range:
        return range(len(self.deviation[0]))

    def part_of(self, group: int) -> int:
        """The number of the part that a group is in; 0 where there are none."""
        return next((n for n, part in enumerate(self.parts) if group in part.groups), 0)

    def served(self, stand: int) -> list[int]:
        """The groups that accept a stand."""
        return [group for group in self.groups if self.deviation[stand][group] is not None]


def least_time(bands: Bands, budget: Budget, below: int | None) -> Found:
    """The stands to go to one after the other; each step is a stand's number."""
    model = time_model(bands)
    pace = STATES_PER_SECOND_FOR_TIME / (len(model.get_transitions()) * len(bands.groups))
    layers = -(-len(bands.groups) // 2)  # most stands serve several groups
    return search(model, budget, layers, pace, below=below)


def least_deviation(bands: Bands, budget: Budget, time_s: int, below: int) -> Found:
    """Of all plans of ``time_s`` one of least deviation ``below``; steps are "group stand".

    Found.cost and Found.bound count stops.
    """
    # Seconds weigh so much that no plan of more than ``time_s`` lies below the bar.
    weight = below + 1
    model = deviation_model(bands, weight)
    pace = STATES_PER_SECOND_FOR_DEVIATION / (len(model.get_transitions()) * len(bands.groups))
    found = search(model, budget, len(bands.groups), pace, below=weight * time_s + below)
    cost = None if found.cost is None else found.cost - weight * time_s
    return Found(found.steps, cost, max(0, found.bound - weight * time_s), found.proven)


def time_model(bands: Bands) -> Any:
    """From ``here``, go to a stand that serves somebody who is ``left``."""
    model, group, left, here = _begun(bands)
    if bands.parts:
        return _time_model_in_parts(bands, model, group, left, here)
    left_at_first = sorted(set(bands.groups) - set(bands.served(0)))
    model.set_target(left, left_at_first)
    cost = model.add_int_table(bands.costs)
    for stand in range(1, len(bands.costs)):
        served = model.create_set_const(object_type=group, value=bands.served(stand))
        model.add_transition(
            dp.Transition(
                name=str(stand),
                cost=cost[here, stand] + dp.IntExpr.state_cost(),
                effects=[(left, left - served), (here, stand)],
                preconditions=[~left.isdisjoint(served)],
            )
        )
    model.add_base_case([left.is_empty()], cost=model.add_int_table(bands.end_s)[here])
    model.add_dual_bound(seconds_at_least(model, bands.family, group, left, here))
    return model


def _time_model_in_parts(bands: Bands, model: Any, group: Any, left: Any, here: Any) -> Any:
    cost = model.add_int_table(bands.costs)
    members = [model.create_set_const(object_type=group, value=part.groups) for part in bands.parts]
    for stand in range(len(bands.costs)):
        for number, part in enumerate(bands.parts):
            there = [one for one in bands.served(stand) if one in part.groups]
            if not there:
                continue
            served = model.create_set_const(object_type=group, value=there)
            model.add_transition(
                dp.Transition(
                    name=f"{stand} {number}",
                    cost=cost[here, stand] + dp.IntExpr.state_cost(),
                    effects=[(left, left - served), (here, stand)],
                    preconditions=[
                        ~left.isdisjoint(served),
                        *_may_go(bands, number, members, left),
                    ],
                )
            )
    model.add_base_case([left.is_empty()], cost=model.add_int_table(bands.end_s)[here])
    model.add_dual_bound(_in_parts_at_least(bands, model, group, members, left, here))
    return model


def _may_go(bands: Bands, number: int, members: Sequence[Any], left: Any) -> Iterator[Any]:
    """What must hold of the other parts before somebody of a part is served."""
    for other, some in enumerate(members):
        if bands.in_order and other < number:
            yield left.isdisjoint(some)
        if not bands.in_order and other != number:
            yield left.isdisjoint(some) | some.issubset(left)


def _in_parts_at_least(
    bands: Bands, model: Any, group: Any, members: Sequence[Any], left: Any, here: Any
) -> Any:
    """See the module: what goes on from here, and what was not begun from anywhere."""
    return reduce(
        add,
        (
            some.issubset(left).if_then_else(
                part.least_s, seconds_at_least(model, part.family, group, left, here)
            )
            for part, some in zip(bands.parts, members, strict=True)
        ),
    )


def deviation_model(bands: Bands, weight: int) -> Any:
    """Serve a group that is ``left`` at a stand it accepts, ``weight`` stops to the second.

    At one stand groups are served in the order of their numbers: any other order is the same. So
    it is with parts in their order, whose groups are numbered part by part.
    """
    model, group, left, here = _begun(bands)
    latest = model.add_element_var(object_type=group, target=0)
    members = [model.create_set_const(object_type=group, value=part.groups) for part in bands.parts]
    cost = model.add_int_table([[weight * s for s in row] for row in bands.costs])
    for stand, deviation in enumerate(bands.deviation):
        for served in bands.served(stand):
            model.add_transition(
                dp.Transition(
                    name=f"{served} {stand}",
                    cost=cost[here, stand] + deviation[served] + dp.IntExpr.state_cost(),
                    effects=[(left, left.remove(served)), (here, stand), (latest, served)],
                    preconditions=[
                        left.contains(served),
                        *_may_go(bands, bands.part_of(served), members, left),
                        *([(here != stand) | (latest <= served)] if bands.in_order else []),
                    ],
                )
            )
    end = model.add_int_table([weight * s for s in bands.end_s])
    model.add_base_case([left.is_empty()], cost=end[here])
    at_least = seconds_at_least(model, bands.family, group, left, here)
    if members:
        at_least = _in_parts_at_least(bands, model, group, members, left, here)
    model.add_dual_bound(weight * at_least)
    return model


def _begun(bands: Bands) -> tuple[Any, Any, Any, Any]:
    model = dp.Model()
    group = model.add_object_type(number=len(bands.groups))
    stand = model.add_object_type(number=len(bands.costs))
    if bands.parts and not bands.in_order:  # who has begun a part must end it first
        left = model.add_set_var(object_type=group, target=list(bands.groups))
    else:
        # who has less left at the same stand pays no more: whatever serves the others serves these
        left = model.add_set_resource_var(
            object_type=group, target=list(bands.groups), less_is_better=True
        )
    here = model.add_element_var(object_type=stand, target=0)
    return model, group, left, here


def seconds_at_least(model: Any, family: Family, group: Any, left: Any, here: Any) -> Any:
    """What is still to come from ``here`` takes so long, as some are ``left``: ``bounds.families``.

    ``group`` is the kind of whom the family's boxes and ``left`` are numbers.
    """
    some = left & model.create_set_const(object_type=group, value=list(family.members))
    least = (
        dp.minimum_spanning_tree(some, model.add_int_table(family.weight))
        + model.add_int_table(family.leave).min(here, some)
        + model.add_int_table(family.close).min(some)
        - model.add_int_table([2 * price for price in family.price])[some]
    )
    seconds = dp.max(0, (least + (HALVES - 1)) // HALVES)
    return some.is_empty().if_then_else(0, seconds)
