"""Where the tables of a sheet begin, and what their columns hold.

A header is one line or several: "Uneven bars" over "low", "high" and "spread", and units below.
Lines above it are titles, which may say the apparatus, the unit, the datum or the club for all.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from settingsdesk.domain.base.datums import Edge, HeightDatum, Level, Section, SpreadDatum
from settingsdesk.sheets.lists.grid import Grid, Line
from settingsdesk.sheets.lists.known_models import KnownModels
from settingsdesk.sheets.lists.preview import Mapped
from settingsdesk.sheets.lists.units import ListUnit
from settingsdesk.sheets.lists.values_figures import read_length
from settingsdesk.sheets.lists.values_said import Said
from settingsdesk.sheets.lists.values_text import plain
from settingsdesk.sheets.lists.vocabulary import (
    Axis,
    HeaderMeaning,
    Role,
    header_words,
    row_says,
    together,
    unit_word,
)
from settingsdesk.sheets.table import Cell, CellKind

MOST_HEADER_LINES = 3
MOST_TITLE_CELLS = 2
MOST_CELLS_OF_HEADER = 200
MOST_CELLS_LOOKED_AT = 6_000
MOST_WORDS = 500
"""So many cells and different texts, in lines without any figure, are looked at for headers; what
stands below is read by the last header. A file that is all words would keep the desk busy."""
NAMES = (Role.FULL_NAME, Role.FAMILY_NAME, Role.GIVEN_NAME)

_NUMERIC = re.compile(r"[\s\d.,/'\"½⅛¼⅜⅝¾⅞±+-]*\d[\s\d.,/'\"½⅛¼⅜⅝¾⅞-]*")
_FIGURE = re.compile(r"\d")
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
class Column:
    """What stands at one place of every line below a header.

    ``meaning`` is what it says among the other headers, ``alone`` what it says by itself: "rail
    height" may be that of another kind in a row that is of that kind.
    """

    place: int
    header: str
    meaning: HeaderMeaning
    alone: HeaderMeaning | None = None
    mat_mm: int | None = None
    section: Section | None = None
    names_first: str = ""
    is_said: bool = False
    """Whether a person said how it is to be read."""

    def meaning_for(self, kind: str | None) -> HeaderMeaning:
        """What it says in a row of that kind of apparatus."""
        if kind is None:
            return self.meaning
        here = self.meaning.within(kind)
        if self.alone is None or any(at.kind == kind for at in here.axes):
            return here
        return self.alone.within(kind)

    @property
    def role(self) -> Role | None:
        """What it holds; None where nothing tells, or several things do."""
        if self.meaning.role is None and self.meaning.axis and not self.meaning.roles:
            return Role.VALUE
        return self.meaning.role

    @property
    def is_settled(self) -> bool:
        """Whether its cells can be read without asking anybody."""
        return bool(self.role) and not self.meaning.is_ambiguous


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

    def of_role(self, *roles: Role) -> list[Column]:
        """The columns that hold one of those, in their order."""
        return [column for column in self.columns.values() if column.role in roles]

    @property
    def is_long(self) -> bool:
        """Whether each line holds one value, and says of which axis."""
        return bool(self.of_role(Role.AXIS)) and any(
            column.meaning.axis is None for column in self.of_role(Role.VALUE)
        )


def blocks(grid: Grid, before: Context, models: KnownModels, mapped: Mapped) -> Iterator[Block]:
    """The tables of a sheet one below the other; none where no header is found."""
    starts = list(_starts(grid, mapped))
    context = with_titles(before, [grid.sheet], models)
    for number, (first, height, columns) in enumerate(starts):
        ends = starts[number + 1][0] if number + 1 < len(starts) else len(grid.lines)
        titles = _titles_above(grid, first, starts[number - 1] if number else None)
        context = with_titles(context, [text_of(line) for line in titles], models)
        if number + 1 < len(starts):
            ends -= len(_titles_above(grid, ends, (first, height, columns)))
        header = tuple(grid.lines[first : first + height])
        yield Block(
            header_line=header[-1].number,
            header_lines=header,
            columns=_within(columns, context.kind),
            context=context,
            body=tuple(grid.lines[first + height : ends]),
            titles=tuple(titles),
            above=() if number else tuple(grid.lines[: first - len(titles)]),
        )


def is_value_like(cell: Cell) -> bool:
    """Whether a cell holds a number, a length, a date or the like, and no words."""
    return cell.kind is not CellKind.TEXT or _is_figure(cell.text)


@lru_cache(maxsize=4096)
def _is_figure(text: str) -> bool:
    if not _FIGURE.search(text):
        return False
    return bool(_NUMERIC.fullmatch(text)) or read_length(plain(text)) is not None


_Start = tuple[int, int, dict[int, Column]]


def _starts(grid: Grid, mapped: Mapped) -> Iterator[_Start]:
    """Where headers begin, how many lines they have, and their columns."""
    at, looked_at, is_first = 0, 0, True
    texts: set[str] = set()
    while at < len(grid.lines) and looked_at < MOST_CELLS_LOOKED_AT and len(texts) < MOST_WORDS:
        line = grid.lines[at]
        found = None
        is_short = len(line.cells) <= MOST_CELLS_OF_HEADER
        if is_short and not any(is_value_like(cell) for cell in line.cells.values()):
            looked_at += len(line.cells)
            if _is_wordy(line):
                texts.update(cell.text for cell in line.cells.values())
                found = _header_at(grid, at, mapped, is_first)
        if found is None:
            at += 1
        else:
            yield at, *found
            is_first = False
            at += found[0]


def _header_at(
    grid: Grid, at: int, mapped: Mapped, is_first: bool
) -> tuple[int, dict[int, Column]] | None:
    """The header that begins there, of as many lines as belong to it."""
    if _is_title(grid, at):
        return None
    best = None
    for height in range(1, MOST_HEADER_LINES + 1):
        lines = grid.lines[at : at + height]
        if len(lines) < height or not _is_wordy(lines[-1]):
            break
        if height > 1 and _may_be_a_row(lines[-1]):
            break
        columns = _columns(grid, lines, mapped)
        if _is_header(grid, at + height, columns, mapped, is_first) and not (
            best and _values(columns) < _values(best[1])  # a title below, no line of the header
        ):
            best = height, columns
    return best


def _values(columns: Mapping[int, Column]) -> int:
    return sum(column.role is Role.VALUE for column in columns.values())


def _is_title(grid: Grid, at: int) -> bool:
    """One cell, at the left or over everything: said for the table and no column's header."""
    line = grid.lines[at]
    if len(line.cells) != 1:
        return False
    place = next(iter(line.cells))
    below = grid.lines[at + 1].cells if at + 1 < len(grid.lines) else {}
    return not below or place <= min(below)


