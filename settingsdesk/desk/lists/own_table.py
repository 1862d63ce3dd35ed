"""A coach's list as the coach's own table: each cell as it was read, each question in its place."""

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, replace
from functools import cached_property
from operator import attrgetter
from typing import TypeVar

from settingsdesk.desk.lists.answers import Answers, name_key, who_key
from settingsdesk.desk.lists.coach_lists import SCALE, Look
from settingsdesk.desk.lists.listed_people import SOMEBODY_NEW, ListedPerson
from settingsdesk.desk.lists.mark_scales import PRINTED
from settingsdesk.desk.squad.typed_marks import AS_PRINTED
from settingsdesk.domain.base.figures import quoted, upper_first
from settingsdesk.sheets.lists.grid import letter, place_of
from settingsdesk.sheets.lists.preview import (
    CREW_NOTE,
    HALF,
    JOIN,
    LEAVE_OUT,
    MIDDLE,
    NUMBERS_OUT,
    READ,
    SAME,
    TAKE,
    TWO,
    Accepted,
    Choice,
    ColumnFound,
    ColumnQuestion,
    Note,
    Place,
    Query,
    TableFound,
    cell_key,
)
from settingsdesk.sheets.lists.reading import ACROSS, LONG
from settingsdesk.sheets.lists.vocabulary import Role
from settingsdesk.sheets.table import Row, Table, place

LINES_ON_A_PAGE, CELLS_ON_A_PAGE, HEADS_ON_A_PAGE = 40, 500, 60
CELL, WHO, UNIT = "cell:", "who:", "unit"
WHAT_STOOD_THERE = "What stood there"
FOR_ALL_REMARKS = (
    "Read all of them: this answers for each that is not answered by itself. Whoever does not come"
    " is answered alone"
)
SAID_BEFORE = "Somebody has said so: choose nothing to be asked again"
MOST_QUOTED = 5
"""So many notes of one column are quoted, where one answer is given to all of them."""


@dataclass(frozen=True, slots=True)
class SeenCell:
    """One cell: what stands there, how it was understood, what is asked of it.

    ``said`` leaves out what its column says of all its cells. ``typed`` is what somebody typed in
    its place. ``is_open`` says that something may be typed there; ``asked_above`` that its question
    stands once at the head of its column.
    """

    key: str
    row: int
    column: str
    text: str
    said: str = ""
    why: str = ""
    typed: str = ""
    is_open: bool = False
    asked_above: bool = False


@dataclass(frozen=True, slots=True)
class SeenLine:
    """One row of the list, or a column of one that lies on its side.

    ``person`` is whoever it is about, where this is the first line of theirs.
    """

    number: int
    name: str
    cells: tuple[SeenCell, ...]
    person: ListedPerson | None
    key: str
    changes: bool = False
    """Whether taking a sheet of our own columns would change something by it."""


@dataclass(frozen=True, slots=True)
class SeenColumn:
    """A column with what it is read as; ``asked`` are questions with how many cells share them.

    ``found`` is None where nothing stands above its cells. ``taken_as`` says between which points
    all its lengths were taken.
    """

    name: str
    header: str
    found: ColumnFound | None
    asked: tuple[tuple[str, int], ...]
    taken_as: str = ""
    because: str = ""
    """Why it is read in its unit, where the header does not say it."""


