"""The end view of an apparatus, to scale and with its dimensions: the picture on every page."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import hypot, sqrt

from settingsdesk.domain.datums import Section
from settingsdesk.domain.drawing import (
    Anchor,
    Box,
    Circle,
    Drawing,
    Ink,
    Line,
    Shape,
    Text,
    Triangle,
    Weight,
)
from settingsdesk.domain.kinds import AxisKind, Kind, Quantity

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class DimensionText:
    """What stands at a dimension: the mark, large (may be empty), and the length with its unit."""

    mark: str
    length: str

    @property
    def in_words(self) -> str:
        return f"{self.length} at mark {self.mark}" if self.mark else self.length


@dataclass(frozen=True, slots=True)
class _Rail:
    """One rail, surface or ring in the end view: its axis and where its upper edge is."""

    axis: AxisKind
    x_mm: float
    upper_mm: float
    foot_x_mm: float


def end_view(
    kind: Kind,
    section: Section | None,
    measures_mm: Mapping[str, float],
    texts: Mapping[str, DimensionText],
    mat_mm: float = 0.0,
    foot_distance_mm: float | None = None,
) -> Drawing:
    """The apparatus seen from its end, at those canonical lengths, with a text for each axis.

    Rails, floor and mat are to scale; distances along the floor are drawn broken, and say so.
    ``foot_distance_mm`` is given where uprights lean.
    """
    rails = _rails(kind, section, measures_mm, foot_distance_mm)
    top_mm = max(rail.upper_mm for rail in rails)
    letter_mm = top_mm / 15
    sheet = _Sheet(letter_mm, rails, section or Section(letter_mm / 3, letter_mm / 3))
    floor_axes = [axis for axis in kind.axes if axis.quantity is Quantity.DISTANCE]
    left_mm, right_mm = sheet.edges_mm
    below_mm = letter_mm * (1.0 + 3.4 * len(floor_axes))
    shapes = (
        *sheet.ground(mat_mm),
        *sheet.standing(),
        *(shape for rail in _dimensioned(rails) for shape in sheet.height(rail, texts)),
        *sheet.spread(kind, texts),
        *(
            shape
            for row, axis in enumerate(floor_axes)
            for shape in sheet.along_the_floor(row, axis, texts)
        ),
    )
    words = "; ".join(f"{axis.in_a_sentence} {texts[axis.key].in_words}" for axis in kind.axes)
    return Drawing(
        left_mm=left_mm,
        bottom_mm=-below_mm,
        width_mm=right_mm - left_mm,
        height_mm=top_mm + below_mm + letter_mm,
        letter_mm=letter_mm,
        shapes=shapes,
        in_words=f"End view of {kind.name.lower()}: {words}.",
    )


def _rails(
    kind: Kind,
    section: Section | None,
    measures_mm: Mapping[str, float],
    foot_distance_mm: float | None,
) -> list[_Rail]:
    spread = kind.spread_axis
    if spread is None or kind.spread_between is None or section is None:
        heights = [axis for axis in kind.axes if axis.quantity is Quantity.HEIGHT]
        return [_Rail(axis, 0.0, measures_mm[axis.key], 0.0) for axis in heights]
    low, high = (kind.axis(key) for key in kind.spread_between)
    drop_mm = measures_mm[high.key] - measures_mm[low.key]
    diagonal_mm = measures_mm[spread.key] + section.width_mm
    half_mm = sqrt(max(diagonal_mm**2 - drop_mm**2, 0.0)) / 2
    foot_mm = half_mm if foot_distance_mm is None else foot_distance_mm / 2
    return [
        _Rail(low, -half_mm, measures_mm[low.key], -foot_mm),
        _Rail(high, half_mm, measures_mm[high.key], foot_mm),
    ]


def _dimensioned(rails: list[_Rail]) -> list[_Rail]:
    """One rail for each axis: where an axis moves two rails, its height is written once."""
    return list({rail.axis.key: rail for rail in reversed(rails)}.values())[::-1]


class _Sheet:
    """The drawing's conventions: where dimension lines run, how they end, where texts stand."""

    def __init__(self, letter_mm: float, rails: list[_Rail], section: Section) -> None:
        self._letter_mm, self._rails, self._section = letter_mm, rails, section
        self._left_mm = min(min(rail.x_mm, rail.foot_x_mm) for rail in rails)
        self._right_mm = max(max(rail.x_mm, rail.foot_x_mm) for rail in rails)

    @property
    def edges_mm(self) -> tuple[float, float]:
        """Room for a dimension line and its text on both sides."""
        room_mm = 7.2 * self._letter_mm
        return self._left_mm - room_mm, self._right_mm + room_mm

    def ground(self, mat_mm: float) -> Iterator[Shape]:
        """The floor, and the mat on it where there is one."""
        reach_mm = 1.2 * self._letter_mm
        left_mm, right_mm = self._left_mm - reach_mm, self._right_mm + reach_mm
        if mat_mm > 0:
            yield Box(left_mm, 0.0, right_mm - left_mm, mat_mm, ink=Ink.QUIET)
        whole_left_mm, whole_right_mm = self.edges_mm
        yield Line(whole_left_mm, 0.0, whole_right_mm, 0.0, Weight.HEAVY)

    def standing(self) -> Iterator[Shape]:
        """Uprights and rail sections."""
        for rail in self._rails:
            centre_mm = rail.upper_mm - self._section.height_mm / 2
            yield Line(rail.foot_x_mm, 0.0, rail.x_mm, centre_mm, Weight.NORMAL, ink=Ink.QUIET)
            yield Circle(rail.x_mm, centre_mm, self._section.width_mm / 2, filled=True)

    def height(self, rail: _Rail, texts: Mapping[str, DimensionText]) -> Iterator[Shape]:
        """A height's dimension, outside its rail: from the floor to the upper edge."""
        side = -1 if rail.x_mm <= 0 else 1
        outermost_mm = self._left_mm if side < 0 else self._right_mm
        x_mm = outermost_mm + side * 2.0 * self._letter_mm
        yield Line(
            rail.x_mm,
            rail.upper_mm,
            x_mm + side * 0.4 * self._letter_mm,
            rail.upper_mm,
            Weight.THIN,
        )
        yield from self._dimension_line((x_mm, 0.0), (x_mm, rail.upper_mm))
        anchor = Anchor.END if side < 0 else Anchor.START
        text_x_mm = x_mm + side * 0.5 * self._letter_mm
        yield from self._text((text_x_mm, rail.upper_mm / 2), anchor, texts[rail.axis.key])

    def spread(self, kind: Kind, texts: Mapping[str, DimensionText]) -> Iterator[Shape]:
        """The spread's dimension, from inner face to inner face."""
        axis = kind.spread_axis
        if axis is None:
            return
        low, high = self._rails
        half_mm = self._section.height_mm / 2
        centres = ((low.x_mm, low.upper_mm - half_mm), (high.x_mm, high.upper_mm - half_mm))
        start, end = _shortened(*centres, self._section.width_mm / 2)
        yield from self._dimension_line(start, end)
        middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
        level = abs(end[1] - start[1]) < self._letter_mm
        shift_mm = 0.0 if level else 0.5 * self._letter_mm
        anchor = Anchor.MIDDLE if level else Anchor.START
        below = (middle[0] + shift_mm, middle[1] - 1.7 * self._letter_mm)
        yield from self._text(below, anchor, texts[axis.key])

    def along_the_floor(
        self, row: int, axis: AxisKind, texts: Mapping[str, DimensionText]
    ) -> Iterator[Shape]:
        """A distance along the floor: a broken line below it, since it may be many metres."""
        left_mm, right_mm = self.edges_mm
        y_mm = -self._letter_mm * (3.0 + 3.4 * row)
        gap_mm = 0.4 * self._letter_mm
        middle_mm = (left_mm + right_mm) / 2
        yield from self._dimension_line(
            (left_mm + gap_mm, y_mm), (right_mm - gap_mm, y_mm), dashed=True
        )
        text = texts[axis.key]
        told = DimensionText("", f"{axis.name}: {text.in_words} (not to scale)")
        yield from self._text((middle_mm, y_mm + 1.0 * self._letter_mm), Anchor.MIDDLE, told, 0.8)

    def _text(
        self, at: Point, anchor: Anchor, text: DimensionText, size: float = 1.0
    ) -> Iterator[Shape]:
        if text.mark:
            yield Text(at[0], at[1] + 0.15 * self._letter_mm, text.mark, anchor, 1.7, bold=True)
            yield Text(at[0], at[1] - 1.05 * self._letter_mm, text.length, anchor, size)
        else:
            yield Text(at[0], at[1] - 0.35 * self._letter_mm, text.length, anchor, size)

    def _dimension_line(self, start: Point, end: Point, *, dashed: bool = False) -> Iterator[Shape]:
        yield Line(*start, *end, Weight.THIN, dashed=dashed)
        yield self._arrow_head(start, end)
        yield self._arrow_head(end, start)

    def _arrow_head(self, tip: Point, towards: Point) -> Triangle:
        length_mm = hypot(towards[0] - tip[0], towards[1] - tip[1]) or 1.0
        along = ((towards[0] - tip[0]) / length_mm, (towards[1] - tip[1]) / length_mm)
        across = (-along[1], along[0])
        long_mm, half_mm = 0.55 * self._letter_mm, 0.13 * self._letter_mm
        back = (tip[0] + along[0] * long_mm, tip[1] + along[1] * long_mm)
        return Triangle(
            (
                tip,
                (back[0] + across[0] * half_mm, back[1] + across[1] * half_mm),
                (back[0] - across[0] * half_mm, back[1] - across[1] * half_mm),
            )
        )


def _shortened(start: Point, end: Point, by_mm: float) -> tuple[Point, Point]:
    """The line between two points, shorter by so much at either end."""
    length_mm = hypot(end[0] - start[0], end[1] - start[1]) or 1.0
    step = ((end[0] - start[0]) / length_mm * by_mm, (end[1] - start[1]) / length_mm * by_mm)
    return (start[0] + step[0], start[1] + step[1]), (end[0] - step[0], end[1] - step[1])
