"""The cells of one sheet of a workbook, from its XML row by row, as they are stored there.

openpyxl opens the workbook, its texts and its formats; the rows are read here. Its own parser
builds an object for every tag, which is most of the time that a large list takes, and one cell
that it cannot convert ends the reading without a word about which. What the guard refuses in front
(definitions of entities) is refused here once more.
"""

import re
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import IO, Any, Protocol

from openpyxl.utils import column_index_from_string
from openpyxl.utils.cell import range_boundaries
from openpyxl.utils.datetime import from_excel, from_ISO8601

from settingsdesk.sheets.number_formats import PLAIN, shown
from settingsdesk.sheets.refusals import (
    CellNotReadable,
    RowsOutOfOrder,
    WorkbookHoldsTooMuch,
)
from settingsdesk.sheets.styles import Styles
from settingsdesk.sheets.table import (
    LAST_COLUMN,
    MOST_CHARACTERS_IN_CELL,
    MOST_COLUMNS,
    MOST_ROWS,
    Beside,
    Cell,
    CellKind,
    Spot,
    letter,
    place,
)
from settingsdesk.sheets.xml_parts import (
    CHUNK_BYTES,
    MAIN,
    SOUND,
    STRIKE,
    TEXT,
    XmlParser,
    is_on,
    unescaped,
)

MOST_MERGED = 20_000

_ROW, _CELL, _VALUE, _FORMULA, _MERGED, _COLUMN = (
    MAIN + name for name in ("row", "c", "v", "f", "mergeCell", "col")
)
_PRINTED = {
    MAIN + name
    for name in ("oddHeader", "oddFooter", "evenHeader", "evenFooter", "firstHeader", "firstFooter")
}
_SELDOM = {_COLUMN, _MERGED, STRIKE, *_PRINTED}
_LONGEST_ALIKE = 60  # characters; what is longer hardly stands twice
_YES = ("1", "true")
_from_iso: Callable[[str], object] = from_ISO8601


class Book(Protocol):
    """What the reading of cells needs of the workbook."""

    epoch: Any
    _date_formats: set[int]
    _timedelta_formats: set[int]


_PAGE_CODE = re.compile(r"&(?:\"[^\"]*\"|[0-9]+|K[0-9A-F]{6}|[A-Za-z])")  # page, date, font
_NONE_STRUCK: frozenset[int] = frozenset()


@dataclass(slots=True)
class _ColumnSeen:
    """A column that has cells; those that are stored alike are one cell, with one text."""

    number: int
    letters: str
    cells: dict[tuple[str, str, str], Cell] = field(default_factory=dict)


