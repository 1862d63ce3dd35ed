"""The squad as a workbook or CSV file, in the columns in which it is read again."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from operator import attrgetter

from openpyxl.worksheet.datavalidation import DataValidation

from settingsdesk.sheets.columns import HELP_SHEET, SQUAD_SHEET, OurColumn, SquadColumns
from settingsdesk.sheets.lists.units import ListUnit
from settingsdesk.sheets.lists.vocabulary import Role
from settingsdesk.sheets.squad_help import help_page
from settingsdesk.sheets.writing import (
    CellValue,
    Centimetres,
    Page,
    csv_parts,
    filled,
    workbook_of,
)

_ROWS_WITH_CHOICE = 1_000


@dataclass(frozen=True, slots=True)
class SquadRow:
    """One athlete on one model; ``wanted_mm`` and ``accepts_mm`` go by the axis's name.

    A row without a model has neither.
    """

    family_name: str
    given_name: str
    printed_name: str = ""
    group: str = ""
    model: str = ""
    wanted_mm: Mapping[str, int] = field(default_factory=dict)
    accepts_mm: Mapping[str, int] = field(default_factory=dict)
    reason: str = ""
    crew_note: str = ""
    purpose: str = ""
    """Empty for the usual one."""
    number_here: str = ""
    """Which of several athletes of one name it is; empty where nobody else has it."""


def squad_xlsx(
    rows: Iterable[SquadRow],
    axes: Sequence[str],
    *,
    purposes: bool = False,
    numbers: bool = False,
) -> bytes:
    """The rows as a .xlsx file that reads back to equal rows.

    What they are for and the athletes' numbers are written with ``purposes`` and ``numbers`` only.

    Raises:
        TextTooLongForCell: a text that does not fit a cell.
    """
    return b"".join(squad_xlsx_parts(rows, axes, purposes=purposes, numbers=numbers))


def squad_xlsx_parts(
    rows: Iterable[SquadRow],
    axes: Sequence[str],
    *,
    purposes: bool = False,
    numbers: bool = False,
) -> Iterator[bytes]:
    """The same, some rows after the other, as they come.

    Raises:
        TextTooLongForCell: a text that does not fit a cell.
    """
    pages = [_squad_page(rows, SquadColumns(axes, purposes=purposes, numbers=numbers))]
    return filled(workbook_of(pages), pages)


def squad_csv(
    rows: Iterable[SquadRow],
    axes: Sequence[str],
    *,
    purposes: bool = False,
    numbers: bool = False,
) -> bytes:
    """The same as a CSV file.

    Raises:
        TextTooLongForCell: a text that would not fit when a spreadsheet opens the file.
    """
    return b"".join(squad_csv_parts(rows, axes, purposes=purposes, numbers=numbers))


def squad_csv_parts(
    rows: Iterable[SquadRow],
    axes: Sequence[str],
    *,
    purposes: bool = False,
    numbers: bool = False,
) -> Iterator[bytes]:
    """The same, some rows after the other, as they come.

    Raises:
        TextTooLongForCell: a text that would not fit when a spreadsheet opens the file.
    """
    return csv_parts(_squad_page(rows, SquadColumns(axes, purposes=purposes, numbers=numbers)))


def template_xlsx(axes: Sequence[str], models: Sequence[str]) -> bytes:
    """An empty squad sheet, with a sheet that explains each column and lists the models.

    The models can be chosen in the squad sheet; others may be typed all the same.
    """
    columns = SquadColumns(axes)
    pages = [_squad_page((), columns), help_page(columns, models)]
    workbook = workbook_of(pages)
    if models:
        letter = columns.letter_of(Role.MODEL)
        choice = DataValidation(
            type="list",
            formula1=f"'{HELP_SHEET}'!$C$2:$C${len(models) + 1}",
            allow_blank=True,
            showErrorMessage=False,
        )
        choice.add(f"{letter}2:{letter}{_ROWS_WITH_CHOICE}")
        workbook[SQUAD_SHEET].data_validations.append(choice)
    return b"".join(filled(workbook, pages))


def _squad_page(rows: Iterable[SquadRow], columns: SquadColumns) -> Page:
    written = tuple(columns)
    return Page(
        name=SQUAD_SHEET,
        headers=tuple(column.header for column in written),
        rows=_cells(rows, written),
    )


def _cells(
    rows: Iterable[SquadRow], columns: Sequence[OurColumn]
) -> Iterator[tuple[CellValue, ...]]:
    """Each row's cells. Most are blank, so only those of the row's own axes are looked at."""
    places = {(column.role, column.axis, column.unit): at for at, column in enumerate(columns)}
    texts = [
        (places[role, "", None], text_of)
        for role, text_of in _TEXTS.items()
        if (role, "", None) in places
    ]
    wanted, accepted = (
        {axis: at for (of, axis, unit), at in places.items() if (of, unit) == (role, ListUnit.CM)}
        for role in (Role.VALUE, Role.ACCEPTS)
    )
    for row in rows:
        cells: list[CellValue] = [None] * len(columns)
        for at, text_of in texts:
            cells[at] = text_of(row)
        for axis, length_mm in row.wanted_mm.items():
            cells[wanted[axis]] = Centimetres(length_mm)
        for axis, length_mm in row.accepts_mm.items():
            cells[accepted[axis]] = Centimetres(length_mm)
        yield tuple(cells)


_TEXTS: Mapping[Role, Callable[[SquadRow], str]] = {
    Role.FAMILY_NAME: attrgetter("family_name"),
    Role.GIVEN_NAME: attrgetter("given_name"),
    Role.PRINTED_NAME: attrgetter("printed_name"),
    Role.GROUP: attrgetter("group"),
    Role.MODEL: attrgetter("model"),
    Role.PURPOSE: attrgetter("purpose"),
    Role.REASON: attrgetter("reason"),
    Role.CREW_NOTE: attrgetter("crew_note"),
    Role.NUMBER_HERE: attrgetter("number_here"),
}
