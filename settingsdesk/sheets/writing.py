"""Tables out to files: text stays text in every spreadsheet, and nothing is cut silently."""

import codecs
import csv
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from io import BytesIO, StringIO
from itertools import chain, count, islice
from textwrap import wrap
from typing import Any

from openpyxl import Workbook
from openpyxl.cell import Cell
from openpyxl.styles import Alignment, Font
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.page import PageMargins
from openpyxl.worksheet.properties import PageSetupProperties

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import format_length, quoted
from settingsdesk.domain.base.units import Unit
from settingsdesk.sheets.formula_guard import looks_live, with_guard
from settingsdesk.sheets.table import MOST_CHARACTERS_IN_CELL, REPLACEMENT

# Control signs, lone surrogates and non-characters: no XML file may hold them.
_NOT_WRITABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")
_LOOKS_ESCAPED = re.compile(r"_(?=x[0-9A-Fa-f]{4}_)")
_NOT_IN_SHEET_NAME = re.compile(r"[\[\]:*?/\\]")
_LONGEST_SHEET_NAME = 31
_NARROWEST, _WIDEST = 8, 60
_ROWS_IN_A_PART = 200
_A4 = 9
"""ST_PageSetup's number for A4 (ECMA-376, 18.3.1.63)."""
_MOST_CHARACTERS_ACROSS = 175
"""So many fit A4 across at 9 points; more on one page could not be read."""
_NAMES_IN_COLUMNS = 2


@dataclass(frozen=True, slots=True)
class Centimetres:
    """A length that is written as a number of centimetres with one decimal."""

    length_mm: int


CellValue = str | int | Centimetres | None


@dataclass(frozen=True, slots=True)
class Page:
    """A sheet to be written: its name, one row of headers, and the rows below.

    Rows that are made one after the other are written as they come, and can be written once.
    ``above`` and ``below`` are lines over the headers and under the rows of what is only to be
    read and printed; a sheet that is read back has none. ``widths`` are the columns' in
    characters, for such a sheet: its longer texts are broken on lines.
    """

    name: str
    headers: tuple[str, ...]
    rows: Iterable[tuple[CellValue, ...]]
    above: tuple[str, ...] = ()
    below: tuple[str, ...] = ()
    widths: tuple[int, ...] = ()


class TextTooLongForCell(SettingsDeskError):
    """A text that does not fit a cell; a spreadsheet would cut it without a word."""

    def __init__(self, text: str):
        super().__init__(text)
        self.text = text

    def __str__(self) -> str:
        return (
            f"The text beginning {quoted(self.text)} has {len(self.text):,} characters, and a cell "
            f"holds {MOST_CHARACTERS_IN_CELL:,}: shorten it"
        )


def writable(text: str) -> str:
    """The text with � for each sign that no sheet can hold; reading refuses that sign again.

    Raises:
        TextTooLongForCell: more characters than a cell holds.
    """
    if len(text) > MOST_CHARACTERS_IN_CELL:
        raise TextTooLongForCell(text)
    return _NOT_WRITABLE.sub(REPLACEMENT, text)


def put_text(cell: Cell, text: str) -> None:
    """Text into a workbook's cell, as text whatever it begins with.

    Raises:
        TextTooLongForCell: a text that does not fit.
    """
    stored = _LOOKS_ESCAPED.sub("_x005F_", writable(text))
    if len(stored) > MOST_CHARACTERS_IN_CELL:  # openpyxl would cut it
        raise TextTooLongForCell(text)
    cell.value = stored
    cell.data_type = "s"
    if looks_live(text):
        cell.quotePrefix = True  # stays text when somebody edits the cell


def workbook_of(pages: Sequence[Page]) -> Workbook:
    """A workbook with a sheet per page, headers fixed on the screen and repeated on paper.

    Its rows are in a file of their own already, so that many of them take no memory.

    Raises:
        TextTooLongForCell: a text that does not fit.
    """
    workbook = Workbook(write_only=True)
    try:
        for page in pages:
            _write(workbook.create_sheet(sheet_name(page.name)), page)
    except BaseException:
        for sheet in workbook.worksheets:
            sheet.close()  # each has a file open
        raise
    return workbook


def workbook_bytes(workbook: Workbook) -> bytes:
    """The workbook as the content of a .xlsx file."""
    stream = BytesIO()
    workbook.save(stream)
    return stream.getvalue()


def xlsx_bytes(pages: Sequence[Page]) -> bytes:
    """The pages as the content of a .xlsx file.

    Raises:
        TextTooLongForCell: a text that does not fit.
    """
    return workbook_bytes(workbook_of(pages))