@dataclass(slots=True)
class SheetXml:
    """One sheet being read; ``merged`` and what stands beside are known once all its rows are.

    ``struck_texts`` are the places of shared texts of which a part is struck through.

    A row that has no number follows the one before, and so does a cell. Rows or cells that stand
    out of order are refused, for the second of two same cells would win and nobody would know.
    """

    book: Book
    texts: list[str]
    sheet: str
    file_name: str
    styles: Styles
    struck_texts: Collection[int] = _NONE_STRUCK
    merged: list[str] = field(default_factory=list)
    hidden_rows: set[int] = field(default_factory=set)
    hidden_columns: set[int] = field(default_factory=set)
    struck: set[Spot] = field(default_factory=set)
    colours: dict[Spot, str] = field(default_factory=dict)
    texts_printed: list[str] = field(default_factory=list)
    _rows: list[tuple[int, list[Cell]]] = field(default_factory=list)
    _cells: list[Cell] | None = None
    _row: int = 0
    _row_text: str = ""
    _column: int = 0
    _attributes: dict[str, str] | None = None
    _value: str | None = None
    _text: str = ""
    _is_formula: bool = False
    _is_struck: bool = False
    _sounds: int = 0
    _columns: dict[str, _ColumnSeen] = field(default_factory=dict)
    _plain_styles: set[str] = field(default_factory=set)

    @property
    def hidden(self) -> bool:
        """Whether a row or a column is."""
        return bool(self.hidden_rows or self.hidden_columns)

    def beside(
        self, comments: Mapping[Spot, str], texts: Sequence[str], *, is_hidden: bool
    ) -> Beside:
        """What the sheet says besides the texts of its cells, with what hangs on it."""
        return Beside(
            comments=comments,
            struck=frozenset(self.struck),
            colours=self.colours,
            hidden_rows=frozenset(self.hidden_rows),
            hidden_columns=frozenset(self.hidden_columns),
            is_hidden_sheet=is_hidden,
            texts=(*texts, *self.texts_printed),
        )

    def rows(self, source: IO[bytes]) -> Iterator[tuple[int, list[Cell]]]:
        """The rows with a number and the cells that hold something."""
        parser = XmlParser(self.file_name, self._start, self._end, self._collect)
        while chunk := source.read(CHUNK_BYTES):
            parser.feed(chunk)
            yield from self._rows
            self._rows.clear()
        parser.close()
        yield from self._rows

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        if name == _CELL:
            if self._cells is not None:
                self._attributes = attributes
                self._value, self._is_formula, self._is_struck = None, False, False
        elif name in (_VALUE, TEXT):
            if not self._sounds:
                self._text = ""
        elif name == _ROW:
            self._start_row(attributes)
        elif name == _FORMULA:
            self._is_formula = True
        elif name == SOUND:
            self._sounds += 1
        elif name in _SELDOM:
            self._start_seldom(name, attributes)

    def _start_seldom(self, name: str, attributes: dict[str, str]) -> None:
        if name == _COLUMN:
            if attributes.get("hidden") in _YES:
                self._hide(attributes)
        elif name == _MERGED:
            self._merge(attributes.get("ref", ""))
        elif name == STRIKE:
            self._is_struck = self._is_struck or is_on(attributes)
        else:
            self._text = ""

    def _end(self, name: str) -> None:
        if name == _CELL:
            if self._attributes is not None:
                self._end_cell(self._attributes)
                self._attributes = None
        elif name in (_VALUE, TEXT):
            if self._attributes is not None and not self._sounds:
                self._end_text(name, self._attributes)
        elif name == _ROW:
            if self._cells is not None:
                self._rows.append((self._row, self._cells))
                self._cells = None
        elif name == SOUND:
            self._sounds -= 1
        elif name in _PRINTED and (text := _PAGE_CODE.sub(" ", self._text).strip()):
            self.texts_printed.append(" ".join(text.split()))

    def _hide(self, attributes: dict[str, str]) -> None:
        first, last = int(attributes.get("min", "0")), int(attributes.get("max", "0"))
        self.hidden_columns.update(range(first, min(last, MOST_COLUMNS) + 1))

    def _collect(self, text: str) -> None:
        if len(self._text) <= MOST_CHARACTERS_IN_CELL:  # more changes nothing: it is too long
            self._text += text

    def _end_text(self, name: str, attributes: dict[str, str]) -> None:
        is_inline = attributes.get("t") == "inlineStr"
        if name == TEXT and is_inline:
            self._value = (self._value or "") + self._text
        elif name == _VALUE and not is_inline and self._value is None:
            self._value = self._text

    def _start_row(self, attributes: dict[str, str]) -> None:
        stated = attributes.get("r")
        number = self._row + 1 if stated is None else int(stated)
        if number <= self._row:
            raise RowsOutOfOrder(self.file_name, place(self.sheet, number))
        self._row, self._row_text, self._column = number, str(number), 0
        self._cells = []
        if attributes.get("hidden") in _YES and len(self.hidden_rows) <= MOST_ROWS:
            self.hidden_rows.add(number)

    def _merge(self, cells: str) -> None:
        range_boundaries(cells)  # a ValueError here is a damaged workbook
        self.merged.append(cells)
        if len(self.merged) > MOST_MERGED:
            raise WorkbookHoldsTooMuch(self.file_name, "merged cells", MOST_MERGED)

    def _end_cell(self, attributes: dict[str, str]) -> None:
        reference = attributes.get("r")
        try:
            column = self._column_of(reference)
            if not self._column < column.number <= LAST_COLUMN:
                raise RowsOutOfOrder(self.file_name, self._place_of(reference))
            self._column = column.number
            found = self._read(attributes, column)
        except (ValueError, LookupError, TypeError, OverflowError) as e:
            raise CellNotReadable(self.file_name, self._place_of(reference)) from e
        if found is not None and self._cells is not None:
            self._cells.append(found)
            style = attributes.get("s", "0")
            if self._is_struck or self.struck_texts or style not in self._plain_styles:
                self._look_at(column.number, style, attributes)

    def _look_at(self, column: int, style: str, attributes: dict[str, str]) -> None:
        look = self.styles.of(style)
        if look.is_plain:
            self._plain_styles.add(style)
        is_struck = look.struck or self._is_struck or self._has_struck_text(attributes)
        if is_struck or look.colour:
            self._looks(column, is_struck, look.colour)

    def _has_struck_text(self, attributes: dict[str, str]) -> bool:
        if not self.struck_texts or attributes.get("t") != "s":
            return False
        return int(self._value or "0") in self.struck_texts

    def _looks(self, column: int, is_struck: bool, colour: str) -> None:
        if is_struck:
            self.struck.add((self._row, column))
        if colour:
            self.colours[(self._row, column)] = colour

    def _column_of(self, reference: str | None) -> _ColumnSeen:
        if reference is None:
            letters = letter(min(self._column + 1, LAST_COLUMN))  # the last again is out of order
        else:
            letters = reference.rstrip("0123456789")
            row = reference[len(letters) :]
            if row != self._row_text and int(row) != self._row:
                raise RowsOutOfOrder(self.file_name, self._place_of(reference))
        return self._columns.get(letters) or self._new_column(letters)

    def _new_column(self, letters: str) -> _ColumnSeen:
        number = column_index_from_string(letters)
        column = self._columns[letters] = _ColumnSeen(number, letter(number))
        return column

    def _place_of(self, reference: str | None) -> str:
        letters = (reference or "").rstrip("0123456789")
        readable = letters.isascii() and letters.isalpha() and len(letters) <= 3
        column = letters if readable else letter(min(self._column + 1, LAST_COLUMN))
        return place(self.sheet, self._row, column)

    def _read(self, attributes: dict[str, str], column: _ColumnSeen) -> Cell | None:
        """The cell; None where it is blank."""
        stored, stated = attributes.get("t", "n"), self._value
        style = attributes.get("s", "0")
        if not stated:
            int(style)
            is_blank = not self._is_formula or (stored == "str" and stated is not None)
            return None if is_blank else Cell(column.letters, "=", CellKind.FORMULA)
        if len(stated) > _LONGEST_ALIKE:
            return Cell(column.letters, *self._said(stored, stated, style))
        key = (stored, style, stated)
        cell = column.cells.get(key)
        if cell is None:
            cell = column.cells[key] = Cell(column.letters, *self._said(stored, stated, style))
        return cell

    def _said(self, stored: str, stated: str, style: str) -> tuple[str, CellKind]:
        """Text and kind of what is stored in a cell."""
        if stored == "n":
            if int(style) in self.book._date_formats:
                return self._date(stated, int(style))
            text, kind = _number(stated)
            beside = self.styles.of(style).worded
            return (text, kind) if beside == PLAIN else (shown(text, beside), CellKind.TEXT)
        if stored == "s":
            return self._shared(stated), CellKind.TEXT
        if stored == "b":
            return ("TRUE" if int(stated) else "FALSE"), CellKind.BOOLEAN
        if stored == "d":
            return _day_or_time(_from_iso(stated)), CellKind.DATE
        return unescaped(stated), CellKind.ERROR if stored == "e" else CellKind.TEXT

    def _shared(self, stated: str) -> str:
        place_of_it = int(stated)
        if place_of_it < 0:
            raise IndexError(place_of_it)
        return self.texts[place_of_it]

    def _date(self, stated: str, style: int) -> tuple[str, CellKind]:
        is_duration = style in self.book._timedelta_formats
        try:
            found = from_excel(_cast(stated), self.book.epoch, timedelta=is_duration)
        except (OverflowError, ValueError):
            return "#VALUE!", CellKind.ERROR
        return _day_or_time(found), CellKind.DATE


def _day_or_time(found: object) -> str:
    """A day without the midnight at which a workbook has it begin."""
    return str(found).removesuffix(" 00:00:00")


def _cast(stated: str) -> int | float:
    return float(stated) if any(sign in stated for sign in ".eE") else int(stated)


def _number(stated: str) -> tuple[str, CellKind]:
    value = _cast(stated)
    return format(value, ".15g") if isinstance(value, float) else str(value), CellKind.NUMBER
