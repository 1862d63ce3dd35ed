"""Columns of one table that hold the same: before and now, the ends of a range, or by models.

Which of them counts stands in nobody's cell, so it is asked once for all of them; till then nothing
of them is taken, and whoever has a value there waits.
"""

from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace

from settingsdesk.domain.base.figures import quoted
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.sheets.lists.blocks import Block
from settingsdesk.sheets.lists.found import Found
from settingsdesk.sheets.lists.grid import Grid
from settingsdesk.sheets.lists.headers import Column
from settingsdesk.sheets.lists.notes import is_out_of_date
from settingsdesk.sheets.lists.preview import (
    HALF,
    LEAVE_OUT,
    MIDDLE,
    READ,
    Choice,
    ColumnQuestion,
    Query,
)
from settingsdesk.sheets.lists.range_ends import range_end
from settingsdesk.sheets.lists.units import ListUnit

WHICH_COUNTS = "The columns {columns} all hold the {axis}: say which of them counts"
WHICH_MODEL = "Columns beside this one are for the model {named}: say on which {axis} is meant here"
WHAT_OF_RANGE = "From {least} to {most} the {axis} has a range: say what is taken of it"
_Alike = tuple[str | None, str, bool]
"""Kind and key of an axis, and whether marks are given."""


@dataclass(frozen=True, slots=True)
class Ends:
    """Two columns with the ends of a range, of which a person said that the middle is taken."""

    least: Column
    most: Column
    accepts_half: bool = False


class SameAxis:
    """The columns of which nobody has said yet which of them counts; ``waits`` has their places."""

    def __init__(self, grid: Grid, block: Block, found: Found, values: Collection[Column]) -> None:
        self._grid, self._block, self._found = grid, block, found
        self.waits: dict[int, str] = {}
        """The key of the question that is open, by place."""
        self.left_out: set[int] = set()
        self.ranges: dict[int, Ends] = {}
        """The ends of a range of which the middle is taken, by the place of either."""
        self.asked: set[int] = set()
        """All places of which one question is asked, answered or not."""
        self.models: dict[int, str] = {}
        """The model that a person said is meant in a column."""
        if block.is_ours or block.is_long:
            return
        for (kind, axis, is_mark), columns in self._alike(values).items():
            by_model: dict[str | None, list[Column]] = defaultdict(list)
            for column in columns:
                by_model[column.model].append(column)
            name = KINDS[kind].axis(axis).in_a_sentence if kind else axis.replace("_", " ")
            for model, same in by_model.items():
                if model is None and len(by_model) > 1:
                    for column in same:
                        self._which_model(column, kind, name, [at for at in by_model if at])
                elif not is_mark and (ends := _ends_of(same)):
                    self._what_of_range(ends, name)
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
        self.asked |= {column.place for column in columns}
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

    def _what_of_range(self, ends: Ends, axis: str) -> None:
        columns = sorted((ends.least, ends.most), key=lambda column: column.place)
        places = [column.place for column in columns]
        self.asked |= set(places)
        key = f"range:{self._grid.sheet}!{self._grid.name_of_place(places[0])}"
        answered = self._found.answers.get(key)
        if answered == LEAVE_OUT.value:
            self.left_out |= set(places)
        elif answered in (HALF.value, MIDDLE.value):
            said = replace(ends, accepts_half=answered == HALF.value)
            self.ranges |= dict.fromkeys(places, said)
        else:
            least, most = (
                f"{self._grid.name_of_place(column.place)} ({column.header})"
                for column in (ends.least, ends.most)
            )
            why = WHAT_OF_RANGE.format(least=least, most=most, axis=axis)
            self._ask(columns, key, why, (HALF, MIDDLE, LEAVE_OUT))

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


def _ends_of(columns: Sequence[Column]) -> Ends | None:
    """The two ends of a range, where those columns are called so and by the same words besides."""
    told = [(range_end(column.header), column) for column in columns]
    least = [(end.of, column) for end, column in told if end and end.is_least]
    most = [(end.of, column) for end, column in told if end and not end.is_least]
    if len(columns) != 2 or not (least and most) or least[0][0] != most[0][0]:
        return None
    return Ends(least[0][1], most[0][1])
