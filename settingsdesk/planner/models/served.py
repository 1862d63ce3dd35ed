"""What one apparatus can serve by a given end: all sets of groups, with one turn each.

No detour saves time, so the groups are gone through in one go each, and the cheapest way through a
set never gets cheaper by one more group. So sets grow by one group at a time, and a set that cannot
be served in time is never grown. All turns take as long; a set is used whole, with somebody of
every group.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from settingsdesk.planner.bounds.shares import Share
from settingsdesk.planner.models.units import Units
from settingsdesk.planner.search import OutOfSteps, Steps

MOST_SETS = 1 << 14  # beyond, they take more memory than a solve may, and there is no end of covers

Ways = dict[int, int]  # the seconds of the cheapest way that ends at each node


@dataclass(slots=True)
class Served:
    """The sets that apparatus ``number`` can serve, with their change-over seconds."""

    units: Units
    number: int
    seconds: dict[int, int] = field(default_factory=dict)

    def find(self, end_s: int, steps: Steps) -> None:
        """All sets that can be served by the end; raises OutOfSteps where they are too many."""
        least, _ = self.units.rooms[self.number]
        if not least and self._costs[0][0] <= end_s:
            self.seconds[0] = self._costs[0][0]
        layer: Mapping[int, Ways] = {0: {0: 0}}
        while layer:
            grown = self._grown(layer, end_s, steps)
            layer = {}
            for some, ways in grown.items():
                seconds = min(at_s + self._costs[node][0] for node, at_s in ways.items())
                if self._room(seconds, end_s) >= max(least, some.bit_count()):
                    self.seconds[some] = seconds
                    layer[some] = ways
            if len(self.seconds) > MOST_SETS:
                raise OutOfSteps

    def shares(self, end_s: int, steps: Steps) -> list[Share]:
        """The sets that can be served by the end; none that another one can stand in for.

        Where one more group leaves as much room, the larger set can do whatever the smaller does.
        """
        least, _ = self.units.rooms[self.number]
        rooms = {}
        for some, seconds in self.seconds.items():
            room = self._room(seconds, end_s) if some else 0
            if room >= max(least, some.bit_count()) and seconds <= end_s:
                rooms[some] = room
        bits = [1 << k for k in range(len(self.units.sizes))]
        steps.spend(len(self.seconds) + len(rooms) * len(bits) // 2)
        return [
            Share(some, room)
            for some, room in rooms.items()
            if not any(not some & bit and rooms.get(some | bit, -1) >= room for bit in bits)
        ]

    def route(self, groups: Sequence[int]) -> list[int]:
        """These groups in the order of the cheapest way, of several the first by number."""
        ways: dict[tuple[int, int], tuple[int, tuple[int, ...]]] = {(0, 0): (0, ())}
        for _ in groups:
            grown: dict[tuple[int, int], tuple[int, tuple[int, ...]]] = {}
            for (some, here), (at_s, way) in ways.items():
                for k in groups:
                    if not some >> k & 1:
                        place = (some | 1 << k, k + 1)
                        longer = (at_s + self._costs[here][k + 1], (*way, k))
                        grown[place] = min(longer, grown.get(place, longer))
            ways = grown
        ends = ((at_s + self._costs[here][0], way) for (_, here), (at_s, way) in ways.items())
        return list(min(ends)[1])

    @property
    def _costs(self) -> Sequence[Sequence[int]]:
        return self.units.paths[self.number].costs

    @property
    def _turn_s(self) -> int:
        return self.units.turn_s[0]

    def _room(self, seconds: int, end_s: int) -> int:
        """For how many athletes there is time beside the change-overs; below 0 for none of them."""
        if seconds > end_s:
            return -1
        _, most = self.units.rooms[self.number]
        return min(most, (end_s - seconds) // self._turn_s) if self._turn_s else most

    def _grown(self, layer: Mapping[int, Ways], end_s: int, steps: Steps) -> dict[int, Ways]:
        """Every set with one group more, where there is a way through it in time."""
        costs = self._costs
        barred = self.units.paths[self.number].barred
        open_groups = [k for k in range(1, len(costs)) if (0, k) not in barred]
        least, _ = self.units.rooms[self.number]
        grown: dict[int, Ways] = {}
        for some, ways in layer.items():
            latest_s = end_s - self._turn_s * max(least, some.bit_count() + 1)
            steps.spend(len(ways) * len(open_groups) + 1)
            for k in open_groups:
                bit = 1 << k - 1
                if some & bit:
                    continue
                at_s = min(known_s + costs[node][k] for node, known_s in ways.items())
                if at_s <= latest_s:
                    grown.setdefault(some | bit, {})[k] = at_s
        return grown
