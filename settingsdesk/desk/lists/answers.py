"""What a person says of one list while they look at it: typed cells, rows left out, the group.

What is said of columns is remembered for the club's next list (``store/list_mappings``); these
answers are about the cells of one file, and wait and go with it.
"""

import json
from collections.abc import Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, field, replace

from settingsdesk.sheets.lists.grid import place_of
from settingsdesk.sheets.lists.preview import Place, cell_key
from settingsdesk.sheets.table import Cell, Row, Table

Said = Mapping[str, str]
"""Answers by the keys of what is asked, as ``sheets/lists/preview.Answers`` has them."""
LEFT_OUT = "-"
"""What is typed into a cell of which nothing is to be taken."""


@dataclass(frozen=True, slots=True)
class Answers:
    """Answers to one list; ``said`` are those to its questions, and of cells what is typed there.

    ``rows_left_out`` are ``name_key`` of athletes who are not to be taken, ``rows_ticked`` of those
    of whom somebody has said that they are, ``group`` is everybody's of whom the list names none.
    """

    said: Said = field(default_factory=dict)
    rows_left_out: frozenset[str] = frozenset()
    rows_ticked: frozenset[str] = frozenset()
    group: str = ""

    @classmethod
    def from_text(cls, text: str) -> "Answers":
        """As ``as_text`` has told them; none from an empty text."""
        if not text:
            return cls()
        told = json.loads(text)
        out, ticked = (frozenset(told.get(name, ())) for name in ("rows_left_out", "rows_ticked"))
        return cls(told["said"], out, ticked, told["group"])

    @property
    def as_text(self) -> str:
        """All of it on one line."""
        out, ticked = sorted(self.rows_left_out), sorted(self.rows_ticked)
        told = {"said": dict(self.said), "rows_left_out": out, "rows_ticked": ticked}
        return json.dumps({**told, "group": self.group})

    def with_page(
        self,
        said: Said,
        ticked: Mapping[str, bool],
        group: str,
        out_unless_ticked: Set[str] = frozenset(),
    ) -> "Answers":
        """With what one page says: an emptied answer lets the list speak again.

        ``out_unless_ticked`` are those who are left out as long as nobody has ticked them.
        """
        kept = {**self.said, **said}
        out = {
            key for key, is_ticked in ticked.items() if not (is_ticked or key in out_unless_ticked)
        }
        ticked_now = {key for key in ticked.keys() & out_unless_ticked if ticked[key]}
        return Answers(
            said={key: answer for key, answer in kept.items() if answer},
            rows_left_out=(self.rows_left_out - ticked.keys()) | out,
            rows_ticked=(self.rows_ticked - ticked.keys()) | ticked_now,
            group=group,
        )


def name_key(at: Place) -> str:
    """How an athlete is named among the answers: by where the name stands first, or lacks."""
    sheet, row, column = at
    return f"{sheet}!{column}{row}"


def who_key(at: Place) -> str:
    """How it is named among the answers who is meant by a name that stands there."""
    return f"athlete:{name_key(at)}"


def answered(tables: Sequence[Table], answers: Answers) -> tuple[Table, ...]:
    """The sheets with what was typed in the place of what stood there; "-" leaves a cell out."""
    if not answers.said:
        return tuple(tables)
    return tuple(replace(table, rows=tuple(_rows(table, answers.said))) for table in tables)


def _rows(table: Table, typed: Said) -> Iterator[Row]:
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
        cells = {column: cell for column, cell in cells.items() if said.get(column) != LEFT_OUT}
        if cells:
            yield Row(row.number, tuple(cells[column] for column in columns if column in cells))
