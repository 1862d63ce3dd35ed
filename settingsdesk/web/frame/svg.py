"""A drawing as inline SVG. Inks and parts are classes, which style sheets choose for each screen.

Every number is rounded to a tenth of a millimetre of the drawn thing, which no screen can show.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from markupsafe import Markup

from settingsdesk.domain.base.drawing import (
    Anchor,
    Box,
    Circle,
    Drawing,
    Line,
    Oval,
    Shape,
    Text,
    Triangle,
    Weight,
)
from settingsdesk.web.frame.language import said

DASH_LETTERS, GAP_LETTERS = 0.6, 0.35  # in letter heights, as on paper


def to_svg(drawing: Drawing) -> Markup:
    """The drawing to scale in its frame; ``in_words`` is what those hear who cannot see it.

    What most shapes have alike stands once, on the picture: a page of a rotation has hundreds.
    """
    picture = _Picture(drawing)
    return Markup(
        '<svg class="sheet-drawing" role="img" viewBox="0 0 {} {}" '
        'font-size="{}" stroke-width="{}" text-anchor="{}"><title>{}</title>{}</svg>'
    ).format(
        _figure(drawing.width_mm),
        _figure(drawing.height_mm),
        _figure(drawing.letter_mm),
        _figure(Weight.NORMAL.value * drawing.letter_mm),
        picture.anchor,
        said(drawing.in_words),
        Markup("").join(picture.elements(drawing.shapes)),
    )


class _Picture:
    """Maps the drawing's frame (y upwards from the floor) onto SVG's (y downwards from the top)."""

    def __init__(self, drawing: Drawing):
        self.left_mm = drawing.left_mm
        self.top_mm = drawing.bottom_mm + drawing.height_mm
        self.letter_mm = drawing.letter_mm
        anchors = Counter(shape.anchor for shape in drawing.shapes if isinstance(shape, Text))
        self.anchor = max(anchors, key=lambda one: anchors[one], default=Anchor.MIDDLE).value

    def x(self, x_mm: float) -> str:
        return _figure(x_mm - self.left_mm)

    def y(self, y_mm: float) -> str:
        return _figure(self.top_mm - y_mm)

    def elements(self, shapes: Iterable[Shape]) -> Iterator[Markup]:
        """Each shape an element, but boxes alike that follow one another, which are one."""
        for _, alike in groupby(shapes, _box_class):
            first, *others = alike
            if others and isinstance(first, Box):
                yield self._boxes([first, *(one for one in others if isinstance(one, Box))])
            else:
                yield from map(self.element, [first, *others])

    def element(self, shape: Shape) -> Markup:
        match shape:
            case Line():
                return self._line(shape)
            case Circle():
                return self._circle(shape)
            case Oval():
                return self._oval(shape)
            case Box():
                return self._box(shape)
            case Triangle():
                return self._triangle(shape)
            case Text():
                return self._text(shape)

    def _line(self, line: Line) -> Markup:
        width_mm = line.weight.value * self.letter_mm
        dash = f"{_figure(DASH_LETTERS * self.letter_mm)} {_figure(GAP_LETTERS * self.letter_mm)}"
        dashes = Markup(' stroke-dasharray="{}"').format(dash) if line.dashed else ""
        return Markup(
            '<line class="{}" x1="{}" y1="{}" x2="{}" y2="{}" stroke-width="{}"{}/>'
        ).format(
            _classes(line),
            self.x(line.x1_mm),
            self.y(line.y1_mm),
            self.x(line.x2_mm),
            self.y(line.y2_mm),
            _figure(width_mm),
            dashes,
        )

    def _circle(self, circle: Circle) -> Markup:
        return Markup('<circle class="{}" cx="{}" cy="{}" r="{}"/>').format(
            _classes(circle),
            self.x(circle.x_mm),
            self.y(circle.y_mm),
            _figure(circle.radius_mm),
        )

    def _oval(self, oval: Oval) -> Markup:
        return Markup('<ellipse class="{}" cx="{}" cy="{}" rx="{}" ry="{}"/>').format(
            _classes(oval),
            self.x(oval.x_mm),
            self.y(oval.y_mm),
            _figure(oval.width_mm / 2),
            _figure(oval.height_mm / 2),
        )

    def _box(self, box: Box) -> Markup:
        return Markup('<rect class="{}" x="{}" y="{}" width="{}" height="{}"/>').format(
            _classes(box),
            self.x(box.x_mm),
            self.y(box.y_mm + box.height_mm),
            _figure(box.width_mm),
            _figure(box.height_mm),
        )

    def _boxes(self, boxes: Sequence[Box]) -> Markup:
        drawn = "".join(
            f"M{self.x(box.x_mm)} {self.y(box.y_mm)}v{_figure(-box.height_mm)}"
            f"h{_figure(box.width_mm)}v{_figure(box.height_mm)}z"
            for box in boxes
        )
        return Markup('<path class="{}" d="{}"/>').format(_classes(boxes[0]), drawn)

    def _triangle(self, triangle: Triangle) -> Markup:
        points = " ".join(f"{self.x(x_mm)},{self.y(y_mm)}" for x_mm, y_mm in triangle.points_mm)
        return Markup('<polygon class="{}" points="{}"/>').format(_classes(triangle), points)

    def _text(self, text: Text) -> Markup:
        x, y = self.x(text.x_mm), self.y(text.y_mm)
        # SVG turns clockwise, the drawing counter-clockwise.
        turn = f"rotate({_figure(-text.angle_deg)} {x} {y})"
        turned = Markup(' transform="{}"').format(turn) if text.angle_deg else ""
        size = _figure(text.size * self.letter_mm)
        sized = Markup(' font-size="{}"').format(size) if text.size != 1.0 else ""
        anchor = text.anchor.value
        anchored = Markup(' text-anchor="{}"').format(anchor) if anchor != self.anchor else ""
        return Markup('<text class="{}" x="{}" y="{}"{}{}{}>{}</text>').format(
            _classes(text), x, y, sized, anchored, turned, said(text.text)
        )


def _box_class(shape: Shape) -> str | None:
    return _classes(shape) if isinstance(shape, Box) else None


def _classes(shape: Shape) -> str:
    words = [shape.ink.value]
    if isinstance(shape, Circle | Oval | Box) and shape.filled:
        words.append("filled")
    if isinstance(shape, Text) and shape.bold:
        words.append("bold")
    return " ".join([*words, shape.part] if shape.part else words)


def _figure(mm: float) -> str:
    """A number as SVG reads it, without a tail of noughts; what is long to the millimetre, which no
    screen shows.
    """
    return f"{round(mm, 1) + 0.0:g}" if abs(mm) < 1000 else str(round(mm))
