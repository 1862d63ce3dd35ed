"""A workbook's sheet as a table, read row by row.

openpyxl opens it; its read-only mode believes the sheet's dimension tag and drops what lies
outside, so the rows are read by ``sheet_xml``.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO
from typing import Any

import openpyxl
from openpyxl.worksheet._read_only import ReadOnlyWorksheet

from settingsdesk.sheets.refusals import (
    FileRefused,
    WorkbookHasNoSheet,
    WorkbookIsDamaged,
    XmlGuardMissing,
)
from settingsdesk.sheets.sheet_xml import SheetXml
from settingsdesk.sheets.table import Table, bounded


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
    reading: Any = sheet
    xml = SheetXml(reading.parent, reading._shared_strings, sheet.title, file_name)
    with reading._get_source() as source:
        rows = tuple(bounded(xml.rows(source), sheet.title, file_name))
    hidden = xml.hidden or sheet.sheet_state != "visible"
    return Table(sheet.title, "workbook", rows, tuple(xml.merged), hidden)


def _choose(sheets: list[Any], wanted: str, file_name: str) -> ReadOnlyWorksheet:
    shown = [sheet for sheet in sheets if sheet.sheet_state == "visible"]
    named = [sheet for sheet in shown if sheet.title.strip().casefold() == wanted.casefold()]
    if not shown:
        raise WorkbookHasNoSheet(file_name)
    chosen: ReadOnlyWorksheet = (named or shown)[0]
    return chosen
