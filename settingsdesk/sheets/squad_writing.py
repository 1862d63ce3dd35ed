"""The squad as a workbook or CSV file, in the columns in which it is read again."""

from collections.abc import Iterable, Iterator, Sequence

from openpyxl import Workbook
from openpyxl.worksheet.datavalidation import DataValidation

from settingsdesk.sheets.columns import Column, Role, SquadColumns
from settingsdesk.sheets.squad import SQUAD_SHEET, EntryKind, SquadRow
from settingsdesk.sheets.squad_help import HELP_SHEET, help_page
from settingsdesk.sheets.writing import (
    CellValue,
    Centimetres,
    Page,
    csv_parts,
    workbook_bytes,
    workbook_of,
)

_ROWS_WITH_CHOICE = 1_000


def squad_xlsx(rows: Iterable[SquadRow], axes: Sequence[str]) -> bytes:
    """The rows as a .xlsx file that reads back to equal rows.

    Raises:
        TextTooLongForCell: a text that does not fit a cell.
    """
    return workbook_bytes(squad_workbook(rows, axes))


def squad_workbook(rows: Iterable[SquadRow], axes: Sequence[str]) -> Workbook:
    """The same as a workbook that is yet to be saved.

    Raises:
        TextTooLongForCell: a text that does not fit a cell.
    """
    return workbook_of([_squad_page(rows, SquadColumns(axes))])


def squad_csv(rows: Iterable[SquadRow], axes: Sequence[str]) -> bytes:
    """The rows as a CSV file that reads back to equal rows.

    Raises:
        TextTooLongForCell: a text that would not fit when a spreadsheet opens the file.
    """
    return b"".join(squad_csv_parts(rows, axes))


def squad_csv_parts(rows: Iterable[SquadRow], axes: Sequence[str]) -> Iterator[bytes]:
    """The same, some rows after the other, as they come.

    Raises:
        TextTooLongForCell: a text that would not fit when a spreadsheet opens the file.
    """
    return csv_parts(_squad_page(rows, SquadColumns(axes)))


def template_xlsx(axes: Sequence[str], models: Sequence[str]) -> bytes:
    """An empty squad sheet, with a sheet that explains each column and lists the models.

    The models can be chosen in the squad sheet; others may be typed all the same.
    """
    columns = SquadColumns(axes)
    workbook = workbook_of([_squad_page((), columns), help_page(columns, models)])
    if models:
        letters = {column.role: letter for letter, column in columns.by_letter().items()}
        choice = DataValidation(
            type="list",
            formula1=f"'{HELP_SHEET}'!$C$2:$C${len(models) + 1}",
            allow_blank=True,
            showErrorMessage=False,
        )
        choice.add(f"{letters[Role.MODEL]}2:{letters[Role.MODEL]}{_ROWS_WITH_CHOICE}")
        workbook[SQUAD_SHEET].data_validations.append(choice)
    return workbook_bytes(workbook)


def _squad_page(rows: Iterable[SquadRow], columns: SquadColumns) -> Page:
    return Page(
        name=SQUAD_SHEET,
        headers=tuple(column.header for column in columns),
        rows=(tuple(_value(row, column) for column in columns) for row in rows),
    )


def _value(row: SquadRow, column: Column) -> CellValue:
    if not column.axis:
        return _text(row, column.role)
    if column.role is Role.ACCEPTS:
        accepts_mm = row.accepts_mm.get(column.axis)
        return None if accepts_mm is None else Centimetres(accepts_mm)
    entry = row.wanted.get(column.axis)
    if entry is None:
        return None
    if column.role is Role.MARK:
        return entry.text if entry.kind is EntryKind.MARK else None
    return None if entry.length_mm is None else Centimetres(entry.length_mm)


def _text(row: SquadRow, role: Role) -> str:
    texts = {
        Role.FAMILY_NAME: row.family_name,
        Role.GIVEN_NAME: row.given_name,
        Role.PRINTED_NAME: row.printed_name,
        Role.GROUP: row.group,
        Role.MODEL: row.model,
        Role.REASON: row.reason,
    }
    return texts[role]
