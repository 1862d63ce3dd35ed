"""A drawing as inline SVG. Inks and parts are classes, which style sheets choose for each screen.

Every number is rounded to a tenth of a millimetre of the drawn thing, which no screen can show.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from markupsafe import Markup, escape

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
    return Markup(  # noqa: S704 -- words are escaped, all else is figures and our own
        f'<svg class="sheet-drawing" role="img" viewBox="0 0 {_figure(drawing.width_mm)} '
        f'{_figure(drawing.height_mm)}" font-size="{_figure(drawing.letter_mm)}" '
        f'stroke-width="{_figure(Weight.NORMAL.value * drawing.letter_mm)}" '
        f'text-anchor="{picture.anchor}"><title>{escape(said(drawing.in_words))}</title>'
        f"{''.join(picture.elements(drawing.shapes))}</svg>"
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

    def elements(self, shapes: Iterable[Shape]) -> Iterator[str]:
        """Each shape an element, but boxes alike that follow one another, which are one."""
        for _, alike in groupby(shapes, _box_class):
            first, *others = alike
            if others and isinstance(first, Box):
                yield self._boxes([first, *(one for one in others if isinstance(one, Box))])
            else:
                yield from map(self.element, [first, *others])

    def element(self, shape: Shape) -> str:
        """The shape as it is written: of what is put in, only words can hold a sign of SVG's own,
        and they are escaped.
        """
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

    def _line(self, line: Line) -> str:
        dashes = (
            f' stroke-dasharray="{_figure(DASH_LETTERS * self.letter_mm)}'
            f' {_figure(GAP_LETTERS * self.letter_mm)}"'
            if line.dashed
            else ""
        )
        return (
            f'<line class="{_classes(line)}" x1="{self.x(line.x1_mm)}" y1="{self.y(line.y1_mm)}" '
            f'x2="{self.x(line.x2_mm)}" y2="{self.y(line.y2_mm)}" '
            f'stroke-width="{_figure(line.weight.value * self.letter_mm)}"{dashes}/>'
        )

    def _circle(self, circle: Circle) -> str:
        return (
            f'<circle class="{_classes(circle)}" cx="{self.x(circle.x_mm)}" '
            f'cy="{self.y(circle.y_mm)}" r="{_figure(circle.radius_mm)}"/>'
        )

    def _oval(self, oval: Oval) -> str:
        return (
            f'<ellipse class="{_classes(oval)}" cx="{self.x(oval.x_mm)}" '
            f'cy="{self.y(oval.y_mm)}" rx="{_figure(oval.width_mm / 2)}" '
            f'ry="{_figure(oval.height_mm / 2)}"/>'
        )

    def _box(self, box: Box) -> str:
        return (
            f'<rect class="{_classes(box)}" x="{self.x(box.x_mm)}" '
            f'y="{self.y(box.y_mm + box.height_mm)}" width="{_figure(box.width_mm)}" '
            f'height="{_figure(box.height_mm)}"/>'
        )

    def _boxes(self, boxes: Sequence[Box]) -> str:
        drawn = "".join(
            f"M{self.x(box.x_mm)} {self.y(box.y_mm)}v{_figure(-box.height_mm)}"
            f"h{_figure(box.width_mm)}v{_figure(box.height_mm)}z"
            for box in boxes
        )
        return f'<path class="{_classes(boxes[0])}" d="{drawn}"/>'

    def _triangle(self, triangle: Triangle) -> str:
        points = " ".join(f"{self.x(x_mm)},{self.y(y_mm)}" for x_mm, y_mm in triangle.points_mm)
        return f'<polygon class="{_classes(triangle)}" points="{points}"/>'

    def _text(self, text: Text) -> str:
        x, y = self.x(text.x_mm), self.y(text.y_mm)
        sized = f' font-size="{_figure(text.size * self.letter_mm)}"' if text.size != 1.0 else ""
        anchor = text.anchor.value
        anchored = f' text-anchor="{anchor}"' if anchor != self.anchor else ""
        # SVG turns clockwise, the drawing counter-clockwise.
        turn = f"rotate({_figure(-text.angle_deg)} {x} {y})" if text.angle_deg else ""
        turned = f' transform="{turn}"' if turn else ""
        return (
            f'<text class="{_classes(text)}" x="{x}" y="{y}"{sized}{anchored}{turned}>'
            f"{escape(said(text.text))}</text>"
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