def _is_wordy(line: Line) -> bool:
    """Whether most cells of a line are words that a header has."""
    cells = line.cells.values()
    if any(is_value_like(cell) for cell in cells):
        return False
    return sum(_tells(cell) for cell in cells) * 2 >= len(line.cells)


def _may_be_a_row(line: Line) -> bool:
    """Whether a line has a figure that says nothing for a header ("245?"), or is a total."""
    cells = line.cells.values()
    return any(
        row_says(cell.text) or (_FIGURE.search(cell.text) and not _tells(cell)) for cell in cells
    )


def _tells(cell: Cell) -> bool:
    if cell.kind is not CellKind.TEXT:
        return False
    said = header_words(cell.text)
    says = said.roles or said.axes or said.units or said.levels or said.spreads
    return bool(says or unit_word(cell.text))


def _columns(grid: Grid, lines: Sequence[Line], mapped: Mapped) -> dict[int, Column]:
    places = sorted({place for line in lines for place in line.cells})
    texts: dict[int, list[str]] = {place: [] for place in places}
    for number, line in enumerate(lines):
        is_last = number == len(lines) - 1
        for place, text in _texts(grid, line, places, fill=not is_last, below=lines[-1]):
            if text not in texts[place]:
                is_unit = texts[place] and unit_word(text)
                texts[place].append(f"({text})" if is_unit else text)
    alone = [_by_itself(texts[place]) for place in places]
    columns = [
        _mapped(Column(place, " ".join(texts[place]), meaning, meaning), grid, mapped)
        for place, meaning in zip(places, alone, strict=True)
    ]
    beside = together([column.meaning for column in columns])
    return {
        column.place: replace(column, meaning=meaning)
        for column, meaning in zip(columns, beside, strict=True)
    }


def _by_itself(texts: Sequence[str]) -> HeaderMeaning:
    """What a header says; "family name" and "given name" below "athlete" are what they say."""
    last = header_words(texts[-1]) if len(texts) > 1 else None
    if last and last.role in (Role.FAMILY_NAME, Role.GIVEN_NAME) and not last.axes:
        return last
    return header_words(" ".join(texts))


