"""Invented squads for the planner's benchmarks: seeded, so that every run meets the same ones.

Realistic: 33 to 58 % of the athletes want different setups, unevenly shared; bigger athletes want
wider rails, and a little higher. Distinct: everybody wants something else, anywhere on the scales.
"""

import random
from collections.abc import Sequence
from dataclasses import replace

from settingsdesk.planner.problem import AxisTimes, Entrant, Goal, Problem, Setup, Unit, Wishes

STOPS = (9, 9, 20)


def rotation(seed: str, athletes: int, *, distinct: bool = False, units: int = 1) -> Problem:
    """One turn each, no wishes, from a present setup of some athlete's size."""
    rng = random.Random(f"{seed} {athletes} {distinct} {units}")  # invented squads
    apparatus = tuple(_unit(rng, f"bars {number + 1}") for number in range(units))
    shifts = [_shift(rng) if number else (0, 0, 0) for number in range(units)]
    if distinct:
        wanted = [[_anywhere(rng) for _ in apparatus] for _ in range(3 * athletes)]
        wanted = list({tuple(one): one for one in wanted}.values())[:athletes]
    else:
        wanted = _shared(rng, athletes, shifts)
    entrants = tuple(
        Entrant(
            id=f"a{number:02d}",
            setups={unit.id: one for unit, one in zip(apparatus, setups, strict=True)},
            turn_s=70,
        )
        for number, setups in enumerate(wanted, start=1)
    )
    return Problem(apparatus, entrants)


def with_turns(problem: Problem, turns: int, rest: int) -> Problem:
    """The same squad with several turns each."""
    return replace(problem, turns=turns, rest_turns=rest)


def with_wishes(problem: Problem, seed: str, *, pairs: int = 8, places: int = 2) -> Problem:
    """First, last, pairs, two groups of two and fixed places, all true of one hidden order."""
    rng = random.Random(seed)  # invented squads
    hidden = [one.id for one in problem.athletes]
    rng.shuffle(hidden)
    count = len(hidden)
    before = {tuple(sorted(rng.sample(range(count), 2))) for _ in range(pairs)}
    begins = rng.sample(range(1, count - 2, 2), 2)
    wishes = Wishes(
        first=hidden[0],
        last=hidden[-1],
        before=tuple((hidden[a], hidden[b]) for a, b in sorted(before)),
        together=tuple((hidden[a], hidden[a + 1]) for a in begins),
        place={hidden[a]: a + 1 for a in rng.sample(range(1, count - 1), places)},
    )
    return replace(problem, wishes=wishes)


def with_deviations(problem: Problem, seed: str) -> Problem:
    """About a third accept one stop on a rail, two thirds one stop of spread."""
    rng = random.Random(seed)  # invented squads
    athletes = tuple(
        replace(
            one,
            accepts={
                unit.id: (
                    int(rng.random() < 0.35),
                    int(rng.random() < 0.35),
                    int(rng.random() < 0.7),
                )
                for unit in problem.apparatus
            },
        )
        for one in problem.athletes
    )
    return replace(problem, athletes=athletes)


def with_goal(problem: Problem, goal: Goal) -> Problem:
    """The same squad on its apparatus in shares that differ by a few athletes at most."""
    share, spare = (
        len(problem.athletes) // len(problem.apparatus),
        max(1, len(problem.athletes) // 12),
    )
    apparatus = tuple(
        replace(unit, turns_min=share - spare, turns_max=share + 1 + spare)
        for unit in problem.apparatus
    )
    return replace(problem, apparatus=apparatus, goal=goal)


def _unit(rng: random.Random, name: str) -> Unit:
    up, handling = rng.randint(3, 6), rng.randint(6, 10)
    low = AxisTimes("low rail", STOPS[0], 2, handling, up, rng.randint(2, up - 1))
    pace = rng.randint(1, 2)
    return Unit(
        id=name,
        axes=(
            low,
            replace(low, id="high rail", stops=STOPS[1]),
            AxisTimes("spread", STOPS[2], 2, rng.randint(4, 8), pace, pace),
        ),
        any_move_s=rng.randint(30, 60),
        setup=_for_size(rng, rng.gauss(0, 1), (0, 0, 0)),
    )


def _shift(rng: random.Random) -> Setup:
    return (rng.choice((-1, 0, 1)), rng.choice((-1, 0, 1)), rng.randint(-3, 3))


def _for_size(rng: random.Random, size: float, shift: Setup) -> Setup:
    middle = (4 + 0.7 * size, 4 + 0.7 * size, 9 + 3.2 * size)
    return tuple(
        max(0, min(stops - 1, round(centre + moved + rng.gauss(0, spread))))
        for centre, moved, spread, stops in zip(middle, shift, (0.6, 0.6, 1.3), STOPS, strict=True)
    )


def _anywhere(rng: random.Random) -> Setup:
    return tuple(rng.randrange(stops) for stops in STOPS)


def _shared(rng: random.Random, athletes: int, shifts: Sequence[Setup]) -> list[list[Setup]]:
    kinds: dict[Setup, list[Setup]] = {}
    asked = max(3, round(athletes * rng.uniform(0.33, 0.58)))
    while len(kinds) < asked:
        size = rng.gauss(0, 1)
        setups = [_for_size(rng, size, shift) for shift in shifts]
        kinds.setdefault(setups[0], setups)
    share = [1 / (rank + 1) ** 0.8 for rank in range(asked)]
    wanted = [*kinds.values(), *rng.choices(list(kinds.values()), share, k=athletes - asked)]
    rng.shuffle(wanted)
    return wanted
