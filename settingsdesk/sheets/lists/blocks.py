"""The tables of a sheet, each with what is said for all of it.

Lines above a header are titles, which may say the apparatus, the unit, the datum or the club for
all. Tables may stand one below the other, and beside each other below one header.
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice

from settingsdesk.domain.base.datums import HeightDatum, SpreadDatum
from settingsdesk.sheets.lists.grid import Grid, Line
from settingsdesk.sheets.lists.headers import (
    NAMES,
    Column,
    Start,
    columns_of,
    is_value_like,
    mapped_column,
    spans,
    starts,
    starts_of_names,
    values_in,
)
from settingsdesk.sheets.lists.known_models import KnownModels
from settingsdesk.sheets.lists.preview import Mapped
from settingsdesk.sheets.lists.units import ListUnit
from settingsdesk.sheets.lists.values_said import Said
from settingsdesk.sheets.lists.vocabulary import HeaderMeaning, Role, header_words

MOST_TITLE_CELLS = 2
MOST_PLACES = 20_000  # beyond the last column of any sheet
MOST_UNHEADED = 12  # columns without any header of which it can be said what they hold
_AFTER_COLON = re.compile(r"[:：]\s*(.+)$")


@dataclass(frozen=True, slots=True)
class Context:
    """What titles, the sheet's name and the person say for a whole table."""

    kind: str | None = None
    model: str | None = None
    unit: ListUnit | None = None
    datum: HeightDatum | None = None
    spread: SpreadDatum | None = None
    club: str = ""
    mat_mm: int | None = None

    def said(self, column: "Column", kind: str | None) -> Said:
        """What is known of the cells of a column, in a row of that kind of apparatus."""
        meaning = column.meaning_for(kind)
        return Said(
            axis=meaning.axis,
            unit=meaning.unit or self.unit,
            datum=meaning.datum or self.datum,
            spread=meaning.spread or self.spread,
            kind=meaning.kind or kind,
            mat_mm=column.mat_mm if column.mat_mm is not None else self.mat_mm,
            section=column.section,
        )


@dataclass(frozen=True, slots=True)
class Block:
    """One table: its columns by place, what is said for all of it, and the lines below."""

    header_line: int
    header_lines: tuple[Line, ...]
    columns: Mapping[int, Column]
    context: Context
    body: tuple[Line, ...]
    titles: tuple[Line, ...] = ()
    above: tuple[Line, ...] = ()
    """Lines above the table that are no titles, so that nothing was read by them."""
    is_ours: bool = False
    """Whether the headers are those of our own columns, each of which says all of its cells."""
    is_beside: bool = False
    """Whether it stands to the right of another table with the same header lines."""
    places: range | None = None
    """The places of its lines, where other tables stand beside it."""

    def of_role(self, *roles: Role) -> list[Column]:
        """The columns that hold one of those, in their order."""
        return [column for column in self.columns.values() if column.role in roles]

    @property
    def is_long(self) -> bool:
        """Whether each line holds one value, and says of which axis."""
        return bool(self.of_role(Role.AXIS)) and any(
            column.meaning.axis is None for column in self.of_role(Role.VALUE)
        )


def blocks(
    grid: Grid,
    before: Context,
    models: KnownModels,
    mapped: Mapped,
    *,
    names_suffice: bool = False,
) -> Iterator[Block]:
    """The tables of a sheet one below the other; none where no header is found.

    Where ``names_suffice``, a table may have no column that is known to hold a setting.
    """
    begins = list(starts(grid, mapped, models))
    if names_suffice and not begins:
        begins = list(islice(starts_of_names(grid, mapped, models), 1))
    context = with_titles(before, [grid.sheet], models)
    for number, (first, height, columns) in enumerate(begins):
        ends = begins[number + 1][0] if number + 1 < len(begins) else len(grid.lines)
        titles = _titles_above(grid, first, begins[number - 1] if number else None)
        context = with_titles(context, [text_of(line) for line in titles], models)
        if number + 1 < len(begins):
            ends -= len(_titles_above(grid, ends, (first, height, columns)))
        header = tuple(grid.lines[first : first + height])
        whole = Block(
            header_line=header[-1].number,
            header_lines=header,
            columns=_within(columns, context.kind),
            context=context,
            body=tuple(grid.lines[first + height : ends]),
            titles=tuple(titles),
            above=() if number else tuple(grid.lines[: first - len(titles)]),
        )
        yield from _side_by_side(grid, whole, mapped, models) or [whole]


def with_unheaded(grid: Grid, block: Block, mapped: Mapped, models: KnownModels) -> Block:
    """The table with a column for each place where something stands below no header of its own.

    A merged header stands above all the columns that it covers; above the others there is none.
    """
    filled = {place for line in block.body for place in line.cells}
    missing = sorted(filled - block.columns.keys())
    covered: dict[int, str] = {}
    for place in missing:
        cells = (grid.at(line, place) for line in block.header_lines)
        above = [cell for cell in cells if cell is not None]
        if above and spans(above[0], models):
            covered[place] = " ".join(dict.fromkeys(cell.text for cell in above))
    columns = dict(block.columns)
    bare = [place for place in missing if place not in covered][:MOST_UNHEADED]
    for place in (*covered, *bare):
        header = covered.get(place, "")
        meaning = header_words(header)
        if block.context.kind is not None:
            meaning = meaning.within(block.context.kind)
        columns[place] = mapped_column(
            Column(
                place,
                header,
                meaning,
                model=models.within(header),
                is_unheaded=place not in covered,
            ),
            grid,
            mapped,
        )
    return replace(block, columns={place: columns[place] for place in sorted(columns)})


