"""Which wishes cannot hold together: the smallest set of them, in a coach's words."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from settingsdesk.planner.errors import Where
from settingsdesk.planner.orders import TooManyTries, first_order
from settingsdesk.planner.problem import Problem, Wishes, part_of

MOST_SETS = 6000


@dataclass(frozen=True, slots=True)
class Wish:
    """One single wish: where it stands among the others. ``wishes`` holds just this one."""

    where: Where
    said: str
    wishes: Wishes


def single_wishes(wishes: Wishes) -> list[Wish]:
    """Every wish by itself, as a coach would say it."""
    found = []
    if wishes.first is not None:
        found.append(Wish(("first",), f"{wishes.first} first", Wishes(first=wishes.first)))
    if wishes.last is not None:
        found.append(Wish(("last",), f"{wishes.last} last", Wishes(last=wishes.last)))
    found += [
        Wish(("before", number), f"{a} before {b}", Wishes(before=((a, b),)))
        for number, (a, b) in enumerate(wishes.before)
    ]
    found += [
        Wish(
            ("together", number),
            f"{' and '.join(group)} next to each other",
            Wishes(together=(group,)),
        )
        for number, group in enumerate(wishes.together)
    ]
    found += [
        Wish(("place", athlete), f"{athlete} at turn {turn}", Wishes(place={athlete: turn}))
        for athlete, turn in wishes.place.items()
    ]
    return found


def smallest_conflict(problem: Problem) -> list[Wish] | None:
    """The fewest wishes that no order keeps together; [] where no order exists even without any.

    None where the wishes were not shown to be in conflict. Sets are tried in order of size; where
    there would be too many to try, the answer is a set of which no wish can be left out.
    """
    single = single_wishes(problem.wishes)
    tried = 0
    for size in range(len(single) + 1):
        for some in combinations(single, size):
            if _impossible(problem, some):
                return list(some)
            tried += 1
            if tried > MOST_SETS:
                return _thinned(problem, single)
    return None


def _thinned(problem: Problem, single: list[Wish]) -> list[Wish] | None:
    if not _impossible(problem, single):
        return None
    needed = list(single)
    for wish in single:
        without = [other for other in needed if other is not wish]
        if _impossible(problem, without):
            needed = without
    return needed


def _impossible(problem: Problem, some: Sequence[Wish]) -> bool:
    asked = replace(problem, wishes=joined([wish.wishes for wish in some]))
    parts = [part_of(asked, group) for group in range(len(asked.groups))]
    try:
        return any(
            first_order(part, [one.id for one in part.athletes], part.wishes) is None
            for part in parts or [asked]
        )
    except TooManyTries:
        return False


def joined(some: Sequence[Wishes]) -> Wishes:
    """All of these wishes as one."""
    return Wishes(
        first=next((wish.first for wish in some if wish.first), None),
        last=next((wish.last for wish in some if wish.last), None),
        before=tuple(pair for wish in some for pair in wish.before),
        together=tuple(group for wish in some for group in wish.together),
        place={athlete: turn for wish in some for athlete, turn in wish.place.items()},
    )
