"""Cards written the way one first would: a PNG of each symbol, `table()` and `cell()` of fpdf2.

Everything that our own cards say and show is on these too: the same texts in the same embedded
faces, the table of settings, the end view, frame or cut marks, ruler, and the symbol.
"""

import io
from collections.abc import Sequence
from importlib.resources import as_file, files
from itertools import product

import qrcode
from fpdf import FPDF
from fpdf.prefs import ViewerPreferences
from qrcode.constants import ERROR_CORRECT_Q

from settingsdesk.cards.foot import CAUTION
from settingsdesk.cards.lettering import Face
from settingsdesk.domain.base.codes import grouped
from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.drawing import (
    Anchor,
    Box,
    Circle,
    Drawing,
    Ink,
    Line,
    Text,
    Triangle,
)
from settingsdesk.domain.settings.card import Card

MM_PER_POINT = 25.4 / 72


def a6_pdf(cards: Sequence[Card]) -> bytes:
    """One card on each page of 105 × 148 mm."""
    pdf = _Cards((105, 148))
    for card in cards:
        pdf.add_page()
        pdf.a6(card)
    return bytes(pdf.output())


def id1_pdf(cards: Sequence[Card]) -> bytes:
    """Ten cards of 85.60 × 53.98 mm on each A4 page, with cut marks."""
    pdf = _Cards((210, 297))
    left, top = (210 - 2 * 85.6) / 2, (297 - 5 * 53.98) / 2
    corners = [(left + x * 85.6, top + y * 53.98) for y, x in product(range(5), range(2))]
    for number, card in enumerate(cards):
        if number % 10 == 0:
            pdf.add_page()
            pdf.cut_marks(left, top)
        pdf.id1(card, *corners[number % 10])
    return bytes(pdf.output())


