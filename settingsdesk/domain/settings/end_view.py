"""The end view of an apparatus, to scale and with its dimensions: the picture on every page."""

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from math import hypot, sqrt

from settingsdesk.domain.base.datums import Section
from settingsdesk.domain.base.drawing import (
    Anchor,
    Box,
    Circle,
    Drawing,
    Ink,
    Line,
    Oval,
    Shape,
    Text,
    Triangle,
    Weight,
)
from settingsdesk.domain.base.kinds import AxisKind, Kind, Quantity
from settingsdesk.domain.base.sentences import Sentence, Series

Point = tuple[float, float]

RING_MM = 180.0  # inner diameter; read in a page that quotes the norms of 2020
MARK_SIZE = 1.7
CAPITAL = 0.75  # height of a capital, as a share of the letter height
MARGIN_LETTERS = 0.4
SMALL_LETTERS = 9
"""So many letter heights is a rail high that is drawn small."""
RAIL_LETTERS = 1.0
"""A rail drawn enlarged is at least so many letter heights thick: 10 px where letters are."""
RAIL, UPRIGHTS = "rail", "uprights"  # the parts of the picture besides its dimensions


@dataclass(frozen=True, slots=True)
class DimensionText:
    """What stands at a dimension: the mark, large, and the length with its unit.

    One of them may be empty.
    """

    mark: str
    length: str

    @property
    def in_words(self) -> str:
        if not self.mark:
            return self.length
        if not self.length:
            return Sentence("mark %(mark)s", mark=self.mark)
        return Sentence("%(length)s at mark %(mark)s", length=self.length, mark=self.mark)


@dataclass(frozen=True, slots=True)
class _Outline:
    """A rail's section as it is drawn; enlarged it is thicker than any rail."""

    height_mm: float
    width_mm: float


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
    now_mm: Mapping[str, float] | None = None,
    seen_from: str = "",
    *,
    rails_enlarged: bool = False,
    moving: Collection[str] = (),
) -> Drawing:
    """The apparatus seen from its end, at those canonical lengths, with a text for each axis.

    Rails, floor and mat are to scale; distances along the floor are drawn broken, and say so.
    ``foot_distance_mm`` is given where uprights lean. ``now_mm`` are the lengths at which it
    stands now, where that is another setup: drawn open, over what is drawn filled.
    ``seen_from`` names the end at which one stands; the low rail, or the left one, is on the left.
    ``rails_enlarged`` is for small screens, and the drawing's note says it: upper edges and inner
    faces stay where a tape finds them, and the rails grow away from both. Where axes are
    ``moving``, they are in the accent and all others quiet.
    """
    highest_mm = max(
        measures_mm[axis.key] for axis in kind.axes if axis.quantity is Quantity.HEIGHT
    )
    letter_mm = highest_mm / 15
    drawn = _drawn(section, RAIL_LETTERS * letter_mm if rails_enlarged else 0.0)
    rails = _rails(kind, drawn, measures_mm, foot_distance_mm)
    sheet = _Sheet(kind, letter_mm, rails, drawn, moving)
    below = [axis for axis in kind.axes if axis not in {rail.axis for rail in rails}]
    below = [axis for axis in below if axis is not kind.spread_axis]
    shapes = (
        *sheet.ground(mat_mm),
        *sheet.standing(),
        *sheet.outlines(_rails(kind, drawn, now_mm, foot_distance_mm) if now_mm else []),
        *(
            replace(shape, part=part_of(kind, axis), ink=sheet.ink_of(axis))
            for axis, dimension in sheet.dimensions(_dimensioned(rails), below, texts)
            for shape in dimension
        ),
    )
    note = Sentence("Rails enlarged.") if rails_enlarged and drawn is not None else ""
    return _framed(shapes, letter_mm, _in_words(kind, texts, seen_from), note)


def small_view(
    kind: Kind,
    section: Section | None,
    measures_mm: Mapping[str, float],
    marks: Mapping[str, str],
    foot_distance_mm: float | None,
) -> Drawing:
    """The same in small, beside words that say all lengths: what stands there, and its marks.

    A height's mark stands beside its rail; what cannot be seen from the end is only in the words.
    """
    heights = [axis.key for axis in kind.axes if axis.quantity is Quantity.HEIGHT]
    letter_mm = max(measures_mm[key] for key in heights) / SMALL_LETTERS
    drawn = _drawn(section, RAIL_LETTERS * letter_mm)
    rails = _rails(kind, drawn, measures_mm, foot_distance_mm)
    sheet = _Sheet(kind, letter_mm, rails, drawn, ())
    texts = {axis.key: DimensionText(marks[axis.key], "") for axis in kind.axes}
    shapes = (
        *sheet.ground(0.0, reach_letters=1.5),
        *sheet.standing(),
        *(shape for rail in _dimensioned(rails) for shape in sheet.beside(rail, texts)),
        *sheet.spread(texts, arrows=False),
    )
    return _framed(shapes, letter_mm, _in_words(kind, texts, ""))


