"""The record of a check, or the report on an apparatus, on A4 paper with a line to sign on.

What it holds is what DGUV Information 202-044, section 1, asks of a record: date and place,
results and defects, whether further use is doubted, re-checks needed, name, address, signature.
"""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from settingsdesk.cards.fit import Place, fitted
from settingsdesk.cards.lettering import MM_PER_POINT, Face, as_drawn, is_printable
from settingsdesk.cards.paper import Paper
from settingsdesk.cards.pen import LINE_SPACING, Pen
from settingsdesk.cards.sheet import A4_HIGH_MM, A4_WIDE_MM
from settingsdesk.words.language import ENGLISH

MISSING = "□"
_LEFT_MM, _RIGHT_MM, _TOP_MM, _BOTTOM_MM = 20.0, 190.0, 20.0, 277.0
_TERM_MM = 46.0
_SIZE_PT, _HEAD_PT, _TITLE_PT = 9.5, 11.5, 16.0
_PHOTO_MM = 70.0
_MOST_LINES = 400
"""More than any remark has: nothing is cut."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A photo with the words below it; ``content`` is a JPEG."""

    content: bytes
    width_px: int
    height_px: int
    words: str


@dataclass(frozen=True, slots=True)
class Section:
    """A heading with lines of two columns: what it is about, and what is said of it."""

    heading: str
    lines: tuple[tuple[str, str], ...]
    nothing: str = ""
    """What stands there where there are no lines."""


@dataclass(frozen=True, slots=True)
class Report:
    """What goes on the paper; ``facts`` stand at its top, ``signed_by`` beside the line."""

    title: str
    made_on: date
    facts: tuple[tuple[str, str], ...]
    sections: tuple[Section, ...]
    cautions: str
    signed_by: str
    address: str
    pictures: tuple[Picture, ...] = ()


def report_pdf(report: Report) -> bytes:
    """The report in A4; what the letters of the paper lack is shown as an empty box, and said."""
    with Paper(A4_WIDE_MM, A4_HIGH_MM, printable(report.title), report.made_on, ENGLISH) as paper:
        writer = _Writer(paper)
        writer.text(report.title, _TITLE_PT, Face.BOLD)
        writer.skip(2)
        for term, words in report.facts:
            writer.line(term, words)
        for section in report.sections:
            writer.section(section)
        for picture in report.pictures:
            writer.picture(picture)
        writer.skip(4)
        writer.text(report.cautions, _SIZE_PT)
        writer.signature(report)
        if writer.lacked:
            writer.skip(3)
            writer.text(
                f"{MISSING} stands for a character that this paper has no letter for; the page of"
                " this report shows it.",
                _SIZE_PT,
            )
        return bytes(paper.output())


def printable(text: str) -> str:
    """The text on one line, with a box for every character that the letters lack."""
    return "".join(sign if is_printable(sign) else MISSING for sign in as_drawn(text))


