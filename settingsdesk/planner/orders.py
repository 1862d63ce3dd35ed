"""Orders on one apparatus that keep rest and wishes, without a thought for the change-over time."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from settingsdesk.planner.problem import Problem, Wishes
from settingsdesk.planner.windows import windows

MOST_STEPS = 1_200_000
"""Tries times turns: a fraction of a second, and enough to go through any list without detour."""


class TooManyTries(Exception):
    """The search for an order was broken off: neither found nor shown to be impossible."""


def first_order(
    problem: Problem, preference: Sequence[str], wishes: Wishes
) -> tuple[str, ...] | None:
    """The athletes' ids, turn by turn, in the first order that keeps ``wishes`` and the rest.

    At every turn whoever has had the fewest turns comes, the earliest in ``preference`` among
    them, unless that leaves no way to go on. None means that no order at all keeps the wishes.
    Raises TooManyTries where the search was broken off.
    """
    turns = problem.turn_count
    return _Search(problem, preference, wishes, max(2 * turns, MOST_STEPS // turns)).run()


@dataclass
class _Search:
    """Depth first with a memory of the positions that lead nowhere."""

    problem: Problem
    preference: Sequence[str]
    wishes: Wishes
    tries_left: int
    order: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.rank = {athlete: number for number, athlete in enumerate(self.preference)}
        self.needs = {
            entrant.id: self.problem.turns_of(entrant) for entrant in self.problem.athletes
        }
        self.named = self.wishes.named()
        self.had: Counter[str] = Counter()
        self.dead: set[object] = set()
        self.place_of = {turn: athlete for athlete, turn in self.wishes.place.items()}
        self.windows = windows(self.problem, self.wishes)
        self.turn_count = self.problem.turn_count

    def run(self) -> tuple[str, ...] | None:
        ways = [self._ways()]
        while len(self.order) < self.turn_count:
            athlete = next(ways[-1], None)
            if athlete is not None:
                self._take(athlete)
                if self._too_late() or self._position() in self.dead:
                    self._take_back()
                else:
                    ways.append(self._ways())
                continue
            self.dead.add(self._position())
            ways.pop()
            if not ways:
                return None
            self._take_back()
        return tuple(self.order)

    def _too_late(self) -> bool:
        """More athletes must have begun by some turn than there are turns up to it."""
        waiting = sorted(self.windows.latest[a] for a in self.preference if not self.had[a])
        now = len(self.order)
        return any(latest < now + place for place, latest in enumerate(waiting, start=1))

    def _take(self, athlete: str) -> None:
        self.tries_left -= 1
        if self.tries_left < 0:
            raise TooManyTries
        self.order.append(athlete)
        self.had[athlete] += 1

    def _take_back(self) -> None:
        self.had[self.order.pop()] -= 1

    def _recent(self) -> list[str]:
        rest = self.problem.rest_turns
        return [*self.problem.just_had, *self.order][-rest:] if rest else []

    def _ways(self) -> Iterator[str]:
        """Who may come now, in order of preference; of equals that no wish names only one."""
        recent = self._recent()
        open_ = [a for a in self.preference if self.had[a] < self.needs[a] and a not in recent]
        if self.problem.in_rounds:  # who has most turns left, rested or not, goes before all others
            most = max(self.needs[a] - self.had[a] for a in self.preference)
            open_ = [a for a in open_ if self.needs[a] - self.had[a] == most]
        seen: set[tuple[int, int]] = set()
        for athlete in sorted(open_, key=lambda a: (self.had[a], self.rank[a])):
            if athlete not in self.named:
                kind = (self.had[athlete], self.needs[athlete])
                if kind in seen:
                    continue
                seen.add(kind)
            if self._may_come(athlete):
                yield athlete

    def _may_come(self, athlete: str) -> bool:
        wishes, turn = self.wishes, len(self.order) + 1
        if turn == 1 and wishes.first not in (None, athlete):
            return False
        if turn == self.turn_count and wishes.last not in (None, athlete):
            return False
        begins = self.had[athlete] == 0
        if self.place_of.get(turn, athlete) != athlete or (turn in self.place_of and not begins):
            return False
        if begins and not self.windows.earliest[athlete] <= turn <= self.windows.latest[athlete]:
            return False
        if begins and any(self.had[a] == 0 for a, b in wishes.before if b == athlete):
            return False
        return all(
            (begins and athlete in group) or self._untouched_or_done(group)
            for group in wishes.together
        )

    def _untouched_or_done(self, group: Sequence[str]) -> bool:
        begun = sum(self.had[member] > 0 for member in group)
        return begun in (0, len(group))

    def _position(self) -> object:
        """All that the rest of the search can depend on."""
        recent = self._recent()
        named = tuple(self.had[a] for a in self.named)
        others = Counter(
            (self.had[a], self.needs[a], recent.index(a) if a in recent else -1)
            for a in self.preference
            if a not in self.named
        )
        resting = tuple(a if a in self.named else "" for a in recent)
        return named, frozenset(others.items()), resting
