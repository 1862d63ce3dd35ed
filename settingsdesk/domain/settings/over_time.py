"""A setting over time: each axis a line that steps where the setting was changed.

Dots are versions, each with its mark; a short stroke across the line says that a coach confirmed
it there, a dashed one through the whole band that the athlete was noted to have grown.

A drawing in letter heights, as the dot plot: across go days, and each axis has a ruler of its own.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

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
from settingsdesk.domain.base.figures import format_length, length_in_words, so_many
from settingsdesk.domain.base.units import Unit, unit_label
from settingsdesk.domain.settings.dot_plot import LETTER, STEPS, ticks_mm

ACROSS = 23.0 * LETTER
"""From the first day to the last one."""
GUTTER = 4.0 * LETTER
"""On the left, for the figures of the rulers."""
HEIGHT = 5.0 * LETTER
"""Of one axis, from the lowest figure of its ruler to the highest."""
RADIUS = 0.34 * LETTER
STROKE = 0.7 * LETTER
"""Above and below the line, where it was confirmed."""
WIDE = 0.62 * LETTER
"""One sign of a bold mark, at most."""
LEAST_DAYS = 60
MOST_TICKS = 4
MOST_MONTHS = 4
STEPS_MONTHS = (1, 2, 3, 6, 12, 24, 60, 120)
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@dataclass(frozen=True, slots=True)
class Since:
    """What one version of a setting has on an axis; ``mark`` is empty where it cannot be told."""

    on: date
    wanted_mm: int
    mark: str


@dataclass(frozen=True, slots=True)
class AxisOverTime:
    """One axis of the plot: its name and datum, and its versions, the oldest first."""

    name: str
    datum: str
    versions: tuple[Since, ...]


@dataclass(frozen=True, slots=True)
class Occasions:
    """The days on which the setting was confirmed, and on which growth was noted."""

    confirmed: tuple[date, ...] = ()
    grown: tuple[date, ...] = ()


def over_time(
    title: str, axes: Sequence[AxisOverTime], seen: Occasions, until: date, unit: Unit
) -> Drawing:
    """The axes under each other, over the same days; ``title`` begins the sentence for them.

    There is at least one axis, and one version of each. Growth from before the first version is
    left out. Days after ``until``, as a clock that was put back has them, widen the plot.
    """
    days = [version.on for axis in axes for version in axis.versions]
    grown = tuple(day for day in seen.grown if day >= min(days))
    last = max(until, *days, *seen.confirmed, *grown)
    first = min(min(days), last - timedelta(days=LEAST_DAYS))
    shapes: list[Shape] = []
    top = 0.0
    for axis in axes:
        band = _Band(axis, unit, top, _Days(first, last))
        shapes.extend(band.shapes(Occasions(seen.confirmed, grown)))
        top = band.bottom
    shapes.extend(_calendar(_Days(first, last), top))
    bottom = top - 2.0 * LETTER
    return Drawing(
        left_mm=-GUTTER,
        bottom_mm=bottom,
        width_mm=GUTTER + ACROSS + LETTER,
        height_mm=-bottom,
        letter_mm=LETTER,
        shapes=tuple(shapes),
        in_words=_in_words(title, axes, seen, unit),
    )


def _in_words(title: str, axes: Sequence[AxisOverTime], seen: Occasions, unit: Unit) -> str:
    told = [
        f"{axis.name[0].lower()}{axis.name[1:]}"
        f" {length_in_words(axis.versions[0].wanted_mm, unit)} at first,"
        f" {length_in_words(axis.versions[-1].wanted_mm, unit)} now"
        for axis in axes
    ]
    counted = [
        so_many(len(axes[0].versions), "version"),
        so_many(len(seen.confirmed), "confirmation"),
    ]
    return f"{title}: {'; '.join(told)}. {' and '.join(counted)}, which the table tells."


@dataclass(frozen=True, slots=True)
class _Days:
    first: date
    last: date

    def x(self, day: date) -> float:
        whole = (self.last - self.first).days
        return (day - self.first).days / whole * ACROSS

    def months(self) -> Iterator[date]:
        """First days of months, some of them where there are many."""
        whole = (self.last.year - self.first.year) * 12 + self.last.month - self.first.month
        step = next((one for one in STEPS_MONTHS if whole <= MOST_MONTHS * one), STEPS_MONTHS[-1])
        count = self.first.year * 12 + self.first.month
        for month in range(count, count + whole):
            if month % step == 0:
                yield date(month // 12, month % 12 + 1, 1)


def _calendar(days: _Days, top: float) -> Iterator[Shape]:
    """The months below the last band."""
    yield Line(0.0, top, ACROSS, top, Weight.THIN)
    for month in days.months():
        x = days.x(month)
        yield Line(x, top, x, top - 0.45 * LETTER, Weight.THIN)
        yield Text(x, top - 1.6 * LETTER, f"{MONTHS[month.month - 1]} {month.year}", size=0.9)


class _Band:
    """The part of the plot that belongs to one axis, hung below ``top``."""

    def __init__(self, axis: AxisOverTime, unit: Unit, top: float, days: _Days) -> None:
        self._axis, self._unit, self._days = axis, unit, days
        lengths_mm = [version.wanted_mm for version in axis.versions]
        self._ticks_mm = ticks_mm(min(lengths_mm), max(lengths_mm), STEPS[unit], MOST_TICKS)
        self._title_y = top - 1.6 * LETTER
        self._top_y = self._title_y - 3.4 * LETTER
        self._bottom_y = self._top_y - HEIGHT
        self.bottom = self._bottom_y - 0.8 * LETTER

    def shapes(self, seen: Occasions) -> Iterator[Shape]:
        name = f"{self._axis.name}, {unit_label(self._unit)}"
        yield Text(-GUTTER, self._title_y, name, Anchor.START, 1.1, bold=True)
        datum_y = self._title_y - 1.1 * LETTER
        yield Text(-GUTTER, datum_y, self._axis.datum, Anchor.START, 0.95, ink=Ink.QUIET)
        for tick_mm in self._ticks_mm:
            yield from self._tick(tick_mm)
        for day in seen.grown:
            yield from self._growth(day)
        yield from self._line()
        for day in seen.confirmed:
            yield from self._confirmation(day)
        for version in self._axis.versions:
            x, y = self._days.x(version.on), self._y(version.wanted_mm)
            yield Circle(x, y, RADIUS, filled=True, ink=Ink.ACCENT)
        yield from self._marks()

    def _tick(self, tick_mm: float) -> Iterator[Shape]:
        y, figure = self._y(tick_mm), format_length(tick_mm, self._unit)
        yield Line(0.0, y, ACROSS, y, Weight.THIN, ink=Ink.QUIET)
        where = (-0.5 * LETTER, y - 0.35 * LETTER)
        yield Text(*where, figure.removesuffix(".0"), Anchor.END, ink=Ink.QUIET)

    def _line(self) -> Iterator[Shape]:
        """Level while a version counts, and upright where the next one began."""
        versions = self._axis.versions
        for version, later in zip(versions, [*versions[1:], None], strict=True):
            x, y = self._days.x(version.on), self._y(version.wanted_mm)
            until = ACROSS if later is None else self._days.x(later.on)
            yield Line(x, y, until, y, Weight.HEAVY)
            if later is not None and later.wanted_mm != version.wanted_mm:
                yield Line(until, y, until, self._y(later.wanted_mm), Weight.NORMAL)

    def _confirmation(self, day: date) -> Iterator[Shape]:
        counts = [version for version in self._axis.versions if version.on <= day]
        if counts:
            x, y = self._days.x(day), self._y(counts[-1].wanted_mm)
            yield Line(x, y - STROKE, x, y + STROKE, Weight.HEAVY, ink=Ink.ACCENT)

    def _growth(self, day: date) -> Iterator[Shape]:
        x = self._days.x(day)
        yield Line(x, self._bottom_y, x, self._top_y + LETTER, Weight.NORMAL, dashed=True)
        anchor = Anchor.END if x > ACROSS - 3 * LETTER else Anchor.START
        beside = -0.3 * LETTER if anchor is Anchor.END else 0.3 * LETTER
        yield Text(x + beside, self._top_y + 0.5 * LETTER, "grown", anchor, 0.9)

    def _marks(self) -> Iterator[Shape]:
        """The marks over the line: the last one, and before it those that have room."""
        free = ACROSS + LETTER
        for version in reversed(self._axis.versions):
            x, wide = self._days.x(version.on), len(version.mark) * WIDE
            at = min(x + 0.5 * LETTER, ACROSS - wide)
            if version.mark and at + wide <= free:
                y = self._y(version.wanted_mm) + 0.6 * LETTER
                yield Text(at, y, version.mark, Anchor.START, bold=True)
                free = at - 0.5 * LETTER

    def _y(self, length_mm: float) -> float:
        first_mm, last_mm = self._ticks_mm[0], self._ticks_mm[-1]
        return self._bottom_y + (length_mm - first_mm) / (last_mm - first_mm) * HEIGHT