class _Writer:
    """Writes down the page, and begins a new one where the present one is full."""

    def __init__(self, paper: Paper) -> None:
        self.paper, self.pen = paper, Pen(paper)
        self.lacked = False
        self.y_mm = _TOP_MM
        self._new_page()

    def skip(self, high_mm: float) -> None:
        self.y_mm += high_mm

    def text(self, text: str, size_pt: float, face: Face = Face.REGULAR) -> None:
        """A paragraph over the whole width."""
        for line in self._broken(text, _RIGHT_MM - _LEFT_MM, size_pt, face):
            self._room_for(_line_mm(size_pt))
            with self.paper.part(
                "P" if size_pt == _SIZE_PT else "H1" if size_pt == _TITLE_PT else "H2"
            ):
                self.pen.text(_LEFT_MM, self.y_mm, line, size_pt, face)
            self.y_mm += _line_mm(size_pt)

    def line(self, term: str, words: str, term_mm: float = _TERM_MM) -> None:
        """Two columns: the term on the left, what is said of it on the right."""
        left = self._broken(term, term_mm - 3, _SIZE_PT, Face.BOLD)
        right = self._broken(words or "–", _RIGHT_MM - _LEFT_MM - term_mm, _SIZE_PT, Face.REGULAR)
        for place in range(max(len(left), len(right))):
            self._room_for(_line_mm(_SIZE_PT))
            with self.paper.part("P"):
                if place < len(left):
                    self.pen.text(_LEFT_MM, self.y_mm, left[place], _SIZE_PT, Face.BOLD)
                if place < len(right):
                    self.pen.text(_LEFT_MM + term_mm, self.y_mm, right[place], _SIZE_PT)
            self.y_mm += _line_mm(_SIZE_PT)
        self.y_mm += 1.2

    def section(self, section: Section) -> None:
        self.skip(4)
        self._room_for(16)
        self.text(section.heading, _HEAD_PT, Face.BOLD)
        rule_mm = self.y_mm - _line_mm(_HEAD_PT) + 1.6
        self.pen.line(_LEFT_MM, rule_mm, _RIGHT_MM, rule_mm, 0.2)
        self.skip(1.4)
        for term, words in section.lines:
            self.line(term, words, 78)
        if not section.lines:
            self.text(section.nothing, _SIZE_PT)

    def picture(self, picture: Picture) -> None:
        """A photo, no wider and no higher than it is wanted."""
        scale = _PHOTO_MM / max(picture.width_px, picture.height_px)
        wide_mm, high_mm = picture.width_px * scale, picture.height_px * scale
        self.skip(3)
        self._room_for(high_mm + 8)
        top_mm = self.y_mm - _line_mm(_SIZE_PT)
        with self.paper.part("Figure", printable(picture.words) or "A photo"):
            self.paper.image(io.BytesIO(picture.content), _LEFT_MM, top_mm, wide_mm, high_mm)
        self.y_mm = top_mm + high_mm + 5
        self.text(picture.words, _SIZE_PT)

    def signature(self, report: Report) -> None:
        """Name, address, and lines for the day and the signature, all on one page."""
        self.skip(4)
        self._room_for(38)
        self.line("Name", report.signed_by)
        self.line("Address", report.address or " ")
        if not report.address:
            self._rule(_LEFT_MM + _TERM_MM, _RIGHT_MM)
        self.skip(14)
        self._rule(_LEFT_MM, _LEFT_MM + 60)
        self._rule(_LEFT_MM + 70, _RIGHT_MM)
        with self.paper.part("P"):
            self.pen.text(_LEFT_MM, self.y_mm + 1, "Place, date", _SIZE_PT)
            self.pen.text(_LEFT_MM + 70, self.y_mm + 1, "Signature", _SIZE_PT)
        self.skip(6)

    def _rule(self, from_mm: float, to_mm: float) -> None:
        y_mm = self.y_mm - 3.6
        self.pen.line(from_mm, y_mm, to_mm, y_mm, 0.2)

    def _broken(self, text: str, wide_mm: float, size_pt: float, face: Face) -> Sequence[str]:
        shown = printable(text)
        self.lacked = self.lacked or (MISSING in shown and MISSING not in text)
        place = Place(wide_mm, size_pt, size_pt, lines=_MOST_LINES, face=face)
        return fitted(shown, place).lines if shown else ()

    def _room_for(self, high_mm: float) -> None:
        if self.y_mm + high_mm > _BOTTOM_MM:
            self._new_page()

    def _new_page(self) -> None:
        self.paper.add_page()
        self.y_mm = _TOP_MM
        number = f"Page {self.paper.page_no()}"
        with self.paper.part("P"):
            self.pen.text(_RIGHT_MM - 14, _BOTTOM_MM + 8, number, 8)


def _line_mm(size_pt: float) -> float:
    return size_pt * MM_PER_POINT * LINE_SPACING
