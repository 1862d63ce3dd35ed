"""A table as it was in the file, neutral of its format: every cell still knows its place."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import NamedTuple

from openpyxl.utils import get_column_letter

from settingsdesk.domain.base.figures import quoted
from settingsdesk.sheets.refusals import CellTextTooLong, RowFarBelow, TableTooLarge

MOST_ROWS = 5_000
MOST_COLUMNS = 60
LAST_COLUMN = 16_384  # XFD
MOST_BLANK_ROWS = 200
MOST_CHARACTERS_IN_CELL = 32_767  # what a cell of a workbook holds
REPLACEMENT = "\ufffd"  # stands in an export for what could not be written, so never taken back
MOST_CHARACTERS = 10_000_000  # one shared text may stand in a hundred thousand cells


class CellKind(Enum):
    """What a cell is; all but the first two are shown to the person instead of being guessed."""

    TEXT = "text"
    NUMBER = "a number"
    DATE = "a date or time"
    BOOLEAN = "true or false"
    FORMULA = "a formula without a result"
    ERROR = "an error"


class Cell(NamedTuple):
    """A cell that is not blank, with its column's letter and its content as text.

    A number's text has a decimal point and at most 15 significant digits, as a spreadsheet shows
    it: 162.5 for a stored 162.49999999999997, and 162.50000001 for just that.
    """

    column: str
    text: str
    kind: CellKind = CellKind.TEXT


@dataclass(frozen=True, slots=True)
class Row:
    """A row that is not blank, with the number that a spreadsheet shows beside it."""

    number: int
    cells: tuple[Cell, ...]


Spot = tuple[int, int]
"""A row and a column, both counted from 1."""


@dataclass(frozen=True, slots=True)
class Beside:
    """What a sheet says besides the texts of its cells.

    ``comments`` are hung on cells, ``struck`` and ``colours`` are how cells look (a colour in hex,
    of the ground or of the text), ``texts`` stand in boxes over the cells or on every printed page.
    """

    comments: Mapping[Spot, str] = field(default_factory=dict)
    struck: frozenset[Spot] = frozenset()
    colours: Mapping[Spot, str] = field(default_factory=dict)
    hidden_rows: frozenset[int] = frozenset()
    hidden_columns: frozenset[int] = frozenset()
    is_hidden_sheet: bool = False
    texts: tuple[str, ...] = ()


NOTHING_BESIDE = Beside()


@dataclass(frozen=True, slots=True)
class Table:
    """One sheet: its name (empty for CSV), how it was read, and its rows that are not blank.

    ``merged`` are the ranges of cells that are shown as one, such as "C1:E1"; ``hidden`` says
    that the sheet, or a row of it, is hidden; ``beside`` is what it says without any cell's text.
    """

    sheet: str
    read_as: str
    rows: tuple[Row, ...]
    merged: tuple[str, ...] = ()
    hidden: bool = False
    beside: Beside = NOTHING_BESIDE


def place(sheet: str, row: int, column: str = "") -> str:
    """The place in the reader's words: "sheet 'Squad', row 7, column F"."""
    in_sheet = f"sheet {quoted(sheet)}, row {row}" if sheet else f"row {row}"
    return f"{in_sheet}, column {column}" if column else in_sheet


def bounded(
    rows: Iterable[tuple[int, Iterable[Cell]]], sheet: str, file_name: str
) -> Iterator[Row]:
    """The rows with something in them, from their numbers and cells.

    Nothing is cut off silently: whatever stands beyond the bounds refuses the file.

    Raises:
        TableTooLarge, RowFarBelow, CellTextTooLong: with the place in it.
    """
    last, characters = 0, 0
    for number, cells in rows:
        filled = _bounded_cells(cells, number, sheet, file_name)
        if not filled:
            continue
        if number - last > MOST_BLANK_ROWS + 1:
            raise RowFarBelow(file_name, place(sheet, number))
        characters += sum([len(cell.text) for cell in filled])
        if number > MOST_ROWS or characters > MOST_CHARACTERS:
            most = f"{MOST_ROWS:,} rows and {MOST_CHARACTERS:,} characters"
            raise TableTooLarge(file_name, place(sheet, number), most)
        last = number
        yield Row(number, tuple(filled))


def _bounded_cells(cells: Iterable[Cell], row: int, sheet: str, file_name: str) -> list[Cell]:
    filled = []
    for cell in cells:
        column, text, _ = cell
        if len(text) > MOST_CHARACTERS_IN_CELL:
            raise CellTextTooLong(file_name, place(sheet, row, column))
        if not text or text.isspace():
            continue
        if column not in _COLUMNS:
            raise TableTooLarge(file_name, place(sheet, row, column), f"{MOST_COLUMNS} columns")
        filled.append(cell)
    return filled


def letter(column: int) -> str:
    """How a spreadsheet names a column; beyond its last one, which only a text has, the number."""
    return get_column_letter(column) if column <= LAST_COLUMN else str(column)


_COLUMNS = frozenset(letter(column) for column in range(1, MOST_COLUMNS + 1))