def _framed(shapes: tuple[Shape, ...], letter_mm: float, words: str, note: str = "") -> Drawing:
    left_mm, bottom_mm, right_mm, top_mm = extent_mm(shapes, letter_mm)
    margin_mm = MARGIN_LETTERS * letter_mm
    return Drawing(
        left_mm=left_mm - margin_mm,
        bottom_mm=bottom_mm - margin_mm,
        width_mm=right_mm - left_mm + 2 * margin_mm,
        height_mm=top_mm - bottom_mm + 2 * margin_mm,
        letter_mm=letter_mm,
        shapes=shapes,
        in_words=words,
        note=note,
    )


def _in_words(kind: Kind, texts: Mapping[str, DimensionText], seen_from: str) -> Sentence:
    axes = [
        Sentence("%(axis)s %(length)s", axis=axis.in_a_sentence, length=texts[axis.key].in_words)
        for axis in kind.axes
    ]
    facts = {"kind": kind.in_a_sentence, "axes": Series(axes, "; ")}
    if seen_from:
        return Sentence(
            "End view of %(kind)s, seen from the %(end)s: %(axes)s.", end=seen_from, **facts
        )
    return Sentence("End view of %(kind)s: %(axes)s.", **facts)


def part_of(kind: Kind, axis: AxisKind) -> str:
    """The part of the picture that is an axis's dimension: "axis-1" for the first of its kind."""
    return f"axis-{kind.axes.index(axis) + 1}"


def _rails(
    kind: Kind,
    section: _Outline | None,
    measures_mm: Mapping[str, float],
    foot_distance_mm: float | None,
) -> list[_Rail]:
    spread = kind.spread_axis
    if spread is None or kind.spread_between is None or section is None:
        heights = [axis for axis in kind.axes if axis.quantity is Quantity.HEIGHT]
        return [_Rail(axis, 0.0, measures_mm[axis.key], 0.0) for axis in heights]
    low, high = (kind.axis(key) for key in kind.spread_between)
    low_mm, high_mm = measures_mm[low.key], measures_mm[high.key]
    diagonal_mm = measures_mm[spread.key] + section.width_mm
    horizontal_mm = sqrt(max(diagonal_mm**2 - (high_mm - low_mm) ** 2, 0.0))
    foot_mm = horizontal_mm if foot_distance_mm is None else foot_distance_mm
    # Both uprights lean alike, so each rail is out by its own share of the height.
    out_mm = (horizontal_mm - foot_mm) / (low_mm + high_mm - section.height_mm)
    low_out_mm = out_mm * (low_mm - section.height_mm / 2)
    high_out_mm = out_mm * (high_mm - section.height_mm / 2)
    return [
        _Rail(low, -foot_mm / 2 - low_out_mm, low_mm, -foot_mm / 2),
        _Rail(high, foot_mm / 2 + high_out_mm, high_mm, foot_mm / 2),
    ]


def _drawn(section: Section | None, least_mm: float) -> _Outline | None:
    """The section as it is, or so much larger that it is nowhere thinner than that."""
    if section is None:
        return None
    times = max(1.0, least_mm / min(section.height_mm, section.width_mm))
    return _Outline(section.height_mm * times, section.width_mm * times)


def _dimensioned(rails: list[_Rail]) -> list[_Rail]:
    """One rail for each axis: where an axis moves two rails, its height is written once."""
    return list({rail.axis.key: rail for rail in reversed(rails)}.values())[::-1]


