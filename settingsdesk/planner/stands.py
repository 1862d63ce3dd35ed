"""Where an apparatus may stand: the setups worth considering.

Where change-over times are sums over the axes, it is enough to look, per axis, at the stops that
somebody wants, at the ends of what somebody accepts, and at the first and last setup. Argument: fix
which athletes come when, and on which axes each change-over moves, and which way. Then time and
deviation are, axis by axis, a piecewise linear function of the stops with bends only at those
values and where two neighbouring stops become equal, which saves and never costs time. So a group
of equal stops that lies at none of those values can be shifted one way without loss until it does.
Where the change-over time is given otherwise, every accepted stop is looked at.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

from settingsdesk.planner.problem import Entrant, Problem, Setup, Unit


@dataclass(frozen=True, slots=True)
class Stand:
    """One apparatus at one setup."""

    unit_number: int
    unit: Unit
    setup: Setup

    def seconds_to(self, other: "Stand") -> int:
        """Change-over time to another stand of the same apparatus; 0 between two apparatus."""
        return self.unit.seconds(self.setup, other.setup) if self.unit is other.unit else 0

    def seconds_to_end(self) -> int:
        """Change-over time to the setup that must stand at the end."""
        final = self.unit.final_setup
        return 0 if final is None else self.unit.seconds(self.setup, final)

    def serves(self, athlete: Entrant) -> bool:
        """Whether this athlete accepts this stand."""
        wanted = athlete.setups.get(self.unit.id)
        if wanted is None:
            return False
        accepted = athlete.accepted(self.unit.id)
        return all(abs(a - w) <= d for a, w, d in zip(self.setup, wanted, accepted, strict=True))

    def deviation(self, athlete: Entrant) -> int:
        """Stops by which this stand differs from what the athlete wants."""
        wanted = athlete.setups[self.unit.id]
        return sum(abs(a - w) for a, w in zip(self.setup, wanted, strict=True))


def stands_for(problem: Problem, *, for_time_alone: bool = False) -> list[Stand]:
    """First every apparatus at its present setup, then all other setups worth considering.

    ``for_time_alone``: what anybody wants within the accepted stops makes no difference.
    """
    first = [Stand(n, unit, unit.setup) for n, unit in enumerate(problem.apparatus)]
    others = []
    for number, unit in enumerate(problem.apparatus):
        bends = _bends(_on(problem, unit), unit, for_time_alone)
        setups = {
            setup
            for ranges in {tuple(accepted_ranges(unit, entrant)) for entrant in _on(problem, unit)}
            for setup in _worth_trying(bends, ranges)
        }
        others += [Stand(number, unit, setup) for setup in sorted(setups - {unit.setup})]
    return first + others


def _on(problem: Problem, unit: Unit) -> list[Entrant]:
    return [athlete for athlete in problem.athletes if unit.id in athlete.setups]


def _worth_trying(
    bends: Sequence[frozenset[int]], ranges: Sequence[tuple[int, int]]
) -> Iterator[Setup]:
    return product(
        *(
            [stop for stop in range(low, high + 1) if stop in bends[axis]]
            for axis, (low, high) in enumerate(ranges)
        )
    )


def accepted_ranges(unit: Unit, athlete: Entrant) -> list[tuple[int, int]]:
    """Lowest and highest accepted stop per axis, within the stops of the axis."""
    return [
        (max(0, wanted - accepted), min(axis.stops - 1, wanted + accepted))
        for wanted, accepted, axis in zip(
            athlete.setups[unit.id], athlete.accepted(unit.id), unit.axes, strict=True
        )
    ]


def _bends(athletes: Sequence[Entrant], unit: Unit, for_time_alone: bool) -> list[frozenset[int]]:
    if unit.change_over is not None:
        return [frozenset(range(axis.stops)) for axis in unit.axes]
    found: list[set[int]] = [{stop} for stop in unit.setup]
    for axis, stop in enumerate(unit.final_setup or ()):
        found[axis].add(stop)
    for athlete in athletes:
        for axis, (low, high) in enumerate(accepted_ranges(unit, athlete)):
            found[axis] |= {low, high}
            if not for_time_alone:
                found[axis].add(athlete.setups[unit.id][axis])
    return [frozenset(stops) for stops in found]
