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

    def may_follow(self, one: str, other: str) -> bool:
        """Whether ``other`` may begin on the very next turn after ``one`` has begun."""
        return (
            other not in self.earlier[one]
            and not any(one in self.earlier[k] for k in self.earlier[other])
            and self.earliest[one] < self.latest[other]
            and self.earliest[other] <= self.latest[one] + 1
        )


def windows(problem: Problem, wishes: Wishes) -> Windows:
    """Work the wishes out until nothing more follows."""
    ids = [one.id for one in problem.athletes]
    earlier = _earlier(ids, wishes, one_turn_each=problem.turn_count == len(ids))
    later: dict[str, set[str]] = {one: set() for one in ids}
    for one, some in earlier.items():
        for other in some:
            later[other].add(one)
    earliest = {one: len(earlier[one]) + 1 for one in ids}
    latest = {
        one.id: problem.turn_count
        - max(len(later[one.id]), (problem.turns_of(one) - 1) * (problem.rest_turns + 1))
        for one in problem.athletes
    }
    for athlete, turn in wishes.place.items():
        earliest[athlete] = max(earliest[athlete], turn)
        latest[athlete] = min(latest[athlete], turn)
    _narrow(ids, earlier, wishes.together, earliest, latest)
    return Windows({one: frozenset(some) for one, some in earlier.items()}, earliest, latest)


def _earlier(ids: Sequence[str], wishes: Wishes, *, one_turn_each: bool) -> dict[str, set[str]]:
    earlier: dict[str, set[str]] = {one: set() for one in ids}
    for a, b in wishes.before:
        earlier[b].add(a)
    if wishes.first is not None:
        for one in ids:
            earlier[one] |= {wishes.first} - {one}
    if wishes.last is not None and one_turn_each:
        earlier[wishes.last] |= set(ids) - {wishes.last}
    changed = True
    while changed:
        before = sum(map(len, earlier.values()))
        for some in earlier.values():
            some |= {k for one in some for k in earlier[one]}
        for group in wishes.together:
            _all_on_one_side(earlier, group)
        changed = sum(map(len, earlier.values())) > before
    return earlier


def _all_on_one_side(earlier: Mapping[str, set[str]], group: Sequence[str]) -> None:
    """Whoever comes before or after one of a group comes before or after all of it."""
    before_it = {k for one in group for k in earlier[one]} - set(group)
    for one in group:
        earlier[one] |= before_it
    for one, some in earlier.items():
        if one not in group and some & set(group):
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
        for one in ids:
            for other in earlier[one]:
                earliest[one] = max(earliest[one], earliest[other] + 1)
                latest[other] = min(latest[other], latest[one] - 1)
        for group in together:
            reach = len(group) - 1
            begins = max(earliest[one] for one in group) - reach
            ends = min(latest[one] for one in group) + reach
            for one in group:
                earliest[one] = max(earliest[one], begins)
                latest[one] = min(latest[one], ends)
        if sum(earliest.values()) - sum(latest.values()) == was:
            return
