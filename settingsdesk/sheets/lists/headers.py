"""Where the tables of a sheet begin, and what their columns hold.

A header is one line or several: "Uneven bars" over "low", "high" and "spread", and units below.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from settingsdesk.domain.base.datums import Edge, Level, Section, SpreadDatum
from settingsdesk.sheets.columns import our_column
from settingsdesk.sheets.lists.grid import Grid, Line
from settingsdesk.sheets.lists.known_models import KnownModels
from settingsdesk.sheets.lists.preview import Mapped
from settingsdesk.sheets.lists.range_ends import range_end
from settingsdesk.sheets.lists.units import ListUnit
from settingsdesk.sheets.lists.values_figures import read_length
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
MOST_LINES_ABOVE = 20  # titles over a list of names
MOST_CELLS_OF_HEADER = 200
MOST_CELLS_LOOKED_AT = 6_000
MOST_WORDS = 500
NAMES = (Role.FULL_NAME, Role.FAMILY_NAME, Role.GIVEN_NAME)
NO_MODELS = KnownModels({})
_NUMERIC = re.compile(r"[\s\d.,/'\"½⅛¼⅜⅝¾⅞±+-]*\d[\s\d.,/'\"½⅛¼⅜⅝¾⅞-]*")
_FIGURE = re.compile(r"\d")
_YEAR = re.compile(r"(?:19|20)\d\d(?: ?[/–-] ?\d\d(?:\d\d)?)?")
# A height or spread in centimetres or millimetres right after its word, and no year: "low 165".
_A_LENGTH = re.compile(r"([^\W\d_]+)\W{1,3}((?!(?:19|20)\d\d(?!\d))[12]\d\d\d?)(?!\d)")


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
    is_role_said: bool = False
    """Whether a person said what it holds, and not only what holds for its whole table."""
    model: str | None = None
    """The known model that its header names."""
    is_unheaded: bool = False
    """Whether no header stands above it, so that only a person can say what it holds."""

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


def is_value_like(cell: Cell) -> bool:
    """Whether a cell holds a number, a length, a date or the like, and no words."""
    return cell.kind is not CellKind.TEXT or _is_figure(cell.text)


@lru_cache(maxsize=4096)
def _is_figure(text: str) -> bool:
    if not _FIGURE.search(text):
        return False
    return bool(_NUMERIC.fullmatch(text)) or read_length(plain(text)) is not None


Start = tuple[int, int, dict[int, Column]]
"""At which line a header begins, how many lines it has, and its columns by place."""


def starts(grid: Grid, mapped: Mapped, models: KnownModels) -> Iterator[Start]:
    """Where headers begin, how many lines they have, and their columns."""
    at, looked_at, is_first = 0, 0, True
    texts: set[str] = set()
    while at < len(grid.lines) and looked_at < MOST_CELLS_LOOKED_AT and len(texts) < MOST_WORDS:
        line = grid.lines[at]
        found = None
        is_short = len(line.cells) <= MOST_CELLS_OF_HEADER
        if is_short and not any(is_value_like(cell) for cell in line.cells.values()):
            looked_at += len(line.cells)
            if _is_wordy(line, models) or _stands_over_a_header(grid, at, models):
                texts.update(cell.text for cell in line.cells.values())
                found = _header_at(grid, at, mapped, models, is_first)
        if found is None:
            at += 1
        else:
            yield at, *found
            is_first = False
            at += found[0]


def starts_of_names(grid: Grid, mapped: Mapped, models: KnownModels) -> Iterator[Start]:
    """Where a line says that names stand below, whatever else there may be."""
    for at, line in enumerate(grid.lines[:MOST_LINES_ABOVE]):
        cells = line.cells.values()
        is_header = 0 < len(cells) <= MOST_CELLS_OF_HEADER and at + 1 < len(grid.lines)
        if (
            is_header
            and any(map(_is_header_of_names, cells))
            and not any(map(is_value_like, cells))
        ):
            yield at, 1, columns_of(grid, [line], mapped, models)


def _is_header_of_names(cell: Cell) -> bool:
    said = header_words(cell.text)
    return bool(set(said.roles) & set(NAMES)) and not said.unread


def _stands_over_a_header(grid: Grid, at: int, models: KnownModels) -> bool:
    """Whether a line that names who, beside words that are not known, belongs to the next."""
    if at + 1 == len(grid.lines):
        return False
    line, below = grid.lines[at : at + 2]
    names = any(set(header_words(cell.text).roles) & set(NAMES) for cell in line.cells.values())
    is_right_above = below.number == line.number + 1
    return names and len(line.cells) > 1 and is_right_above and _is_wordy(below, models)


def _header_at(
    grid: Grid, at: int, mapped: Mapped, models: KnownModels, is_first: bool
) -> tuple[int, dict[int, Column]] | None:
    """The header that begins there, of as many lines as belong to it."""
    if _is_title(grid, at):
        return None
    best = None
    least = _merged_down(grid, at)
    for height in range(1, MOST_HEADER_LINES + 1):
        lines = grid.lines[at : at + height]
        is_of_years = height > 1 and _is_of_years(lines)
        if len(lines) < height or (
            not is_of_years and any(map(is_value_like, lines[-1].cells.values()))
        ):
            break
        if (
            height > max(least, 1)
            and not is_of_years
            and not _is_of_ends(lines, models)
            and (
                not _is_wordy(lines[-1], models)
                or _may_be_a_row(lines[-1], models)
                or _heads_rows(lines)
            )
        ):
            break
        if height < least:
            continue
        columns = columns_of(grid, lines, mapped, models)
        if _is_header(grid, at + height, columns, mapped, is_first) and not (
            best and values_in(columns) < values_in(best[1])  # a title below, no line of the header
        ):
            best = height, columns
    return best


def _is_of_years(lines: Sequence[Line]) -> bool:
    """Whether the last line has a year over columns, and nobody's name: "2025", "2025/26"."""
    *above, last = lines
    places = {
        place
        for line in above
        for place, cell in line.cells.items()
        if set(header_words(cell.text).roles) & set(NAMES)
    }
    is_years = all(_YEAR.fullmatch(cell.text.strip()) for cell in last.cells.values())
    return is_years and len(last.cells) > 1 and not places & last.cells.keys()