@dataclass(frozen=True, slots=True)
class SeenTable:
    """One table, with those of its lines that stand on this page; ``number`` counts all tables."""

    number: int
    found: TableFound
    columns: tuple[SeenColumn, ...]
    lines: tuple[SeenLine, ...]


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of a list besides its cells: a note, a word that many rows have, a unit.

    ``where`` and ``text`` are where it stands and what stands there; ``answered`` the value of the
    choice that somebody made, empty while it is open.
    """

    key: str
    where: str
    text: str
    why: str
    choices: tuple[Choice, ...]
    likely: str = ""
    answered: str = ""
    about: str = ""
    column: str = ""
    """The column that it is about, as what is said of columns names it."""

    @property
    def label(self) -> str:
        """What is asked about, in words."""
        if self.text == WHAT_STOOD_THERE:
            return f"{WHAT_STOOD_THERE}: {self.where}"
        if not self.text:
            return f"Marks of {self.where}"
        return f"{upper_first(self.where)}: “{quoted(self.text)[1:-1]}”"


@dataclass(frozen=True, slots=True)
class SeenPage:
    """Some lines of a list; ``asked`` is what is asked of more than a cell.

    ``beside`` are the queries that belong to no line of any table.
    """

    tables: tuple[SeenTable, ...]
    asked: tuple[Asked, ...]
    beside: tuple[Query, ...]
    page: int
    pages: int
    lines_asked: int

    @property
    def units_open(self) -> tuple[Asked, ...]:
        """Questions about the unit of a column."""
        return tuple(
            question for question in self.asked if question.about == UNIT and not question.answered
        )

    @property
    def likely_unit(self) -> str:
        """The unit that is likely in all of those columns; empty where that is none."""
        likely = {question.likely for question in self.units_open}
        return likely.pop() if len(likely) == 1 else ""


def page_of(seen: Look, page: int, *, only_asked: bool = False) -> SeenPage:
    """The lines of one page, in the order of the file.

    ``only_asked`` leaves out the lines of which nothing is asked, and which change nothing.
    """
    tables = list(_tables(seen))
    shown = {at for table in tables for at in _places(table)}
    asked_once = tuple(_asked_once(seen))
    keys = {question.key for question in asked_once}
    beside = tuple(
        query
        for query in seen.preview.queries
        if query.place not in shown and query.key not in keys
    )
    lines = [(at, line) for at, table in enumerate(tables) for line in table.lines]
    asked = [(at, line) for at, line in lines if _is_asked(line)]
    chosen = asked if only_asked else lines
    by_page = _by_page(tables, chosen) or [[]]
    page = max(1, min(page, len(by_page)))
    here = by_page[page - 1]
    on_page = [
        SeenTable(table.number, table.found, table.columns, lines_here)
        for at, table in enumerate(tables)
        if (lines_here := tuple(line for of, line in here if of == at))
    ]
    return SeenPage(tuple(on_page), asked_once, beside, page, len(by_page), len(asked))


def _by_page(
    tables: Sequence[SeenTable], lines: Iterable[tuple[int, SeenLine]]
) -> list[list[tuple[int, SeenLine]]]:
    """The lines of each page, each with the place of its table; a table's heads cost much more."""
    pages: list[list[tuple[int, SeenLine]]] = []
    cells, heads, last = 0, 0, -1
    for at, line in lines:
        more_heads = 0 if at == last else len(tables[at].columns)
        is_full = not pages or (
            len(pages[-1]) == LINES_ON_A_PAGE
            or cells + len(line.cells) > CELLS_ON_A_PAGE
            or (heads and heads + more_heads > HEADS_ON_A_PAGE)
        )
        if is_full:
            pages.append([])
            cells, heads, more_heads = 0, 0, len(tables[at].columns)
        pages[-1].append((at, line))
        cells, heads, last = cells + len(line.cells), heads + more_heads, at
    return pages


def _asked_once(seen: Look) -> Iterator[Asked]:
    """What is asked of columns, notes and names; of several remarks of one column once."""
    said = seen.answers.said
    asked = [*_of_columns(seen), *_of_notes(seen), *_of_names(seen), *_of_people(seen)]
    asked += _of_scales(seen)
    yield from asked
    keys = {question.key for question in asked}
    for key, answer in said.items():
        if key not in keys and not key.startswith(CELL):
            choices = tuple(
                choice
                for choice in (SAME, TWO, JOIN, HALF, MIDDLE, LEAVE_OUT, READ, CREW_NOTE)
                if choice.value == answer
            )
            choices = choices or (Choice(answer, answer),)
            yield Asked(
                key, _place_in(key), WHAT_STOOD_THERE, SAID_BEFORE, choices, answered=answer
            )


def _place_in(key: str) -> str:
    """Where that of which a key's answer was given stood, as a coach says it."""
    sheet, _, line = key.partition(":")[2].rpartition("!")
    line = line.partition(":")[0]
    if not line:
        return "the list"
    lines = f"row {line}" if line.isdigit() else f"column {line}" if line.isalpha() else line
    return f"{lines}, sheet {sheet}" if sheet else lines


def _of_columns(seen: Look) -> Iterator[Asked]:
    for question in seen.preview.column_questions:
        yield Asked(
            key=question.key,
            where=_where_asked(question),
            text="; ".join(question.examples) or question.header,
            why=question.why,
            choices=question.choices,
            likely=question.likely,
            answered=seen.answers.said.get(question.key, ""),
            about=question.about,
            column=f"{question.sheet}!{question.line}",
        )


def _where_asked(question: ColumnQuestion) -> str:
    """Where it is asked: examples stand below the header, so their column is named by its words."""
    if not (question.examples and question.header):
        return place(question.sheet, question.row, question.line)
    lines = "row" if question.line.isdigit() else "column"
    where = f"{lines} {question.line}, {quoted(question.header)}"
    return f"sheet {quoted(question.sheet)}, {where}" if question.sheet else where