def _side_by_side(grid: Grid, whole: Block, mapped: Mapped, models: KnownModels) -> list[Block]:
    """The tables that stand beside each other below one header; none where it is one table."""
    parts = _parts(list(whole.columns.values()))
    if len(parts) < 2:
        return []
    found = []
    for places in parts:
        header = [_of_places(line, places) for line in whole.header_lines]
        columns = columns_of(grid, [line for line in header if line.cells], mapped, models)
        values = values_in(columns)
        if not values or not any(column.role in NAMES for column in columns.values()):
            return []
        found.append((places, tuple(header), columns))
    return [
        replace(
            whole,
            header_lines=header,
            columns=_within(columns, context.kind),
            context=context,
            body=_lines_of(whole.body, places),
            titles=titles if number else whole.titles,
            above=() if number else whole.above,
            is_beside=bool(number),
            places=places,
        )
        for number, (places, header, columns) in enumerate(found)
        for titles in [_lines_of(whole.titles, places)]
        for context in [with_titles(whole.context, map(text_of, titles), models)]
    ]


def _parts(columns: Sequence[Column]) -> list[range]:
    """The places of each table: a name after values begins another one, with its number."""
    in_order = sorted(columns, key=lambda column: column.place)
    names = [at for at, column in enumerate(in_order) if _names_somebody(column)]
    before_names = {column.header for column in in_order[: names[0]]} if names else set()
    starts = [0]
    for at in names[1:]:
        if any(
            Role.VALUE in (column.role, *column.meaning.roles)
            for column in in_order[starts[-1] : at]
        ):
            begins = at
            while in_order[begins - 1].header in before_names:
                begins -= 1
            starts.append(begins)
    ends = [in_order[start].place for start in starts[1:]]
    firsts = [1, *ends]
    return [range(first, end) for first, end in zip(firsts, [*ends, MOST_PLACES], strict=True)]


def _names_somebody(column: Column) -> bool:
    said = column.alone or column.meaning
    return said.is_bare_name or bool(set(said.roles) & set(NAMES))


def _of_places(line: Line, places: range) -> Line:
    return Line(line.number, {at: cell for at, cell in line.cells.items() if at in places})


def _lines_of(lines: Iterable[Line], places: range) -> tuple[Line, ...]:
    """What of those lines stands at those places."""
    parts = (_of_places(line, places) for line in lines)
    return tuple(line for line in parts if line.cells)


def _titles_above(grid: Grid, first: int, before: Start | None) -> list[Line]:
    """The lines of one or two cells of words right above a header, below the table before it."""
    least = before[0] + before[1] if before else 0
    titles: list[Line] = []
    for at in range(first - 1, least - 1, -1):
        line = grid.lines[at]
        figures = sum(is_value_like(cell) for cell in line.cells.values())
        is_words = not figures or (before is None and figures < len(line.cells))
        if len(line.cells) > MOST_TITLE_CELLS or not is_words:
            break
        if before and not titles and line.number + 1 < grid.lines[at + 1].number:
            break  # a note below the table before, not a title of this one
        titles.insert(0, line)
    return titles


def with_titles(context: Context, titles: Iterable[str], models: KnownModels) -> Context:
    """The context where those titles say more, or something else."""
    for title in titles:
        said = header_words(title)
        model = models.within(title)
        kind = models.kind_of(model or "") or said.kind or _only_kind(said) or context.kind
        is_other = bool(kind and context.kind and kind != context.kind)
        context = replace(
            context,
            kind=kind,
            model=model or (None if is_other else context.model),
            unit=said.unit or context.unit,
            datum=said.datum or context.datum,
            spread=said.spread or context.spread,
            club=club_in(title, said) or context.club,
        )
    return context


def _only_kind(said: HeaderMeaning) -> str | None:
    kinds = {at.kind for at in said.axes}
    return kinds.pop() if len(kinds) == 1 else None


def club_in(title: str, said: HeaderMeaning) -> str:
    """The club that a line names behind a colon, where it says that it names one; else empty."""
    found = _AFTER_COLON.search(title)
    return found[1].strip() if found and Role.CLUB in said.roles else ""


def _within(columns: Mapping[int, Column], kind: str | None) -> dict[int, Column]:
    if kind is None:
        return dict(columns)
    return {
        place: replace(column, meaning=column.meaning.within(kind))
        for place, column in columns.items()
    }


def text_of(line: Line) -> str:
    """All that a line says."""
    return " ".join(cell.text for cell in line.cells.values())
