"""A workbook's sheet as a table, read row by row.

openpyxl's read-only mode believes the sheet's dimension tag and drops what lies outside, and one
cell that it cannot convert ends the whole reading without a word about which. So its sheet parser
is run here directly, with those two things put right.
"""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from io import BytesIO
from typing import Any

import openpyxl
from openpyxl.utils import get_column_letter
from openpyxl.utils.exceptions import CellCoordinatesException
from openpyxl.worksheet._read_only import ReadOnlyWorksheet
from openpyxl.worksheet._reader import FORMULA_TAG, VALUE_TAG, WorkSheetParser

from settingsdesk.sheets.refusals import (
    CellNotReadable,
    FileRefused,
    RowsOutOfOrder,
    WorkbookHasNoSheet,
    WorkbookIsDamaged,
    XmlGuardMissing,
)
from settingsdesk.sheets.table import CellKind, Table, bounded, place

_KINDS = {"d": CellKind.DATE, "b": CellKind.BOOLEAN, "e": CellKind.ERROR, "f": CellKind.FORMULA}
_ESCAPED = re.compile(r"_x(000[Dd]|005[Ff])_")  # a carriage return, and the sign of escaping itself
_LAST_COLUMN = 16_384  # XFD


def read_xlsx(content: bytes, file_name: str, sheet: str) -> Table:
    """The sheet of that name, or the first one that is shown; the file has passed the guard.

    Hidden rows and columns are read like all others. A formula counts as its stored result.

    Raises:
        FileRefused: one of its subclasses, with the place where it went wrong.
        XmlGuardMissing: the installation does not harden the reading of XML.
    """
    with _opened(content, file_name) as workbook:
        return _table(_choose(workbook.worksheets, sheet, file_name), file_name)


def read_sheets(content: bytes, file_name: str) -> tuple[Table, ...]:
    """Every sheet with something in it, hidden ones too; raises what ``read_xlsx`` does."""
    with _opened(content, file_name) as workbook:
        if not workbook.worksheets:
            raise WorkbookHasNoSheet(file_name)
        tables = [_table(sheet, file_name) for sheet in workbook.worksheets]
    return tuple(table for table in tables if table.rows)


@contextmanager
def _opened(content: bytes, file_name: str) -> Iterator[Any]:
    if not openpyxl.DEFUSEDXML:
        raise XmlGuardMissing
    try:
        yield openpyxl.load_workbook(
            BytesIO(content), read_only=True, data_only=True, keep_links=False
        )
    except FileRefused:
        raise
    except Exception as e:
        # A crafted file can make openpyxl raise nearly anything; all of it means the same here.
        raise WorkbookIsDamaged(file_name) from e


def _table(sheet: ReadOnlyWorksheet, file_name: str) -> Table:
    beside = _Beside()
    rows = tuple(bounded(_rows(sheet, file_name, beside), sheet.title, file_name))
    hidden = beside.hidden or sheet.sheet_state != "visible"
    return Table(sheet.title, "workbook", rows, tuple(beside.merged), hidden)


@dataclass(slots=True)
class _Beside:
    """What a sheet says besides its cells."""

    merged: list[str] = field(default_factory=list)
    hidden: bool = False


def _choose(sheets: list[Any], wanted: str, file_name: str) -> ReadOnlyWorksheet:
    shown = [sheet for sheet in sheets if sheet.sheet_state == "visible"]
    named = [sheet for sheet in shown if sheet.title.strip().casefold() == wanted.casefold()]
    if not shown:
        raise WorkbookHasNoSheet(file_name)
    chosen: ReadOnlyWorksheet = (named or shown)[0]
    return chosen


class _SheetParser(WorkSheetParser):
    """The sheet parser, but a cell that cannot be read is named, and so is a missing result."""

    file_name: str
    title: str

    def parse_cell(self, element: Any) -> dict[str, Any]:
        try:
            cell: dict[str, Any] = super().parse_cell(element)
        except (ValueError, LookupError, TypeError, OverflowError, CellCoordinatesException) as e:
            raise CellNotReadable(self.file_name, self._place_of(element)) from e
        if cell["column"] > _LAST_COLUMN or cell["row"] != self.row_counter:
            raise RowsOutOfOrder(self.file_name, self._place_of(element))
        if cell["value"] is None and _lacks_its_result(element):
            return cell | {"value": "=", "data_type": "f"}
        return cell

    def _place_of(self, element: Any) -> str:
        letters = str(element.get("r", "")).rstrip("0123456789")
        readable = letters.isascii() and letters.isalpha() and len(letters) <= 3
        column = letters if readable else get_column_letter(min(self.col_counter + 1, _LAST_COLUMN))
        return place(self.title, self.row_counter, column)


def _lacks_its_result(cell: Any) -> bool:
    """A formula that was never calculated; one that gave an empty text has that as its result."""
    is_empty_text = cell.get("t") == "str" and cell.find(VALUE_TAG) is not None
    return cell.find(FORMULA_TAG) is not None and not is_empty_text


def _rows(
    sheet: ReadOnlyWorksheet, file_name: str, beside: _Beside
) -> Iterator[tuple[int, Iterator[tuple[int, str, CellKind]]]]:
    reading: Any = sheet
    book = reading.parent
    with reading._get_source() as source:
        parser = _SheetParser(
            source,
            reading._shared_strings,
            data_only=True,
            epoch=book.epoch,
            date_formats=book._date_formats,
            timedelta_formats=book._timedelta_formats,
        )
        parser.file_name, parser.title = file_name, sheet.title
        last_row = 0
        for number, cells in parser.parse():
            if number <= last_row:
                raise RowsOutOfOrder(file_name, place(sheet.title, number))
            last_row = number
            yield number, _cells(cells, number, sheet.title, file_name)
        if parser.merged_cells is not None:
            beside.merged += [str(one.ref) for one in parser.merged_cells.mergeCell]
        beside.hidden = any(row.get("hidden") for row in parser.row_dimensions.values())


def _cells(
    cells: list[dict[str, Any]], row: int, sheet: str, file_name: str
) -> Iterator[tuple[int, str, CellKind]]:
    last_column = 0
    for cell in cells:
        column = cell["column"]
        if column <= last_column:
            raise RowsOutOfOrder(file_name, place(sheet, row, get_column_letter(column)))
        last_column = column
        if cell["value"] is not None:
            yield column, _text(cell["value"]), _kind(cell)


def _kind(cell: dict[str, Any]) -> CellKind:
    is_number = cell["data_type"] == "n"
    return _KINDS.get(cell["data_type"], CellKind.NUMBER if is_number else CellKind.TEXT)


def _text(value: object) -> str:
    """The value as a spreadsheet would show it, free of the escapes of its format."""
    if isinstance(value, bool):
        return str(value).upper()
    if isinstance(value, float):
        return format(value, ".15g")
    return _ESCAPED.sub(lambda found: chr(int(found[1], 16)), str(value))
