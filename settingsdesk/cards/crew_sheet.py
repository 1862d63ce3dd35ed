"""Crew sheets on A4: who is on in which order, the marks in large figures, and what to move.

They are what is left at the apparatus where there is no network: boxes to tick for what was set
and checked stand beside every turn, lines to write on and a place to sign below the last.
"""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import partial

from settingsdesk.cards.fit import Fitted, Place, fitted
from settingsdesk.cards.foot import beneath, not_read
from settingsdesk.cards.lettering import MM_PER_POINT, Face, width_mm
from settingsdesk.cards.paper import Paper
from settingsdesk.cards.pen import LINE_SPACING, Pen
from settingsdesk.cards.plate import Plate, drawing_in
from settingsdesk.cards.report import MISSING, printable
from settingsdesk.cards.sheet import A4_HIGH_MM, A4_WIDE_MM
from settingsdesk.domain.base.drawing import Anchor, Drawing
from settingsdesk.domain.base.sentences import NO_BREAK, Sentence
from settingsdesk.words.language import Language

# Read at arm's length by somebody with the other hand on a lock.
_TITLE_PT, _NAME_PT, _TEXT_PT, _SMALL_PT, _MARK_PT = 15.0, 12.0, 9.5, 9.0, 20.0
_BENEATH_PT = 7.0
# Read from a metre away, where the paper gets no longer by it.
_LARGE_NAME_PT, _LARGE_MOVES_PT = 15, (13.0, 12.0, 11.0, 10.0)
_LEFT_MM, _RIGHT_MM, _TOP_MM, _BOTTOM_MM = 12.0, 285.0, 12.0, 196.0
_FOOT_MM = 203.0
_NUMBER_MM, _NAME_MM, _SECONDS_MM, _TICK_MM, _BOX_MM = 11.0, 52.0, 11.0, 13.0, 6.0
_LEAST_MOVES_MM, _GAP_MM, _PAD_MM = 56.0, 3.0, 1.8
_VIEW_WIDE_MM, _VIEW_HIGH_MM = 66.0, 44.0
_WRITING_MM, _LEAST_WRITING, _SIGNING_MM = 8.5, 2, 14.0
_MOST_STRETCH_MM = 6.0
_MOST_LINES = 40
TO_WRITE = Sentence("Name:")
"""What stands before the line on which a name is written by hand."""
_TOGETHER = re.compile(rf"\([^)]*\)(?:\S|{NO_BREAK})*|(?:\S|{NO_BREAK})+")
"""What is never torn: a word, a length, and whatever stands in brackets."""


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
    moves_beneath: tuple[str, ...] = ()
    notes_beneath: tuple[str, ...] = ()
    """The English of both, where they are in a language that no native speaker has read yet."""


@dataclass(frozen=True, slots=True)
class CrewPaper:
    """One rotation as it is printed: ``above`` and ``below`` are lines over and under its table.

    ``cautions`` stand above the table, on the page that is held at the apparatus, and ``warning``
    framed below them, once. ``drawing`` is the apparatus at the marks that ``drawing_says`` names.
    ``issue`` is at the foot of every page, beside its number.
    """

    title: str
    above: tuple[str, ...]
    axes: tuple[str, ...]
    rows: tuple[CrewRow, ...]
    below: tuple[str, ...]
    cautions: str
    warning: str = ""
    drawing: Drawing | None = None
    drawing_says: str = ""
    issue: str = ""
    beneath: tuple[str, ...] = ()
    """The English of cautions and warning in such a language, and what is said of that."""


def crew_sheets_pdf(
    papers: Sequence[CrewPaper], title: str, made_on: date, language: Language
) -> bytes:
    """The sheets in A4 across, each rotation on pages of its own that repeat its head.

    What they say is said in the language that is handed in.

    A name whose letters the paper lacks is left to be written in by hand; any other character it
    lacks is shown as an empty box. Both are said below the table.
    """
    with Paper(A4_HIGH_MM, A4_WIDE_MM, printable(language.said(title)), made_on, language) as paper:
        for rotation in papers:
            _Sheet(paper, in_language(rotation, language), language).write()
        return bytes(paper.output())


