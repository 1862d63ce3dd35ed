"""Where the tables of a sheet begin, and what their columns hold.

A header is one line or several: "Uneven bars" over "low", "high" and "spread", and units below.
Lines above it are titles, which may say the apparatus, the unit, the datum or the club for all.
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import islice

from settingsdesk.domain.base.datums import Edge, HeightDatum, Level, Section, SpreadDatum
from settingsdesk.sheets.columns import our_column
from settingsdesk.sheets.lists.grid import Grid, Line
from settingsdesk.sheets.lists.known_models import KnownModels
from settingsdesk.sheets.lists.preview import Mapped
from settingsdesk.sheets.lists.range_ends import range_end
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
MOST_LINES_ABOVE = 20  # titles over a list of names
MOST_CELLS_OF_HEADER = 200
MOST_CELLS_LOOKED_AT = 6_000
MOST_PLACES = 20_000  # beyond the last column of any sheet
MOST_UNHEADED = 12  # columns without any header of which it can be said what they hold
MOST_WORDS = 500
"""So many cells and different texts, in lines without any figure, are looked at for headers; what
stands below is read by the last header. A file that is all words would keep the desk busy."""
NAMES = (Role.FULL_NAME, Role.FAMILY_NAME, Role.GIVEN_NAME)
NO_MODELS = KnownModels({})

_NUMERIC = re.compile(r"[\s\d.,/'\"½⅛¼⅜⅝¾⅞±+-]*\d[\s\d.,/'\"½⅛¼⅜⅝¾⅞-]*")
_FIGURE = re.compile(r"\d")
_YEAR = re.compile(r"(?:19|20)\d\d(?: ?[/–-] ?\d\d(?:\d\d)?)?")
# A height or spread in centimetres or millimetres right after its word, and no year: "low 165".
_A_LENGTH = re.compile(r"([^\W\d_]+)\W{1,3}((?!(?:19|20)\d\d(?!\d))[12]\d\d\d?)(?!\d)")
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
    starts = list(_starts(grid, mapped, models))
    if names_suffice and not starts:
        starts = list(islice(_starts_of_names(grid, mapped, models), 1))
    context = with_titles(before, [grid.sheet], models)
    for number, (first, height, columns) in enumerate(starts):
        ends = starts[number + 1][0] if number + 1 < len(starts) else len(grid.lines)
        titles = _titles_above(grid, first, starts[number - 1] if number else None)
        context = with_titles(context, [text_of(line) for line in titles], models)
        if number + 1 < len(starts):
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
        if above and _spans(above[0], models):
            covered[place] = " ".join(dict.fromkeys(cell.text for cell in above))
    columns = dict(block.columns)
    bare = [place for place in missing if place not in covered][:MOST_UNHEADED]
    for place in (*covered, *bare):
        header = covered.get(place, "")
        meaning = header_words(header)
        if block.context.kind is not None:
            meaning = meaning.within(block.context.kind)
        columns[place] = _mapped(
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
        columns = _columns(grid, [line for line in header if line.cells], mapped, models)
        values = _values(columns)
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


def is_value_like(cell: Cell) -> bool:
    """Whether a cell holds a number, a length, a date or the like, and no words."""
    return cell.kind is not CellKind.TEXT or _is_figure(cell.text)


@lru_cache(maxsize=4096)
def _is_figure(text: str) -> bool:
    if not _FIGURE.search(text):
        return False
    return bool(_NUMERIC.fullmatch(text)) or read_length(plain(text)) is not None


_Start = tuple[int, int, dict[int, Column]]


def _starts(grid: Grid, mapped: Mapped, models: KnownModels) -> Iterator[_Start]:
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


def _starts_of_names(grid: Grid, mapped: Mapped, models: KnownModels) -> Iterator[_Start]:
    """Where a line says that names stand below, whatever else there may be."""
    for at, line in enumerate(grid.lines[:MOST_LINES_ABOVE]):
        cells = line.cells.values()
        is_header = 0 < len(cells) <= MOST_CELLS_OF_HEADER and at + 1 < len(grid.lines)
        if (
            is_header
            and any(map(_is_header_of_names, cells))
            and not any(map(is_value_like, cells))
        ):
            yield at, 1, _columns(grid, [line], mapped, models)


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
        columns = _columns(grid, lines, mapped, models)
        if _is_header(grid, at + height, columns, mapped, is_first) and not (
            best and _values(columns) < _values(best[1])  # a title below, no line of the header
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


def _columns(
    grid: Grid, lines: Sequence[Line], mapped: Mapped, models: KnownModels
) -> dict[int, Column]:
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
        _mapped(Column(place, header, meaning, meaning, model=models.within(header)), grid, mapped)
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
            left = cell.text if _spans(cell, models) else ""
            yield place, cell.text
        elif fill and left and place in below.cells:
            yield place, left


def _spans(cell: Cell, models: KnownModels) -> bool:
    """Whether a header may stand over columns to its right too: an apparatus, a unit, a datum."""
    said = header_words(cell.text)
    spans = said.axes or said.units or models.named(cell.text)
    return bool(spans) and not set(said.roles) & {*NAMES, Role.CLUB}


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
            columns[place] = _mapped(Column(place, header, named), grid, mapped)
            return True
    return False


def _may_be_a_name(cell: Cell) -> bool:
    has_letters = any(sign.isalpha() for sign in cell.text)
    return has_letters and not is_value_like(cell) and not _tells(cell, NO_MODELS)


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
