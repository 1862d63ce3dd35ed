"""Columns of one table that hold the same: before and now, or on one model and on another.

Which of them counts stands in nobody's cell, so it is asked once for all of them; till then nothing
of them is taken, and whoever has a value there waits.
"""

from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence

from settingsdesk.domain.base.figures import quoted
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.sheets.lists.found import Found
from settingsdesk.sheets.lists.grid import Grid
from settingsdesk.sheets.lists.headers import Block, Column
from settingsdesk.sheets.lists.notes import is_out_of_date
from settingsdesk.sheets.lists.preview import (
    LEAVE_OUT,
    READ,
    Choice,
    ColumnQuestion,
    Query,
)
from settingsdesk.sheets.lists.units import ListUnit

WHICH_COUNTS = "The columns {columns} all hold the {axis}: say which of them counts"
WHICH_MODEL = "Columns beside this one are for the model {named}: say on which {axis} is meant here"
_Alike = tuple[str | None, str, bool]
"""Kind and key of an axis, and whether marks are given."""


class SameAxis:
    """The columns of which nobody has said yet which of them counts; ``waits`` has their places."""

    def __init__(self, grid: Grid, block: Block, found: Found, values: Collection[Column]) -> None:
        self._grid, self._block, self._found = grid, block, found
        self.waits: dict[int, str] = {}
        """The key of the question that is open, by place."""
        self.left_out: set[int] = set()
        self.models: dict[int, str] = {}
        """The model that a person said is meant in a column."""
        if block.is_ours or block.is_long:
            return
        for (kind, axis, _), columns in self._alike(values).items():
            by_model: dict[str | None, list[Column]] = defaultdict(list)
            for column in columns:
                by_model[column.model].append(column)
            name = KINDS[kind].axis(axis).in_a_sentence if kind else axis.replace("_", " ")
            for model, same in by_model.items():
                if model is None and len(by_model) > 1:
                    for column in same:
                        self._which_model(column, kind, name, [at for at in by_model if at])
                elif len(same) > 1 and not all(column.is_said for column in same):
                    self._which_counts(same, name)

    def _alike(self, values: Collection[Column]) -> dict[_Alike, list[Column]]:
        alike: dict[_Alike, list[Column]] = defaultdict(list)
        for column in values:
            kind = self._found.known_models.kind_of(column.model or "") or self._block.context.kind
            said = self._block.context.said(column, kind)
            if said.axis and not self._is_old(column):
                alike[said.kind, said.axis, said.unit is ListUnit.MARK].append(column)
        return {key: columns for key, columns in alike.items() if len(columns) > 1}

    def _is_old(self, column: Column) -> bool:
        """Whether nothing of a column is taken, as it is out of date and nobody asked for it."""
        number, letter = self._grid.where(self._block.header_lines[-1], column.place)
        key = f"note:{self._grid.sheet}!{letter}{number}"
        return is_out_of_date(column.header) and self._found.answers.get(key) != READ.value

    def _which_counts(self, columns: Sequence[Column], axis: str) -> None:
        names = [self._grid.name_of_place(column.place) for column in columns]
        key = f"counts:{self._grid.sheet}!{names[0]}"
        answered = self._found.answers.get(key)
        if answered in names:
            self.left_out |= {
                column.place
                for name, column in zip(names, columns, strict=True)
                if name != answered
            }
            return
        headers = [f"{name} ({column.header})" for name, column in zip(names, columns, strict=True)]
        why = WHICH_COUNTS.format(columns=" and ".join(headers), axis=axis)
        choices = [
            Choice(name, f"Column {header}") for name, header in zip(names, headers, strict=True)
        ]
        self._ask(columns, key, why, choices)

    def _which_model(
        self, column: Column, kind: str | None, axis: str, beside: Sequence[str]
    ) -> None:
        key = f"of_model:{self._grid.sheet}!{self._grid.name_of_place(column.place)}"
        answered = self._found.answers.get(key, "")
        if answered == LEAVE_OUT.value:
            self.left_out.add(column.place)
        elif model := self._found.known_models.named(answered):
            self.models[column.place] = model
        else:
            why = WHICH_MODEL.format(named=" and ".join(map(quoted, beside)), axis=f"the {axis}")
            of_kind = [name for name, of in self._found.models.items() if kind in (None, of)]
            choices = [*(Choice(name, name) for name in of_kind), LEAVE_OUT]
            self._ask([column], key, why, choices)

    def _ask(
        self, columns: Sequence[Column], key: str, why: str, choices: Sequence[Choice]
    ) -> None:
        header = self._block.header_lines[-1]
        number, letter = self._grid.where(header, columns[-1].place)
        cells = list(self._cells(columns))
        self.waits |= dict.fromkeys((column.place for column in columns), key)
        for column in columns[:-1]:
            at = self._grid.where(header, column.place)
            self._found.queries.append(Query(self._grid.sheet, *at, column.header, why, key=key))
        self._found.ask(
            ColumnQuestion(
                key=key,
                about="columns",
                sheet=self._grid.sheet,
                line=letter,
                row=number,
                header=columns[-1].header,
                why=why,
                choices=tuple(choices),
                likely="",
                cells=len(cells),
                examples=tuple(dict.fromkeys(cells))[:3],
            )
        )

    def _cells(self, columns: Sequence[Column]) -> Iterator[str]:
        for line in self._block.body:
            for column in columns:
                if column.place in line.cells:
                    yield line.cells[column.place].text
