"""The lines of one table, cell by cell: taken, queried, or known to be about the person."""

import unicodedata
from dataclasses import dataclass, replace
from functools import cached_property

from settingsdesk.sheets.lists.deviations import read_deviation
from settingsdesk.sheets.lists.found import ColumnReading, Found
from settingsdesk.sheets.lists.grid import Grid, Line
from settingsdesk.sheets.lists.headers import Block, Column, is_value_like
from settingsdesk.sheets.lists.persons import split_full_name
from settingsdesk.sheets.lists.preview import EVERY_AXIS, Accepted, PersonFound, Query
from settingsdesk.sheets.lists.units import ListUnit
from settingsdesk.sheets.lists.values import Doubt, Said, Value
from settingsdesk.sheets.lists.vocabulary import (
    HeaderMeaning,
    Role,
    RowSays,
    header_words,
    row_says,
    together,
    unit_word,
)
from settingsdesk.sheets.table import Cell, CellKind

LONGEST_NAME = 80
MOST_AXES = 300  # different names of adjustments, or of apparatus, in one table

_ROW_WORDS = {
    RowSays.TOTAL: "This row is a total: nothing of it was taken",
    RowSays.AVERAGE: "This row is an average: nothing of it was taken",
    RowSays.FOOTNOTE: "This is a note beside the table: read it, nothing of it was taken",
}
NO_NAME = "No athlete is named in this row: write the name, and take the value then"
NO_HEADER = "No header stands above this cell: say what its column holds"
NOT_A_NAME = "A number stands where a name is expected: ask who is meant"
TOO_LONG_A_NAME = "More is written here than any name needs: write the name alone"
TWO_OF_ONE_NAME = (
    "Several athletes have this name and nothing tells which is meant: ask for the club"
)
NO_AXIS = "What is adjusted cannot be told from this: choose which axis is meant"
NOT_A_UNIT = "This is no unit that is known: choose one for the row"
FIGURE_IN_REMARK = "This remark has a figure in it: read it, nothing of it was taken"


_Readings = dict[int, ColumnReading | None]
"""How the cells at each place are read; None where nothing tells."""


@dataclass(slots=True)
class _Row:
    """What a line says for all its values."""

    person: int
    athlete: str
    club: str
    kind: str | None
    model: str | None
    unit: ListUnit | None
    meaning: HeaderMeaning | None
    readings: _Readings