class _Sheet:
    """The drawing's conventions: where dimension lines run, how they end, where texts stand."""

    def __init__(
        self,
        kind: Kind,
        letter_mm: float,
        rails: list[_Rail],
        section: _Outline | None,
        moving: Collection[str],
    ) -> None:
        self._kind, self._letter_mm, self._rails, self._section = kind, letter_mm, rails, section
        self._moving = moving
        half_mm = max(kind.surface_mm, RING_MM if kind.hangs else 0.0) / 2
        self._left_mm = min(min(rail.x_mm, rail.foot_x_mm) for rail in rails) - half_mm
        self._right_mm = max(max(rail.x_mm, rail.foot_x_mm) for rail in rails) + half_mm

    def ink_of(self, axis: AxisKind) -> Ink:
        """What moves is in the accent, and the rest quiet, where anything does."""
        if not self._moving:
            return Ink.MAIN
        return Ink.ACCENT if axis.key in self._moving else Ink.QUIET

    def ground(self, mat_mm: float, reach_letters: float = 6.0) -> Iterator[Shape]:
        """The floor, and the mat on it where there is one."""
        reach_mm = 1.2 * self._letter_mm
        left_mm, right_mm = self._left_mm - reach_mm, self._right_mm + reach_mm
        if mat_mm > 0:
            yield Box(left_mm, 0.0, right_mm - left_mm, mat_mm, ink=Ink.QUIET)
        reach_mm = reach_letters * self._letter_mm
        yield Line(self._left_mm - reach_mm, 0.0, self._right_mm + reach_mm, 0.0, Weight.HEAVY)

    def standing(self) -> Iterator[Shape]:
        """What stands or hangs there: uprights and rail sections, a surface, or a ring."""
        for rail in self._rails:
            if self._section is not None:
                yield from self._rail(rail, self._section)
            elif self._kind.hangs:
                yield from self._ring(rail)
            else:
                yield from self._surface(rail)

    def outlines(self, rails: list[_Rail]) -> Iterator[Shape]:
        """Where rails, surface or rings stand now, as open outlines."""
        for rail in rails:
            if self._section is not None:
                centre_mm = rail.upper_mm - self._section.height_mm / 2
                yield Line(rail.foot_x_mm, 0.0, rail.x_mm, centre_mm, Weight.THIN, dashed=True)
                yield _section(rail.x_mm, centre_mm, self._section)
            else:
                radius_mm = RING_MM / 2 if self._kind.hangs else self._letter_mm / 6
                centre_mm = rail.upper_mm + (radius_mm if self._kind.hangs else -radius_mm)
                yield Circle(rail.x_mm, centre_mm, radius_mm)

    def _rail(self, rail: _Rail, section: _Outline) -> Iterator[Shape]:
        centre_mm = rail.upper_mm - section.height_mm / 2
        foot, tip = (rail.foot_x_mm, 0.0), (rail.x_mm, centre_mm)
        yield Line(*foot, *tip, Weight.NORMAL, ink=Ink.QUIET, part=UPRIGHTS)
        ink = self.ink_of(rail.axis)
        yield replace(_section(*tip, section), filled=True, ink=ink, part=RAIL)

    def _ring(self, rail: _Rail) -> Iterator[Shape]:
        """A ring by its lower inner side, and the beginning of its cable."""
        radius_mm = RING_MM / 2
        top_mm = rail.upper_mm + RING_MM
        cable_mm = top_mm + 2.0 * self._letter_mm
        yield Line(rail.x_mm, top_mm, rail.x_mm, cable_mm, Weight.NORMAL, ink=Ink.QUIET)
        yield Circle(rail.x_mm, rail.upper_mm + radius_mm, radius_mm, ink=self.ink_of(rail.axis))

    def _surface(self, rail: _Rail) -> Iterator[Shape]:
        thick_mm, wide_mm = self._letter_mm / 3, self._kind.surface_mm
        under_mm = rail.upper_mm - thick_mm
        yield Line(rail.x_mm, 0.0, rail.x_mm, under_mm, Weight.NORMAL, ink=Ink.QUIET)
        left_mm, ink = rail.x_mm - wide_mm / 2, self.ink_of(rail.axis)
        yield Box(left_mm, under_mm, wide_mm, thick_mm, filled=True, ink=ink)

    def dimensions(
        self,
        heights: list[_Rail],
        below: list[AxisKind],
        texts: Mapping[str, DimensionText],
    ) -> Iterator[tuple[AxisKind, Iterator[Shape]]]:
        """The dimension of every axis."""
        for rail in heights:
            yield rail.axis, self.height(rail, texts)
        if self._kind.spread_axis is not None:
            yield self._kind.spread_axis, self.spread(texts)
        for row, axis in enumerate(below):
            yield axis, self.broken(row, axis, texts)

    def height(self, rail: _Rail, texts: Mapping[str, DimensionText]) -> Iterator[Shape]:
        """A height's dimension, outside its rail: from the floor to the upper edge."""
        side = -1 if rail is self._rails[0] else 1
        outermost_mm = self._left_mm if side < 0 else self._right_mm
        x_mm = outermost_mm + side * 2.0 * self._letter_mm
        beyond_mm = x_mm + side * 0.4 * self._letter_mm
        yield Line(rail.x_mm, rail.upper_mm, beyond_mm, rail.upper_mm, Weight.THIN)
        yield from self._dimension_line((x_mm, 0.0), (x_mm, rail.upper_mm))
        anchor = Anchor.END if side < 0 else Anchor.START
        text_x_mm = x_mm + side * 0.5 * self._letter_mm
        middle_mm = rail.upper_mm / 2 - self._block_mm(texts[rail.axis.key]) / 2
        yield from self._text((text_x_mm, middle_mm), anchor, texts[rail.axis.key])

    def beside(self, rail: _Rail, texts: Mapping[str, DimensionText]) -> Iterator[Shape]:
        """A height's mark alone, at the outside of its rail."""
        side = -1 if rail is self._rails[0] and len(self._rails) > 1 else 1
        wide_mm = self._section.width_mm if self._section else self._kind.surface_mm
        across_mm = max(wide_mm, RING_MM if self._kind.hangs else 0.0) / 2
        anchor = Anchor.END if side < 0 else Anchor.START
        x_mm = rail.x_mm + side * (across_mm + 0.5 * self._letter_mm)
        y_mm = rail.upper_mm - 1.6 * self._letter_mm  # clear of the spread's mark above level rails
        yield from self._text((x_mm, y_mm), anchor, texts[rail.axis.key])

    def spread(self, texts: Mapping[str, DimensionText], *, arrows: bool = True) -> Iterator[Shape]:
        """The spread's dimension, from inner face to inner face."""
        axis = self._kind.spread_axis
        if axis is None or self._section is None:
            return
        low, high = self._rails
        half_mm = self._section.height_mm / 2
        centres = ((low.x_mm, low.upper_mm - half_mm), (high.x_mm, high.upper_mm - half_mm))
        start, end = _shortened(*centres, self._section.width_mm / 2)
        yield from self._dimension_line(start, end, arrows=arrows)
        yield from self._text(*self._spread_place(*centres, texts[axis.key]), texts[axis.key])

    def _spread_place(self, low: Point, high: Point, text: DimensionText) -> tuple[Point, Anchor]:
        """Below the dimension line where the text has room between the uprights, else above it.

        The line rises to the right, so a text below it must be clear of it at its left end.
        """
        wide_mm = max(
            text_width_mm(shape, self._letter_mm)
            for shape in self._text((0, 0), Anchor.START, text)
        )
        across_mm, rise_mm = high[0] - low[0], high[1] - low[1]
        middle = ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2)
        needed_mm = wide_mm + 1.0 * self._letter_mm
        if needed_mm <= across_mm:
            clear_mm = wide_mm / 2 * abs(rise_mm) / across_mm + 0.5 * self._letter_mm
            below_mm = clear_mm + self._block_mm(text)
            if needed_mm + self._narrower_mm(abs(rise_mm) / 2 + below_mm) <= across_mm:
                return (middle[0], middle[1] - below_mm), Anchor.MIDDLE
        if abs(rise_mm) < self._letter_mm:
            return (middle[0], middle[1] + 0.8 * self._letter_mm), Anchor.MIDDLE
        return (middle[0] - 0.5 * self._letter_mm, middle[1] + 0.4 * self._letter_mm), Anchor.END

    def _narrower_mm(self, below_mm: float) -> float:
        """How much narrower it is between uprights that lean outwards, so far below the rails."""
        high = self._rails[-1]
        per_mm = (high.x_mm - high.foot_x_mm) / high.upper_mm
        return 2 * max(per_mm, 0.0) * below_mm

    def broken(
        self, row: int, axis: AxisKind, texts: Mapping[str, DimensionText]
    ) -> Iterator[Shape]:
        """A length that cannot be seen from the end: a broken line below, not to scale."""
        words = Sentence(
            "%(axis)s: %(length)s (not to scale)",
            axis=axis.name,
            length=texts[axis.key].in_words,
        )
        told = DimensionText("", words)
        middle_mm = (self._left_mm + self._right_mm) / 2
        y_mm = -self._letter_mm * (2.6 + 2.8 * row)
        (text,) = self._text((middle_mm, y_mm + 0.6 * self._letter_mm), Anchor.MIDDLE, told, 0.8)
        half_mm = max(6.0 * self._letter_mm, text_width_mm(text, self._letter_mm) / 2)
        line = (middle_mm - half_mm, y_mm), (middle_mm + half_mm, y_mm)
        yield from self._dimension_line(*line, dashed=True)
        yield text

    def _block_mm(self, text: DimensionText) -> float:
        """How high mark and length are together, above the base line of the length."""
        if not text.length:
            return CAPITAL * MARK_SIZE * self._letter_mm
        return (CAPITAL + (1.2 + 0.7 * CAPITAL if text.mark else 0.0)) * self._letter_mm

    def _text(
        self, at: Point, anchor: Anchor, text: DimensionText, size: float = 1.0
    ) -> Iterator[Text]:
        """The length on its base line at that point, and the mark above it."""
        if text.mark:
            above_mm = at[1] + (1.2 * self._letter_mm if text.length else 0.0)
            yield Text(at[0], above_mm, text.mark, anchor, MARK_SIZE, bold=True)
        if text.length:
            yield Text(at[0], at[1], text.length, anchor, size)

    def _dimension_line(
        self, start: Point, end: Point, *, dashed: bool = False, arrows: bool = True
    ) -> Iterator[Shape]:
        yield Line(*start, *end, Weight.THIN, dashed=dashed)
        if not arrows:
            return
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


