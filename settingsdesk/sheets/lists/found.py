"""What the tables of a file have come to, and how the cells of one column come to it."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from settingsdesk.sheets.lists.persons import Persons
from settingsdesk.sheets.lists.preview import Accepted, Query
from settingsdesk.sheets.lists.values import Doubt, Said, Value, read_value
from settingsdesk.sheets.refusals import WorkbookHoldsTooMuch
from settingsdesk.sheets.table import Cell, CellKind

MOST_DOUBTS = 20_000  # different texts that are no values: nobody settles so many


@dataclass(slots=True)
class Found:
    """What the tables of a file have come to so far."""

    accepted: list[Accepted] = field(default_factory=list)
    queries: list[Query] = field(default_factory=list)
    persons: Persons = field(default_factory=Persons)
    models: Mapping[str, str] = field(default_factory=dict)
    file_name: str = ""
    doubts: int = 0

    def count_doubt(self) -> None:
        """Count one more text that is no value; ``WorkbookHoldsTooMuch`` where it is no list."""
        self.doubts += 1
        if self.doubts > MOST_DOUBTS:
            raise WorkbookHoldsTooMuch(self.file_name, "different cells in doubt", MOST_DOUBTS)


@dataclass(slots=True)
class ColumnReading:
    """The cells of a column of which the same is known; equal cells are read once."""

    said: Said
    found: Found
    _numbers: dict[str, Value | Doubt] = field(default_factory=dict)
    _texts: dict[str, Value | Doubt] = field(default_factory=dict)

    def read(self, cell: Cell) -> Value | Doubt:
        """What the cell says."""
        if cell.kind is CellKind.NUMBER:
            known = self._numbers
        elif cell.kind is CellKind.TEXT:
            known = self._texts
        else:
            return read_value(cell.text, cell.kind, self.said)
        read = known.get(cell.text)
        if read is None:
            read = known[cell.text] = read_value(cell.text, cell.kind, self.said)
            if isinstance(read, Doubt):
                self.found.count_doubt()
        return read
