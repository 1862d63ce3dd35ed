"""Workbooks made for tests, part by part, so that each has exactly one thing wrong with it."""

from collections.abc import Mapping
from io import BytesIO
from zipfile import ZIP_DEFLATED, ZipFile

from openpyxl import Workbook

SHEET = "xl/worksheets/sheet1.xml"
STRINGS = "xl/sharedStrings.xml"
CONTENT_TYPES = "[Content_Types].xml"
XMLNS = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
_STRINGS_TYPE = (
    '<Override PartName="/xl/sharedStrings.xml" ContentType="application/vnd.openxmlformats-'
    'officedocument.spreadsheetml.sharedStrings+xml"/></Types>'
)


def saved(workbook: Workbook) -> bytes:
    """The workbook's bytes."""
    stream = BytesIO()
    workbook.save(stream)
    return stream.getvalue()


def book(*rows: list[object], title: str = "Squad") -> Workbook:
    """A workbook with one sheet of these rows."""
    workbook = Workbook()
    workbook.active.title = title
    for row in rows:
        workbook.active.append(row)
    return workbook


def parts_of(content: bytes) -> dict[str, bytes]:
    """What is packed in a workbook."""
    with ZipFile(BytesIO(content)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def packed(parts: Mapping[str, str | bytes], method: int = ZIP_DEFLATED) -> bytes:
    """The parts packed into one file."""
    stream = BytesIO()
    with ZipFile(stream, "w", method) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return stream.getvalue()


def with_parts(parts: Mapping[str, str | bytes]) -> bytes:
    """A sound workbook of one cell, with these parts put in or in place of its own."""
    return packed(parts_of(saved(book(["sound"]))) | dict(parts))


def with_sheet(data: str, before: str = "", after: str = "") -> bytes:
    """A workbook whose only sheet has this XML as its rows."""
    xml = f"<worksheet {XMLNS}>{before}<sheetData>{data}</sheetData>{after}</worksheet>"
    return with_parts({SHEET: xml})


def with_strings(strings: str, data: str) -> bytes:
    """A workbook with this XML as its shared strings, and this as its rows."""
    content_types = parts_of(saved(book(["sound"])))[CONTENT_TYPES].decode()
    if "sharedStrings" not in content_types:
        content_types = content_types.replace("</Types>", _STRINGS_TYPE)
    return with_parts(
        {
            CONTENT_TYPES: content_types,
            STRINGS: f"<sst {XMLNS}>{strings}</sst>",
            SHEET: f"<worksheet {XMLNS}><sheetData>{data}</sheetData></worksheet>",
        }
    )


def with_number(stored: str, attributes: str = "") -> bytes:
    """A workbook with one cell, B3, that has this stored as its value."""
    return with_sheet(f'<row r="3"><c r="B3" {attributes}><v>{stored}</v></c></row>')