def _section(x_mm: float, y_mm: float, section: _Outline) -> Circle | Oval:
    """A rail's section around its centre: round, or as much higher than wide as it is."""
    if section.height_mm == section.width_mm:
        return Circle(x_mm, y_mm, section.width_mm / 2)
    return Oval(x_mm, y_mm, section.width_mm, section.height_mm)


def _shortened(start: Point, end: Point, by_mm: float) -> tuple[Point, Point]:
    """The line between two points, shorter by so much at either end."""
    length_mm = hypot(end[0] - start[0], end[1] - start[1]) or 1.0
    step = ((end[0] - start[0]) / length_mm * by_mm, (end[1] - start[1]) / length_mm * by_mm)
    return (start[0] + step[0], start[1] + step[1]), (end[0] - step[0], end[1] - step[1])


def text_width_mm(text: Text, letter_mm: float) -> float:
    """About how wide a text is set: a little more than any usual typeface needs for figures."""
    letters = 0.35 + len(text.text) * (0.72 if text.bold else 0.62)
    return letters * text.size * letter_mm


def extent_mm(shapes: Iterable[Shape], letter_mm: float) -> tuple[float, float, float, float]:
    """The left, lower, right and upper ends of what is drawn, texts by their approximate width."""
    corners = [corner for shape in shapes for corner in _corners(shape, letter_mm)]
    across, upwards = [x_mm for x_mm, _ in corners], [y_mm for _, y_mm in corners]
    return min(across), min(upwards), max(across), max(upwards)


