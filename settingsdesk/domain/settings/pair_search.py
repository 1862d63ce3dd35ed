"""The stops of two coupled rails and their spread that come closest to a setting."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from math import hypot, inf

from settingsdesk.domain.hall.geometry import RailPair, Upright
from settingsdesk.domain.hall.models import ApparatusModel, Axis
from settingsdesk.domain.hall.scales import TIE_MM
from settingsdesk.domain.settings.settings import Setting

Stops = dict[str, int]


@dataclass(frozen=True, slots=True, order=True)
class _Height:
    """A stop of a height axis while the spread stands somewhere: what it costs, where it is."""

    cost: float
    stop: int
    reading_mm: float
    centre_mm: float


def two_best_of_a_pair(setting: Setting, model: ApparatusModel, pair: RailPair) -> list[Stops]:
    """The best and the second best stops of the axes of the model's ``pair``, by axis key.

    Exact: every combination is looked at, but for those whose heights alone cost more than the
    second best whole so far. The likeliest spreads come first, so that this is most of them.
    """
    search = _PairSearch(setting, model, pair)
    best: list[tuple[float, tuple[int, ...]]] = []
    for spread_stop in search.likeliest_first():
        limit = best[1][0] if len(best) == 2 else inf
        for heights in search.heights_within(limit, spread_stop):
            cost = round(search.cost(heights, spread_stop), 6)
            stops = (*(height.stop for height in heights), spread_stop)
            best = sorted([*best, (cost, stops)])[:2]
    return [dict(zip(search.axes, stops, strict=True)) for _, stops in best]


def keeping_the_drop(setting: Setting, model: ApparatusModel, pair: RailPair, best: Stops) -> Stops:
    """``best``, or of heights that are equally far off the two that keep the rails' wanted drop.

    What is wanted half-way between two stops is met as well by either; an athlete swings from one
    rail to the other, so of such pairs the one counts first whose drop is nearest to the wanted
    one, then the least weighted sum of squared residuals with the best spread for it, then the
    lower stops. This goes before the sum by which all else is chosen.
    """
    if pair.low == pair.high:
        return best
    search = _PairSearch(setting, model, pair)
    pairs = search.equally_far(best)
    if len(pairs) == 1:
        return best
    drop_mm = setting.axes[pair.high].wanted_mm - setting.axes[pair.low].wanted_mm

    def off(stops: Sequence[int]) -> tuple[float, float, Sequence[int]]:
        *heights, spread = stops
        low, high = search.heights_at(heights, spread)
        off_mm = abs(high.centre_mm - low.centre_mm - drop_mm)
        return round(off_mm, 1), round(search.cost([low, high], spread), 6), stops

    chosen = min((search.with_best_spread(heights) for heights in pairs), key=off)
    return dict(zip(search.axes, chosen, strict=True))


class _PairSearch:
    """The costs by which combinations of a rail pair's stops are judged."""

    def __init__(self, setting: Setting, model: ApparatusModel, pair: RailPair) -> None:
        self._wanted, self._model, self._pair = setting.axes, model, pair
        self._heights = [model.axis(key) for key in dict.fromkeys((pair.low, pair.high))]
        self._spread = model.axis(pair.spread)
        self.axes = (*(axis.key for axis in self._heights), pair.spread)
        self._columns = self._all_columns()

    def likeliest_first(self) -> list[int]:
        """The spread stops, in order of what each costs with the best heights by themselves."""

        def guess(spread_stop: int) -> float:
            return self.cost([column[0] for column in self._columns[spread_stop]], spread_stop)

        return sorted(range(self._spread.scale.count), key=guess)

    def heights_within(self, limit: float, spread_stop: int) -> Iterator[list[_Height]]:
        """The combinations of height stops that cost no more than the limit by themselves."""

        def further(chosen: list[_Height], spent: float) -> Iterator[list[_Height]]:
            if len(chosen) == len(self._heights):
                yield chosen
                return
            for height in self._columns[spread_stop][len(chosen)]:
                if spent + height.cost > limit + 1e-6:
                    return
                yield from further([*chosen, height], spent + height.cost)

        return further([], 0.0)

    def cost(self, heights: list[_Height], spread_stop: int) -> float:
        """The weighted sum of squared residuals of the whole combination."""
        low, high = heights[0], heights[-1]
        reading_mm = self._spread.scale.length_mm(spread_stop)
        horizontal_mm = self._model.geometry.horizontal_mm(
            self._pair, low.reading_mm, high.reading_mm, reading_mm
        )
        drop_mm = high.centre_mm - low.centre_mm
        inner_mm = hypot(horizontal_mm, drop_mm) - self._pair.section.width_mm
        wanted = self._wanted[self._pair.spread]
        off = wanted.weight * (inner_mm - wanted.wanted_mm) ** 2
        return off + sum(height.cost for height in heights)

    def heights_at(self, stops: Sequence[int], spread_stop: int) -> list[_Height]:
        """The heights at those stops while the spread stands there."""
        spread_mm = self._spread.scale.length_mm(spread_stop)
        return [
            self._height(axis, stop, spread_mm)
            for axis, stop in zip(self._heights, stops, strict=True)
        ]

    def with_best_spread(self, heights: Sequence[int]) -> tuple[int, ...]:
        """Those stops of the heights with the stop of the spread that costs least beside them."""

        def cost(spread_stop: int) -> float:
            return round(self.cost(self.heights_at(heights, spread_stop), spread_stop), 6)

        return (*heights, min(range(self._spread.scale.count), key=cost))

    def equally_far(self, best: Stops) -> list[tuple[int, ...]]:
        """The pairs of height stops of which each is as far off as that of ``best``."""
        spread_mm = self._spread.scale.length_mm(best[self._pair.spread])
        return list(
            product(*(self._as_far(axis, best[axis.key], spread_mm) for axis in self._heights))
        )

    def _as_far(self, axis: Axis, stop: int, spread_mm: float) -> list[int]:
        def off_mm(other: int) -> float:
            centre_mm = self._height(axis, other, spread_mm).centre_mm
            upper_mm = centre_mm + self._pair.section.height_mm / 2
            return abs(upper_mm - self._wanted[axis.key].wanted_mm)

        near = [other for other in (stop - 1, stop, stop + 1) if 0 <= other < axis.scale.count]
        return [other for other in near if abs(off_mm(other) - off_mm(stop)) <= TIE_MM]

    def _all_columns(self) -> list[list[list[_Height]]]:
        """The heights by cost for each spread stop: all alike where the uprights stay vertical."""
        stops = range(self._spread.scale.count)
        if isinstance(self._model.geometry, Upright):
            return [self._by_cost(0)] * len(stops)
        return [self._by_cost(stop) for stop in stops]

    def _by_cost(self, spread_stop: int) -> list[list[_Height]]:
        spread_mm = self._spread.scale.length_mm(spread_stop)
        return [
            sorted(self._height(axis, stop, spread_mm) for stop in range(axis.scale.count))
            for axis in self._heights
        ]

    def _height(self, axis: Axis, stop: int, spread_mm: float) -> _Height:
        reading_mm = axis.scale.length_mm(stop)
        centre_mm = self._model.geometry.centre_mm(self._pair, axis.key, reading_mm, spread_mm)
        wanted = self._wanted[axis.key]
        upper_mm = centre_mm + self._pair.section.height_mm / 2
        return _Height(
            wanted.weight * (upper_mm - wanted.wanted_mm) ** 2, stop, reading_mm, centre_mm
        )
