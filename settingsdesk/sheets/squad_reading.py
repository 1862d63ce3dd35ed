"""From a table to what it says about the squad, cell by cell and with every fault named."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import TypeVar

from settingsdesk.domain.base.figures import quoted
from settingsdesk.sheets.cell_reading import (
    CellNotTaken,
    read_deviation,
    read_length,
    read_name,
    read_note,
)
from settingsdesk.sheets.columns import Role, SquadColumns
from settingsdesk.sheets.reading import read_table
from settingsdesk.sheets.squad import SQUAD_SHEET, Entry, Fault, SquadRow, SquadSheet
from settingsdesk.sheets.squad_header import Header, find_header
from settingsdesk.sheets.table import Cell, Row, Table

Said = TypeVar("Said")


def read_squad_file(content: bytes, file_name: str, axes: Sequence[str]) -> SquadSheet:
    """What the uploaded file says about the squad, for the axes of these names.

    Of a workbook the sheet "Squad" is read, or the first one that is shown.

    Raises:
        FileRefused: one of its subclasses, when the file as a whole cannot be read.
    """
    return read_squad(read_table(content, file_name, SQUAD_SHEET), SquadColumns(axes))


def read_squad(table: Table, columns: SquadColumns) -> SquadSheet:
    """All rows of the table that can be taken, and a fault for everything that cannot.

    A row with a fault is not among the rows. While a required header is missing or one comes
    twice, only the headers' faults are given.
    """
    header = find_header(table, columns)
    reading = _SheetReading(table.sheet, header, columns.axes)
    below = [row for row in table.rows if row.number > header.row_number]
    return SquadSheet(
        sheet=table.sheet,
        read_as=table.read_as,
        header_row=header.row_number,
        columns={column.header: letter for letter, column in header.columns.items()},
        rows=tuple(reading.rows(below)) if header.is_usable else (),
        faults=(*header.faults, *reading.faults),
        is_of_our_columns=not header.faults,
    )


@dataclass(slots=True)
class _SheetReading:
    """The rows under one header, with the faults and the athletes found so far."""

    sheet: str
    header: Header
    axes: tuple[str, ...]
    faults: list[Fault] = field(default_factory=list)
    seen: dict[tuple[str, ...], SquadRow] = field(default_factory=dict)

    def rows(self, below: list[Row]) -> Iterator[SquadRow]:
        for row in below:
            faults_before = len(self.faults)
            said = _RowReading(self, row).said()
            self._compare(said)
            if len(self.faults) == faults_before:
                yield said

    def _compare(self, said: SquadRow) -> None:
        """One row per athlete and model, and an athlete is called the same in each."""
        if not (said.family_name and said.given_name):
            return
        athlete = (said.family_name.casefold(), said.given_name.casefold())
        on_model = (*athlete, said.model.casefold())
        if twin := self.seen.get(on_model):
            advice = f"row {twin.number} is of the same athlete and model"
            name = f"{said.family_name}, {said.given_name}, {said.model}"
            expected = "one row per athlete and model"
            self.faults.append(Fault(self.sheet, said.number, "", "", name, expected, advice))
        first = self.seen.setdefault(athlete, said)
        self.seen.setdefault(on_model, said)
        self._compare_text(Role.PRINTED_NAME, first.printed_name, said.printed_name, first, said)
        self._compare_text(Role.GROUP, first.group, said.group, first, said)

    def _compare_text(
        self, role: Role, before: str, now: str, first: SquadRow, said: SquadRow
    ) -> None:
        if before and now and before != now:
            advice = f"row {first.number} is of the same athlete"
            self.fault(said.number, role, "", now, quoted(before), advice)

    def fault(
        self, row: int, role: Role, axis: str, read: str, expected: str, advice: str = ""
    ) -> None:
        letter = self.header.letter(role, axis)
        name = self.header.columns[letter].header if letter else ""
        self.faults.append(Fault(self.sheet, row, letter, name, read, expected, advice))


class _RowReading:
    """One row, each cell read by what its column holds."""

    def __init__(self, reading: _SheetReading, row: Row):
        self.reading, self.row = reading, row
        self.cells = {cell.column: cell for cell in row.cells}

    def said(self) -> SquadRow:
        self._refuse_cells_without_header()
        said = SquadRow(
            number=self.row.number,
            family_name=self._needed(Role.FAMILY_NAME, "the athlete's family name"),
            given_name=self._needed(Role.GIVEN_NAME, "the athlete's given name"),
            printed_name=self._take(Role.PRINTED_NAME, read_name) or "",
            group=self._take(Role.GROUP, read_name) or "",
            model=self._take(Role.MODEL, read_name) or "",
            wanted=dict(self._wanted()),
            accepts_mm=dict(self._accepts_mm()),
            reason=self._take(Role.REASON, read_note) or "",
        )
        if (said.wanted or said.accepts_mm) and not self._cell(Role.MODEL):
            self._fault(Role.MODEL, "the model that the lengths and marks of this row belong to")
        return said

    def _refuse_cells_without_header(self) -> None:
        for cell in self.row.cells:
            if cell.column not in self.reading.header.letters:
                self.reading.faults.append(
                    Fault(
                        self.reading.sheet,
                        self.row.number,
                        cell.column,
                        "",
                        cell.text,
                        "a header above this cell",
                    )
                )

    def _wanted(self) -> Iterator[tuple[str, Entry]]:
        for axis in self.reading.axes:
            length, mark = self._cell(Role.CENTIMETRES, axis), self._cell(Role.MARK, axis)
            length_mm = self._take(Role.CENTIMETRES, partial(read_length, axis=axis), axis)
            label = self._take(Role.MARK, read_name, axis)
            if length and mark:
                advice = f"column {length.column} has {quoted(length.text)}, clear one of the two"
                self._fault(Role.MARK, "a length or a mark and not both", axis, advice)
            elif length and length_mm is not None:
                yield axis, Entry.of_length(length_mm, length.column)
            elif mark and label:
                yield axis, Entry.of_mark(label, mark.column)

    def _accepts_mm(self) -> Iterator[tuple[str, int]]:
        for axis in self.reading.axes:
            accepts_mm = self._take(Role.ACCEPTS, partial(read_deviation, axis=axis), axis)
            wants = self._cell(Role.CENTIMETRES, axis) or self._cell(Role.MARK, axis)
            if accepts_mm is not None and not wants:
                self._fault(Role.ACCEPTS, "a length or a mark that this deviation is from", axis)
            elif accepts_mm is not None:
                yield axis, accepts_mm

    def _needed(self, role: Role, expected: str) -> str:
        name = self._take(role, read_name)
        is_faulty = name is None and self._cell(role) is not None
        if not name and not is_faulty:
            self._fault(role, expected)
        return name or ""

    def _take(self, role: Role, read: Callable[[Cell], Said], axis: str = "") -> Said | None:
        """What the cell says, or None when it is blank or, with a fault noted, not readable."""
        cell = self._cell(role, axis)
        if cell is None:
            return None
        try:
            return read(cell)
        except CellNotTaken as refused:
            self._fault(role, refused.expected, axis, refused.advice)
            return None

    def _cell(self, role: Role, axis: str = "") -> Cell | None:
        return self.cells.get(self.reading.header.letter(role, axis))

    def _fault(self, role: Role, expected: str, axis: str = "", advice: str = "") -> None:
        cell = self._cell(role, axis)
        read = cell.text if cell else ""
        self.reading.fault(self.row.number, role, axis, read, expected, advice)
