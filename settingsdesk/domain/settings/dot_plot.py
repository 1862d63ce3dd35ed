"""The squad's settings per axis as a dot plot: one dot an athlete, equal settings stacked.

Filled is who shares the settings of all axes with another, open who stands alone.

A drawing in letter heights rather than in the millimetres of the hall: each axis has a ruler of its
own, so that neighbours a centimetre apart are still two dots.
"""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from math import ceil, floor
from statistics import median_low

from settingsdesk.domain.base.drawing import (
    Anchor,
    Circle,
    Drawing,
    Ink,
    Line,
    Shape,
    Text,
    Weight,
)
from settingsdesk.domain.base.figures import EIGHTH_INCH_UM, format_length, length_in_words
from settingsdesk.domain.base.units import Unit, unit_label

LETTER = 100.0
ACROSS = 24.0 * LETTER
"""From the first to the last tick of a ruler."""
RADIUS = 0.34 * LETTER
STACK = 0.78 * LETTER
"""From one dot of a stack to the next, as long as the stack is not too high."""
HIGHEST_STACK = 6.0 * LETTER
MOST_TICKS = 6
INCH_MM = EIGHTH_INCH_UM * 8 / 1000
STEPS = {
    Unit.CENTIMETRE: tuple(factor * ten for ten in (10, 100, 1000, 10_000) for factor in (1, 2, 5)),
    Unit.INCH: tuple(inches * INCH_MM for inches in (1, 2, 4, 10, 20, 40, 100, 200, 400)),
}


@dataclass(frozen=True, slots=True)
class DotAxis:
    """One axis of the plot: its name and datum, and the canonical length each athlete wants."""

    name: str
    datum: str
    lengths_mm: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class DotPlot:
    """The plot, and in names what its dots cannot say: who stands together and who alone."""

    drawing: Drawing
    shared: list[list[str]]
    alone: list[str]


def named_plot(title: str, axes: Sequence[DotAxis], names: Sequence[str], unit: Unit) -> DotPlot:
    """The same with the names of the athletes, in the order of their lengths."""
    by_setting = [[names[place] for place in places] for places in sharers(axes)]
    return DotPlot(
        dot_plot(title, axes, unit),
        [together for together in by_setting if len(together) > 1],
        [together[0] for together in by_setting if len(together) == 1],
    )


def sharers(axes: Sequence[DotAxis]) -> list[list[int]]:
    """The athletes who want the same on all axes, by their places, in the order of the first."""
    by_setting: dict[tuple[int, ...], list[int]] = {}
    for place, lengths_mm in enumerate(zip(*(axis.lengths_mm for axis in axes), strict=True)):
        by_setting.setdefault(lengths_mm, []).append(place)
    return list(by_setting.values())


def dot_plot(title: str, axes: Sequence[DotAxis], unit: Unit) -> Drawing:
    """The axes under each other, each with its own ruler, and ``title`` in the sentence for them.

    There is at least one axis, and one length on each.
    """
    shapes: list[Shape] = []
    top = 0.0
    alone = {places[0] for places in sharers(axes) if len(places) == 1}
    for axis in axes:
        band = _Band(axis, unit, top, alone)
        shapes.extend(band.shapes())
        top = band.bottom
    words = "; ".join(_in_words(axis, unit) for axis in axes)
    return Drawing(
        left_mm=-2.0 * LETTER,
        bottom_mm=top,
        width_mm=ACROSS + 4.0 * LETTER,
        height_mm=-top,
        letter_mm=LETTER,
        shapes=tuple(shapes),
        in_words=f"{title}: {words}.",
    )


def _in_words(axis: DotAxis, unit: Unit) -> str:
    least, most = min(axis.lengths_mm), max(axis.lengths_mm)
    name = f"{axis.name[0].lower()}{axis.name[1:]}"
    if least == most:
        return f"{name}, all {_told(least, unit)}"
    middle = _told(median_low(axis.lengths_mm), unit)
    return f"{name} from {_told(least, unit)} to {_told(most, unit)}, the middle one {middle}"


def _told(length_mm: float, unit: Unit) -> str:
    return length_in_words(length_mm, unit)


class _Band:
    """The part of the plot that belongs to one axis, hung below ``top``."""

    def __init__(self, axis: DotAxis, unit: Unit, top: float, alone: Collection[int]) -> None:
        self._axis, self._unit = axis, unit
        self._ticks_mm = ticks_mm(
            min(axis.lengths_mm), max(axis.lengths_mm), STEPS[unit], MOST_TICKS
        )
        by_length = sorted(enumerate(axis.lengths_mm), key=lambda one: one[1])
        stacked = _stacked([self._x(length_mm) for _, length_mm in by_length])
        self._dots = [
            (x, level, place not in alone)
            for (x, level), (place, _) in zip(stacked, by_length, strict=True)
        ]
        highest = max(level for _, level, _ in self._dots)
        self._stack = min(STACK, HIGHEST_STACK / max(highest, 1))
        self._title_y = top - 1.6 * LETTER
        self._ruler_y = self._title_y - 1.6 * LETTER - highest * self._stack - 2.2 * RADIUS
        self.bottom = self._ruler_y - 2.2 * LETTER

    def shapes(self) -> Iterator[Shape]:
        name = f"{self._axis.name}, {unit_label(self._unit)}"
        yield Text(-1.5 * LETTER, self._title_y, name, Anchor.START, 1.1, bold=True)
        datum_y = self._title_y - 1.1 * LETTER
        yield Text(-1.5 * LETTER, datum_y, self._axis.datum, Anchor.START, 0.95, ink=Ink.QUIET)
        yield Line(0.0, self._ruler_y, ACROSS, self._ruler_y, Weight.THIN)
        for tick_mm in self._ticks_mm:
            yield from self._tick(tick_mm)
        for x, level, filled in self._dots:
            y = self._ruler_y + 1.5 * RADIUS + level * self._stack
            yield Circle(x, y, RADIUS, filled=filled, ink=Ink.ACCENT)

    def _tick(self, tick_mm: float) -> Iterator[Shape]:
        x, figure = self._x(tick_mm), format_length(tick_mm, self._unit)
        yield Line(x, self._ruler_y, x, self._ruler_y - 0.45 * LETTER, Weight.THIN)
        yield Text(x, self._ruler_y - 1.5 * LETTER, figure.removesuffix(".0"))

    def _x(self, length_mm: float) -> float:
        first_mm, last_mm = self._ticks_mm[0], self._ticks_mm[-1]
        return (length_mm - first_mm) / (last_mm - first_mm) * ACROSS


def ticks_mm(
    least_mm: int, most_mm: int, steps_mm: Sequence[float], most_ticks: int
) -> list[float]:
    """Round lengths from below the least to above the most, as finely as there is room for."""
    for step_mm in steps_mm:
        first = floor(least_mm / step_mm)
        last = max(ceil(most_mm / step_mm), first + 1)
        if last - first < most_ticks:
            break
    return [tick * step_mm for tick in range(first, last + 1)]


def _stacked(places: Sequence[float]) -> Iterator[tuple[float, int]]:
    """Each place with the lowest level at which its dot touches no other."""
    ends: list[float] = []
    for x in places:
        level = next(
            (level for level, end in enumerate(ends) if x - end >= 2.1 * RADIUS), len(ends)
        )
        ends[level : level + 1] = [x]
        yield x, level
