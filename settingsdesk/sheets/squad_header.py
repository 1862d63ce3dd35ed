"""The row of headers in a squad sheet: where it is, and which column holds what."""

from collections.abc import Mapping
from dataclasses import dataclass

from settingsdesk.sheets.columns import Column, Role, SquadColumns
from settingsdesk.sheets.squad import Fault
from settingsdesk.sheets.table import Row, Table

_AMONG_FIRST_ROWS = 20
_FEWEST_KNOWN = 2  # a title may have the word of one header in it, hardly of two


@dataclass(frozen=True, slots=True)
class Header:
    """The known columns by their letter; ``is_usable`` says whether rows can be read by them.

    ``letters`` are all columns that have a header, known or not. ``row_number`` is 0 where no
    header was found.
    """

    row_number: int
    letters: frozenset[str]
    columns: Mapping[str, Column]
    faults: tuple[Fault, ...]
    is_usable: bool

    def letter(self, role: Role, axis: str = "") -> str:
        """The letter of the column, or nothing where the sheet does not have it."""
        for letter, column in self.columns.items():
            if (column.role, column.axis) == (role, axis):
                return letter
        return ""


def find_header(table: Table, columns: SquadColumns) -> Header:
    """The first row with at least two known headers; rows above it are a title."""
    for row in table.rows[:_AMONG_FIRST_ROWS]:
        if sum(columns.find(cell.text) is not None for cell in row.cells) >= _FEWEST_KNOWN:
            return _read(table.sheet, row, columns)
    first = table.rows[0] if table.rows else Row(1, ())
    read = ", ".join(cell.text for cell in first.cells)
    *others, last = (f"'{column.header}'" for column in columns.required)
    expected = f"a row of headers with {', '.join(others)} and {last}"
    return Header(
        0, frozenset(), {}, (Fault(table.sheet, first.number, "", "", read, expected),), False
    )


def _read(sheet: str, row: Row, columns: SquadColumns) -> Header:
    known: dict[str, Column] = {}
    unknown, twice = [], []
    for cell in row.cells:
        column = columns.find(cell.text)
        if column is None:
            expected = "one of the headers in the template"
            unknown.append(Fault(sheet, row.number, cell.column, "", cell.text, expected))
        elif column in known.values():
            expected = "each header only once"
            twice.append(Fault(sheet, row.number, cell.column, "", cell.text, expected))
        else:
            known[cell.column] = column
    missing = [
        Fault(sheet, row.number, "", "", "", f"the header '{column.header}'")
        for column in columns.required
        if column not in known.values()
    ]
    letters = frozenset(cell.column for cell in row.cells)
    faults = (*unknown, *twice, *missing)
    return Header(row.number, letters, known, faults, not (twice or missing))
