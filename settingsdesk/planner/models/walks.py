"""The least deviation at the least time, one turn each: all walks of least time are looked through.

A walk goes from stand to stand; at its end everybody must have been at a stand that they accept,
and is best served at the visited stand that is closest to what they want. So the deviation of a
walk is the sum over the groups of the least deviation among its stands, and it remains to find,
among the walks of the least time, one whose stands lie closest.

1. *Every stand serves somebody for the first time.* Going by another stand takes time: every move
   does (``any_move_s`` above 0), and as sums over axes times never grow by a short cut. So a walk
   of the least time has no stand that could be left out. Two stands are there in any case: the
   first setup, and the last one where it is asked for. Whoever accepts one of them is served.
2. *Tight states.* A state is who has not been served and where the apparatus stands. On a walk of
   the least time every state is reached in the least time in which it can be reached at all, or
   that time would not be the least. So only that one counts of each state, and the state itself
   only where that time and the bound on what is left do not exceed the least time. States are made
   in the order of how many are left, so a state's time is final when it is gone on from.
3. *The closest walk.* Backwards from the ends remain the states on walks of the least time, each
   with the least deviation for each group that any stand still to come offers. Depth first, a walk
   is given up where even those would not beat the closest walk known.
"""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from settingsdesk.planner.bounds.families import FamilyBound
from settingsdesk.planner.models.bands import Bands
from settingsdesk.planner.search import Budget, OutOfSteps, Steps

STEPS_PER_SECOND = 1.2e6
"""Stands that a usual machine tries at a state."""

_NOT_ACCEPTED = 1 << 20  # more than any deviation

State = tuple[int, int]  # who is left, as bits by group; where the apparatus stands


@dataclass(frozen=True, slots=True)
class Closest:
    """The stands to go to, one after the other, and whether no walk of that time lies closer.

    ``stands`` is None where none closer than the bar was found.
    """

    stands: tuple[int, ...] | None
    proven: bool


def closest_walk(
    bands: Bands, budget: Budget, time_s: int, below: int, final: int | None = None
) -> Closest:
    """Of the walks that take ``time_s``, one of least deviation ``below``, counted in stops.

    Proven only where ``time_s`` is the least time. ``final`` is the stand at the setup that must
    stand at the end, where there is one.
    """
    walks = _Walks(bands, Steps(budget, STEPS_PER_SECOND), time_s, final)
    closest: tuple[int, ...] | None = None
    try:
        for stands in walks.ever_closer(below):
            closest = stands
    except OutOfSteps:
        return Closest(closest, proven=False)
    return Closest(closest, proven=True)


@dataclass(slots=True)
class _Walks:
    bands: Bands
    steps: Steps
    time_s: int
    final: int | None
    _served: list[int] = field(init=False)

    def __post_init__(self) -> None:
        stands = range(len(self.bands.costs))
        self._served = [sum(1 << group for group in self.bands.served(n)) for n in stands]

    def ever_closer(self, below: int) -> Iterator[tuple[int, ...]]:
        """Walks of the time, each closer than the one before; the last one is the closest."""
        stands_anyhow = {0} if self.final is None else {0, self.final}
        left = (1 << len(self.bands.groups)) - 1
        for stand in stands_anyhow:
            left &= ~self._served[stand]
        start = (left, 0)
        onwards = self._onwards(*self._tight_states(start))
        return self._look_through(start, onwards, sorted(stands_anyhow), below)

    def _tight_states(self, start: State) -> tuple[dict[State, list[State]], list[State]]:
        """Forwards: from where each tight state is reached in its least time; and the ends."""
        came: dict[State, list[State]] = {start: []}
        bound = FamilyBound(self.bands.family)
        layers: dict[int, dict[State, int]] = defaultdict(dict)
        layers[start[0].bit_count()][start] = 0
        for size in range(start[0].bit_count(), 0, -1):
            for state, reached_s in layers.pop(size, {}).items():
                for after, then_s in self._reached_from(state, reached_s, bound):
                    layer = layers[after[0].bit_count()]
                    known_s = layer.get(after)
                    if known_s is None or then_s < known_s:
                        layer[after] = then_s
                        came[after] = [state]
                    elif then_s == known_s:
                        came[after].append(state)
        at_last = layers[0].items()
        end_s = self.bands.end_s
        return came, [end for end, then_s in at_last if then_s + end_s[end[1]] == self.time_s]

    def _reached_from(
        self, state: State, reached_s: int, bound: FamilyBound
    ) -> Iterator[tuple[State, int]]:
        """The states that a stand leads to which serves somebody and is not too far."""
        left, here = state
        row = self.bands.costs[here]
        self.steps.spend(len(row))
        for stand, serves in enumerate(self._served):
            if serves & left:
                after, then_s = left & ~serves, reached_s + row[stand]
                if then_s + bound(after, stand) <= self.time_s:
                    yield (after, stand), then_s

    def _onwards(
        self, came: dict[State, list[State]], ends: Sequence[State]
    ) -> dict[State, list[State]]:
        """Backwards from the ends: the states on walks of the time, and where to go from each."""
        onwards: dict[State, list[State]] = {end: [] for end in ends}
        waiting = list(ends)
        while waiting:
            state = waiting.pop()
            for before in came.get(state, ()):
                if before not in onwards:
                    onwards[before] = []
                    waiting.append(before)
                onwards[before].append(state)
        return onwards

    def _look_through(
        self,
        start: State,
        onwards: dict[State, list[State]],
        stands_anyhow: Sequence[int],
        below: int,
    ) -> Iterator[tuple[int, ...]]:
        if start not in onwards:
            return
        rows = [
            tuple(_NOT_ACCEPTED if stops is None else stops for stops in row)
            for row in self.bands.deviation
        ]
        to_come: dict[State, tuple[int, ...]] = {}
        for state in sorted(onwards, key=lambda onward: onward[0].bit_count()):
            offers = [rows[state[1]], *(to_come[after] for after in onwards[state])]
            to_come[state] = _least_of(offers)
        at_first = _least_of([rows[stand] for stand in stands_anyhow])
        waiting: list[tuple[State, tuple[int, ...], tuple[int, ...]]] = [(start, at_first, ())]
        while waiting:
            state, offered, walk = waiting.pop()
            self.steps.spend(1 + len(onwards[state]))
            if sum(map(min, offered, to_come[state])) >= below:
                continue
            if not state[0]:
                below = sum(offered)
                yield walk
                continue
            begun = []
            for after in onwards[state]:
                now = tuple(map(min, offered, rows[after[1]]))
                least = sum(map(min, now, to_come[after]))
                if least < below:
                    begun.append((least, after, now))
            # the most promising is taken from the end, next
            for _, after, now in sorted(begun, reverse=True):
                waiting.append((after, now, (*walk, after[1])))


def _least_of(offers: Sequence[tuple[int, ...]]) -> tuple[int, ...]:
    return tuple(map(min, *offers)) if len(offers) > 1 else offers[0]