class BlockReading:
    """One table being read into what was found."""

    def __init__(self, grid: Grid, block: Block, found: Found) -> None:
        self.grid, self.block, self.found = grid, block, found
        self.last: tuple[int, int] | None = None  # the line and person above, in a long list
        self._readings: dict[tuple[str | None, ListUnit | None, str], _Readings] = {}
        self._kinds: dict[str, str | None] = {}
        self._roles = {place: _use_of(column) for place, column in block.columns.items()}
        self._about_persons: dict[Role, Column] = {}
        for column in block.columns.values():
            if (role := column.role) in _ABOUT_PERSONS:
                self._about_persons.setdefault(role, column)
        self._values = {
            place: block.columns[place] for place, use in self._roles.items() if use is Role.VALUE
        }
        self._taken_with_the_row = {
            place for place, use in self._roles.items() if use and use not in _LOOKED_AT
        }
        self._of_rows = block.of_role(Role.KIND, Role.MODEL, Role.AXIS, Role.UNIT)
        self._has_both_names = bool(
            block.of_role(Role.FAMILY_NAME) and block.of_role(Role.GIVEN_NAME)
        )

    def read(self) -> None:
        """All lines below the header."""
        self._query_unknown_columns()
        for line in self.block.body:
            self._line(line)

    @cached_property
    def _headers(self) -> list[dict[int, str]]:
        return [_texts(line) for line in self.block.header_lines]

    def _line(self, line: Line) -> None:
        if self._is_header_again(line):
            return
        if says := self._row_says(line):
            self._query(line, min(line.cells), _ROW_WORDS[says])
            return
        person = self._person(line)
        if person is None and not self._has_values(line):
            self._query_words(line)
            return
        row = self._row(line, person)
        for place, cell in line.cells.items():
            if place in self._values:
                self._value(line, self._values[place], cell, row)
            elif place not in self._taken_with_the_row:
                self._cell(line, place, cell, row)

    def _cell(self, line: Line, place: int, cell: Cell, row: _Row) -> None:
        use = self._roles.get(place)
        if use is None:
            self._doubt(line, place, NO_HEADER, row)
        elif use is Role.ACCEPTS:
            self._deviation(line, self.block.columns[place], cell, row)
        elif use is Role.AXIS and row.meaning is None:
            self._doubt(line, place, NO_AXIS, row)
        elif use is Role.UNIT and row.unit is None:
            self._doubt(line, place, NOT_A_UNIT, row)
        elif use is Role.REMARK and any(sign.isdigit() for sign in cell.text):
            self._doubt(line, place, FIGURE_IN_REMARK, row)

    def _value(self, line: Line, column: Column, cell: Cell, row: _Row) -> None:
        if row.person < 0:
            self._query(line, column.place, NO_NAME)
            return
        reading = row.readings.get(column.place) or self._reading_of(column, row)
        if reading is None or not reading.said.axis:
            self._doubt(line, column.place, self._why_no_axis(column, row), row)
            return
        read = reading.read(cell)
        if isinstance(read, Doubt):
            self._doubt(line, column.place, read.why, row)
        else:
            number = column.place if self.grid.on_its_side else line.number
            self._accept(number, cell, row, reading.said, read)

    def _accept(self, number: int, cell: Cell, row: _Row, said: Said, read: Value) -> None:
        # By place and not by name, which takes three times as long: once for each value.
        one = Accepted(
            row.athlete,
            row.club,
            row.model,
            said.kind,
            said.axis or "",
            read.value_mm,
            read.mark,
            cell.text,
            read.converted,
            self.grid.sheet,
            number,
            cell.column,
            row.person,
        )
        self.found.accepted.append(one)

    def _deviation(self, line: Line, column: Column, cell: Cell, row: _Row) -> None:
        if row.person < 0:
            self._query(line, column.place, NO_NAME)
            return
        reading = self._reading_of(column, row)
        if reading is None or (self.block.is_long and not reading.said.axis):
            self._doubt(line, column.place, self._why_no_axis(column, row), row)
            return
        said = reading.said
        read = read_deviation(cell.text, said.unit)
        if isinstance(read, str):
            self._doubt(line, column.place, read, row)
            return
        person = self.found.persons.found[row.person]
        person.accepts_mm[(row.model, said.kind, said.axis or EVERY_AXIS)] = read

    def _reading_of(self, column: Column, row: _Row) -> ColumnReading | None:
        """How a cell is read: by what its column says, and in a long list its row."""
        if column.place not in row.readings:
            said = self._said_by(column, row)
            row.readings[column.place] = ColumnReading(said, self.found) if said else None
        return row.readings[column.place]

    def _said_by(self, column: Column, row: _Row) -> Said | None:
        said = self.block.context.said(column, row.kind)
        if row.meaning is not None and not said.axis:
            by_row = replace(column, meaning=_both(column.meaning, row.meaning), alone=None)
            said = self.block.context.said(by_row, row.kind)
        elif not column.is_settled and column.meaning_for(row.kind).is_ambiguous:
            return None
        return said if row.unit is None else replace(said, unit=row.unit)

    def _why_no_axis(self, column: Column, row: _Row) -> str:
        if self.block.is_long and row.meaning is None:
            return NO_AXIS
        meaning = column.meaning_for(row.kind)
        if meaning.is_ambiguous or len(meaning.axes) > 1:
            return meaning.why_ambiguous
        return NO_AXIS

    def _row(self, line: Line, person: int | None) -> _Row:
        context = self.block.context
        kind, model = context.kind, context.model
        axis_text, unit = "", None
        for column in self._of_rows:
            cell = self.grid.at(line, column.place)
            if cell is None:
                continue
            if column.role is Role.MODEL:
                model = _tidy(cell.text)
                kind = self.found.models.get(model, kind)
            elif column.role is Role.KIND:
                kind = self._kind_said(cell.text) or kind
            elif column.role is Role.UNIT:
                unit = unit_word(cell.text)
            else:
                axis_text = cell.text
        meaning = self._axis_said(axis_text, kind) if axis_text else None
        key = (kind, unit, axis_text if meaning else "")
        readings = self._readings.setdefault(key, {})
        if person is None:
            return _Row(-1, "", "", kind, model, unit, meaning, readings)
        found = self.found.persons.found[person]
        return _Row(person, found.shown, found.club, kind, model, unit, meaning, readings)

    def _kind_said(self, text: str) -> str | None:
        if text not in self._kinds and len(self._kinds) < MOST_AXES:
            self._kinds[text] = header_words(text).kind
        return self._kinds.get(text)

    def _axis_said(self, text: str, kind: str | None) -> HeaderMeaning | None:
        """What a long list says of the axis in a row: by the kind, or the other rows' axes."""
        meaning = self._axes_together.get(text)
        if meaning is not None and kind:
            meaning = header_words(text).within(kind)
        return meaning if meaning is not None and meaning.axis else None

    @cached_property
    def _axes_together(self) -> dict[str, HeaderMeaning]:
        """The axes that a long list names, where they settle each other as headers do."""
        places = [column.place for column in self.block.of_role(Role.AXIS)]
        cells = [self.grid.at(line, place) for line in self.block.body for place in places]
        texts = list(dict.fromkeys(cell.text for cell in cells if cell is not None))[:MOST_AXES]
        return dict(zip(texts, together([header_words(text) for text in texts]), strict=True))

    def _person(self, line: Line) -> int | None:
        """The place of the athlete a line is about; None where nobody is named."""
        texts = {
            role: _tidy(cell.text)
            for role, column in self._about_persons.items()
            if (cell := self.grid.at(line, column.place)) is not None
        }
        if not any(texts.get(role) for role in _NAMED):
            return self._person_above(line)
        if not self._are_names(line):
            return None
        person = PersonFound(
            family_name=texts.get(Role.FAMILY_NAME, ""),
            given_name=texts.get(Role.GIVEN_NAME, ""),
            full_name=texts.get(Role.FULL_NAME, ""),
            club=texts.get(Role.CLUB, "") or self.block.context.club,
            group=texts.get(Role.GROUP, ""),
            start_number=texts.get(Role.START_NUMBER, ""),
            birth_year=texts.get(Role.BIRTH_YEAR, ""),
            raise_request=texts.get(Role.RAISE, ""),
            rows=[(self.grid.sheet, line.number)],
        )
        if person.full_name:
            person.names_first = self._names_first
            family, given = split_full_name(person.full_name, self._names_first)
            if family and given:
                person.family_name, person.given_name, person.full_name = family, given, ""
        place, is_unsure = self.found.persons.place_of(person)
        if is_unsure:
            self._query(line, self._name_places[0], TWO_OF_ONE_NAME, person=place)
        self.last = (line.number, place)
        return place

    def _are_names(self, line: Line) -> bool:
        """Whether names stand where they should; nothing is taken of half a name."""
        are_names = True
        for place in self._name_places:
            cell = self.grid.at(line, place)
            if cell is None or (len(cell.text) <= LONGEST_NAME and not is_value_like(cell)):
                continue
            too_long = len(cell.text) > LONGEST_NAME
            self._query(line, place, TOO_LONG_A_NAME if too_long else NOT_A_NAME)
            are_names = False
        return are_names

    def _person_above(self, line: Line) -> int | None:
        """In a long list, whoever stands in the line right above goes on."""
        if self.block.is_long and self.last and line.number == self.last[0] + 1:
            self.last = (line.number, self.last[1])
            return self.last[1]
        return None

    @cached_property
    def _names_first(self) -> str:
        for column in self.block.of_role(Role.FULL_NAME):
            if column.names_first:
                return column.names_first
            if column.meaning.family_first is not None:
                return "family" if column.meaning.family_first else "given"
        return ""

    @cached_property
    def _name_places(self) -> list[int]:
        return [column.place for column in self.block.of_role(*_NAMED)]

    def _has_values(self, line: Line) -> bool:
        columns = self.block.columns
        return any(
            is_value_like(cell)
            or (place in columns and columns[place].role in (Role.VALUE, Role.ACCEPTS))
            for place, cell in line.cells.items()
        )

    def _is_header_again(self, line: Line) -> bool:
        first = min(line.cells)
        texts = [header[first] for header in self._headers if first in header]
        return line.cells[first].text in texts and _texts(line) in self._headers

    def _row_says(self, line: Line) -> RowSays | None:
        first = line.cells[min(line.cells)]
        if first.kind is not CellKind.TEXT:
            return None
        if self._has_both_names and all(place in line.cells for place in self._name_places):
            return None
        says = row_says(first.text)
        if says is None:
            name = next((line.cells[at] for at in self._name_places if at in line.cells), None)
            says = row_says(name.text) if name is not None and name is not first else None
        return says

    def _query_words(self, line: Line) -> None:
        """A line with nothing but words, and nobody named: said once, at its first cell."""
        self._query(line, min(line.cells), _ROW_WORDS[RowSays.FOOTNOTE])

    def _query_unknown_columns(self) -> None:
        """A column whose header says nothing that is known, at the header."""
        header = self.block.header_lines[-1]
        for column in self.block.columns.values():
            if column.role is None and column.header and not column.meaning.is_ambiguous:
                self._query(header, column.place, UNKNOWN_COLUMN, column.header)
            first = self._about_persons.get(column.role) if column.role else None
            if column.role and first not in (None, column):
                why = HELD_ALREADY.format(holds=column.role.value)
                self._query(header, column.place, why, column.header)

    def _query(
        self,
        line: Line,
        place: int,
        why: str,
        read: str | None = None,
        person: int | None = None,
    ) -> None:
        number, letter = self.grid.where(line, place)
        cell = self.grid.at(line, place)
        text = read if read is not None else (cell.text if cell else "")
        self.found.queries.append(Query(self.grid.sheet, number, letter, text, why, person))

    def _doubt(self, line: Line, place: int, why: str, row: _Row) -> None:
        """A query about the athlete of a row, if it names one."""
        self._query(line, place, why, person=row.person if row.person >= 0 else None)


