"""Cards on pages: where each lies, where to cut, and whether the print is true."""

from dataclasses import dataclass
from itertools import product

from settingsdesk.cards.a6 import HIGH_MM as A6_HIGH_MM
from settingsdesk.cards.a6 import WIDE_MM as A6_WIDE_MM
from settingsdesk.cards.fit import Place, fitted
from settingsdesk.cards.id1 import HIGH_MM as ID1_HIGH_MM
from settingsdesk.cards.id1 import WIDE_MM as ID1_WIDE_MM
from settingsdesk.cards.lettering import Face, lettered
from settingsdesk.cards.pen import Pen
from settingsdesk.domain.base.sentences import Sentence

A4_WIDE_MM, A4_HIGH_MM = 210.0, 297.0

_MARK_WIDTH = 0.1


@dataclass(frozen=True, slots=True)
class Grid:
    """Cards edge to edge in the middle of a page."""

    page_wide_mm: float
    page_high_mm: float
    columns: int
    rows: int
    wide_mm: float
    high_mm: float

    @property
    def x_cuts_mm(self) -> list[float]:
        left = (self.page_wide_mm - self.columns * self.wide_mm) / 2
        return [left + column * self.wide_mm for column in range(self.columns + 1)]

    @property
    def y_cuts_mm(self) -> list[float]:
        top = (self.page_high_mm - self.rows * self.high_mm) / 2
        return [top + row * self.high_mm for row in range(self.rows + 1)]

    @property
    def corners_mm(self) -> list[tuple[float, float]]:
        """The upper left corner of each card, row by row."""
        return [(x, y) for y, x in product(self.y_cuts_mm[:-1], self.x_cuts_mm[:-1])]


ONE_A6 = Grid(A6_WIDE_MM, A6_HIGH_MM, 1, 1, A6_WIDE_MM, A6_HIGH_MM)
TEN_ID1 = Grid(A4_WIDE_MM, A4_HIGH_MM, 2, 5, ID1_WIDE_MM, ID1_HIGH_MM)
FOUR_A6 = Grid(A4_WIDE_MM, A4_HIGH_MM, 2, 2, A6_WIDE_MM, A6_HIGH_MM)


def draw_margin_of_ten(pen: Pen, heading: str) -> None:
    """Cut marks around the ten cards, what they have in common, and a line of 50 mm to measure."""
    xs, ys = TEN_ID1.x_cuts_mm, TEN_ID1.y_cuts_mm
    told = fitted(
        lettered(pen.said(heading)), Place(xs[1] - xs[0] - 6, 10, 6, lines=2, face=Face.BOLD)
    )
    with pen.paper.part("H1"):
        pen.lines(xs[0] + 3, ys[0] - (5.5 if len(told.lines) > 1 else 3), told, Face.BOLD)
    for x_mm in xs:
        pen.line(x_mm, ys[0] - 6, x_mm, ys[0] - 1, _MARK_WIDTH)
        pen.line(x_mm, ys[-1] + 1, x_mm, ys[-1] + 6, _MARK_WIDTH)
    for y_mm in ys:
        pen.line(xs[0] - 6, y_mm, xs[0] - 1, y_mm, _MARK_WIDTH)
        pen.line(xs[-1] + 1, y_mm, xs[-1] + 6, y_mm, _MARK_WIDTH)
    _draw_ruler(pen, xs[1] - 54, ys[-1] + 5)


def draw_cuts_of_four(pen: Pen) -> None:
    """A cross in the middle and a mark at each end of both cuts, in the cards' own margins."""
    x_mm, y_mm = FOUR_A6.x_cuts_mm[1], FOUR_A6.y_cuts_mm[1]
    for start_mm, end_mm in ((1, 4), (y_mm - 3, y_mm + 3), (A4_HIGH_MM - 4, A4_HIGH_MM - 1)):
        pen.line(x_mm, start_mm, x_mm, end_mm, _MARK_WIDTH)
    for start_mm, end_mm in ((1, 4), (x_mm - 3, x_mm + 3), (A4_WIDE_MM - 4, A4_WIDE_MM - 1)):
        pen.line(start_mm, y_mm, end_mm, y_mm, _MARK_WIDTH)


def _draw_ruler(pen: Pen, x_mm: float, y_mm: float) -> None:
    pen.line(x_mm, y_mm, x_mm + 50, y_mm, 0.2)
    for tick_mm in range(0, 51, 10):
        height_mm = 2.0 if tick_mm in (0, 50) else 1.2
        pen.line(x_mm + tick_mm, y_mm, x_mm + tick_mm, y_mm - height_mm, 0.2)
    told = lettered(pen.said(Sentence("50 mm. If it measures otherwise, print again at 100 %%.")))
    with pen.paper.part("P"):
        room_mm = TEN_ID1.x_cuts_mm[-1] - x_mm - 57
        pen.lines(x_mm + 57, y_mm, fitted(told, Place(room_mm, 6, 4)))
