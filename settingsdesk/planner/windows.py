"""What wishes imply: who certainly comes before whom, and between which turns each one begins.

Everything speaks of first turns. All of it is necessary, none of it is enough: the searches still
keep every wish themselves, and use this to leave early what leads nowhere.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from settingsdesk.planner.problem import Problem, Wishes


@dataclass(frozen=True, slots=True)
class Windows:
    """``earlier[a]``: who begins before a. Turns are counted from 1."""

    earlier: Mapping[str, frozenset[str]]
    earliest: Mapping[str, int]
    latest: Mapping[str, int]

    def may_follow(self, athlete: str, other: str) -> bool:
        """Whether ``other`` may begin on the very next turn after ``one`` has begun."""
        return (
            other not in self.earlier[athlete]
            and not any(athlete in self.earlier[k] for k in self.earlier[other])
            and self.earliest[athlete] < self.latest[other]
            and self.earliest[other] <= self.latest[athlete] + 1
        )


def windows(problem: Problem, wishes: Wishes) -> Windows:
    """Work the wishes out until nothing more follows."""
    ids = [entrant.id for entrant in problem.athletes]
    earlier = _earlier(ids, wishes, one_turn_each=problem.turn_count == len(ids))
    later: dict[str, set[str]] = {athlete: set() for athlete in ids}
    for athlete, some in earlier.items():
        for other in some:
            later[other].add(athlete)
    earliest = {athlete: len(earlier[athlete]) + 1 for athlete in ids}
    latest = {
        entrant.id: problem.turn_count
        - max(len(later[entrant.id]), (problem.turns_of(entrant) - 1) * (problem.rest_turns + 1))
        for entrant in problem.athletes
    }
    for athlete, turn in wishes.place.items():
        earliest[athlete] = max(earliest[athlete], turn)
        latest[athlete] = min(latest[athlete], turn)
    _narrow(ids, earlier, wishes.together, earliest, latest)
    return Windows(
        {athlete: frozenset(some) for athlete, some in earlier.items()}, earliest, latest
    )


def _earlier(ids: Sequence[str], wishes: Wishes, *, one_turn_each: bool) -> dict[str, set[str]]:
    earlier: dict[str, set[str]] = {athlete: set() for athlete in ids}
    for a, b in wishes.before:
        earlier[b].add(a)
    if wishes.first is not None:
        for athlete in ids:
            earlier[athlete] |= {wishes.first} - {athlete}
    if wishes.last is not None and one_turn_each:
        earlier[wishes.last] |= set(ids) - {wishes.last}
    changed = True
    while changed:
        before = sum(map(len, earlier.values()))
        for some in earlier.values():
            some |= {k for athlete in some for k in earlier[athlete]}
        for group in wishes.together:
            _all_on_one_side(earlier, group)
        changed = sum(map(len, earlier.values())) > before
    return earlier


def _all_on_one_side(earlier: Mapping[str, set[str]], group: Sequence[str]) -> None:
    """Whoever comes before or after one of a group comes before or after all of it."""
    before_it = {k for member in group for k in earlier[member]} - set(group)
    for member in group:
        earlier[member] |= before_it
    for athlete, some in earlier.items():
        if athlete not in group and some & set(group):
            some |= set(group)


def _narrow(
    ids: Sequence[str],
    earlier: Mapping[str, set[str]],
    together: Sequence[Sequence[str]],
    earliest: dict[str, int],
    latest: dict[str, int],
) -> None:
    for _ in ids:
        was = sum(earliest.values()) - sum(latest.values())
        for athlete in ids:
            for other in earlier[athlete]:
                earliest[athlete] = max(earliest[athlete], earliest[other] + 1)
                latest[other] = min(latest[other], latest[athlete] - 1)
        for group in together:
            reach = len(group) - 1
            begins = max(earliest[member] for member in group) - reach
            ends = min(latest[member] for member in group) + reach
            for member in group:
                earliest[member] = max(earliest[member], begins)
                latest[member] = min(latest[member], ends)
        if sum(earliest.values()) - sum(latest.values()) == was:
            return
