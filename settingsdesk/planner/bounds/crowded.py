"""Sets of groups that leave the rest nobody to go: they are come into again and again.

Take groups that have no more than ``rest`` athletes together. One go of the set, turns in a row
that are all of its groups, holds nobody twice: between two turns of one athlete lie at least
``rest`` turns of as many others, and the set has only ``rest`` - 1 others. So the set is come into
from elsewhere at least as often as any of its athletes has turns, however the turns of its groups
are split into runs.
"""

from collections.abc import Mapping, Sequence
from itertools import permutations

from settingsdesk.planner.bounds.entries import Matrix
from settingsdesk.planner.bounds.prices import Few

MOST_SETS = 600
MOST_GROUPS = 4
"""In one set: what a state says of a set grows with all orders in which it can be gone through."""


def crowded_sets(
    costs: Matrix, members: Mapping[int, int], each: Sequence[int], rest: int
) -> list[Few]:
    """Such sets of two groups and more of those in ``members``, the groups nearest together first.

    ``each[k]`` is how many turns everybody of node k has.
    """

    def apart(some: tuple[int, ...]) -> float:
        pairs = list(permutations(some, 2))
        return sum(costs[a][b] for a, b in pairs) / max(1, len(pairs))

    grown: list[tuple[int, ...]] = [(k,) for k in sorted(members)]
    found: list[tuple[int, ...]] = []
    for _ in range(1, MOST_GROUPS):
        larger = (
            (*some, k)
            for some in grown
            for k in sorted(members)
            if k > some[-1] and sum(members[number] for number in (*some, k)) <= rest
        )
        grown = sorted(larger, key=apart)[:MOST_SETS]
        found += grown
    return [
        Few(frozenset(some), max(each[k] for k in some))
        for some in sorted(found, key=apart)[:MOST_SETS]
    ]