def csv_bytes(page: Page) -> bytes:
    """The page as CSV after RFC 4180, in UTF-8 with a byte order mark, separated by commas.

    Raises:
        TextTooLongForCell: a text that would not fit when a spreadsheet opens the file.
    """
    return b"".join(csv_parts(page))


def csv_parts(page: Page) -> Iterator[bytes]:
    """The same as ``csv_bytes``, some rows after the other, as they come.

    Raises:
        TextTooLongForCell: a text that would not fit when a spreadsheet opens the file.
    """
    yield codecs.BOM_UTF8
    lines = chain([page.headers], page.rows)
    while some := list(islice(lines, _ROWS_IN_A_PART)):
        stream = StringIO(newline="")
        writer = csv.writer(stream, lineterminator="\r\n")
        writer.writerows(
            ["" if value is None else _csv_text(value) for value in row] for row in some
        )
        yield stream.getvalue().encode()


def sheet_name(name: str) -> str:
    """The name with a blank for each sign that a sheet's name cannot have, cut where needed."""
    allowed = _NOT_IN_SHEET_NAME.sub(" ", writable(name)).strip(" '")
    return allowed[:_LONGEST_SHEET_NAME].strip(" '") or "Sheet"


def _write(sheet: Any, page: Page) -> None:
    """What holds for the whole sheet stands before its rows in the file."""
    widths = page.widths or tuple(
        min(max(_NARROWEST, len(header) + 2), _WIDEST) for header in page.headers
    )
    for letter, width in zip(_letters(), widths, strict=False):
        sheet.column_dimensions[letter].width = width
    head_row = len(_broken(page.above, widths)) + 1
    sheet.freeze_panes = f"A{head_row + 1}"
    sheet.print_title_rows = f"{head_row}:{head_row}"
    _set_up_paper(sheet, page, widths)
    for line in _broken(page.above, widths):
        sheet.append([_bold(_cell(sheet, line))])
    for cells in chain(
        [[_bold(_cell(sheet, header)) for header in page.headers]],
        ([None if value is None else _cell(sheet, value) for value in row] for row in page.rows),
    ):
        sheet.append([_on_lines(cell) for cell in cells] if page.widths else cells)
    for line in _broken(page.below, widths):
        sheet.append([_cell(sheet, line)])


def _set_up_paper(sheet: Any, page: Page, widths: Sequence[int]) -> None:
    """A4 across, one page wide, in letters that can still be read.

    What is too wide for that runs over as many pages as it takes, each with the first columns,
    in which the names stand.
    """
    sheet.page_setup.paperSize = _A4
    sheet.page_setup.orientation = "landscape"
    sheet.page_margins = PageMargins(left=0.4, right=0.4, top=0.5, bottom=0.6)
    sheet.HeaderFooter.oddFooter.left.text = "&A"
    sheet.HeaderFooter.oddFooter.right.text = "page &P of &N"
    if sum(widths) <= _MOST_CHARACTERS_ACROSS:
        sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
        sheet.page_setup.fitToHeight = 0  # as many pages as it takes, one page wide
    else:
        sheet.print_title_cols = f"A:{get_column_letter(min(_NAMES_IN_COLUMNS, len(widths)))}"


def _broken(lines: Sequence[str], widths: Sequence[int]) -> list[str]:
    """Lines over all columns; none runs off the page."""
    return [part for line in lines for part in wrap(line, sum(widths) * 9 // 10)]


def _bold(cell: Cell | None) -> Cell | None:
    if cell is not None:
        cell.font = Font(bold=True)
    return cell


def _on_lines(cell: Cell | None) -> Cell | None:
    if cell is not None:
        cell.alignment = Alignment(wrap_text=True, vertical="top")
    return cell


def _letters() -> Iterator[str]:
    return map(get_column_letter, count(1))


def _cell(sheet: Any, value: str | int | Centimetres) -> Cell | None:
    if value == "":
        return None
    cell = Cell(sheet, row=1, column=1)  # append() gives it its place
    if isinstance(value, str):
        put_text(cell, value)
    elif isinstance(value, Centimetres):
        cell.value = value.length_mm / 10
        cell.number_format = "0.0"
    elif isinstance(value, int):
        cell.value = value
    return cell


def _csv_text(value: str | int | Centimetres) -> str:
    if isinstance(value, Centimetres):
        return format_length(value.length_mm, Unit.CENTIMETRE)
    return with_guard(writable(value)) if isinstance(value, str) else str(value)
