"""The units of columns that state none: told by their values, by a person, or asked for once."""

from settingsdesk.sheets.lists.blocks import Block
from settingsdesk.sheets.lists.found import Found
from settingsdesk.sheets.lists.grid import Grid, Line
from settingsdesk.sheets.lists.headers import Column
from settingsdesk.sheets.lists.preview import Choice, ColumnQuestion
from settingsdesk.sheets.lists.units import ListUnit
from settingsdesk.sheets.lists.untold_units import untold_unit
from settingsdesk.sheets.lists.values import Said
from settingsdesk.sheets.table import Cell

_UNITS = {unit.value: unit for unit in ListUnit}
COLUMN_NO_UNIT = "No unit is stated for this column, and {why}: choose one for all of it"

At = tuple[int, str]
"""A column by its place, and the axis that its rows name in a long list."""


class ColumnUnits:
    """What is known of the unit of each column of one table that states none."""

    def __init__(self, grid: Grid, block: Block, found: Found) -> None:
        self.grid, self.block, self.found = grid, block, found
        self._units: dict[At, ListUnit | None] = {}
        self.told_by: dict[At, tuple[str, str]] = {}
        """What told the unit of a column, and why."""

    def unit_of(self, at: At) -> ListUnit | None:
        """The unit that values or a person told for a column that states none."""
        return self._units.get(at)

    def is_missing(self, at: At) -> bool:
        """Whether the column has values without a unit, so that it is asked about as a whole."""
        return at in self._units

    def tell(
        self, column: Column, axis_text: str, cells: list[Cell], said: Said, first: Line
    ) -> None:
        """Tell the unit of a column by all of its cells, or ask for it."""
        model = self.block.context.model or column.model
        labels = self.found.labels_of(said.kind, said.axis, model)
        untold = untold_unit(cells, said, labels)
        if untold is None:
            return
        place = self.grid.name_of_place(column.place)
        line = f"{place}:{axis_text}" if axis_text else place
        key = f"unit:{self.grid.sheet}!{line}"
        answered = self.found.answers.get(key) or self.found.answers.get("unit")
        at = (column.place, axis_text)
        if answered in _UNITS:
            self._units[at] = _UNITS[answered]
            self.told_by[at] = (
                "person",
                f"somebody said that it holds {_UNITS[answered].in_words}",
            )
        elif untold.unit is not None:
            self._units[at] = untold.unit
            self.told_by[at] = ("values", untold.why)
        else:
            self._units[at] = None
            header = self.block.header_lines[-1]
            number, letter = self.grid.where(header, column.place)
            self.found.ask(
                ColumnQuestion(
                    key=key,
                    about="unit",
                    sheet=self.grid.sheet,
                    line=letter,
                    row=number,
                    header=f"{column.header} {axis_text}".strip(),
                    why=COLUMN_NO_UNIT.format(why=untold.why),
                    choices=tuple(Choice(unit.value, unit.in_words) for unit in ListUnit),
                    likely=untold.likely.value if untold.likely else "",
                    cells=untold.cells,
                    examples=untold.examples,
                ),
                (*self.grid.where(first, column.place), cells[0].text) if len(cells) == 1 else None,
            )
