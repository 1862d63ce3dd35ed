"""A sheet as lines of cells, either way round, with merged cells spread over their places."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache

from openpyxl.utils import column_index_from_string, get_column_letter
from openpyxl.utils.cell import range_boundaries

from settingsdesk.sheets.table import NOTHING_BESIDE, Beside, Cell, Spot, Table

MOST_SPREAD = 20_000
"""So many places are filled from merged cells; a list needs far fewer."""
_RULE = re.compile(r"[-–—=_*+:|~ ─━]*[-–—=_*+~─━]{2}[-–—=_*+:|~ ─━]*")


@dataclass(frozen=True, slots=True)
class Line:
    """A row, or a column of a table that lies on its side: its number and its cells by place."""

    number: int
    cells: dict[int, Cell]


@dataclass(slots=True)
class Grid:
    """The lines of a sheet; ``spread`` are the places that a merged cell covers besides its own.

    ``beside`` is what the sheet says without any cell's text, by rows and columns of the file.
    """

    sheet: str
    lines: list[Line]
    on_its_side: bool = False
    spread: dict[tuple[int, int], Cell] = field(default_factory=dict)
    beside: Beside = NOTHING_BESIDE

    def spot(self, line: Line, place: int) -> Spot:
        """Row and column of the file for a place of a line, both as numbers."""
        return (place, line.number) if self.on_its_side else (line.number, place)

    def at(self, line: Line, place: int) -> Cell | None:
        """The cell at a place, or the merged one that covers it."""
        return line.cells.get(place) or self.spread.get((line.number, place))

    def where(self, line: Line, place: int) -> tuple[int, str]:
        """Row and column of the file for a place of a line."""
        if self.on_its_side:
            return place, letter(line.number)
        return line.number, letter(place)

    def name_of_place(self, place: int) -> str:
        """How people call a place in every line: the column's letter, or the row's number."""
        return str(place) if self.on_its_side else letter(place)

    def turned(self) -> "Grid":
        """The same table read along its columns."""
        turned: dict[int, dict[int, Cell]] = {}
        for line in self.lines:
            for place, cell in line.cells.items():
                turned.setdefault(place, {})[line.number] = cell
        lines = [Line(number, turned[number]) for number in sorted(turned)]
        spread = {(place, number): cell for (number, place), cell in self.spread.items()}
        return Grid(self.sheet, lines, not self.on_its_side, spread, self.beside)

    def part(self, lines: Sequence[Line]) -> "Grid":
        """Only those lines."""
        return Grid(self.sheet, list(lines), self.on_its_side, self.spread, self.beside)


def grid_of(table: Table) -> Grid:
    """The sheet with its rows as lines, but for those that are drawn of signs: "----"."""
    lines = [
        Line(row.number, {place_of(cell.column): cell for cell in row.cells})
        for row in table.rows
        if not all(_RULE.fullmatch(cell.text) for cell in row.cells)
    ]
    grid = Grid(table.sheet, lines, beside=table.beside)
    grid.spread = _spread(table, {line.number: line for line in lines})
    return grid


@cache
def place_of(column: str) -> int:
    """The number of a column's letter."""
    return column_index_from_string(column)


@cache
def letter(place: int) -> str:
    """The letter of a column's number."""
    return get_column_letter(place)


def _spread(table: Table, lines: dict[int, Line]) -> dict[tuple[int, int], Cell]:
    spread: dict[tuple[int, int], Cell] = {}
    for first_column, first_row, last_column, last_row in _ranges(table.merged):
        line = lines.get(first_row)
        cell = line.cells.get(first_column) if line else None
        if cell is None:
            continue
        for row in range(first_row, last_row + 1):
            for column in range(first_column, last_column + 1):
                if (row, column) != (first_row, first_column):
                    spread[(row, column)] = cell
    return spread


def _ranges(merged: Sequence[str]) -> Iterator[tuple[int, int, int, int]]:
    left = MOST_SPREAD
    for area in merged:
        try:
            bounds = range_boundaries(area)
        except ValueError:
            continue
        first_column, first_row, last_column, last_row = (bound or 0 for bound in bounds)
        size = (last_row - first_row + 1) * (last_column - first_column + 1)
        if first_column and first_row and 0 < size <= left:
            left -= size
            yield first_column, first_row, last_column, last_row
