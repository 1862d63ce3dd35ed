"""The squad as a workbook or CSV file, in the columns in which it is read again."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from operator import attrgetter

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
    written = tuple(columns)
    return Page(
        name=SQUAD_SHEET,
        headers=tuple(column.header for column in written),
        rows=_cells(rows, written),
    )


def _cells(rows: Iterable[SquadRow], columns: Sequence[Column]) -> Iterator[tuple[CellValue, ...]]:
    """Each row's cells. Most are blank, so only those of the row's own axes are looked at."""
    places = {(column.role, column.axis): number for number, column in enumerate(columns)}
    for row in rows:
        cells: list[CellValue] = [None] * len(columns)
        for role, text_of in _TEXTS.items():
            cells[places[role, ""]] = text_of(row)
        for axis, entry in row.wanted.items():
            if entry.kind is EntryKind.MARK:
                cells[places[Role.MARK, axis]] = entry.text
            elif entry.length_mm is not None:
                cells[places[Role.CENTIMETRES, axis]] = Centimetres(entry.length_mm)
        for axis, accepts_mm in row.accepts_mm.items():
            cells[places[Role.ACCEPTS, axis]] = Centimetres(accepts_mm)
        yield tuple(cells)


_TEXTS: Mapping[Role, Callable[[SquadRow], str]] = {
    Role.FAMILY_NAME: attrgetter("family_name"),
    Role.GIVEN_NAME: attrgetter("given_name"),
    Role.PRINTED_NAME: attrgetter("printed_name"),
    Role.GROUP: attrgetter("group"),
    Role.MODEL: attrgetter("model"),
    Role.REASON: attrgetter("reason"),
}
