"""Rows that are longer than their header: decimal commas that nobody put in quotes.

"166,5" became two cells, and every number after it stands one column too far. Where a row can be
joined again in one way alone, so that it has as many cells as its header and each length can be
its column's, that reading is offered for the whole list. Nothing of it is taken till then.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import combinations, islice, pairwise

from settingsdesk.domain.base.kinds import Range
from settingsdesk.sheets.lists.blocks import Block
from settingsdesk.sheets.lists.found import Found
from settingsdesk.sheets.lists.grid import Grid, Line, letter
from settingsdesk.sheets.lists.preview import JOIN, LEAVE_OUT, ColumnQuestion
from settingsdesk.sheets.lists.units import ListUnit
from settingsdesk.sheets.lists.values_figures import read_length
from settingsdesk.sheets.lists.values_ranges import about_mm, range_of
from settingsdesk.sheets.lists.values_text import plain
from settingsdesk.sheets.lists.vocabulary import Role
from settingsdesk.sheets.table import Cell

_Spans = Mapping[int, tuple[Range, ListUnit | None]]
MOST_WAYS = 500  # to join one row; a row of so many cells is no list's
LONG = (
    "{rows} longer than the header, so a decimal comma may have split its numbers: nothing of"
    " {them} is taken till it is said whether {example} is meant"
)


def straightened(grid: Grid, block: Block, found: Found) -> Block:
    """The table with its long rows joined as a person said; without them while nobody has."""
    widest = max(block.columns, default=0)
    long = [line for line in block.body if max(line.cells) > widest]
    if not long or grid.on_its_side or grid.spread:
        return block
    spans = _spans(block)
    joined: dict[int, Line | None] = {}
    for line in long:
        joined[line.number] = _joined(line, block, spans)
        if joined[line.number] is None:
            return block
    whole = {number: line for number, line in joined.items() if line is not None}
    key = f"rows:{grid.sheet}!{block.header_line}"
    answered = found.answers.get(key)
    if answered == JOIN.value:
        body = tuple(whole.get(line.number, line) for line in block.body)
        return replace(block, body=body)
    left = tuple(line for line in block.body if line.number not in whole)
    if answered != LEAVE_OUT.value:
        _ask(grid, block, found, key, long, whole)
    return replace(block, body=left)


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
    is_single = len(long) == 1
    found.ask(
        ColumnQuestion(
            key=key,
            about="rows",
            sheet=grid.sheet,
            line=column,
            row=number,
            header=" | ".join(cell.text for cell in long[0].cells.values()),
            why=LONG.format(
                rows="This row is" if is_single else f"{len(long)} rows are",
                them="it" if is_single else "them",
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


def _joined(line: Line, block: Block, spans: _Spans) -> Line | None:
    """The row with its numbers joined again; None where no way or several ways are possible."""
    places = sorted(block.columns)
    values = [place for place in places if block.columns[place].role is Role.VALUE]
    if not values or max(line.cells) > max(places) + len(values):
        return None
    too_many = max(line.cells) - max(places)
    cells = [line.cells.get(place) for place in range(1, max(line.cells) + 1)]
    ways = list(islice(_ways(cells, too_many, spans), 2))
    if len(ways) != 1:
        return None
    kept = {
        place: Cell(letter(place), cell.text, cell.kind)
        for place, cell in enumerate(ways[0], start=1)
        if cell is not None
    }
    return Line(line.number, kept)


def _ways(
    cells: Sequence[Cell | None], too_many: int, spans: _Spans
) -> Iterator[list[Cell | None]]:
    """Each way in which neighbours can be joined so that every length can be its column's."""
    at = [
        place
        for place in range(len(cells) - 1)
        if _is_whole(cells[place]) and _is_decimals(cells[place + 1])
    ]
    for tried, chosen in enumerate(combinations(at, too_many)):
        if tried > MOST_WAYS:
            return
        if any(later - earlier < 2 for earlier, later in pairwise(chosen)):
            continue
        way = _way(cells, set(chosen))
        if _can_be(way, spans):
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


def _spans(block: Block) -> _Spans:
    """For each column of lengths what it may hold, and its unit where one is stated."""
    spans = {}
    for place, column in block.columns.items():
        if column.role is Role.VALUE:
            said = block.context.said(column, block.context.kind)
            spans[place] = range_of(said.kind, said.axis), said.unit
    return spans


def _can_be(way: Sequence[Cell | None], spans: _Spans) -> bool:
    for place, (span, unit) in spans.items():
        cell = way[place - 1] if place <= len(way) else None
        if cell is not None and not _holds(cell.text, unit, span):
            return False
    return True


@lru_cache(maxsize=4096)
def _holds(text: str, unit: ListUnit | None, span: Range) -> bool:
    length = read_length(plain(text))
    if length is None:
        return True
    stated = length.unit or unit
    units = [stated] if stated else [ListUnit.MM, ListUnit.CM, ListUnit.M, ListUnit.INCH]
    return any(
        span.holds(about_mm(length.amount, tried)) for tried in units if tried is not ListUnit.MARK
    )


def _is_whole(cell: Cell | None) -> bool:
    return cell is not None and cell.text.strip().isdecimal()


def _is_decimals(cell: Cell | None) -> bool:
    return cell is not None and cell.text.strip().isdecimal() and len(cell.text.strip()) <= 2