def in_language(told: CrewPaper, language: Language) -> CrewPaper:
    """The same paper for readers of that language."""
    said, all_said = language.said, language.all_said
    rows = tuple(
        replace(
            row,
            under_name=said(row.under_name),
            marks=tuple((mark, said(length)) for mark, length in row.marks),
            moves=all_said(row.moves),
            notes=all_said(row.notes),
            moves_beneath=_beneath(language, row.moves),
            notes_beneath=_beneath(language, row.notes),
        )
        for row in told.rows
    )
    return replace(
        told,
        title=said(told.title),
        above=all_said(told.above),
        axes=all_said(told.axes),
        rows=rows,
        below=all_said(told.below),
        cautions=said(told.cautions),
        warning=said(told.warning),
        drawing=drawing_in(told.drawing, language) if told.drawing else None,
        drawing_says=said(told.drawing_says),
        issue=said(told.issue),
        beneath=tuple(
            filter(None, (*_beneath(language, (told.cautions, told.warning)), not_read(language)))
        ),
    )


def _beneath(language: Language, words: Iterable[str]) -> tuple[str, ...]:
    return tuple(beneath(language, one) for one in words) if language.unread else ()


@dataclass(frozen=True, slots=True)
class _LaidRow:
    """A turn broken into lines that fit its columns, and how high that makes it.

    The notes are below it, over the whole width, or ``beside`` in the column of the moves.
    """

    row: CrewRow
    name: tuple[str, ...]
    name_pt: float
    under: tuple[str, ...]
    marks: tuple[Fitted, ...]
    moves: tuple[str, ...]
    moves_pt: float
    moves_beneath: tuple[str, ...]
    notes: tuple[str, ...]
    notes_beneath: tuple[str, ...]
    beside: bool

    @property
    def body_mm(self) -> float:
        moves_mm = len(self.moves) * _line_mm(self.moves_pt)
        moves_mm += len(self.moves_beneath) * _line_mm(_BENEATH_PT)
        return max(
            len(self.name) * _line_mm(self.name_pt) + len(self.under) * _line_mm(_SMALL_PT),
            self.marks_mm + _line_mm(_SMALL_PT) if self.marks else 0,
            moves_mm + (self._notes_mm if self.beside else 0),
            _BOX_MM,
        )

    @property
    def marks_mm(self) -> float:
        broken_mm = (len(mark.lines) * _line_mm(mark.size_pt) for mark in self.marks)
        return max(_line_mm(_MARK_PT), *broken_mm)

    @property
    def _notes_mm(self) -> float:
        notes_mm = len(self.notes) * _line_mm(_TEXT_PT)
        return notes_mm + len(self.notes_beneath) * _line_mm(_BENEATH_PT)

    @property
    def high_mm(self) -> float:
        return self.body_mm + (0 if self.beside else self._notes_mm) + 2 * _PAD_MM


