"""A PDF in millimetres that prints at its true size: fpdf2 with what cards need besides."""

import zlib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime, time
from importlib.resources import as_file
from itertools import groupby
from typing import Any, Self

from fpdf import FPDF
from fpdf.fonts import TTFFont
from fpdf.prefs import ViewerPreferences
from fpdf.structure_tree import StructElem

from settingsdesk.cards.lettering import Face, advances, as_read, font_file, in_sight, width_mm
from settingsdesk.cards.symbol import Symbol
from settingsdesk.cards.tags import Inner, Parts
from settingsdesk.domain.base.sentences import NO_BREAK
from settingsdesk.words.language import Language

_FAMILIES = {False: "card", True: "beside"}
"""Our faces, and those that are installed beside them; these are loaded where they are needed."""
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
        for face in Face:
            self._add(face)
        self.struct_builder = self._tags = Parts()
        self._parts: dict[int, int] = {}
        self._around: StructElem | None = None
        self._written: dict[Face, dict[str, tuple[tuple[str, str, float, str], ...]]] = {
            face: {} for face in Face
        }

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        """Close the font files, which fpdf2 leaves open where it never came to an output."""
        for font in self.fonts.values():
            if isinstance(font, TTFFont):
                font.close()

    def add_page(self, *args: Any, **kwargs: Any) -> None:
        """A new page on which all faces may be used that are loaded by then."""
        super().add_page(*args, **kwargs)
        for beside, family in _FAMILIES.items():
            for style in _STYLES.values():
                if not beside or family + style in self.fonts:
                    self._name_on_page(family, style)

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
        written = self._written[face]
        parts = written.get(text)
        if parts is None:
            parts = written[text] = tuple(self._encoded(text, face))
        for before, after, offset_mm, shown in parts:
            left_mm = x_mm + offset_mm * size_pt
            self._out(
                f"{before} {size_pt:.2f} Tf {left_mm * self.k:.2f} {(self.h - y_mm) * self.k:.2f}"
                f" {shown}{after}"
            )

    def _encoded(self, text: str, face: Face) -> Iterator[tuple[str, str, float, str]]:
        """The parts of a line that one face has: what stands before and behind each, and how far
        it begins from the left, at a letter size of one point.

        Read aloud, "5" above "170.4 cm" would run into one figure without the space at the end.
        """
        seen, offset_mm = in_sight(text, is_rtl=self.language.is_rtl), 0.0
        seen, text = (words.replace(NO_BREAK, " ") for words in (seen, text))
        known = advances(face)
        runs = ["".join(run) for _, run in groupby(f"{seen} ", known.__contains__)]
        begin, end = "", ""
        if seen != text:
            # Heard and copied as it is read: from its beginning, in plain letters.
            read = as_read(f"{text} ").encode("utf-16-be").hex()
            begin, end = f"/Span <</ActualText <FEFF{read}>>> BDC\n", "\nEMC"
        for run in runs:
            font = self._font(face, beside=run[0] not in known)
            shown = f"Td {font.encode_text(run)} ET"
            yield f"{begin}BT /F{font.i}", end if run is runs[-1] else "", offset_mm, shown
            offset_mm += width_mm(run, face, 1)
            begin = ""

    def _font(self, face: Face, *, beside: bool) -> Any:
        key = _FAMILIES[beside] + _STYLES[face]
        if key not in self.fonts:
            self._add(face, beside=beside)
        return self.fonts[key]

    def _add(self, face: Face, *, beside: bool = False) -> None:
        """Load a face, and name it on the page that is begun: an empty text has fpdf2 do that."""
        file = font_file(face, beside=beside)
        if file is None:
            raise FileNotFoundError(_FAMILIES[beside])
        with as_file(file) as path:
            self.add_font(_FAMILIES[beside], _STYLES[face], path)
        if self.page:
            self._name_on_page(_FAMILIES[beside], _STYLES[face])

    def _name_on_page(self, family: str, style: str) -> None:
        self.set_font(family, style, 10)
        self.text(0, 0, "")

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