UNKNOWN_COLUMN = (
    "What this column holds is not known, so nothing of it was taken: choose what it is"
)
HELD_ALREADY = (
    "A column before this one holds {holds} already, so nothing of this one was taken: choose what"
    " each of them holds"
)
_NAMED = (Role.FULL_NAME, Role.FAMILY_NAME, Role.GIVEN_NAME)
_ABOUT_PERSONS = frozenset(
    (*_NAMED, Role.CLUB, Role.GROUP, Role.START_NUMBER, Role.BIRTH_YEAR, Role.RAISE)
)


_LOOKED_AT = frozenset((Role.VALUE, Role.ACCEPTS, Role.AXIS, Role.UNIT, Role.REMARK))


def _use_of(column: Column) -> Role | None:
    """For what a column's cells are read; None where it has neither header nor meaning."""
    if Role.VALUE in column.meaning.roles or column.role is Role.VALUE:
        return Role.VALUE
    if Role.ACCEPTS in column.meaning.roles:
        return Role.ACCEPTS
    return column.role or (Role.NOT_KEPT if column.header else None)


def _both(column: HeaderMeaning, row: HeaderMeaning) -> HeaderMeaning:
    """A value of a long list: the axis by its row, the unit and datum by either."""
    return HeaderMeaning(
        text=row.text,
        roles=(Role.VALUE,),
        axes=row.axes,
        units=row.units or column.units,
        levels=row.levels or column.levels,
        edges=row.edges or column.edges,
        spreads=row.spreads or column.spreads,
    )


def _texts(line: Line) -> dict[int, str]:
    return {place: cell.text for place, cell in line.cells.items()}


def _tidy(text: str) -> str:
    return unicodedata.normalize("NFC", " ".join(text.split()))