def _corners(shape: Shape, letter_mm: float) -> tuple[Point, ...]:
    match shape:
        case Line():
            return (shape.x1_mm, shape.y1_mm), (shape.x2_mm, shape.y2_mm)
        case Circle():
            x_mm, y_mm, radius_mm = shape.x_mm, shape.y_mm, shape.radius_mm
            return (x_mm - radius_mm, y_mm - radius_mm), (x_mm + radius_mm, y_mm + radius_mm)
        case Oval():
            x_mm, y_mm = shape.x_mm, shape.y_mm
            out_mm, up_mm = shape.width_mm / 2, shape.height_mm / 2
            return (x_mm - out_mm, y_mm - up_mm), (x_mm + out_mm, y_mm + up_mm)
        case Box():
            far = shape.x_mm + shape.width_mm, shape.y_mm + shape.height_mm
            return (shape.x_mm, shape.y_mm), far
        case Triangle():
            return shape.points_mm
        case Text():
            wide_mm, size_mm = text_width_mm(shape, letter_mm), shape.size * letter_mm
            before = {Anchor.START: 0.0, Anchor.MIDDLE: 0.5, Anchor.END: 1.0}[shape.anchor]
            left_mm = shape.x_mm - before * wide_mm
            lower_mm, upper_mm = shape.y_mm - 0.25 * size_mm, shape.y_mm + CAPITAL * size_mm
            return (left_mm, lower_mm), (left_mm + wide_mm, upper_mm)