def _texts(
    grid: Grid, line: Line, places: Sequence[int], *, fill: bool, below: Line
) -> Iterator[tuple[int, str]]:
    """The header texts of a line by place; what stands over several columns is over each."""
    left = ""
    for place in places:
        cell = grid.at(line, place)
        if cell is not None:
            left = cell.text if _spans(cell) else ""
            yield place, cell.text
        elif fill and left and place in below.cells:
            yield place, left


def _spans(cell: Cell) -> bool:
    """Whether a header may stand over columns to its right too: an apparatus, a unit, a datum."""
    said = header_words(cell.text)
    return bool(said.axes or said.units) and not set(said.roles) & {*NAMES, Role.CLUB}


def _is_header(
    grid: Grid, below: int, columns: dict[int, Column], mapped: Mapped, is_first: bool
) -> bool:
    """Whether those columns are a table of settings: somebody, and something wanted."""
    found = list(columns.values())
    roles = {column.role for column in found}
    values = [
        column
        for column in found
        if Role.VALUE in column.meaning.roles or column.role is Role.VALUE
    ]
    is_wide = any(column.meaning.axes for column in values)
    is_long = Role.AXIS in roles and bool(values)
    if not (is_wide or is_long):
        return False
    if roles & set(NAMES):
        return True
    return _give_names(grid, below, columns, values, mapped, is_first)


def _give_names(
    grid: Grid,
    below: int,
    columns: dict[int, Column],
    values: Sequence[Column],
    mapped: Mapped,
    is_first: bool,
) -> bool:
    """Names below no header that is known, left of the values: told by what stands there."""
    first = min(column.place for column in values)
    lines = grid.lines[below : below + 3]
    places = {place for line in lines for place in line.cells if place < first}
    unknown = [
        place
        for place in sorted(places)
        if place not in columns
        or (is_first and columns[place].role is None and not columns[place].meaning.axes)
    ]
    for place in unknown:
        cells = [line.cells[place] for line in lines if place in line.cells]
        if cells and all(_may_be_a_name(cell) for cell in cells):
            header = columns[place].header if place in columns else ""
            named = replace(header_words(""), text=header, roles=(Role.FULL_NAME,))
            columns[place] = _mapped(Column(place, header, named), grid, mapped)
            return True
    return False


def _may_be_a_name(cell: Cell) -> bool:
    has_letters = any(sign.isalpha() for sign in cell.text)
    return has_letters and not is_value_like(cell) and not _tells(cell)


def _titles_above(grid: Grid, first: int, before: _Start | None) -> list[Line]:
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


def with_titles(context: Context, titles: Sequence[str], models: KnownModels) -> Context:
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
            club=_club_in(title, said) or context.club,
        )
    return context


def _only_kind(said: HeaderMeaning) -> str | None:
    kinds = {at.kind for at in said.axes}
    return kinds.pop() if len(kinds) == 1 else None


def _club_in(title: str, said: HeaderMeaning) -> str:
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


def _mapped(column: Column, grid: Grid, mapped: Mapped) -> Column:
    """The column as a person said that it is to be read."""
    told = mapped.get(f"{grid.sheet}!{grid.name_of_place(column.place)}")
    if not told:
        return column
    meaning = column.meaning
    if role := told.get("role"):
        meaning = replace(meaning, roles=(Role[role.upper()],), is_bare_name=False)
        if meaning.role is not Role.VALUE:
            meaning = replace(meaning, axes=())
    if axis := told.get("axis"):
        kind, _, key = axis.partition("/")
        meaning = replace(meaning, axes=(Axis(kind, key),), roles=(Role.VALUE,), is_bare_name=False)
    if unit := told.get("unit"):
        meaning = replace(meaning, units=(ListUnit(unit),))
    if level := told.get("level"):
        meaning = replace(meaning, levels=(Level(level),))
    if edge := told.get("edge"):
        meaning = replace(meaning, edges=(Edge(edge),))
    if spread := told.get("spread"):
        meaning = replace(meaning, spreads=(SpreadDatum(spread),))
    mat_mm = int(told["mat_mm"]) if told.get("mat_mm", "").isdecimal() else column.mat_mm
    rail_mm = int(told["rail_mm"]) if told.get("rail_mm", "").isdecimal() else 0
    return replace(
        column,
        meaning=meaning,
        alone=None,
        mat_mm=mat_mm,
        section=Section(rail_mm, rail_mm) if 0 < rail_mm <= 200 else column.section,
        names_first=told.get("names", column.names_first),
        is_said=True,
    )
