"""What a person says of one list while they look at it: typed cells, rows left out, the group.

What is said of columns is remembered for the club's next list (``store/list_mappings``); these
answers are about the cells of one file, and wait and go with it.
"""

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from settingsdesk.sheets.lists.grid import place_of
from settingsdesk.sheets.table import Cell, Row, Table

Cells = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Answers:
    """Answers to one list; ``cells`` are texts typed in the place of what stands in a cell.

    ``cells`` go by ``cell_key``, ``rows_left_out`` are ``row_key`` of the first rows of athletes
    who are not to be taken, ``group`` is everybody's of whom the list names none.
    """

    cells: Cells = field(default_factory=dict)
    rows_left_out: frozenset[str] = frozenset()
    group: str = ""

    @classmethod
    def from_text(cls, text: str) -> "Answers":
        """As ``as_text`` has told them; none from an empty text."""
        if not text:
            return cls()
        told = json.loads(text)
        return cls(told["cells"], frozenset(told["rows_left_out"]), told["group"])

    @property
    def as_text(self) -> str:
        """All of it on one line."""
        told = {"cells": dict(self.cells), "rows_left_out": sorted(self.rows_left_out)}
        return json.dumps({**told, "group": self.group})

    def with_page(
        self,
        cells: Cells,
        ticked: Mapping[str, bool],
        group: str,
    ) -> "Answers":
        """With what one page says: an emptied cell lets the list speak again."""
        kept = {**self.cells, **cells}
        out = {key for key, is_ticked in ticked.items() if not is_ticked}
        return Answers(
            cells={key: typed for key, typed in kept.items() if typed},
            rows_left_out=(self.rows_left_out - ticked.keys()) | out,
            group=group,
        )


def cell_key(sheet: str, row: int, column: str) -> str:
    """How a cell is named among the answers."""
    return f"cell:{sheet}!{column}{row}"


def row_key(sheet: str, number: int) -> str:
    """How a row is named among the answers, or a column of a list that lies on its side."""
    return f"{sheet}!{number}"


def answered(tables: Sequence[Table], answers: Answers) -> tuple[Table, ...]:
    """The sheets with what was typed in the place of what stood there."""
    if not answers.cells:
        return tuple(tables)
    return tuple(replace(table, rows=tuple(_rows(table, answers.cells))) for table in tables)


def _rows(table: Table, typed: Cells) -> Iterator[Row]:
    columns = sorted({cell.column for row in table.rows for cell in row.cells}, key=place_of)
    for row in table.rows:
        said = {
            column: typed[key]
            for column in columns
            if (key := cell_key(table.sheet, row.number, column)) in typed
        }
        if not said:
            yield row
            continue
        cells = {cell.column: cell for cell in row.cells}
        cells |= {column: Cell(column, text) for column, text in said.items()}
        yield Row(row.number, tuple(cells[column] for column in columns if column in cells))