class _Cards(FPDF):
    def __init__(self, page_mm: tuple[float, float]) -> None:
        super().__init__(unit="mm", format=page_mm)
        self.set_auto_page_break(False)
        self.set_margin(0)
        self.c_margin = 0
        self.viewer_preferences = ViewerPreferences(print_scaling="None")
        for face, style in ((Face.REGULAR, ""), (Face.BOLD, "B")):
            with as_file(files("settingsdesk.cards") / "fonts" / face.value) as path:
                self.add_font("card", style, path)

    def a6(self, card: Card) -> None:
        self.set_line_width(0.5)
        self.rect(4.5, 4.5, 96, 139)
        for y in (19.5, 31, 68, 113):
            self.line(4.5, y, 100.5, y)
        self._cell(7.5, 8, card.name, 18, "B")
        self._cell(7.5, 15, card.club, 8)
        self._cell(78, 5, "No.", 6)
        self._cell(78, 10, card.start_number, 22, "B")
        self._cell(7.5, 20.5, card.apparatus, 11, "B")
        self._cell(7.5, 25, card.model, 7.5)
        self._cell(7.5, 28, f"Marks: {card.scale_used}", 7.5)
        caption = self._drawing(card.drawing, 6, 32, 93, 35)
        self._cell(7.5, 65, caption, 6.5)
        self._settings(card, 7.5, 69, 90, (12, 7))
        self._cell(7.5, 115, "Scan it, or tell the coach this code:", 7)
        self._cell(7.5, 119, grouped(card.short_code), 15, "B")
        self._cell(7.5, 127, self._issue(card), 8)
        self._cell(7.5, 130.5, self._until(card), 8)
        self._words(7.5, 134, 58, CAUTION, 6)
        for centimetre in range(6):
            self.line(7.5 + 10 * centimetre, 143.5, 7.5 + 10 * centimetre, 142)
        self._cell(50, 141, "50 mm", 5)
        self._symbol(card.url, 67, 112, 31)

    def id1(self, card: Card, left: float, top: float) -> None:
        self._cell(left + 3, top + 3, card.name, 13, "B")
        self._cell(left + 45, top + 3, card.start_number, 13, "B")
        self._cell(left + 3, top + 8.5, card.apparatus, 6.5, "B")
        self._cell(left + 3, top + 11, card.model, 5.5)
        self._cell(left + 3, top + 13.5, f"Marks: {card.scale_used}", 5.5)
        self.set_line_width(0.25)
        self.line(left + 3, top + 16.2, left + 54, top + 16.2)
        self._settings(card, left + 3, top + 17, 51, (7, 4.5))
        self.line(left + 3, top + 43.8, left + 54, top + 43.8)
        self._cell(left + 3, top + 44.5, f"{self._issue(card)} · {self._until(card)}", 4.5)
        self._cell(left + 3, top + 51, card.club, 4.5)
        self._words(left + 3, top + 47, 51, CAUTION, 4.5)
        self._drawing(card.drawing, left + 58, top + 2, 24, 17)
        self._cell(left + 58, top + 20, "code for the coach:", 5)
        self._cell(left + 58, top + 22, grouped(card.short_code), 9, "B")
        self._symbol(card.url, left + 57, top + 25.4, 26)

    def cut_marks(self, left: float, top: float) -> None:
        self.set_line_width(0.1)
        for column in range(3):
            x = left + column * 85.6
            self.line(x, top - 6, x, top - 1)
            self.line(x, 298 - top, x, 303 - top)
        for row in range(6):
            y = top + row * 53.98
            self.line(left - 6, y, left - 1, y)
            self.line(211 - left, y, 216 - left, y)
        for tick in range(6):
            self.line(60 + 10 * tick, 289, 60 + 10 * tick, 287)
        self.line(60, 289, 110, 289)
        self._cell(115, 287, "50 mm. If it measures otherwise, print again at 100 %.", 6)

    def _settings(
        self, card: Card, left: float, top: float, wide: float, sizes: tuple[float, float]
    ) -> None:
        large, small = sizes
        self.set_left_margin(left)
        self.set_xy(left, top)
        self.set_font("card", "", small)
        with self.table(
            width=wide,
            col_widths=(26, 13, 20, 25, 16),
            align="LEFT",
            text_align="LEFT",
            line_height=small * MM_PER_POINT * 1.15,
            borders_layout="HORIZONTAL_LINES",
            first_row_as_headings=False,
        ) as table:
            for line in card.lines:
                row = table.row()
                row.cell(line.axis)
                self.set_font("card", "B", large)
                row.cell(line.mark)
                self.set_font("card", "", small)
                row.cell(line.length)
                row.cell(f"{line.datum}. {line.note}" if line.note else line.datum)
                row.cell(f"accepts {line.accepts}")
        if card.raise_request:
            self._cell(left, self.get_y() + 0.5, card.raise_request, small)
        self.set_left_margin(0)

    def _issue(self, card: Card) -> str:
        return f"Version {card.version} · {day_in_words(card.issued_on)}"

    def _until(self, card: Card) -> str:
        return f"Counts until {day_in_words(card.counts_until)}" if card.counts_until else ""

    def _cell(self, x: float, y: float, text: str, size_pt: float, style: str = "") -> None:
        self.set_font("card", style, size_pt)
        self.set_xy(x, y)
        self.cell(text=text)

    def _words(self, x: float, y: float, wide: float, text: str, size_pt: float) -> None:
        self.set_font("card", "", size_pt)
        self.set_xy(x, y)
        self.multi_cell(wide, size_pt * MM_PER_POINT * 1.2, text, align="L")

    def _symbol(self, url: str, x: float, y: float, side: float) -> None:
        code = qrcode.QRCode(error_correction=ERROR_CORRECT_Q)
        code.add_data(url)
        picture = io.BytesIO()
        code.make_image().save(picture, "PNG")
        self.image(picture, x, y, side, side)

    def _drawing(self, drawing: Drawing, x: float, y: float, wide: float, high: float) -> str:
        """The end view, as large as fits; gives the words for its scale."""
        scale = min(wide / drawing.width_mm, high / drawing.height_mm)
        x0, y0 = x - drawing.left_mm * scale, y + high + drawing.bottom_mm * scale
        letter = drawing.letter_mm * scale
        for shape in drawing.shapes:
            self.set_fill_color(215 if shape.ink is Ink.QUIET else 0)
            self.set_line_width(0.1)
            match shape:
                case Line(x1, y1, x2, y2):
                    self.set_line_width(max(shape.weight.value * letter, 0.1))
                    if shape.dashed:
                        self.set_dash_pattern(0.6 * letter, 0.35 * letter)
                    self.line(x0 + x1 * scale, y0 - y1 * scale, x0 + x2 * scale, y0 - y2 * scale)
                    self.set_dash_pattern()
                case Circle(cx, cy, radius, filled):
                    style = "F" if filled else "D"
                    self.circle(x0 + cx * scale, y0 - cy * scale, radius * scale, style)
                case Box(bx, by, w, h, filled):
                    bottom = y0 - (by + h) * scale
                    style = "F" if filled else "D"
                    self.rect(x0 + bx * scale, bottom, w * scale, h * scale, style)
                case Triangle(points):
                    corners = [(x0 + px * scale, y0 - py * scale) for px, py in points]
                    self.polygon(corners, style="F")
                case Text():
                    self._label(shape, x0 + shape.x_mm * scale, y0 - shape.y_mm * scale, letter)
        return f"drawn 1 : {1 / scale:.0f}"

    def _label(self, text: Text, x: float, y: float, letter: float) -> None:
        size_pt = letter * text.size / MM_PER_POINT
        if size_pt < 4:
            return
        self.set_font("card", "B" if text.bold else "", size_pt)
        before = {Anchor.START: 0.0, Anchor.MIDDLE: 0.5, Anchor.END: 1.0}[text.anchor]
        x -= before * self.get_string_width(text.text)
        with self.rotation(text.angle_deg, x, y):
            self.text(x, y, text.text)