def _of_notes(seen: Look) -> Iterator[Asked]:
    notes: dict[str, list[Note]] = {}
    for note in seen.preview.notes:
        if note.choices:
            notes.setdefault(note.of_column or note.key, []).append(note)
    for_all = list(_of_all_notes(seen, notes.values()))
    yield from for_all
    settled = {question.key for question in for_all if question.answered}
    for of_column, alike in notes.items():
        first = alike[0]
        is_of_all = len(alike) > 1 or of_column in seen.answers.said
        key = of_column if is_of_all else first.key
        if first.of_all in settled and not first.is_open and key not in seen.answers.said:
            continue  # its words stand in the question that was answered for all
        yield Asked(
            key=key,
            where=place(first.sheet, first.row, first.column),
            text="; ".join(dict.fromkeys(note.text for note in alike[:MOST_QUOTED])),
            why=first.why,
            choices=first.choices,
            answered=seen.answers.said.get(key, ""),
        )


def _of_all_notes(seen: Look, notes: Iterable[Sequence[Note]]) -> Iterator[Asked]:
    """For each column of remarks in several words one question that answers for all of them."""
    columns: dict[str, list[Note]] = {}
    for first, *_ in notes:
        if first.of_all:
            columns.setdefault(first.of_all, []).append(first)
    for key, of_column in columns.items():
        answered = seen.answers.said.get(key, "")
        if len(of_column) > 1 or answered:
            yield Asked(
                key=key,
                where=f"every remark in {_place_in(key)}",
                text="; ".join(note.text for note in of_column),
                why=FOR_ALL_REMARKS,
                choices=(TAKE, CREW_NOTE, NUMBERS_OUT),
                answered=answered,
            )


def _of_names(seen: Look) -> Iterator[Asked]:
    for query in seen.preview.queries:
        if query.key.startswith(WHO):
            where = place(query.sheet, query.row, query.column)
            yield Asked(query.key, where, query.read, query.why, (SAME, TWO), query.likely)


def _of_people(seen: Look) -> Iterator[Asked]:
    """Who is meant by a name that nobody has alone or in full."""
    for athlete in seen.people:
        if athlete.may_be:
            whoever = (Choice(str(at), f"It is {name}") for at, name in athlete.may_be.items())
            yield Asked(
                key=who_key(athlete.found.at),
                where=place(*athlete.found.at),
                text=athlete.found.shown,
                why=athlete.who_is_asked,
                choices=(*whoever, Choice(SOMEBODY_NEW, "It is somebody new")),
                answered=athlete.said_who,
            )


def _of_scales(seen: Look) -> Iterator[Asked]:
    """On whose scale marks are read, where the club's apparatus has one of its own."""
    for name, scale in seen.mark_scales.items():
        if scale.pieces:
            choices = [
                Choice(str(piece.id), f"{piece.name}: {piece.scale_used}") for piece in scale.pieces
            ]
            said = f"they are read on {scale.in_words}" if scale.model else scale.why_not
            yield Asked(
                key=f"{SCALE}{name}",
                where=name,
                text="",
                why=f"The list gives marks: {said}",
                choices=(*choices, Choice(PRINTED, AS_PRINTED)),
                answered=scale.chosen,
            )


def _is_asked(line: SeenLine) -> bool:
    """Whether a cell is asked of, or something of its athlete is left out: all, or one setting."""
    if line.person is not None and (
        line.person.why_not or any(listed.setting is None for listed in line.person.settings)
    ):
        return True
    return line.changes or any(cell.why for cell in line.cells)


def _places(table: SeenTable) -> Iterator[Place]:
    """All places of a table that a page shows: its cells, and its headers."""
    sheet, found = table.found.sheet, table.found
    for line in table.lines:
        for cell in line.cells:
            yield sheet, cell.row, cell.column
    for column in table.columns:
        if found.layout == ACROSS:
            yield sheet, int(column.name), letter(found.header_row)
        else:
            yield sheet, found.header_row, column.name


