"""Crew sheets on A4: who is on in which order, the marks in large figures, and what to move.

They are what is left at the apparatus where there is no network: boxes to tick for what was set
and checked stand beside every turn.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from settingsdesk.cards.fit import Place, fitted
from settingsdesk.cards.lettering import MM_PER_POINT, Face
from settingsdesk.cards.paper import Paper
from settingsdesk.cards.pen import LINE_SPACING, Pen
from settingsdesk.cards.report import MISSING, printable
from settingsdesk.cards.sheet import A4_HIGH_MM, A4_WIDE_MM
from settingsdesk.domain.base.drawing import Anchor

_LEFT_MM, _RIGHT_MM, _TOP_MM, _BOTTOM_MM = 14.0, 196.0, 16.0, 279.0
_TITLE_PT, _TEXT_PT, _SMALL_PT, _MARK_PT = 14.0, 8.5, 7.5, 13.0
_NUMBER_MM, _NAME_MM, _MARKS_MM, _SECONDS_MM, _BOX_MM = 7.0, 40.0, 48.0, 8.0, 4.5
_PAD_MM = 1.6
_MOST_LINES = 40


@dataclass(frozen=True, slots=True)
class CrewRow:
    """One turn. ``marks`` are pairs of mark and length, one per axis of the sheet, or nothing.

    ``moves`` is what to do before it, line by line; ``seconds`` is empty where nothing is counted.
    """

    place: str
    name: str
    under_name: str
    marks: tuple[tuple[str, str], ...]
    moves: tuple[str, ...]
    seconds: str
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CrewPaper:
    """One rotation as it is printed: ``above`` and ``below`` are lines over and under its table."""

    title: str
    above: tuple[str, ...]
    axes: tuple[str, ...]
    rows: tuple[CrewRow, ...]
    below: tuple[str, ...]
    cautions: str


def crew_sheets_pdf(papers: Sequence[CrewPaper], title: str, made_on: date) -> bytes:
    """The sheets in A4, each rotation on a page of its own, or on several that repeat its head.

    A character that the letters lack is shown as an empty box, and that is said on the page.
    """
    with Paper(A4_WIDE_MM, A4_HIGH_MM, printable(title), made_on) as paper:
        for rotation in papers:
            _Sheet(paper, rotation).write()
        return bytes(paper.output())


class _Sheet:
    """Writes one rotation down its pages."""

    def __init__(self, paper: Paper, told: CrewPaper) -> None:
        self.paper, self.told, self.pen = paper, told, Pen(paper)
        self.lacked = False
        self.y_mm = _TOP_MM
        moves_left_mm = _LEFT_MM + _NUMBER_MM + _NAME_MM + _MARKS_MM
        self.moves_left_mm = moves_left_mm
        self.seconds_right_mm = _RIGHT_MM - 2 * (_BOX_MM + 3.5)
        self.moves_wide_mm = self.seconds_right_mm - _SECONDS_MM - moves_left_mm

    def write(self) -> None:
        self._page()
        for row in self.told.rows:
            self._row(row)
        for line in (*self.told.below, self.told.cautions):
            self._paragraph(line)
        if self.lacked:
            self._paragraph(
                f"{MISSING} stands for a character that this paper has no letter for; the page of"
                " this sheet shows it."
            )

    def _page(self) -> None:
        self.paper.add_page()
        self.y_mm = _TOP_MM
        self._text(self.told.title, _TITLE_PT, Face.BOLD)
        for line in self.told.above:
            self._text(line, _TEXT_PT)
        self.y_mm += 2
        self._head()

    def _head(self) -> None:
        y_mm = self.y_mm + 3
        self.pen.text(_LEFT_MM + _NUMBER_MM, y_mm, "Athlete", _SMALL_PT, Face.BOLD)
        for place, axis in enumerate(self.told.axes):
            lines = self._broken(axis, self._axis_mm - 1, _SMALL_PT, Face.BOLD)
            for number, words in enumerate(lines):
                below_mm = y_mm + number * _line_mm(_SMALL_PT)
                self.pen.text(self._axis_left_mm(place), below_mm, words, _SMALL_PT, Face.BOLD)
        self.pen.text(self.moves_left_mm, y_mm, "Move before the turn", _SMALL_PT, Face.BOLD)
        self.pen.text(self.seconds_right_mm - 1, y_mm, "s", _SMALL_PT, Face.BOLD, Anchor.END)
        for place, words in enumerate(("Set", "Check")):
            left_mm = self.seconds_right_mm + 2 + place * (_BOX_MM + 3.5)
            self.pen.text(left_mm, y_mm, words, 6, Face.BOLD)
        self.y_mm += 3 + 2 * _line_mm(_SMALL_PT)
        self.pen.line(_LEFT_MM, self.y_mm, _RIGHT_MM, self.y_mm, 0.3)

    def _row(self, row: CrewRow) -> None:
        name = self._broken(row.name, _NAME_MM - 2, 11, Face.BOLD)
        under = self._broken(row.under_name, _NAME_MM - 2, _SMALL_PT, Face.REGULAR)
        moves = [
            line
            for words in row.moves
            for line in self._broken(words, self.moves_wide_mm - 2, _TEXT_PT, Face.REGULAR)
        ]
        wide_mm = self.seconds_right_mm - _LEFT_MM - _NUMBER_MM
        notes = [
            line
            for words in row.notes
            for line in self._broken(f"! {words}", wide_mm, _TEXT_PT, Face.BOLD)
        ]
        high_mm = max(
            len(name) * _line_mm(11) + len(under) * _line_mm(_SMALL_PT),
            _line_mm(_MARK_PT) + _line_mm(_SMALL_PT),
            len(moves) * _line_mm(_TEXT_PT),
        )
        high_mm += len(notes) * _line_mm(_TEXT_PT) + 2 * _PAD_MM
        if self.y_mm + high_mm > _BOTTOM_MM:
            self._page()
        self._cells(row, name, under, moves)
        self._notes(notes, self.y_mm + high_mm - _PAD_MM)
        self.y_mm += high_mm
        self.pen.line(_LEFT_MM, self.y_mm, _RIGHT_MM, self.y_mm, 0.15)

    def _cells(
        self, row: CrewRow, name: Sequence[str], under: Sequence[str], moves: Sequence[str]
    ) -> None:
        base_mm = self.y_mm + _PAD_MM + 3.6
        self.pen.text(_LEFT_MM, base_mm, row.place, 11, Face.BOLD)
        y_mm = base_mm
        for line in name:
            self.pen.text(_LEFT_MM + _NUMBER_MM, y_mm, line, 11, Face.BOLD)
            y_mm += _line_mm(11)
        for line in under:
            self.pen.text(_LEFT_MM + _NUMBER_MM, y_mm - 0.6, line, _SMALL_PT)
            y_mm += _line_mm(_SMALL_PT)
        for place, (mark, length) in enumerate(row.marks):
            left_mm = self._axis_left_mm(place)
            self._fitted(left_mm, base_mm + 0.4, mark, _MARK_PT, Face.BOLD)
            self._fitted(left_mm, base_mm + 4.2, length, _SMALL_PT, Face.REGULAR)
        for number, line in enumerate(moves):
            below_mm = base_mm - 0.4 + number * _line_mm(_TEXT_PT)
            self.pen.text(self.moves_left_mm, below_mm, line, _TEXT_PT)
        self.pen.text(self.seconds_right_mm - 1, base_mm, row.seconds, _TEXT_PT, anchor=Anchor.END)
        for place in range(2):
            left_mm = self.seconds_right_mm + 2 + place * (_BOX_MM + 3.5)
            self.pen.frame(left_mm, self.y_mm + _PAD_MM, _BOX_MM, _BOX_MM, 0.3)

    def _notes(self, notes: Sequence[str], bottom_mm: float) -> None:
        for number, line in enumerate(reversed(notes)):
            y_mm = bottom_mm - 0.6 - number * _line_mm(_TEXT_PT)
            self.pen.text(_LEFT_MM + _NUMBER_MM, y_mm, line, _TEXT_PT, Face.BOLD)

    def _fitted(self, left_mm: float, y_mm: float, text: str, size_pt: float, face: Face) -> None:
        place = Place(self._axis_mm - 1.5, size_pt, 5, lines=1, face=face)
        self.pen.lines(left_mm, y_mm, fitted(self._shown(text), place), face)

    @property
    def _axis_mm(self) -> float:
        return _MARKS_MM / len(self.told.axes)

    def _axis_left_mm(self, place: int) -> float:
        return _LEFT_MM + _NUMBER_MM + _NAME_MM + place * self._axis_mm

    def _paragraph(self, text: str) -> None:
        self.y_mm += 1.5
        self._text(text, _TEXT_PT)

    def _text(self, text: str, size_pt: float, face: Face = Face.REGULAR) -> None:
        for line in self._broken(text, _RIGHT_MM - _LEFT_MM, size_pt, face):
            if self.y_mm + _line_mm(size_pt) > _BOTTOM_MM + 8:
                self.paper.add_page()
                self.y_mm = _TOP_MM
            self.y_mm += _line_mm(size_pt)
            self.pen.text(_LEFT_MM, self.y_mm, line, size_pt, face)

    def _broken(self, text: str, wide_mm: float, size_pt: float, face: Face) -> Sequence[str]:
        shown = self._shown(text)
        place = Place(wide_mm, size_pt, size_pt, lines=_MOST_LINES, face=face)
        return fitted(shown, place).lines if shown else ()

    def _shown(self, text: str) -> str:
        shown = printable(text)
        self.lacked = self.lacked or (MISSING in shown and MISSING not in text)
        return shown


def _line_mm(size_pt: float) -> float:
    return size_pt * MM_PER_POINT * LINE_SPACING
