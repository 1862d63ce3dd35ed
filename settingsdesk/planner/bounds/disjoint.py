"""The bound by athletes whom no setup serves two of.

Take athletes such that no stand of any apparatus serves two of them. Each of them who has had no
turn yet, and whom the present stand does not serve, must still be served at some stand that serves
them; the apparatus must be brought there from a stand that does not, because it begins at one: the
present stand, or the first stand of a later apparatus. (Athletes whom the first stand of a later
apparatus serves are left out.) That change-over costs at least ``entry_s``, and as a stand serves
at most one of them, all these change-overs are different. So what is left costs at least the sum.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from settingsdesk.planner.problem import Problem
from settingsdesk.planner.stands import Stand


@dataclass(frozen=True, slots=True)
class Disjoint:
    """``entry_s`` per athlete, 0 for those not taken; ``served``: whom each stand serves."""

    entry_s: tuple[int, ...]
    served: tuple[frozenset[int], ...]


def disjoint_entries(problem: Problem, stands: Sequence[Stand]) -> Disjoint:
    """A large set of such athletes, those served by the fewest stands taken first."""
    serving = [
        frozenset(place for place, stand in enumerate(stands) if stand.serves(athlete))
        for athlete in problem.athletes
    ]
    later_starts = frozenset(range(1, len(problem.apparatus)))
    entry_s, taken = [0] * len(serving), frozenset[int]()
    for number in sorted(range(len(serving)), key=lambda athlete: (len(serving[athlete]), athlete)):
        places = serving[number]
        if not places & (taken | later_starts):
            taken |= places
            entry_s[number] = _entry_s(stands, places)
    served = tuple(
        frozenset(n for n, places in enumerate(serving) if place in places)
        for place in range(len(stands))
    )
    return Disjoint(tuple(entry_s), served)


def _entry_s(stands: Sequence[Stand], places: frozenset[int]) -> int:
    outside = [stand for place, stand in enumerate(stands) if place not in places]
    return min(
        (
            origin.seconds_to(stands[place])
            for place in places
            for origin in outside
            if origin.unit is stands[place].unit
        ),
        default=0,
    )