def _is_of_ends(lines: Sequence[Line], models: KnownModels) -> bool:
    """Whether the last line has the ends of ranges over columns, and nobody's name: "Min", "Max".

    Both are names too, so whatever stands below the header of names says that it is a row.
    """
    *above, last = lines
    names = {
        place
        for line in above
        for place, cell in line.cells.items()
        if set(header_words(cell.text).roles) & set(NAMES)
    }
    ends = {place for place, cell in last.cells.items() if range_end(cell.text)}
    kinds = {end.is_least for at in ends if (end := range_end(last.cells[at].text))}
    told = sum(at in ends or _tells(cell, models) for at, cell in last.cells.items())
    is_most = told * 2 >= len(last.cells)
    return len(kinds) == 2 and is_most and not names & last.cells.keys()


def _heads_rows(lines: Sequence[Line]) -> bool:
    """Whether the last line is one cell below a header of names, so that rows follow already."""
    *above, last = lines
    if len(last.cells) > 1:
        return False
    [place] = last.cells
    headers = (line.cells[place] for line in above if place in line.cells)
    return any(set(header_words(cell.text).roles) & set(NAMES) for cell in headers)


def values_in(columns: Mapping[int, Column]) -> int:
    """How many of those columns hold values."""
    return sum(column.role is Role.VALUE for column in columns.values())


def _is_title(grid: Grid, at: int) -> bool:
    """One cell, at the left or over everything: said for the table and no column's header."""
    line = grid.lines[at]
    if len(line.cells) != 1:
        return False
    place = next(iter(line.cells))
    below = grid.lines[at + 1].cells if at + 1 < len(grid.lines) else {}
    return not below or place <= min(below)


def _merged_down(grid: Grid, at: int) -> int:
    """Of how many lines the header is at least, as its cells are merged downwards."""
    line = grid.lines[at]
    height = 1
    for below in grid.lines[at + 1 : at + MOST_HEADER_LINES]:
        merged = (grid.spread.get((below.number, place)) for place in line.cells)
        if not any(cell in line.cells.values() for cell in merged if cell is not None):
            break
        height += 1
    return height


def _is_wordy(line: Line, models: KnownModels) -> bool:
    """Whether most cells of a line are words that a header has."""
    cells = line.cells.values()
    if any(is_value_like(cell) for cell in cells):
        return False
    return sum(_tells(cell, models) for cell in cells) * 2 >= len(line.cells)