def _tables(seen: Look) -> Iterator[SeenTable]:
    taken, queries = _by_row(seen.preview.accepted), _by_row(seen.preview.queries)
    lines = list(_people(seen))
    people = dict(lines)
    sheets = {table.sheet: table for table in seen.tables}
    told, changing_rows = seen.preview.tables, seen.changing_rows
    units_open: dict[str, set[str]] = {}
    for question in seen.preview.column_questions:
        if question.about == UNIT:
            units_open.setdefault(question.sheet, set()).add(question.line)
    for number, (table, until) in enumerate(zip(told, _ends(told), strict=True)):
        rows = _rows_of(sheets[table.sheet], table, until)
        here = [(table.sheet, row) for row in (table.header_row, *(row.number for row in rows))]
        of_table = people
        if table.places is not None:
            of_table = {
                line: person
                for line, person in lines
                if place_of(person.found.at[2]) in table.places
            }
        reading = _Reading(
            found=table,
            taken={value.place: value for at in here for value in taken.get(at, ())},
            queries={query.place: query for at in here for query in reversed(queries.get(at, ()))},
            people=of_table,
            answers=seen.answers,
            units_open=units_open.get(table.sheet, set()),
            changing_rows=changing_rows,
        )
        yield reading.table(number, rows, until)


_Found = TypeVar("_Found", Accepted, Query)


def _by_row(found: Iterable[_Found]) -> Mapping[tuple[str, int], Sequence[_Found]]:
    by_row: dict[tuple[str, int], list[_Found]] = {}
    for said in found:
        by_row.setdefault((said.sheet, said.row), []).append(said)
    return by_row


def _ends(tables: Sequence[TableFound]) -> list[int | None]:
    """Where each table ends: the header of the next one of its sheet that lies like it."""
    ends: list[int | None] = []
    next_headers: dict[tuple[str, str], list[int]] = {}
    for table in reversed(tables):
        headers = next_headers.setdefault((table.sheet, table.layout), [])
        if not headers or headers[-1] > table.header_row:
            headers.append(table.header_row)
        ends.append(headers[-2] if len(headers) > 1 else None)
    return ends[::-1]


def _rows_of(sheet: Table, table: TableFound, until: int | None) -> Sequence[Row]:
    """The rows of the sheet in which a table's lines stand: all of them where it lies across."""
    if table.layout == ACROSS:
        return sheet.rows
    first = bisect_right(sheet.rows, table.header_row, key=attrgetter("number"))
    if until is None:
        return sheet.rows[first:]
    return sheet.rows[first : bisect_left(sheet.rows, until, key=attrgetter("number"))]


def _people(seen: Look) -> Iterator[tuple[tuple[str, int], ListedPerson]]:
    """The lines by which athletes come in: their first ones; in our own columns each row."""
    for person in seen.people:
        if not seen.is_ours:
            yield person.found.rows[0], person
            continue
        for row in person.found.rows:
            of_row = tuple(setting for setting in person.settings if setting.at[1] == row[1])
            yield row, replace(person, settings=of_row)


def _points(converted: str) -> str:
    """What of "165.0 cm, upper edge of the rail, above the floor" is about the points."""
    return converted.partition(", ")[2]


