"""Cells left blank below a model, an apparatus or a club that is written once for several rows.

A blank may mean the same as above, or nothing at all: the setting would go to another model, or the
athlete to another club. It is asked once for the column, and whoever has a blank waits. A ditto
says that it is the same.
"""

import re
from collections.abc import Iterable

from settingsdesk.sheets.lists.blocks import Block
from settingsdesk.sheets.lists.found import Found
from settingsdesk.sheets.lists.grid import Grid, Line
from settingsdesk.sheets.lists.headers import NAMES, Column
from settingsdesk.sheets.lists.preview import ABOVE, NONE_MEANT, ColumnQuestion
from settingsdesk.sheets.lists.values_text import plain
from settingsdesk.sheets.lists.vocabulary import Role
from settingsdesk.sheets.lists.vocabulary_table import Meaning, meanings_of
from settingsdesk.sheets.table import Cell

BLANKS = "Some rows leave {holds} blank: say whether it is the one above them, as they wait for it"
_DITTO = re.compile("[-., ]*(?:\"|'')[-., ]*")
_SAME = Meaning("cell", "same")
_NAMED_ONCE = (Role.MODEL, Role.KIND, Role.CLUB)
_SAID_AGAIN = (*_NAMED_ONCE, *NAMES, Role.GROUP, Role.LEVEL, Role.AXIS, Role.UNIT)


class Blanks:
    """The blank cells of such columns among ``rows``; ``waits`` has the questions by line.

    A blank below a name, a group or an adjustment means nothing, and a ditto there what it does
    anywhere.
    """

    def __init__(self, grid: Grid, block: Block, found: Found, rows: Iterable[Line]) -> None:
        self._grid, self._block, self._found = grid, block, found
        self.waits: dict[int, list[str]] = {}
        self._above: dict[tuple[int, int], Cell] = {}
        columns = () if block.is_ours else block.of_role(*_SAID_AGAIN)
        lines = list(rows) if columns else []
        for column in columns:
            self._read(column, lines)

    def at(self, line: Line, place: int) -> Cell | None:
        """What stands there, or is meant by a blank or a ditto."""
        return self._above.get((line.number, place)) or self._grid.at(line, place)

    def _read(self, column: Column, lines: list[Line]) -> None:
        self._repeat(column, lines)
        if column.role not in _NAMED_ONCE:
            return
        cells = [(line, self.at(line, column.place)) for line in lines]
        texts = {cell.text for _, cell in cells if cell is not None}
        blank = [line for line, cell in cells if cell is None]
        if not blank or len(texts) < 2:
            return  # what the list names nowhere is asked about anyway
        key = f"blank:{self._grid.sheet}!{self._grid.name_of_place(column.place)}"
        answered = self._found.answers.get(key)
        if answered == ABOVE.value:
            above = None
            for line, cell in cells:
                above = cell or above
                if cell is None and above is not None:
                    self._above[line.number, column.place] = above
        elif answered != NONE_MEANT.value:
            self._ask(column, blank, key)

    def _repeat(self, column: Column, lines: list[Line]) -> None:
        """Let each ditto be what stands right above it, which may be another one."""
        above: Cell | None = None
        for line in lines:
            cell = self._grid.at(line, column.place)
            if cell is not None and _is_ditto(cell, column):
                cell = above
                if above is not None:
                    self._above[line.number, column.place] = above
            above = cell

    def _ask(self, column: Column, blank: list[Line], key: str) -> None:
        for line in blank:
            self.waits.setdefault(line.number, []).append(key)
        number, letter = self._grid.where(self._block.header_lines[-1], column.place)
        self._found.ask(
            ColumnQuestion(
                key=key,
                about="blanks",
                sheet=self._grid.sheet,
                line=letter,
                row=number,
                header=column.header,
                why=BLANKS.format(holds=column.role.value if column.role else column.header),
                choices=(ABOVE, NONE_MEANT),
                likely=ABOVE.value,
                cells=len(blank),
            )
        )


def _is_ditto(cell: Cell, column: Column) -> bool:
    """Whether a cell says "the same"; where a name stands only by the sign of it."""
    if _DITTO.fullmatch(plain(cell.text)):
        return True
    return column.role not in NAMES and _SAME in meanings_of(cell.text)