def _may_be_a_row(line: Line, models: KnownModels) -> bool:
    """Whether a line has a figure that says nothing for a header ("245?"), or is a total."""
    cells = line.cells.values()
    return any(
        row_says(cell.text) or (_FIGURE.search(cell.text) and not _tells(cell, models))
        for cell in cells
    )


def _tells(cell: Cell, models: KnownModels) -> bool:
    if cell.kind is not CellKind.TEXT:
        return False
    said = header_words(cell.text)
    says = said.roles or said.axes or said.units or said.levels or said.spreads or said.times
    return bool(says or unit_word(cell.text) or models.named(cell.text))


def columns_of(
    grid: Grid, lines: Sequence[Line], mapped: Mapped, models: KnownModels
) -> dict[int, Column]:
    """The columns below those lines of a header, by place."""
    places = sorted({place for line in lines for place in line.cells})
    texts: dict[int, list[str]] = {place: [] for place in places}
    for number, line in enumerate(lines):
        is_last = number == len(lines) - 1
        for place, text in _texts(grid, line, places, models, fill=not is_last, below=lines[-1]):
            if text not in texts[place]:
                is_unit = texts[place] and unit_word(text)
                texts[place].append(f"({text})" if is_unit else text)
    alone = [_by_itself(texts[place]) for place in places]
    columns = [
        mapped_column(
            Column(place, header, meaning, meaning, model=models.within(header)), grid, mapped
        )
        for place, meaning in zip(places, alone, strict=True)
        for header in [" ".join(texts[place])]
    ]
    beside = together([column.meaning for column in columns])
    return {
        column.place: replace(column, meaning=meaning)
        for column, meaning in zip(columns, beside, strict=True)
    }


def _by_itself(texts: Sequence[str]) -> HeaderMeaning:
    """What a header says; "family name" and "given name" below "athlete" are what they say.

    So is "name" below a word of another role: "Group A" over a whole table.
    """
    ours = our_column(" ".join(texts))
    if ours is not None and ours.role is Role.PURPOSE:
        return ours.meaning  # which no words of clubs' own lists mean
    whole = header_words(" ".join(texts))
    last = header_words(texts[-1]) if len(texts) > 1 else None
    if last and not last.axes and last.role in NAMES:
        is_part_of_it = last.role is not Role.FULL_NAME
        return last if is_part_of_it or len(whole.roles) > 1 else whole
    return whole


def _texts(
    grid: Grid,
    line: Line,
    places: Sequence[int],
    models: KnownModels,
    *,
    fill: bool,
    below: Line,
) -> Iterator[tuple[int, str]]:
    """The header texts of a line by place; what stands over several columns is over each."""
    left = ""
    for place in places:
        cell = grid.at(line, place)
        if cell is not None:
            left = cell.text if spans(cell, models) else ""
            yield place, cell.text
        elif fill and left and place in below.cells:
            yield place, left


def spans(cell: Cell, models: KnownModels) -> bool:
    """Whether a header may stand over columns to its right too: an apparatus, a unit, a datum."""
    said = header_words(cell.text)
    is_of_several = said.axes or said.units or models.named(cell.text)
    return bool(is_of_several) and not set(said.roles) & {*NAMES, Role.CLUB}


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
    if len({length for column in values for length in _lengths_in(column.header)}) > 1:
        return False  # a sentence, with the lengths in it: "low 165, high 245"
    is_wide = any(column.meaning.axes for column in values)
    is_long = Role.AXIS in roles and bool(values)
    if not (is_wide or is_long):
        return False
    if roles & set(NAMES):
        return True
    return _give_names(grid, below, columns, values, mapped, is_first)


def _lengths_in(header: str) -> Iterator[str]:
    """The lengths that stand right after their words; not the number of a model: "Frame 200"."""
    for word, length in _A_LENGTH.findall(header):
        if header_words(word).axes:
            yield length


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
            columns[place] = mapped_column(Column(place, header, named), grid, mapped)
            return True
    return False


def _may_be_a_name(cell: Cell) -> bool:
    has_letters = any(sign.isalpha() for sign in cell.text)
    return has_letters and not is_value_like(cell) and not _tells(cell, NO_MODELS)


def mapped_column(column: Column, grid: Grid, mapped: Mapped) -> Column:
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
        is_role_said=bool(told.get("role")),
    )
