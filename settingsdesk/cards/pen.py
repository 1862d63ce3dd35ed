"""Texts, lines and drawings on a card, in millimetres from the card's upper left corner."""

from settingsdesk.cards.fit import Fitted
from settingsdesk.cards.lettering import CAPITAL_HEIGHT, MM_PER_POINT, Face, width_mm
from settingsdesk.cards.paper import Paper
from settingsdesk.cards.symbol import Symbol
from settingsdesk.domain.base.drawing import Anchor
from settingsdesk.domain.base.sentences import Sentence

LINE_SPACING = 1.18
"""From base line to base line, as a share of the letter size."""

SYMBOL_SAYS = Sentence("A square code that a phone’s camera reads")


def line_mm(fit: Fitted) -> float:
    """From one of its base lines to the next."""
    return fit.size_pt * MM_PER_POINT * LINE_SPACING


def lines_mm(fit: Fitted) -> float:
    """How much room all its lines take below what stands above them."""
    return len(fit.lines) * line_mm(fit)


def capital_mm(size_pt: float) -> float:
    """How high capitals and figures stand above their base line."""
    return size_pt * MM_PER_POINT * CAPITAL_HEIGHT


SHARE_BEFORE = {Anchor.START: 0.0, Anchor.MIDDLE: 0.5, Anchor.END: 1.0}


class Pen:
    """Draws on one card of a sheet: x to the right and y downwards from its corner.

    In a language that runs from right to left x goes to the left from the other corner, so that
    all that stands beside each other does so the other way round. What is drawn to scale, or read
    by a phone, is put in its place as it is.
    """

    def __init__(
        self, paper: Paper, left_mm: float = 0, top_mm: float = 0, wide_mm: float | None = None
    ):
        self.paper, self.left_mm, self.top_mm = paper, left_mm, top_mm
        self.wide_mm = paper.w if wide_mm is None else wide_mm
        self.language, self.said = paper.language, paper.language.said

    def from_left_mm(self, x_mm: float, wide_mm: float = 0) -> float:
        """Where something of a width begins on the paper, that is at x on the card."""
        if self.language.is_rtl:
            x_mm = self.wide_mm - x_mm - wide_mm
        return self.left_mm + x_mm

    def text(
        self,
        x_mm: float,
        y_mm: float,
        text: str,
        size_pt: float,
        face: Face = Face.REGULAR,
        anchor: Anchor = Anchor.START,
    ) -> None:
        """One line of ``lettered`` text; y is its base line."""
        if not text:
            return
        share, is_rtl = SHARE_BEFORE[anchor], self.language.is_rtl
        wide_mm = width_mm(text, face, size_pt) if share or is_rtl else 0.0
        left_mm = self.from_left_mm(x_mm - share * wide_mm, wide_mm)
        self.paper.put_text(left_mm, self.top_mm + y_mm, text, face, size_pt)

    def lines(
        self,
        x_mm: float,
        y_mm: float,
        fitted: Fitted,
        face: Face = Face.REGULAR,
        anchor: Anchor = Anchor.START,
    ) -> float:
        """Fitted lines, the first on the base line y; gives the last one's base line."""
        step_mm = line_mm(fitted)
        for number, line in enumerate(fitted.lines):
            self.text(x_mm, y_mm + number * step_mm, line, fitted.size_pt, face, anchor)
        return y_mm + (len(fitted.lines) - 1) * step_mm

    def line(
        self, x1_mm: float, y1_mm: float, x2_mm: float, y2_mm: float, width_mm: float = 0.15
    ) -> None:
        """A straight line."""
        x1_mm, x2_mm = self.from_left_mm(x1_mm), self.from_left_mm(x2_mm)
        self.paper.set_line_width(width_mm)
        self.paper.line(x1_mm, self.top_mm + y1_mm, x2_mm, self.top_mm + y2_mm)

    def fold(self, x_mm: float, high_mm: float) -> None:
        """Where a card is folded: dashed, from its upper edge down; x is from the left for all."""
        x_mm += self.left_mm
        self.paper.set_dash_pattern(1.5, 1.0)
        self.paper.set_line_width(0.1)
        self.paper.line(x_mm, self.top_mm, x_mm, self.top_mm + high_mm)
        self.paper.set_dash_pattern()

    def frame(
        self, x_mm: float, y_mm: float, wide_mm: float, high_mm: float, width_mm: float
    ) -> None:
        """An empty rectangle; x and y are its upper left corner."""
        self.paper.set_line_width(width_mm)
        left_mm = self.from_left_mm(x_mm, wide_mm)
        self.paper.rect(left_mm, self.top_mm + y_mm, wide_mm, high_mm)

    def symbol(self, symbol: Symbol, x_mm: float, y_mm: float, side_mm: float) -> None:
        """A QR symbol; its quiet zone is left to whoever places it."""
        with self.paper.part("Figure", self.said(SYMBOL_SAYS)):
            left_mm = self.from_left_mm(x_mm, side_mm)
            self.paper.stencil(symbol, left_mm, self.top_mm + y_mm, side_mm)