class _Sheet:
    """Lays one rotation out, and writes it down its pages."""

    def __init__(self, paper: Paper, told: CrewPaper, language: Language) -> None:
        self.paper, self.told, self.pen = paper, told, Pen(paper)
        self.language = language
        self.to_write_before = self.said(TO_WRITE)
        self.lacked = self.to_write = False
        self.y_mm = _TOP_MM
        self.axes_mm = self._axis_widths()
        self.moves_left_mm = _LEFT_MM + _NUMBER_MM + _NAME_MM + sum(self.axes_mm)
        self.seconds_right_mm = _RIGHT_MM - 2 * _TICK_MM
        self.moves_wide_mm = self.seconds_right_mm - _SECONDS_MM - self.moves_left_mm
        self.rows = [self._laid_large(row) for row in told.rows]
        self.axis_heads = [
            self._axis_head(axis, wide_mm - 2)
            for axis, wide_mm in zip(told.axes, self.axes_mm, strict=True)
        ]
        most_lines = max((len(head.lines) for head in self.axis_heads), default=1)
        self.table_head_mm = 1.5 + most_lines * _line_mm(_SMALL_PT)

    def said(self, words: str) -> str:
        """Words of the paper's own in its language, as they are drawn."""
        return printable(self.language.said(words))

    def write(self) -> None:
        ends_mm = [self._end_mm(writing) for writing in (_LEAST_WRITING, 1)]
        # Rather a line less to write on than a page more.
        pages, end_mm = min(((self._pages(mm), mm) for mm in ends_mm), key=lambda one: len(one[0]))
        for number, rows in enumerate(pages, start=1):
            self._begin_page(number, len(pages))
            is_last = number == len(pages)
            spare_mm = _BOTTOM_MM - self._head_mm(number) - sum(row.high_mm for row in rows)
            stretch_mm = max((spare_mm - end_mm) / max(len(rows), 1), 0) if is_last else 0
            if rows:
                self._table(rows, min(stretch_mm, _MOST_STRETCH_MM))
        with self.paper.part("P"):
            self._end()

    def _table(self, rows: Sequence[_LaidRow], stretch_mm: float) -> None:
        with self.paper.around("Table"):
            with self.paper.around("TR"):
                self._table_head()
            for row in rows:
                with self.paper.around("TR"):
                    self._row(row, stretch_mm)

    def _pages(self, end_mm: float) -> list[list[_LaidRow]]:
        """The turns of each page; the last has room for what stands below the table."""
        pages: list[list[_LaidRow]] = [[]]
        left_mm = _BOTTOM_MM - self._head_mm(1)
        for row in self.rows:
            if row.high_mm > left_mm and pages[-1]:
                pages.append([])
                left_mm = _BOTTOM_MM - self._head_mm(len(pages))
            pages[-1].append(row)
            left_mm -= row.high_mm
        if end_mm > left_mm:
            pages.append([])
        return pages

    # --- The head of a page ----------------------------------------------------------------------

    def _head_mm(self, number: int) -> float:
        """Where the turns begin on a page."""
        if number > 1:
            return _TOP_MM + _line_mm(_NAME_PT) + 2 + self.table_head_mm
        words_mm = sum(len(lines) * _line_mm(size_pt) for lines, size_pt, _ in self._head_lines())
        if self.told.warning:
            words_mm += 6
        view_mm = _VIEW_HIGH_MM + 2 * _line_mm(_SMALL_PT) if self.told.drawing else 0
        return _TOP_MM + max(words_mm, view_mm) + 3 + self.table_head_mm

    def _head_lines(self) -> Iterator[tuple[tuple[str, ...], float, Face]]:
        wide_mm = _RIGHT_MM - _LEFT_MM - (_VIEW_WIDE_MM + 4 if self.told.drawing else 0)
        yield self._broken(self.told.title, wide_mm, _TITLE_PT, Face.BOLD), _TITLE_PT, Face.BOLD
        for line in self.told.above:
            yield self._broken(line, wide_mm, _TEXT_PT, Face.REGULAR), _TEXT_PT, Face.REGULAR
        yield self._broken(self.told.cautions, wide_mm, _TEXT_PT, Face.BOLD), _TEXT_PT, Face.BOLD
        for line in self.told.beneath:
            lines = self._broken(line, wide_mm, _BENEATH_PT, Face.REGULAR)
            yield lines, _BENEATH_PT, Face.REGULAR
        if self.told.warning:
            lines = self._broken(self.told.warning, wide_mm - 6, _TEXT_PT + 1, Face.BOLD)
            yield lines, _TEXT_PT + 1, Face.BOLD

    def _begin_page(self, number: int, pages: int) -> None:
        self.paper.add_page()
        self.y_mm = _TOP_MM
        if number == 1:
            self._first_head()
        else:
            with self.paper.part("H2"):
                self._lines(self._broken(self.told.title, 200, _NAME_PT, Face.BOLD)[:1], _NAME_PT)
        self.y_mm = self._head_mm(number) - self.table_head_mm
        issue = self._shown(f"{self.told.title} · {self.told.issue}" if self.told.issue else "")
        with self.paper.part("P"):
            place = self.said(Sentence("page %(page)s of %(pages)s", page=number, pages=pages))
            room_mm = _RIGHT_MM - _LEFT_MM - width_mm(place, Face.BOLD, _SMALL_PT) - _GAP_MM
            self.pen.lines(_LEFT_MM, _FOOT_MM, fitted(issue, Place(room_mm, _SMALL_PT, 6)))
            self.pen.text(_RIGHT_MM, _FOOT_MM, place, _SMALL_PT, Face.BOLD, Anchor.END)

    def _first_head(self) -> None:
        blocks = list(self._head_lines())
        warning = blocks.pop() if self.told.warning else None
        for lines, size_pt, face in blocks:
            with self.paper.part("H1" if size_pt == _TITLE_PT else "P"):
                self._lines(lines, size_pt, face)
        if warning:
            lines, size_pt, face = warning
            wide_mm = _RIGHT_MM - _LEFT_MM - (_VIEW_WIDE_MM + 4 if self.told.drawing else 0)
            high_mm = len(lines) * _line_mm(size_pt) + 3
            self.pen.frame(_LEFT_MM, self.y_mm + 2, wide_mm, high_mm, 0.6)
            self.y_mm += 2.6
            with self.paper.part("P"):
                self._lines(lines, size_pt, face, _LEFT_MM + 3)
        if self.told.drawing:
            left_mm = _RIGHT_MM - _VIEW_WIDE_MM
            room = (left_mm, _TOP_MM, _VIEW_WIDE_MM, _VIEW_HIGH_MM)
            Plate(self.pen, self.told.drawing, *room, least_pt=_SMALL_PT).draw()
            place = Place(_VIEW_WIDE_MM, _SMALL_PT, 6.5, lines=2)
            says = fitted(self._shown(self.told.drawing_says), place)
            with self.paper.part("P"):
                self.pen.lines(left_mm, _TOP_MM + _VIEW_HIGH_MM + _line_mm(_SMALL_PT), says)

    def _table_head(self) -> None:
        y_mm = self.y_mm + _line_mm(_SMALL_PT) - 0.6
        cell = partial(self.paper.part, "TH")
        with cell():
            self._head(Sentence("Athlete"), _LEFT_MM + _NUMBER_MM, y_mm, _NAME_MM - 2)
        for place, head in enumerate(self.axis_heads):
            with cell():
                self.pen.lines(self._axis_left_mm(place), y_mm, head, Face.BOLD)
        with cell():
            wide_mm = self.moves_wide_mm - _GAP_MM
            self._head(Sentence("Move before the turn"), self.moves_left_mm, y_mm, wide_mm)
        with cell():
            right_mm, wide_mm = self.seconds_right_mm - 3, _SECONDS_MM + 5
            self._head(Sentence("Seconds"), right_mm, y_mm, wide_mm, Anchor.END)
        for place, words in enumerate((Sentence("Set"), Sentence("Check"))):
            with cell():
                self._head(words, self._tick_left_mm(place), y_mm, _TICK_MM - 1)
        self.y_mm += self.table_head_mm
        self.pen.line(_LEFT_MM, self.y_mm, _RIGHT_MM, self.y_mm, 0.4)

    def _head(
        self, words: str, x_mm: float, y_mm: float, wide_mm: float, anchor: Anchor = Anchor.START
    ) -> None:
        """The head of a column, smaller where a language has a longer word for it."""
        fit = fitted(self.said(words), Place(wide_mm, _SMALL_PT, 5, face=Face.BOLD))
        self.pen.lines(x_mm, y_mm, fit, Face.BOLD, anchor)

    # --- A turn ----------------------------------------------------------------------------------

    def _laid_large(self, row: CrewRow) -> _LaidRow:
        """A turn as low as it can be, with what to move in the largest letters that leave it so."""
        beside, below = (self._laid(row, _TEXT_PT, beside=beside) for beside in (True, False))
        least = min(beside, below, key=lambda laid: laid.high_mm)
        larger = (self._laid(row, moves_pt, beside=least.beside) for moves_pt in _LARGE_MOVES_PT)
        return next((laid for laid in larger if laid.high_mm <= least.high_mm), least)

    def _laid(self, row: CrewRow, moves_pt: float, *, beside: bool) -> _LaidRow:
        name_pt: float = _LARGE_NAME_PT
        while (
            name_pt > _NAME_PT and width_mm(printable(row.name), Face.BOLD, name_pt) > _NAME_MM - 2
        ):
            name_pt -= 1
        while name_pt > _SMALL_PT and self._is_torn(row.name, name_pt):
            name_pt -= 1
        if MISSING in printable(row.name):
            self.to_write = True
            name: tuple[str, ...] = (self.to_write_before,)
        else:
            name = self._broken(row.name, _NAME_MM - 2, name_pt, Face.BOLD)
        moves_mm = self.moves_wide_mm - 2
        wide_mm = moves_mm if beside else self.seconds_right_mm - _LEFT_MM - _NUMBER_MM
        return _LaidRow(
            row=row,
            name=name,
            name_pt=name_pt,
            under=self._broken(row.under_name, _NAME_MM - 2, _SMALL_PT, Face.REGULAR),
            marks=tuple(
                fitted(self._shown(mark), self._mark_place(place))
                for place, (mark, _) in enumerate(row.marks)
            ),
            moves=self._all_broken(row.moves, moves_mm, Face.REGULAR, moves_pt),
            moves_pt=moves_pt,
            moves_beneath=self._all_broken(row.moves_beneath, moves_mm, Face.REGULAR, _BENEATH_PT),
            notes=self._all_broken([f"! {note}" for note in row.notes], wide_mm, Face.BOLD),
            notes_beneath=self._all_broken(row.notes_beneath, wide_mm, Face.REGULAR, _BENEATH_PT),
            beside=beside,
        )

    @staticmethod
    def _is_torn(name: str, size_pt: float) -> bool:
        """Whether a word of a name is wider than its column."""
        wide_mm = _NAME_MM - 2
        return any(width_mm(word, Face.BOLD, size_pt) > wide_mm for word in printable(name).split())

    def _row(self, laid: _LaidRow, stretch_mm: float) -> None:
        top_mm = self.y_mm + _PAD_MM + stretch_mm / 2
        cell = partial(self.paper.part, "TD")
        with self.paper.part("TH"):
            self._who(laid, top_mm)
        for place in range(len(self.axes_mm)):
            with cell():
                if laid.marks:
                    self._mark(place, laid, top_mm)
        with cell():
            left_mm, moves_mm = _LEFT_MM + _NUMBER_MM, self.moves_left_mm
            notes_mm = top_mm + laid.body_mm
            below_mm = self._down(laid.moves, moves_mm, top_mm, laid.moves_pt, Face.REGULAR)
            beneath = laid.moves_beneath
            below_mm = self._down(beneath, moves_mm, below_mm, _BENEATH_PT, Face.REGULAR)
            if laid.beside:
                left_mm, notes_mm = moves_mm, below_mm
            below_mm = self._down(laid.notes, left_mm, notes_mm, _TEXT_PT, Face.BOLD)
            self._down(laid.notes_beneath, left_mm, below_mm, _BENEATH_PT, Face.REGULAR)
        with cell():
            right_mm = self.seconds_right_mm - 3
            base_mm = top_mm + 0.8 * _line_mm(_TEXT_PT)
            self.pen.text(right_mm, base_mm, laid.row.seconds, _TEXT_PT, anchor=Anchor.END)
        for place in range(2):
            with cell():
                self.pen.frame(self._tick_left_mm(place), top_mm, _BOX_MM, _BOX_MM, 0.4)
        self.y_mm += laid.high_mm + stretch_mm
        self.pen.line(_LEFT_MM, self.y_mm, _RIGHT_MM, self.y_mm, 0.2)

    def _axis_head(self, axis: str, wide_mm: float) -> Fitted:
        """The name of an axis above its marks, smaller rather than with a word torn."""
        place = Place(wide_mm, _SMALL_PT, 5, _MOST_LINES, Face.BOLD, wrapped_pt=_SMALL_PT)
        return fitted(self._shown(axis), place)

    def _mark_place(self, place: int) -> Place:
        """Room for a mark: smaller, then on more lines, and never cut."""
        wide_mm = self.axes_mm[place] - 1
        return Place(wide_mm, _MARK_PT, 12, lines=_MOST_LINES, face=Face.BOLD, wrapped_pt=12)

    def _mark(self, place: int, laid: _LaidRow, top_mm: float) -> None:
        left_mm, wide_mm = self._axis_left_mm(place), self.axes_mm[place] - 1
        mark, (_, length) = laid.marks[place], laid.row.marks[place]
        largest_pt = _MARK_PT if len(mark.lines) == 1 else mark.size_pt
        self.pen.lines(left_mm, top_mm + 0.8 * _line_mm(largest_pt), mark, Face.BOLD)
        small = fitted(self._shown(length), Place(wide_mm, _SMALL_PT, _SMALL_PT))
        self.pen.lines(left_mm, top_mm + laid.marks_mm + 0.8 * _line_mm(_SMALL_PT), small)

    def _who(self, laid: _LaidRow, top_mm: float) -> None:
        left_mm = _LEFT_MM + _NUMBER_MM
        base_mm = top_mm + 0.8 * _line_mm(laid.name_pt)
        self.pen.text(_LEFT_MM, base_mm, laid.row.place, _NAME_PT, Face.BOLD)
        below_mm = self._down(laid.name, left_mm, top_mm, laid.name_pt, Face.BOLD)
        if MISSING in printable(laid.row.name):
            from_mm = left_mm + width_mm(f"{self.to_write_before} ", Face.BOLD, laid.name_pt)
            self.pen.line(from_mm, base_mm + 0.6, left_mm + _NAME_MM - 3, base_mm + 0.6, 0.2)
        self._down(laid.under, left_mm, below_mm, _SMALL_PT, Face.REGULAR)

    def _down(
        self, lines: Sequence[str], left_mm: float, top_mm: float, size_pt: float, face: Face
    ) -> float:
        """Lines one under the other from an upper edge; gives their lower edge."""
        for number, line in enumerate(lines):
            base_mm = top_mm + (number + 0.8) * _line_mm(size_pt)
            self.pen.text(left_mm, base_mm, line, size_pt, face)
        return top_mm + len(lines) * _line_mm(size_pt)

    # --- What stands below the table -------------------------------------------------------------

    def _end_mm(self, writing: int) -> float:
        words_mm = sum(1.5 + len(lines) * _line_mm(_TEXT_PT) for lines in self._end_lines())
        return words_mm + 3 + _line_mm(_SMALL_PT) + writing * _WRITING_MM + _SIGNING_MM

    def _end_lines(self) -> list[tuple[str, ...]]:
        told = [*self.told.below]
        if self.to_write:
            told.append(
                self.said(
                    Sentence(
                        "Where “%(name)s” stands, the name has letters that this paper lacks: write"
                        " it in before the first turn, and give the entry a name in other letters.",
                        name=TO_WRITE,
                    )
                )
            )
        if self.lacked:
            told.append(
                self.said(
                    Sentence(
                        "%(box)s stands for a character that this paper has no letter for; the page"
                        " of this sheet shows it.",
                        box=MISSING,
                    )
                )
            )
        wide_mm = _RIGHT_MM - _LEFT_MM
        return [self._broken(words, wide_mm, _TEXT_PT, Face.REGULAR) for words in told if words]

    def _end(self) -> None:
        for lines in self._end_lines():
            self.y_mm += 1.5
            self._lines(lines, _TEXT_PT)
        self.y_mm += 3
        otherwise = self.said(Sentence("What was otherwise: turn, what, who, when"))
        self._lines((otherwise,), _SMALL_PT, Face.BOLD)
        while self.y_mm + _WRITING_MM + _SIGNING_MM <= _BOTTOM_MM + 0.01:
            self.y_mm += _WRITING_MM
            self.pen.line(_LEFT_MM, self.y_mm, _RIGHT_MM, self.y_mm, 0.15)
        wide_mm = (_RIGHT_MM - _LEFT_MM) / 3
        to_sign = (Sentence("Set by"), Sentence("Checked by"), Sentence("Date, time"))
        for place, words in enumerate(map(self.said, to_sign)):
            left_mm = _LEFT_MM + place * wide_mm
            rule_mm = _BOTTOM_MM - _line_mm(_SMALL_PT)
            self.pen.line(left_mm, rule_mm, left_mm + wide_mm - 6, rule_mm, 0.3)
            self.pen.text(left_mm, _BOTTOM_MM - 0.6, words, _SMALL_PT)

    # --- Words and columns -----------------------------------------------------------------------

    def _axis_widths(self) -> list[float]:
        """Each axis as wide as its widest mark in full size and the longest word of its name,
        where the moves keep their room."""
        wide_mm = [
            max(
                (self._mark_wide_mm(row.marks[place]) for row in self.told.rows if row.marks),
                default=0,
            )
            for place in range(len(self.told.axes))
        ]
        names_mm = (self._longest_word_mm(axis) for axis in self.told.axes)
        wide_mm = [max(mm, 20.0) + _GAP_MM for mm in map(max, wide_mm, names_mm)]
        most_mm = _RIGHT_MM - _LEFT_MM - _NUMBER_MM - _NAME_MM - _SECONDS_MM - 2 * _TICK_MM
        share = min(1.0, (most_mm - _LEAST_MOVES_MM) / max(sum(wide_mm), 1.0))
        return [share * column_mm for column_mm in wide_mm]

    def _longest_word_mm(self, name: str) -> float:
        words = self._shown(name).split()
        return max((width_mm(word, Face.BOLD, _SMALL_PT) for word in words), default=0)

    def _mark_wide_mm(self, mark: tuple[str, str]) -> float:
        large, small = (self._shown(words) for words in mark)
        return max(width_mm(large, Face.BOLD, _MARK_PT), width_mm(small, Face.REGULAR, _SMALL_PT))

    def _axis_left_mm(self, place: int) -> float:
        return _LEFT_MM + _NUMBER_MM + _NAME_MM + sum(self.axes_mm[:place])

    def _tick_left_mm(self, place: int) -> float:
        return self.seconds_right_mm + 1 + place * _TICK_MM

    def _lines(
        self,
        lines: Sequence[str],
        size_pt: float,
        face: Face = Face.REGULAR,
        left_mm: float = _LEFT_MM,
    ) -> None:
        self.y_mm = self._down(lines, left_mm, self.y_mm, size_pt, face)

    def _all_broken(
        self, texts: Sequence[str], wide_mm: float, face: Face, size_pt: float = _TEXT_PT
    ) -> tuple[str, ...]:
        return tuple(line for text in texts for line in self._broken(text, wide_mm, size_pt, face))

    def _broken(self, text: str, wide_mm: float, size_pt: float, face: Face) -> tuple[str, ...]:
        """A text on lines of that width, never broken inside brackets that fit a line."""
        lines: list[str] = []
        for words in _TOGETHER.findall(self._shown(text)):
            longer = f"{lines[-1]} {words}" if lines else words
            if lines and width_mm(longer, face, size_pt) <= wide_mm:
                lines[-1] = longer
            else:
                place = Place(wide_mm, size_pt, size_pt, lines=_MOST_LINES, face=face)
                lines.extend(fitted(words, place).lines)
        return tuple(lines)

    def _shown(self, text: str) -> str:
        shown = printable(text)
        self.lacked = self.lacked or (MISSING in shown and MISSING not in text)
        return shown


def _line_mm(size_pt: float) -> float:
    return size_pt * MM_PER_POINT * LINE_SPACING
