"""A workbook's sheet as a table, read row by row.

openpyxl opens it; its read-only mode believes the sheet's dimension tag and drops what lies
outside, so the rows are read by ``sheet_xml``, and the texts that they share by ``strings_xml``.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO
from typing import Any
from zipfile import ZipFile, ZipInfo

import openpyxl
from openpyxl.reader.excel import ExcelReader
from openpyxl.worksheet._read_only import ReadOnlyWorksheet
from openpyxl.xml.constants import SHARED_STRINGS

from settingsdesk.domain.base.figures import quoted
from settingsdesk.sheets.beside_xml import BesideXml
from settingsdesk.sheets.refusals import (
    FileRefused,
    WorkbookHasNoSheet,
    WorkbookHoldsTooMuch,
    WorkbookIsDamaged,
    XmlGuardMissing,
)
from settingsdesk.sheets.sheet_xml import SheetXml
from settingsdesk.sheets.strings_xml import StringsXml
from settingsdesk.sheets.styles import Styles
from settingsdesk.sheets.table import Table, bounded

MOST_BYTES_AT_ONCE = 8_000_000
"""Of a part that openpyxl reads as a whole, in three times the room: formats, names of sheets."""


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


class _Sheet(ReadOnlyWorksheet):
    """A sheet as openpyxl knows it, of which nothing has been read."""

    struck_texts: set[int]

    def _get_size(self) -> None:
        """Leave it open: where a sheet states none, openpyxl would parse all of it to find out."""


class _Parts(ZipFile):
    """A workbook's parts, of which none that is too large is read at one go.

    Cells, the texts that they share and what hangs beside them are read piece by piece.
    """

    def __init__(self, content: bytes, file_name: str) -> None:
        super().__init__(BytesIO(content))
        self._file_name = file_name

    def read(self, name: str | ZipInfo, pwd: bytes | None = None) -> bytes:
        """A part as a whole; ``WorkbookHoldsTooMuch``."""
        self.must_be_small(name)
        return super().read(name, pwd)

    def must_be_small(self, name: str | ZipInfo) -> None:
        """``WorkbookHoldsTooMuch`` where a part is too large to be read at one go."""
        part = name if isinstance(name, ZipInfo) else self.getinfo(name)
        if part.file_size > MOST_BYTES_AT_ONCE:
            what = f"bytes in {quoted(part.filename)}"
            raise WorkbookHoldsTooMuch(self._file_name, what, MOST_BYTES_AT_ONCE)


class _Reader(ExcelReader):
    """The workbook without its cells: their texts are ours, and their sheets are not looked at."""

    archive: _Parts

    def __init__(self, content: bytes, file_name: str) -> None:
        super().__init__(BytesIO(content), read_only=True, data_only=True, keep_links=False)
        self.archive = _Parts(content, file_name)
        self.file_name = file_name
        self.struck_texts: set[int] = set()

    def read_strings(self) -> None:
        """The texts that cells share, with a bound."""
        package: Any = self.package
        part = package.find(SHARED_STRINGS)
        if part is not None:
            with self.archive.open(part.PartName[1:]) as source:
                strings = StringsXml(self.file_name)
                self.shared_strings = strings.read(source)
                self.struck_texts = strings.struck

    def read_worksheets(self) -> None:
        """Every sheet that is in the file, by its name and path."""
        book: Any = self.wb
        sheet: Any
        for sheet, part in self.parser.find_sheets():
            if part.target not in self.valid_files:
                continue
            if "chartsheet" in part.Type:
                self.archive.must_be_small(part.target)
                self.read_chartsheet(sheet, part)
                continue
            found = _Sheet(book, sheet.name, part.target, self.shared_strings)
            found.sheet_state = sheet.state
            found.struck_texts = self.struck_texts
            book._sheets.append(found)


@contextmanager
def _opened(content: bytes, file_name: str) -> Iterator[Any]:
    if not openpyxl.DEFUSEDXML:
        raise XmlGuardMissing
    try:
        reader = _Reader(content, file_name)
        reader.read()
        yield reader.wb
    except FileRefused:
        raise
    except Exception as e:
        # A crafted file can make openpyxl raise nearly anything; all of it means the same here.
        raise WorkbookIsDamaged(file_name) from e


def _table(sheet: ReadOnlyWorksheet, file_name: str) -> Table:
    reading: Any = sheet
    book = reading.parent
    xml = SheetXml(
        book,
        reading._shared_strings,
        sheet.title,
        file_name,
        Styles(book),
        reading.struck_texts,
    )
    with reading._get_source() as source:
        rows = tuple(bounded(xml.rows(source), sheet.title, file_name))
    is_hidden = sheet.sheet_state != "visible"
    hung = BesideXml(file_name)
    hung.read(book._archive, reading._worksheet_path)
    beside = xml.beside(hung.comments, hung.texts, is_hidden=is_hidden)
    return Table(sheet.title, "workbook", rows, tuple(xml.merged), xml.hidden or is_hidden, beside)


def _choose(sheets: list[Any], wanted: str, file_name: str) -> ReadOnlyWorksheet:
    shown = [sheet for sheet in sheets if sheet.sheet_state == "visible"]
    named = [sheet for sheet in shown if sheet.title.strip().casefold() == wanted.casefold()]
    if not shown:
        raise WorkbookHasNoSheet(file_name)
    chosen: ReadOnlyWorksheet = (named or shown)[0]
    return chosen