@dataclass(frozen=True)
class _Reading:
    """One table being laid out; ``people`` go by sheet and line."""

    found: TableFound
    taken: Mapping[Place, Accepted]
    queries: Mapping[Place, Query]
    people: Mapping[tuple[str, int], ListedPerson]
    answers: Answers
    units_open: Set[str]
    """The columns of which the unit is asked."""
    changing_rows: Set[int]

    @cached_property
    def _taken_as(self) -> dict[str, str]:
        """What all lengths of a column say of the points between which they are taken."""
        said: dict[str, set[str]] = {}
        for (sheet, row, column), value in self.taken.items():
            if sheet == self.found.sheet:
                name = str(row) if self.is_across else column
                said.setdefault(name, set()).add(_points(value.converted))
        return {name: words.pop() for name, words in said.items() if len(words) == 1}

    @cached_property
    def _open_names(self) -> set[Place]:
        """The names in our own columns by which nobody can be taken."""
        people = self.people.values() if self.found.is_ours else ()
        return {person.found.at for person in people if person.why_not}

    @property
    def is_across(self) -> bool:
        return self.found.layout == ACROSS

    def table(self, number: int, rows: Iterable[Row], until: int | None) -> SeenTable:
        texts = self._texts(rows, until)
        filled = {name for line in texts.values() for name in line}
        asked_at = {column for _, _, column in self.queries}
        heads = {
            column.line: column
            for column in self.found.columns
            if not self.found.is_ours or column.line in filled | asked_at
        }
        names = self._in_order({*heads, *filled})
        asked = {name: self._asked(name, texts) for name in names}
        columns = tuple(self._column(name, heads.get(name), asked[name]) for name in names)
        once = {(name, why) for name in names for why, _ in asked[name]}
        lines = [self._line(at, texts[at], names, heads, once) for at in sorted(texts)]
        return SeenTable(number, self.found, columns, tuple(lines))

    def _texts(self, rows: Iterable[Row], until: int | None) -> dict[int, dict[str, str]]:
        """The texts below the header, by line and by the name of the place."""
        texts: dict[int, dict[str, str]] = {}
        for row in rows:
            for cell in row.cells:
                line, name = row.number, cell.column
                if self.is_across:
                    line, name = place_of(cell.column), str(row.number)
                is_of_it = self.found.places is None or place_of(cell.column) in self.found.places
                is_below = line > self.found.header_row and (until is None or line < until)
                if is_of_it and is_below:
                    texts.setdefault(line, {})[name] = cell.text
        return texts

    def _in_order(self, names: Iterable[str]) -> list[str]:
        return sorted(names, key=int if self.is_across else place_of)

    def _where(self, line: int, name: str) -> tuple[int, str]:
        """Row and column of the file."""
        return (int(name), letter(line)) if self.is_across else (line, name)

    def _said(self, taken: Accepted, name: str) -> str:
        """How a cell was understood, where that is more than it and its column say."""
        said = taken.converted
        if points := self._taken_as.get(name, ""):
            said = said.removesuffix(f", {points}")
        as_it_stands = taken.read.replace(",", ".").removesuffix("cm").strip()
        return "" if said in (f"{as_it_stands} cm", f"{as_it_stands}.0 cm") else said

    @cached_property
    def _asked_of(self) -> Set[str]:
        """The names of the columns in which something is asked, which are few."""
        return {str(row) if self.is_across else column for _, row, column in self.queries}

    def _why(self, line: int, name: str) -> str:
        if name not in self._asked_of:
            return ""
        query = self.queries.get((self.found.sheet, *self._where(line, name)))
        return query.why if query else ""

    def _asked(self, name: str, texts: Iterable[int]) -> tuple[tuple[str, int], ...]:
        """What is asked of several cells of a column in the same words, and of its header."""
        if name not in self._asked_of:
            return ()
        times = Counter(why for line in texts if (why := self._why(line, name)))
        head = self._why(self.found.header_row, name)
        several = [(why, count) for why, count in times.items() if count > 1]
        return (*([(head, 0)] if head else []), *several)

    def _column(
        self, name: str, found: ColumnFound | None, asked: tuple[tuple[str, int], ...]
    ) -> SeenColumn:
        if found is not None and found.why and not asked:
            asked = ((found.why, 0),)
        return SeenColumn(
            name=name,
            header=found.header if found else "",
            found=found,
            asked=asked,
            because=found.because if found and found.told_by not in ("", "header") else "",
            taken_as=self._taken_as.get(name, found.datum if found and found.axis else ""),
        )

    def _line(
        self,
        line: int,
        texts: Mapping[str, str],
        names: Sequence[str],
        heads: Mapping[str, ColumnFound],
        asked_once: set[tuple[str, str]],
    ) -> SeenLine:
        is_half = not (self.found.is_ours or self.found.layout == LONG) and any(
            name in heads and heads[name].role is Role.VALUE for name in texts
        )
        cells = tuple(
            self._cell(line, name, texts.get(name, ""), heads.get(name), is_half, asked_once)
            for name in names
        )
        sheet = self.found.sheet
        person = self.people.get((sheet, line))
        name = f"Column {letter(line)}" if self.is_across else f"Row {line}"
        changes = line in self.changing_rows
        key = name_key(person.found.at) if person else ""
        return SeenLine(line, name, cells, person, key, changes)

    def _cell(
        self,
        line: int,
        name: str,
        text: str,
        head: ColumnFound | None,
        is_half: bool,
        asked_once: set[tuple[str, str]],
    ) -> SeenCell:
        row, column = self._where(line, name)
        key = cell_key(self.found.sheet, row, column)
        taken = self.taken.get((self.found.sheet, row, column))
        why, typed = self._why(line, name), self.answers.said.get(key, "")
        is_gap = is_half and not text and head is not None and head.role is Role.VALUE
        is_gap = is_gap or (self.found.sheet, row, column) in self._open_names
        return SeenCell(
            key=key,
            row=row,
            column=column,
            text=text,
            said=self._said(taken, name) if taken else "",
            why=why,
            typed=typed,
            is_open=bool(why or typed) or is_gap or (bool(text) and name in self.units_open),
            asked_above=(name, why) in asked_once,
        )
