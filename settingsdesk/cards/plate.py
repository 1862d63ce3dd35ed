"""A drawing of the domain put onto paper: one uniform scale, black ink, no colour needed."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import partial

from settingsdesk.cards.lettering import MM_PER_POINT, Face, lettered, width_mm
from settingsdesk.cards.pen import SHARE_BEFORE, Pen
from settingsdesk.domain.base.drawing import (
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
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.words.language import Language

LEAST_LINE_MM = 0.1
"""Thinner lines break up on office printers."""

LEAST_LETTER_PT = 4.0

LEAST_HIGH_MM = 5.5
"""Of a smaller drawing nobody sees which rail is which: it is left out, and so is its caption."""

_BLACK, _LIGHT = 0, 215


class Plate:
    """A drawing in its place: as large as fits, in the middle.

    Texts that would be too small to read are left out, for all figures stand beside the drawing
    as well. The quiet ink is the same black in thinner lines, since grey lines break up in
    print; only quiet areas are light grey.
    """

    def __init__(
        self,
        pen: Pen,
        drawing: Drawing,
        left_mm: float,
        top_mm: float,
        wide: float,
        high: float,
        least_pt: float = LEAST_LETTER_PT,
    ):
        self.paper, self.drawing, self.least_pt = pen.paper, drawing, least_pt
        self.scale = min(wide / drawing.width_mm, high / drawing.height_mm)
        spare_x_mm = wide - drawing.width_mm * self.scale
        spare_y_mm = high - drawing.height_mm * self.scale
        from_left_mm = pen.from_left_mm(left_mm, wide)
        self._x0 = from_left_mm + spare_x_mm / 2 - drawing.left_mm * self.scale
        self._y0 = pen.top_mm + top_mm + high - spare_y_mm / 2 + drawing.bottom_mm * self.scale

    @property
    def is_readable(self) -> bool:
        """Whether it has room for more than a blot."""
        return self.drawing.height_mm * self.scale >= LEAST_HIGH_MM

    @property
    def caption(self) -> Sentence:
        """How much smaller than the apparatus it is drawn."""
        return Sentence("drawn 1 : %(times)s", times=round(1 / self.scale))

    def draw(self) -> None:
        """All shapes, back to front, read aloud in words. Raises ``CharacterNotInFont``."""
        with self.paper.part("Figure", self.drawing.in_words):
            for shape in self.drawing.shapes:
                self._draw(shape)

    def _x(self, x_mm: float) -> float:
        return self._x0 + x_mm * self.scale

    def _y(self, y_mm: float) -> float:
        return self._y0 - y_mm * self.scale

    def _stroke(self, weight: Weight, ink: Ink) -> None:
        thinner = 0.6 if ink is Ink.QUIET else 1.0
        width_mm = weight.value * self.drawing.letter_mm * self.scale * thinner
        self.paper.set_line_width(max(width_mm, LEAST_LINE_MM))

    @contextmanager
    def _area(self, filled: bool, ink: Ink) -> Iterator[str]:
        """Set up for an area; gives fpdf2's word for drawing it."""
        self._stroke(Weight.NORMAL, ink)
        light = filled and ink is Ink.QUIET
        if light:
            self.paper.set_fill_color(_LIGHT)
        yield "F" if filled else "D"
        if light:
            self.paper.set_fill_color(_BLACK)

    def _draw(self, shape: Shape) -> None:
        match shape:
            case Line():
                self._line(shape)
            case Circle():
                self._circle(shape)
            case Oval():
                self._oval(shape)
            case Box():
                self._box(shape)
            case Triangle():
                self._triangle(shape)
            case Text():
                self._text(shape)

    def _line(self, line: Line) -> None:
        self._stroke(line.weight, line.ink)
        letter_mm = self.drawing.letter_mm * self.scale
        if line.dashed:
            self.paper.set_dash_pattern(0.6 * letter_mm, 0.35 * letter_mm)
        self.paper.line(
            self._x(line.x1_mm), self._y(line.y1_mm), self._x(line.x2_mm), self._y(line.y2_mm)
        )
        if line.dashed:
            self.paper.set_dash_pattern()

    def _circle(self, circle: Circle) -> None:
        x_mm, y_mm = self._x(circle.x_mm), self._y(circle.y_mm)
        with self._area(circle.filled, circle.ink) as style:
            self.paper.circle(x_mm, y_mm, circle.radius_mm * self.scale, style)

    def _oval(self, oval: Oval) -> None:
        wide_mm, high_mm = oval.width_mm * self.scale, oval.height_mm * self.scale
        left_mm, top_mm = self._x(oval.x_mm) - wide_mm / 2, self._y(oval.y_mm) - high_mm / 2
        with self._area(oval.filled, oval.ink) as style:
            self.paper.ellipse(left_mm, top_mm, wide_mm, high_mm, style)

    def _box(self, box: Box) -> None:
        top_mm = self._y(box.y_mm + box.height_mm)
        wide_mm, high_mm = box.width_mm * self.scale, box.height_mm * self.scale
        with self._area(box.filled, box.ink) as style:
            self.paper.rect(self._x(box.x_mm), top_mm, wide_mm, high_mm, style)

    def _triangle(self, triangle: Triangle) -> None:
        with self._area(True, triangle.ink):
            self.paper.triangle((self._x(x), self._y(y)) for x, y in triangle.points_mm)

    def _text(self, text: Text) -> None:
        size_pt = self.drawing.letter_mm * text.size * self.scale / MM_PER_POINT
        if size_pt < self.least_pt:
            return
        face = Face.BOLD if text.bold else Face.REGULAR
        x_mm, y_mm = self._x(text.x_mm), self._y(text.y_mm)
        words = lettered(text.text)
        left_mm = x_mm - SHARE_BEFORE[text.anchor] * width_mm(words, face, size_pt)
        draw = partial(self.paper.put_text, left_mm, y_mm, words, face, size_pt)
        if not words:
            return
        if text.angle_deg:
            with self.paper.rotation(text.angle_deg, x_mm, y_mm):
                draw()
        else:
            draw()


def drawing_in(drawing: Drawing, language: Language) -> Drawing:
    """The same drawing with its texts in that language."""
    shapes = tuple(
        replace(shape, text=language.said(shape.text)) if isinstance(shape, Text) else shape
        for shape in drawing.shapes
    )
    return replace(drawing, shapes=shapes, in_words=language.said(drawing.in_words))
