"""A PDF in millimetres that prints at its true size: fpdf2 with what cards need besides."""

import zlib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime, time
from importlib.resources import as_file, files
from typing import Any, Self

from fpdf import FPDF
from fpdf.fonts import TTFFont
from fpdf.prefs import ViewerPreferences
from fpdf.structure_tree import StructElem

from settingsdesk.cards.lettering import Face
from settingsdesk.cards.symbol import Symbol
from settingsdesk.cards.tags import Inner, Parts
from settingsdesk.words.language import Language

FAMILY = "card"
_IN_DIGITS = bytes.maketrans(b"\0\1", b"F0")
_STYLES = {Face.REGULAR: "", Face.BOLD: "B"}


class Paper(FPDF):
    """Pages of one size, with both faces loaded and the same bytes for the same content."""

    def __init__(
        self, width_mm: float, height_mm: float, title: str, made_on: date, language: Language
    ):
        super().__init__(unit="mm", format=(width_mm, height_mm))
        self.set_auto_page_break(False)
        # A name may hold what fpdf2 would take for its sign for the number of pages.
        self.alias_nb_pages("")
        self.set_title(title)
        self.language = language
        self.set_lang(language.tag)
        self.set_creation_date(datetime.combine(made_on, time(), UTC))
        self.viewer_preferences = ViewerPreferences(print_scaling="None", display_doc_title=True)
        for face, style in _STYLES.items():
            with as_file(files("settingsdesk.cards") / "fonts" / face.value) as path:
                self.add_font(FAMILY, style, path)
        self.struct_builder = self._tags = Parts()
        self._parts: dict[int, int] = {}
        self._around: StructElem | None = None
        self._written: dict[Face, dict[str, str]] = {face: {} for face in Face}

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        """Close the font files, which fpdf2 leaves open where it never came to an output."""
        for font in self.fonts.values():
            if isinstance(font, TTFFont):
                font.close()

    def add_page(self, *args: Any, **kwargs: Any) -> None:
        """A new page on which both faces may be used: an empty text has fpdf2 name them on it."""
        super().add_page(*args, **kwargs)
        for style in _STYLES.values():
            self.set_font(FAMILY, style, 10)
            self.text(0, 0, "")

    @contextmanager
    def part(self, kind: str, says: str = "") -> Iterator[None]:
        """What is drawn meanwhile is one part of the page for whoever has it read aloud.

        ``kind`` is the part's in a tagged PDF (ISO 32000-1, 14.8.4): "H1", "P", "Figure"; ``says``
        is read in place of a picture. Parts are read in the order in which they are drawn, and none
        has another within it or goes over a page's end.
        """
        number = self._parts.setdefault(self.page, 0)
        self._parts[self.page] += 1
        if self._around is None:
            self._add_marked_content(struct_type=f"/{kind}", mcid=number, alt_text=says or None)
        else:
            cell = Inner(kind, self._around, [number], self.page)
            self.pages[self.page].struct_parents = self._tags.of_words(cell, self.page)
        self._out(f"/{kind} <</MCID {number}>> BDC")
        yield
        self._out("EMC")

    @contextmanager
    def around(self, kind: str) -> Iterator[None]:
        """The parts that are drawn meanwhile are within one of this kind: a "Table", a "TR"."""
        outer = self._around
        if outer is None:
            self._around = self._tags.outer(kind, self.page)
        else:
            self._around = Inner(kind, outer, [], self.page)
        yield
        self._around = outer

    def put_text(self, x_mm: float, y_mm: float, text: str, face: Face, size_pt: float) -> None:
        """One line of ``lettered`` text in the ink that areas are filled with; y is its base line.

        fpdf2's own way asks for underlines, shaping and the like at every text, and encodes the
        same words anew on every card: some ten times the work.
        """
        written, font = self._written[face], self.fonts[FAMILY + _STYLES[face]]
        if text not in written:
            # Read aloud, "5" above "170.4 cm" would run into one figure without the space.
            written[text] = f"Td {font.encode_text(f'{text} ')} ET"
        self._out(
            f"BT /F{font.i} {size_pt:.2f} Tf "
            f"{x_mm * self.k:.2f} {(self.h - y_mm) * self.k:.2f} {written[text]}"
        )

    def triangle(self, corners_mm: Iterable[tuple[float, float]]) -> None:
        """A filled triangle."""
        points = [f"{x * self.k:.2f} {(self.h - y) * self.k:.2f}" for x, y in corners_mm]
        self._out(f"{points[0]} m {points[1]} l {points[2]} l f")

    def stencil(self, symbol: Symbol, left_mm: float, top_mm: float, side_mm: float) -> None:
        """Paint the dark modules of a symbol through a 1-bit stencil, and nothing else.

        fpdf2 places pictures only by way of Pillow and an object for each, so that the stencil is
        written into the page as an inline image (ISO 32000-1, 8.9.7), deflated to keep it well
        within the 4 kB that the norm advises. A filled path would do as well on screen, but
        printers thicken its edges by half a dot and spoil small modules. Each module is four
        samples wide and high, which no renderer blurs: one hexadecimal digit in each of four
        rows, 0 where it is painted and F where it is not.
        """
        even = b"" if symbol.side_modules % 2 == 0 else b"F"
        digits = b"".join(4 * (bytes(row).translate(_IN_DIGITS) + even) for row in symbol.rows)
        samples = zlib.compress(bytes.fromhex(digits.decode("ascii")), 1).hex()
        pixels, side_pt = 4 * symbol.side_modules, side_mm * self.k
        self._out(
            f"q {side_pt:.3f} 0 0 {side_pt:.3f} "
            f"{left_mm * self.k:.3f} {(self.h - top_mm - side_mm) * self.k:.3f} cm\n"
            f"BI /W {pixels} /H {pixels} /IM true /BPC 1 /F [/AHx /Fl] ID\n{samples}>\nEI Q"
        )
