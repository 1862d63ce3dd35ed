"""Tables out to files: text stays text in every spreadsheet, and nothing is cut silently."""

import codecs
import csv
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from io import BytesIO, RawIOBase, StringIO
from itertools import chain, count, islice
from textwrap import wrap
from typing import Any
from xml.sax.saxutils import escape
from zipfile import ZIP_DEFLATED, ZipFile

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
_NO_ROWS = re.compile(rb"<sheetData\s*(?:/>|></sheetData>)")
_ENDS_OF_LINES = {"\r": "&#13;"}
"""A bare one would be read as another (XML 1.0, 2.11)."""


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


def workbook_of(pages: Sequence[Page]) -> Workbook:
    """A workbook with an empty sheet per page, headers fixed on the screen, repeated on paper.

    What else holds for a whole sheet may be put into it before it is filled.
    """
    workbook = Workbook(write_only=True)
    for page in pages:
        _set_up(workbook.create_sheet(sheet_name(page.name)), page)
    return workbook


def filled(workbook: Workbook, pages: Sequence[Page]) -> Iterator[bytes]:
    """The .xlsx file of a workbook of those pages, some rows after the other, as they come.

    All that is not rows is openpyxl's; a cell of its own for each value takes it five times as
    long.

    Raises:
        TextTooLongForCell: a text that does not fit.
    """
    rows_of = {
        f"xl/worksheets/sheet{at}.xml": _rows_xml(sheet, page)
        for at, (sheet, page) in enumerate(zip(workbook.worksheets, pages, strict=True), 1)
    }
    frame, sent = BytesIO(), _Sent()
    workbook.save(frame)
    with ZipFile(frame) as empty, ZipFile(sent, "w", ZIP_DEFLATED) as archive:
        for name in empty.namelist():
            before, *after = _NO_ROWS.split(empty.read(name), 1)
            if name in rows_of and not after:
                raise RuntimeError(f"openpyxl left no place for the rows of {name}")
            with archive.open(name, "w") as part:
                part.write(before)
                for rows in rows_of[name] if after else ():
                    part.write(rows)
                    yield from sent.taken()
                part.writelines(after)
    yield from sent.taken()


class _Sent(RawIOBase):
    """A file that is sent on as it is written: nobody goes back in it."""

    def __init__(self) -> None:
        self._parts: list[bytes] = []

    def writable(self) -> bool:
        """Always."""
        return True

    def write(self, part: Any) -> int:
        """Take further bytes."""
        self._parts.append(bytes(part))
        return len(part)

    def taken(self) -> Iterator[bytes]:
        """What was written since it was last asked, if anything was."""
        parts, self._parts = self._parts, []
        if parts:
            yield b"".join(parts)


def xlsx_bytes(pages: Sequence[Page]) -> bytes:
    """The pages as the content of a .xlsx file.

    Raises:
        TextTooLongForCell: a text that does not fit.
    """
    return b"".join(filled(workbook_of(pages), pages))


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


def _set_up(sheet: Any, page: Page) -> None:
    """What holds for the whole sheet stands before and after its rows in the file."""
    widths = _widths(page)
    for letter, width in zip(_letters(), widths, strict=False):
        sheet.column_dimensions[letter].width = width
    head_row = len(_broken(page.above, widths)) + 1
    sheet.freeze_panes = f"A{head_row + 1}"
    sheet.print_title_rows = f"{head_row}:{head_row}"
    _set_up_paper(sheet, page, widths)


@dataclass(frozen=True, slots=True)
class _Styles:
    """The numbers that a workbook knows its cells' styles by.

    ``live`` is of text that stays text when somebody edits the cell.
    """

    plain: int
    live: int
    length: int


def _rows_xml(sheet: Any, page: Page) -> Iterator[bytes]:
    """All rows of a page as they stand in its sheet's file; their styles are in its workbook."""
    on_lines = bool(page.widths)
    above, below = _styles(sheet, bold=True), _styles(sheet)
    heads, cells = _styles(sheet, bold=True, on_lines=on_lines), _styles(sheet, on_lines=on_lines)
    widths = _widths(page)
    return _in_parts(
        chain(
            (((line,), above) for line in _broken(page.above, widths)),
            [(page.headers, heads)],
            ((row, cells) for row in page.rows),
            (((line,), below) for line in _broken(page.below, widths)),
        )
    )


def _in_parts(rows: Iterable[tuple[Sequence[CellValue], _Styles]]) -> Iterator[bytes]:
    yield b"<sheetData>"
    numbered = enumerate(rows, 1)
    while some := list(islice(numbered, _ROWS_IN_A_PART)):
        yield "".join(_row_xml(number, row, styles) for number, (row, styles) in some).encode()
    yield b"</sheetData>"


def _row_xml(number: int, row: Sequence[CellValue], styles: _Styles) -> str:
    cells = "".join(
        _cell_xml(f"{letter}{number}", value, styles)
        for letter, value in zip(_letters(), row, strict=False)
        if value is not None and value != ""
    )
    return f'<row r="{number}">{cells}</row>'


def _cell_xml(place: str, value: CellValue, styles: _Styles) -> str:
    if isinstance(value, str):
        style = styles.live if looks_live(value) else styles.plain
        text = _text(value)
        kept = ' xml:space="preserve"' if text != text.strip() or "\n" in text else ""
        text = escape(text, _ENDS_OF_LINES)
        return f'<c r="{place}" s="{style}" t="inlineStr"><is><t{kept}>{text}</t></is></c>'
    if isinstance(value, Centimetres):
        return f'<c r="{place}" s="{styles.length}"><v>{value.length_mm / 10}</v></c>'
    return f'<c r="{place}" s="{styles.plain}"><v>{value}</v></c>'


def _text(text: str) -> str:
    """The text as a cell holds it, in which nothing looks like the format's own escapes."""
    stored = _LOOKS_ESCAPED.sub("_x005F_", writable(text))
    if len(stored) > MOST_CHARACTERS_IN_CELL:
        raise TextTooLongForCell(text)
    return stored


def _styles(sheet: Any, *, bold: bool = False, on_lines: bool = False) -> _Styles:
    plain, live, length = (Cell(sheet, row=1, column=1) for _ in range(3))
    for cell in (plain, live, length):
        if bold:
            cell.font = Font(bold=True)
        if on_lines:
            cell.alignment = Alignment(wrap_text=True, vertical="top")
    live.quotePrefix = True
    length.number_format = "0.0"
    return _Styles(plain.style_id, live.style_id, length.style_id)


def _widths(page: Page) -> Sequence[int]:
    """The columns' widths in characters."""
    return page.widths or tuple(
        min(max(_NARROWEST, len(header) + 2), _WIDEST) for header in page.headers
    )


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


def _letters() -> Iterator[str]:
    return map(get_column_letter, count(1))


def _csv_text(value: str | int | Centimetres) -> str:
    if isinstance(value, Centimetres):
        return format_length(value.length_mm, Unit.CENTIMETRE)
    return with_guard(writable(value)) if isinstance(value, str) else str(value)
