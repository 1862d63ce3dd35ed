"""Small invented rotations, and the judge of small ones: every plan there is."""

import random
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise, permutations, product

import pytest

from settingsdesk.planner.evening import parts_in
from settingsdesk.planner.models.rounds import Group, Rounds
from settingsdesk.planner.plan import Plan, Turn
from settingsdesk.planner.problem import AxisTimes, Entrant, Goal, Problem, Setup, Unit, Wishes
from settingsdesk.planner.recount import broken_rules, count
from tests.planner.crews import Measured, Steps


def small_axis(rng: random.Random, name: str) -> AxisTimes:
    return AxisTimes(
        id=name,
        stops=rng.choice([3, 4, 6]),
        ends=rng.choice([1, 2, 2]),
        handling_s=rng.choice([0, 3, 8]),
        up_s=rng.choice([0, 1, 5]),
        down_s=rng.choice([1, 3]),
    )


def small_unit(rng: random.Random, name: str, athletes: int, turns: int, several: bool) -> Unit:
    half = -(-athletes // 2) * turns
    turns *= athletes
    axes = tuple(small_axis(rng, f"axis {n}") for n in range(rng.choice([1, 2, 3])))
    return Unit(
        id=name,
        axes=axes,
        any_move_s=rng.choice([0, 10, 45]),
        setup=small_setup(rng, axes),
        final_setup=small_setup(rng, axes) if rng.random() < 0.3 else None,
        turns_min=rng.choice([None, 1]) if several else None,
        turns_max=rng.choice([None, turns, half]) if several else None,
    )


def small_setup(rng: random.Random, axes: tuple[AxisTimes, ...]) -> tuple[int, ...]:
    return tuple(rng.randrange(axis.stops) for axis in axes)


def small_wishes(rng: random.Random, ids: list[str], turns: int) -> Wishes:
    pick = rng.sample(ids, len(ids))
    return Wishes(
        first=pick[0] if rng.random() < 0.25 else None,
        last=pick[-1] if rng.random() < 0.25 else None,
        before=tuple((a, b) for a, b in pairwise(pick) if rng.random() < 0.4),
        together=(tuple(rng.sample(ids, 2)),) if len(ids) > 2 and rng.random() < 0.3 else (),
        place={rng.choice(ids): rng.randint(1, turns)} if rng.random() < 0.3 else {},
    )


def small_problem(
    seed: str,
    *,
    athletes: int,
    units: int = 1,
    turns: int = 1,
    rest: int = 0,
    wishes: bool = False,
    bands: bool = False,
    goal: Goal = Goal.TOTAL,
    own_times: bool = False,
    groups: int = 0,
    **alike: bool,
) -> Problem:
    """A rotation of few setups, so that ties, twins and detours all occur.

    ``alike`` is what is asked of all turns alike, as ``in_rounds`` or ``one_setup``.
    """
    rng = random.Random(seed)  # noqa: S311  # invented rotations, nothing secret
    apparatus = [
        small_unit(rng, f"U{n + 1}", athletes, turns, 1 < units <= athletes) for n in range(units)
    ]
    if own_times:
        apparatus = [
            replace(unit, change_over=rng.choice([Measured(seed), Steps(7)])) for unit in apparatus
        ]
    ids = [f"a{n + 1}" for n in range(athletes)]
    pool = {unit.id: [small_setup(rng, unit.axes) for _ in range(athletes)] for unit in apparatus}
    entrants = []
    for name in ids:
        on = [unit for unit in apparatus if rng.random() < 0.85] or apparatus
        setups = {unit.id: rng.choice(pool[unit.id]) for unit in on}
        accepts = {
            unit.id: tuple(int(rng.random() < 0.3) for _ in unit.axes) for unit in on if bands
        }
        entrants.append(Entrant(name, setups, rng.choice([0, 60, 70]), accepts))
    parts = tuple(tuple(ids[n::groups]) for n in range(groups))
    wished = list(rng.choice(parts)) if parts else ids
    return Problem(
        apparatus=tuple(apparatus),
        athletes=tuple(entrants),
        turns=turns,
        rest_turns=rest if turns == 1 else min(rest, athletes // (groups or 1) - 1),
        wishes=small_wishes(rng, wished, len(wished) * turns) if wishes else Wishes(),
        groups=parts,
        goal=goal,
        **alike,
    )


def small_rounds(seed: str, most_turns: int) -> Rounds:
    """Few groups of unevenly many athletes, with rest; times like a hall's, or any at all."""
    rng = random.Random(seed)  # noqa: S311  # invented rotations, nothing secret
    groups: list[Group] = []
    while not 2 <= sum(group.turns for group in groups) <= most_turns:
        each = rng.choice([1, 2, 2, 3])
        groups = [
            Group(rng.choice([1, 1, 2, 2, 3, 4]), rng.choice([each, each, each, 1]))
            for _ in range(rng.choice([2, 3, 3, 4]))
        ]
    singles = [k for k, group in enumerate(groups, start=1) if group.members == 1]
    return Rounds(
        costs=small_costs(rng, len(groups) + 1),
        groups=groups,
        rest=rng.choice([1, 2, 2, 3, 4]),
        just_had=singles[:1] if rng.random() < 0.2 else (),
    )


def small_costs(rng: random.Random, size: int) -> list[list[int]]:
    """Half of them sums over an axis with a fixed part, half of them without any rule."""
    stops, fixed_s = [rng.randrange(6) for _ in range(size)], rng.choice([0, 5, 40])
    if rng.random() < 0.5:
        return [[fixed_s * (a != b) + max(3 * (b - a), a - b) for b in stops] for a in stops]
    return [[rng.randint(1, 40) * (a != b) for b in range(size)] for a in range(size)]


def every_order(problem: Problem) -> Iterator[tuple[Plan, Iterator[Plan]]]:
    """Everybody on every apparatus they can go on, in every order, at every accepted setup.

    With each order comes one plan that has it, and then all plans that do.
    """
    accepted = {
        unit.id: {one.id: _accepted(unit, one) for one in problem.athletes if unit.id in one.setups}
        for unit in problem.apparatus
    }
    for chosen in product(*(one.setups for one in problem.athletes)):
        orders = []
        for unit in problem.apparatus:
            there = [a for a, u in zip(problem.athletes, chosen, strict=True) if u == unit.id]
            turns = [one for one in there for _ in range(problem.turns_of(one))]
            ways = {tuple(one.id for one in order) for order in permutations(turns)}
            at_setups = accepted[unit.id]
            orders.append([_at_every_setup(at_setups, way) for way in ways])
        for parts in product(*orders):
            yield _plan(problem, [part[0] for part in parts]), _plans(problem, parts)


def _plans(problem: Problem, parts: Sequence[Sequence[tuple[Turn, ...]]]) -> Iterator[Plan]:
    return (_plan(problem, chosen) for chosen in product(*parts))


def _plan(problem: Problem, parts: Sequence[tuple[Turn, ...]]) -> Plan:
    return {unit.id: part for unit, part in zip(problem.apparatus, parts, strict=True)}


def _accepted(unit: Unit, one: Entrant) -> list[Setup]:
    """Every setup of an apparatus that an athlete accepts."""
    wanted, accepts = one.setups[unit.id], one.accepted(unit.id)
    return [
        setup
        for setup in product(*(range(axis.stops) for axis in unit.axes))
        if all(abs(a - w) <= d for a, w, d in zip(setup, wanted, accepts, strict=True))
    ]


def _at_every_setup(
    accepted: Mapping[str, list[Setup]], way: tuple[str, ...]
) -> list[tuple[Turn, ...]]:
    return [
        tuple(Turn(name, setup) for name, setup in zip(way, setups, strict=True))
        for setups in product(*(accepted[name] for name in way))
    ]


def least_by_trying_all(problem: Problem) -> tuple[int, int] | None:
    """The smallest goal in seconds and, at that goal, deviation in stops; None without a plan.

    Of those with the longest rest, where that is asked for. Whether turns, rest and wishes are kept
    hangs on the order alone, so it is asked once for each; only one setup for all of an athlete's
    turns does not.
    """
    costs = (
        (_rest_of_all(problem, plan), counted.goal_s(problem.goal), counted.deviation_stops)
        for order, plans in every_order(problem)
        if not broken_rules(problem, order)
        for plan in plans
        if not problem.one_setup or not broken_rules(problem, plan)
        for counted in [count(problem, plan)]
    )
    ranked = ((-rest if problem.longest_rest else 0, *rest_of) for rest, *rest_of in costs)
    least = min(ranked, default=None)
    return least and least[1:]


def _rest_of_all(problem: Problem, plan: Plan) -> int:
    """The least rest, or that of each group: none can have more by another having less."""
    parts = [(problem, plan)] if not problem.groups else parts_in(problem, plan)
    return sum(count(part, own).least_rest_turns or 0 for part, own in parts)


@pytest.fixture(scope="session")
def invent() -> Callable[..., Problem]:
    """``invent(seed, athletes=..., ...)`` makes a small rotation."""
    return small_problem


@pytest.fixture(scope="session")
def uneven_rounds() -> Callable[..., Rounds]:
    """``uneven_rounds(seed, most_turns=...)`` makes what several turns with rest are asked as."""
    return small_rounds


@pytest.fixture(scope="session")
def try_all() -> Callable[[Problem], tuple[int, int] | None]:
    """The judge: brute force."""
    return least_by_trying_all
