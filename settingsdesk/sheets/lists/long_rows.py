"""Rows that are longer than their header: decimal commas that nobody put in quotes.

"166,5" became two cells, and every number after it stands one column too far. Where a row can be
joined again in one way alone, so that it has as many cells as its header and each length can be
its column's, that reading is offered for the whole list. Nothing of it is taken till then.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import combinations, pairwise

from settingsdesk.sheets.lists.found import Found
from settingsdesk.sheets.lists.grid import Grid, Line, letter
from settingsdesk.sheets.lists.headers import Block
from settingsdesk.sheets.lists.preview import JOIN, LEAVE_OUT, ColumnQuestion
from settingsdesk.sheets.lists.units import ListUnit
from settingsdesk.sheets.lists.values_figures import read_length
from settingsdesk.sheets.lists.values_ranges import about_mm, range_of
from settingsdesk.sheets.lists.values_text import plain
from settingsdesk.sheets.lists.vocabulary import Role
from settingsdesk.sheets.table import Cell

MOST_WAYS = 500  # to join one row; a row of so many cells is no list's
LONG = (
    "{rows} longer than the header, so a decimal comma may have split its numbers: nothing of"
    " {them} is taken till it is said whether {example} is meant"
)


def straightened(grid: Grid, block: Block, found: Found) -> tuple[Block, frozenset[int]]:
    """The table with its long rows joined as a person said; else those rows that wait for it."""
    widest = max(block.columns, default=0)
    long = [line for line in block.body if max(line.cells) > widest]
    if not long or grid.on_its_side or grid.spread:
        return block, frozenset()
    joined = {line.number: _joined(line, block) for line in long}
    whole = {number: line for number, line in joined.items() if line is not None}
    if not whole or len(whole) < len(long):
        return block, frozenset()
    key = f"rows:{grid.sheet}!{block.header_line}"
    answered = found.answers.get(key)
    if answered == JOIN.value:
        body = tuple(whole.get(line.number, line) for line in block.body)
        return replace(block, body=body), frozenset()
    left = tuple(line for line in block.body if line.number not in whole)
    if answered != LEAVE_OUT.value:
        _ask(grid, block, found, key, long, whole)
    return replace(block, body=left), frozenset(whole)


def _ask(
    grid: Grid,
    block: Block,
    found: Found,
    key: str,
    long: Sequence[Line],
    whole: Mapping[int, Line],
) -> None:
    examples = tuple(_shown(whole[line.number], block) for line in long[:3])
    number, column = grid.where(long[0], min(long[0].cells))
    one = len(long) == 1
    found.ask(
        ColumnQuestion(
            key=key,
            about="rows",
            sheet=grid.sheet,
            line=column,
            row=number,
            header=" | ".join(cell.text for cell in long[0].cells.values()),
            why=LONG.format(
                rows="This row is" if one else f"{len(long)} rows are",
                them="it" if one else "them",
                example=f"“{examples[0]}”",
            ),
            choices=(JOIN, LEAVE_OUT),
            likely=JOIN.value,
            cells=len(long),
            examples=examples,
        )
    )


def _shown(line: Line, block: Block) -> str:
    values = [
        cell.text for place, cell in line.cells.items() if block.columns[place].role is Role.VALUE
    ]
    return " | ".join(values)


def _joined(line: Line, block: Block) -> Line | None:
    """The row with its numbers joined again; None where no way or several ways are possible."""
    places = sorted(block.columns)
    values = [place for place in places if block.columns[place].role is Role.VALUE]
    if not values or max(line.cells) > max(places) + len(values):
        return None
    too_many = max(line.cells) - max(places)
    cells = [line.cells.get(place) for place in range(1, max(line.cells) + 1)]
    ways = list(_ways(cells, too_many, block))
    if len(ways) != 1:
        return None
    kept = {
        place: Cell(letter(place), cell.text, cell.kind)
        for place, cell in enumerate(ways[0], start=1)
        if cell is not None
    }
    return Line(line.number, kept)


def _ways(cells: Sequence[Cell | None], too_many: int, block: Block) -> Iterator[list[Cell | None]]:
    """Each way in which neighbours can be joined so that every length can be its column's."""
    at = [
        place
        for place in range(len(cells) - 1)
        if _is_whole(cells[place]) and _is_decimals(cells[place + 1])
    ]
    for tried, chosen in enumerate(combinations(at, too_many)):
        if tried > MOST_WAYS:
            return
        if any(two - one < 2 for one, two in pairwise(chosen)):
            continue
        way = _way(cells, set(chosen))
        if _can_be(way, block):
            yield way


def _way(cells: Sequence[Cell | None], chosen: set[int]) -> list[Cell | None]:
    way: list[Cell | None] = []
    for place, cell in enumerate(cells):
        if place - 1 in chosen:
            continue
        after = cells[place + 1] if place in chosen else None
        joined = cell and after and cell._replace(text=f"{cell.text.strip()},{after.text.strip()}")
        way.append(joined or cell)
    return way


def _can_be(way: Sequence[Cell | None], block: Block) -> bool:
    for place, column in block.columns.items():
        cell = way[place - 1] if place <= len(way) else None
        if column.role is not Role.VALUE or cell is None:
            continue
        said = block.context.said(column, block.context.kind)
        length = read_length(plain(cell.text))
        if length is None:
            continue
        span = range_of(said.kind, said.axis)
        unit = length.unit or said.unit
        units = [unit] if unit else [ListUnit.MM, ListUnit.CM, ListUnit.M, ListUnit.INCH]
        lengths = [about_mm(length.amount, one) for one in units if one is not ListUnit.MARK]
        if not any(map(span.holds, lengths)):
            return False
    return True


def _is_whole(cell: Cell | None) -> bool:
    return cell is not None and cell.text.strip().isdecimal()


def _is_decimals(cell: Cell | None) -> bool:
    return cell is not None and cell.text.strip().isdecimal() and len(cell.text.strip()) <= 2
