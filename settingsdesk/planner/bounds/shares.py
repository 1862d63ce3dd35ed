"""Prices per athlete: whether several apparatus can serve everybody by a given end.

Every apparatus is used by some set S of groups, and then has room for so many athletes. Take a
price q(k) >= 0, to be given by each athlete of group k to whichever apparatus serves them. In a
plan all athletes give as much as is asked, the sum of q(k) times the size of k. No apparatus takes
more than *filled(S)*: as many athletes as there is room for, those of the dearest groups of S
first. So where the apparatus together, each with the set by which it takes most, take less than is
asked, there is no plan; and a set is of no use where even with the best sets of all others less is
taken than is asked. Any prices do; good ones are sought by subgradient steps.

Prices are whole numbers, ``WHOLE`` for one athlete of price one, so nothing is lost to rounding.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from settingsdesk.planner.search import Steps

WHOLE = 1000
STALLS = 4
"""So many rounds without gain make the next steps shorter."""
SHORTEST_STEP = 0.03


class Share(NamedTuple):
    """What an apparatus may do: serve some groups, as bits by number, up to so many athletes."""

    groups: int
    room: int


@dataclass(frozen=True, slots=True)
class AthletePrices:
    """A price per group, and how much more all apparatus take at most than is asked.

    With less than 0 of it there is no plan.
    """

    of: Sequence[int]
    spare: int


class Dearest:
    """The groups by their prices, the dearest first."""

    def __init__(self, price: Sequence[int], sizes: Sequence[int]):
        self._order = sorted(
            ((q, 1 << k, size) for k, (q, size) in enumerate(zip(price, sizes, strict=True))),
            reverse=True,
        )
        self.asked = sum(q * size for q, _, size in self._order)

    def filled(self, share: Share) -> int:
        """The most that the athletes of a share give."""
        taken, room = 0, share.room
        for q, bit, size in self._order:
            if share.groups & bit:
                if size >= room:
                    return taken + q * room
                taken += q * size
                room -= size
        return taken

    def served(self, share: Share) -> list[tuple[int, int]]:
        """Of which groups how many athletes give that most."""
        served, room = [], share.room
        for _, bit, size in self._order:
            if share.groups & bit and room:
                served.append((bit.bit_length() - 1, min(size, room)))
                room -= served[-1][1]
        return served


def athlete_prices(
    shares: Sequence[Sequence[Share]],
    sizes: Sequence[int],
    rounds: int,
    begin: Sequence[int],
    steps: Steps,
) -> AthletePrices:
    """Prices that leave little to spare, sought from ``begin``; ``shares`` are per apparatus.

    Ended as soon as there is nothing to spare.
    """
    best: AthletePrices | None = None
    price, step, stalled = list(begin), 1.0, 0
    for _ in range(rounds):
        steps.spend(2 * sum(map(len, shares)))
        dearest = Dearest(price, sizes)
        tops = [max(some, key=dearest.filled) for some in shares]
        spare = sum(map(dearest.filled, tops)) - dearest.asked
        if best is None or spare < best.spare:
            best, stalled = AthletePrices(price, spare), 0
        elif (stalled := stalled + 1) >= STALLS:
            step, stalled, price = 0.6 * step, 0, list(best.of)
            if step < SHORTEST_STEP:
                break
            continue
        over = [-size for size in sizes]
        for top in tops:
            for k, some in dearest.served(top):
                over[k] += some
        length = sum(surplus * surplus for surplus in over)
        if best.spare < 0 or not length:
            break
        size = step * max(0.3 * WHOLE, spare + WHOLE) / length
        price = [max(0, round(q - size * surplus)) for q, surplus in zip(price, over, strict=True)]
    return best or AthletePrices(list(begin), 0)
