"""The lines of one table, cell by cell: taken, queried, or known to be about the person."""

from dataclasses import dataclass, replace

from settingsdesk.domain.base.names import on_one_line
from settingsdesk.domain.settings.crew_note import LONGEST as LONGEST_NOTE
from settingsdesk.domain.settings.purposes import USUAL, Purpose, purpose_of
from settingsdesk.sheets.columns import our_column
from settingsdesk.sheets.lists.blanks import Blanks
from settingsdesk.sheets.lists.blocks import Block
from settingsdesk.sheets.lists.column_units import ColumnUnits
from settingsdesk.sheets.lists.deviations import read_deviation
from settingsdesk.sheets.lists.found import ColumnReading, Found, as_printed
from settingsdesk.sheets.lists.grid import Grid, Line
from settingsdesk.sheets.lists.headers import Column, is_value_like
from settingsdesk.sheets.lists.headings import Headings
from settingsdesk.sheets.lists.layout import Layout
from settingsdesk.sheets.lists.notes import may_change, note_says
from settingsdesk.sheets.lists.preview import (
    EVERY_AXIS,
    Accepted,
    NoteKind,
    NoteSays,
    model_key,
)
from settingsdesk.sheets.lists.range_ends import middle_of
from settingsdesk.sheets.lists.row_apparatus import RowApparatus
from settingsdesk.sheets.lists.row_notes import Notes, is_legend
from settingsdesk.sheets.lists.row_persons import LOST_SIGNS, RowPersons
from settingsdesk.sheets.lists.same_axis import Ends, SameAxis
from settingsdesk.sheets.lists.units import ListUnit
from settingsdesk.sheets.lists.values import Doubt, Said, Value, read_typed
from settingsdesk.sheets.lists.values_doubts import NO_UNIT
from settingsdesk.sheets.lists.values_figures import read_length
from settingsdesk.sheets.lists.values_text import plain
from settingsdesk.sheets.lists.vocabulary import (
    HeaderMeaning,
    Role,
    RowSays,
    unit_word,
)
from settingsdesk.sheets.table import Cell, CellKind

_ROW_WORDS = {
    RowSays.TOTAL: "This row is a total: nothing of it was taken",
    RowSays.AVERAGE: "This row is no athlete's, it sums up others: nothing of it was taken",
    RowSays.FOOTNOTE: "This is a note beside the table: read it, nothing of it was taken",
}
NO_NAME = "No athlete is named in this row: write the name, and take the value then"
NO_HEADER = "No header stands above this cell: say what its column holds"
NO_AXIS = "What is adjusted cannot be told from this: choose which adjustment is meant"
ONE_END = "Only one end of the range stands in this row: type the other one, or - to leave it out"
NOT_A_PURPOSE = (
    "This is nothing that a setting is for here: write competition, training or learning, or leave"
    " it blank for competition, the usual one"
)
NOT_A_UNIT = "This is no unit that is known: choose one for the row"


_Readings = dict[int, ColumnReading | None]
"""How the cells at each place are read; None where nothing tells."""
_Read = tuple[Cell, Said, Value]
"""A cell as it stands or was typed, what its column says, and what it says."""


@dataclass(slots=True)
class Row:
    """What a line says for all its values."""

    person: int | None
    athlete: str
    club: str
    kind: str | None
    model: str | None
    unit: ListUnit | None
    meaning: HeaderMeaning | None
    readings: _Readings
    axis_text: str = ""
    purpose: Purpose | None = USUAL
    """What its setting is for; None where a word stands there that is no purpose."""


class BlockReading:
    """One table being read into what was found."""

    def __init__(self, grid: Grid, block: Block, found: Found) -> None:
        self.grid, self.block, self.found = grid, block, found
        self.persons: dict[int, int] = {}
        """Whom each line is about, by its number."""
        self._readings: dict[tuple[str | None, ListUnit | None, str], _Readings] = {}
        self.layout = Layout(block)
        self.notes = Notes(grid, block, found, self.layout)
        self.units = ColumnUnits(grid, block, found)
        self.apparatus = RowApparatus(grid, block, found, self.layout)
        self.names = RowPersons(grid, block, found, self.layout, self.notes)
        self.headings = Headings(grid, block, found, self.layout)
        rows = (line for line in block.body if self._may_be_athletes(line))
        self.blanks = Blanks(grid, block, found, rows)
        self.same_axis = SameAxis(grid, block, found, self.layout.values.values())

    def read(self) -> None:
        """All lines below the header."""
        self._query_unknown_columns()
        self._ask_for_units()
        headed = (at for at, column in self.block.columns.items() if not column.is_unheaded)
        widest = max(headed, default=0)
        for line in self.block.body:
            self._line(line)
            person = self.persons.get(line.number)
            last = max(line.cells)
            if person is not None and last > widest and not self._is_settled(line, last):
                number, column = self.grid.where(line, last)
                self.found.hold([person], f"cell:{self.grid.sheet}!{column}{number}")
        self.headings.say()

    def _line(self, line: Line) -> None:
        if self._is_no_athlete(line):
            return
        person = self._person(line)
        if person is None and not self.layout.has_values(line):
            self.notes.beside(line)
            return
        if person is not None:
            self.persons[line.number] = person
            self.headings.is_below(line, person)
            self.headings.name_alone(line, person)
            for key in self.blanks.waits.get(line.number, ()):
                self.found.hold([person], key)
        self._cells(line, self._row(line, person))

    def _may_be_athletes(self, line: Line) -> bool:
        """Whether a line may have somebody's values."""
        layout = self.layout
        is_other = self.headings.is_heading(line) or layout.is_header_again(line)
        return layout.has_values(line) and not is_other and not layout.row_says(line)

    def _cells(self, line: Line, row: Row) -> None:
        for place, cell in line.cells.items():
            if place in self.layout.values:
                self._value(line, self.layout.values[place], cell, row)
            elif place not in self.layout.taken_with_the_row:
                self._cell(line, place, cell, row)

    def _is_no_athlete(self, line: Line) -> bool:
        """Whether it is a header, a total or a note, or signs of a name were lost; it is said."""
        if self.layout.is_header_again(line):
            return True
        says = self.layout.row_says(line)
        if says in (RowSays.TOTAL, RowSays.AVERAGE):
            self.found.query(self.grid, line, min(line.cells), _ROW_WORDS[says], is_only_said=True)
        elif self.headings.is_heading(line):
            return True
        elif says or self.notes.is_note(line):
            self.notes.beside(line)
        elif (lost := self.names.lost_signs(line)) is not None:
            self.found.query(self.grid, line, lost, LOST_SIGNS)
        else:
            return False
        return True

    def _ask_for_units(self) -> None:
        """Read each column without a unit as its values tell, or ask once for it."""
        context = self.block.context
        bare = [
            column
            for column in self.layout.values.values()
            if context.said(column, context.kind).unit is None
        ]
        cells: dict[tuple[int, str], list[Cell]] = {}
        first: dict[tuple[int, str], Line] = {}
        said_of: dict[tuple[int, str], Said] = {}
        for line in self.block.body if bare else ():
            if self.layout.is_header_again(line) or self.layout.row_says(line):
                continue
            row = self._row(line, None)
            for column in bare:
                cell = line.cells.get(column.place)
                at = (column.place, row.axis_text)
                if cell is None:
                    continue
                if at not in said_of:
                    said = self._said_by(column, row)
                    if said is None or said.unit is not None or not said.axis:
                        continue
                    said_of[at] = said
                cells.setdefault(at, []).append(cell)
                first.setdefault(at, line)
        for (place, axis_text), of_column in cells.items():
            self.units.tell(
                self.layout.values[place],
                axis_text,
                of_column,
                said_of[(place, axis_text)],
                first[(place, axis_text)],
            )
        self._readings.clear()

    def _cell(self, line: Line, place: int, cell: Cell, row: Row) -> None:
        use = self.layout.uses.get(place)
        is_known = use is not None and place not in self.layout.unknown
        if not is_known and cell.kind is CellKind.TEXT and is_legend(cell.text):
            self.notes.of_table(NoteKind.FOOTNOTE, self.grid.where(line, place), cell.text)
        elif use is None:
            self._without_header(line, place, cell, row)
        elif use is Role.ACCEPTS:
            self._deviation(line, self.block.columns[place], cell, row)
        elif use is Role.AXIS and row.meaning is None:
            self._doubt(line, place, NO_AXIS, row)
        elif use is Role.UNIT and row.unit is None:
            self._doubt(line, place, NOT_A_UNIT, row)
        elif use is Role.PURPOSE and row.purpose is None:
            self._doubt(line, place, NOT_A_PURPOSE, row)
        elif use is Role.REMARK and _is_crew_note(self.block.columns[place], cell, row):
            self._keep_crew_note(line, place, cell, row)
        elif use is Role.REMARK and not _is_kept_reason(self.block.columns[place], cell):
            self.notes.remark(line, place, cell.text, row.person, row.model)
        elif place in self.layout.unknown:
            self._of_unknown(line, place, cell, row)

    def _keep_crew_note(self, line: Line, place: int, cell: Cell, row: Row) -> None:
        """A note that the desk wrote out: it stays with the row's athlete and model."""
        if row.person is not None:
            number, letter = self.grid.where(line, place)
            noted = (on_one_line(cell.text), (self.grid.sheet, number, letter))
            self.found.persons.found[row.person].crew_notes[row.model] = noted

    def _is_settled(self, line: Line, place: int) -> bool:
        """Whether a person said what a column without a header holds, or to take nothing there."""
        column = self.block.columns.get(place)
        return bool(column and column.role) or self._typed_for(line, place) == "-"

    def _without_header(self, line: Line, place: int, cell: Cell, row: Row) -> None:
        """A cell below no header: a figure may be what holds, so whoever has it waits."""
        if self._is_settled(line, place):
            return
        self._doubt(line, place, NO_HEADER, row)
        if row.person is not None and is_value_like(cell):
            number, letter = self.grid.where(line, place)
            self.found.hold([row.person], f"cell:{self.grid.sheet}!{letter}{number}")

    def _of_unknown(self, line: Line, place: int, cell: Cell, row: Row) -> None:
        """A cell of a column that nobody knows: words in it may be about the values."""
        header = self.block.columns[place].header
        if note_says(header):
            self.notes.remark(line, place, f"{header}: {cell.text}", row.person, row.model)
        elif may_change(cell.text) and not is_value_like(cell):
            self.notes.remark(line, place, cell.text, row.person, row.model)

    def _value(self, line: Line, column: Column, cell: Cell, row: Row) -> None:
        if row.person is None:
            self.found.query(self.grid, line, column.place, NO_NAME)
            return
        if column.place in self.same_axis.left_out or row.purpose is None:
            return
        if key := self.same_axis.waits.get(column.place):
            self.found.hold([row.person], key)
            return
        if ends := self.same_axis.ranges.get(column.place):
            self._range(line, column, ends, row)
        elif read := self._read(line, column, cell, row):
            self.found.accepted.append(self._accepted(line, column, row, *read))

    def _read(self, line: Line, column: Column, cell: Cell, row: Row) -> _Read | None:
        """What a cell says, or what a person typed for it; None where it is a doubt or nothing."""
        reading = row.readings.get(column.place) or self._reading_of(column, row)
        if reading is None or not reading.said.axis:
            if NoteSays.DATUM in note_says(column.header) and not column.meaning.axes:
                self.notes.remark(
                    line, column.place, f"{column.header}: {cell.text}", row.person, row.model
                )
                return None
            self._doubt(line, column.place, self._why_no_axis(column, row), row)
            return None
        typed = self.found.answers and self._typed_for(line, column.place)
        if typed == "-":
            return None
        if typed:
            cell = Cell(cell.column, typed)
        read = read_typed(typed, reading.said) if typed else reading.read(cell)
        if isinstance(read, Doubt):
            model = row.model or self._model_of(column)
            read = self._printed_label(cell, reading.said, model) or read
        if isinstance(read, Doubt):
            self._no_value(line, column, cell, row, read, reading.said)
            return None
        return cell, reading.said, read

    def _range(self, line: Line, column: Column, ends: Ends, row: Row) -> None:
        """The middle of a range, told at its least end; a doubt where its ends tell none."""
        places = (ends.least.place, ends.most.place)
        if column is not next(self.layout.values[at] for at in places if at in line.cells):
            return  # both are read with the first of them
        cells = [line.cells.get(at) or self._typed_cell(line, at) for at in places]
        if None in cells:
            if self._typed_for(line, column.place) != "-":
                self._doubt(line, column.place, ONE_END, row)
            return
        read = [
            self._read(line, end, cell, row)
            for end, cell in zip((ends.least, ends.most), cells, strict=True)
            if cell is not None
        ]
        least, most = read
        if least is None or most is None:
            return
        (cell, said, first), (_, _, last) = least, most
        middle = middle_of(first, last)
        if isinstance(middle, Doubt):
            self._doubt(line, column.place, middle.why, row)
            return
        self.found.accepted.append(self._accepted(line, column, row, cell, said, middle))
        if ends.accepts_half and row.person is not None:
            person = self.found.persons.found[row.person]
            model = model_key(row.model or self._model_of(column), row.purpose or USUAL)
            half_mm = (middle.value_mm or 0) - (first.value_mm or 0)
            person.accepts_mm[(model, said.kind, said.axis or EVERY_AXIS)] = half_mm

    def _typed_cell(self, line: Line, place: int) -> Cell | None:
        """What a person typed where nothing stands."""
        typed = self._typed_for(line, place)
        return Cell(self.grid.where(line, place)[1], typed) if typed else None

    def _typed_for(self, line: Line, place: int) -> str:
        """What a person said that a cell means, or nothing."""
        number, letter = self.grid.where(line, place)
        return self.found.answers.get(f"cell:{self.grid.sheet}!{letter}{number}", "")

    def _no_value(
        self, line: Line, column: Column, cell: Cell, row: Row, doubt: Doubt, said: Said
    ) -> None:
        if doubt.why is NO_UNIT and self.units.is_missing((column.place, row.axis_text)):
            return  # the column is asked about as a whole
        self._doubt(line, column.place, doubt.why, row)
        if doubt.unbelieved:
            value = self._accepted(line, column, row, cell, said, doubt.unbelieved)
            self.found.unbelieved.append(value)

    def _model_of(self, column: Column) -> str | None:
        """The model that a column's header names, or that a person said is meant there."""
        return column.model or self.same_axis.models.get(column.place)

    def _printed_label(self, cell: Cell, said: Said, model: str | None) -> Value | None:
        """The mark whose label is just what stands in a cell, however unusual it looks."""
        may_be_length = said.unit is not ListUnit.MARK and read_length(plain(cell.text))
        if cell.kind is not CellKind.TEXT or may_be_length:
            return None
        alike = self.found.printed_labels(said.kind, said.axis, model).get(
            as_printed(cell.text), ()
        )
        same = [cell.text.strip()] if cell.text.strip() in alike else list(alike)
        if len(same) != 1:
            return None
        [label] = same
        return Value(None, label, ListUnit.MARK, f"mark {label}")

    def _accepted(
        self, line: Line, column: Column, row: Row, cell: Cell, said: Said, read: Value
    ) -> Accepted:
        # By place and not by name, which takes three times as long: once for each value.
        return Accepted(
            row.athlete,
            row.club,
            row.model or self._model_of(column),
            said.kind,
            said.axis or "",
            read.value_mm,
            read.mark,
            cell.text,
            read.converted,
            self.grid.sheet,
            column.place if self.grid.on_its_side else line.number,
            cell.column,
            row.person or 0,
            row.purpose or USUAL,
        )

    def _deviation(self, line: Line, column: Column, cell: Cell, row: Row) -> None:
        if row.person is None:
            self.found.query(self.grid, line, column.place, NO_NAME)
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
        model = model_key(row.model or self._model_of(column), row.purpose or USUAL)
        person.accepts_mm[(model, said.kind, said.axis or EVERY_AXIS)] = read

    def _reading_of(self, column: Column, row: Row) -> ColumnReading | None:
        """How a cell is read: by what its column says, and in a long list its row."""
        if column.place not in row.readings:
            said = self._said_by(column, row)
            row.readings[column.place] = self._column_reading(said) if said else None
        return row.readings[column.place]

    def _column_reading(self, said: Said) -> ColumnReading:
        return ColumnReading(said, self.found)

    def _said_by(self, column: Column, row: Row) -> Said | None:
        kind = self.found.known_models.kind_of(column.model or "") or row.kind
        said = self.block.context.said(column, kind)
        if row.meaning is not None and not said.axis:
            by_row = replace(column, meaning=_both(column.meaning, row.meaning), alone=None)
            said = self.block.context.said(by_row, kind)
        elif not column.is_settled and column.meaning_for(kind).is_ambiguous:
            return None
        if row.unit is not None:
            return replace(said, unit=row.unit)
        untold = self.units.unit_of((column.place, row.axis_text))
        return replace(said, unit=untold) if untold and said.unit is None else said

    def _why_no_axis(self, column: Column, row: Row) -> str:
        if self.block.is_long and row.meaning is None:
            return NO_AXIS
        meaning = column.meaning_for(row.kind)
        if meaning.is_ambiguous or len(meaning.axes) > 1:
            return meaning.why_ambiguous
        return NO_AXIS

    def _row(self, line: Line, person: int | None) -> Row:
        context, above = self.block.context, self.headings.of(line)
        kind, model = above.kind or context.kind, above.model or context.model
        axis_text, unit, unknown = "", None, ""
        for column in self.layout.of_rows:
            cell = self.blanks.at(line, column.place)
            if cell is None:
                continue
            if column.role in (Role.MODEL, Role.KIND):
                named, of_kind = self._apparatus_said(cell.text)
                model, kind = named or model, of_kind or kind
                if not (named or of_kind):
                    model, unknown = on_one_line(cell.text), cell.text
            elif column.role is Role.UNIT:
                unit = unit_word(cell.text)
            else:
                axis_text = cell.text
        meaning = self.apparatus.axis_said(axis_text, kind) if axis_text else None
        axis_text = axis_text if meaning else ""
        readings = self._readings.setdefault((kind, unit, axis_text), {})
        if person is None:
            return Row(None, "", "", kind, model, unit, meaning, readings, axis_text)
        if unknown:
            self.apparatus.ask_for_model(line, unknown, person)
        found = self.found.persons.found[person]
        told = (kind, model, unit, meaning, readings, axis_text, self._purpose(line))
        return Row(person, found.shown, found.club, *told)

    def _purpose(self, line: Line) -> Purpose | None:
        """What the setting of a row is for: the usual one, where nothing says it."""
        if (column := self.layout.of_purpose) is None or column.place not in line.cells:
            return USUAL
        return purpose_of(on_one_line(line.cells[column.place].text).casefold())

    def _apparatus_said(self, text: str) -> tuple[str | None, str | None]:
        """The known model and the kind that a cell names."""
        return self.apparatus.said(text)

    def _person(self, line: Line) -> int | None:
        """The place of the athlete a line is about; None where nobody is named."""
        return self.names.of_line(line, self.headings, self.blanks)

    def _query_unknown_columns(self) -> None:
        """A column whose header says nothing that is known, at the header."""
        header = self.block.header_lines[-1]
        for column in self.block.columns.values():
            is_no_column = not column.is_settled and self._is_bare(column.place)
            if is_no_column and set(note_says(column.header)) - {NoteSays.UNIT}:
                where = self.grid.where(header, column.place)
                self.notes.of_table(NoteKind.FOOTNOTE, where, column.header)
            elif column.place in self.layout.unlike_its_header or (
                column.role is None and column.header and not column.meaning.is_ambiguous
            ):
                self.found.query(self.grid, header, column.place, UNKNOWN_COLUMN, column.header)
            if column.role and self.layout.read_before(column) and column.role not in _NO_HEIGHTS:
                why = HELD_ALREADY.format(holds=column.role.value)
                self.found.query(self.grid, header, column.place, why, column.header)

    def _is_bare(self, place: int) -> bool:
        return not any(place in line.cells for line in self.block.body)

    def _doubt(self, line: Line, place: int, why: str, row: Row) -> None:
        """A query about the athlete of a row, if it names one."""
        self.found.query(self.grid, line, place, why, person=row.person)


UNKNOWN_COLUMN = (
    "What this column holds is not known, so nothing of it was taken: choose what it is"
)
_NO_HEIGHTS = (Role.GROUP, Role.LEVEL)
"""Whichever of two columns holds it, nobody's height is another one: it is said, not asked."""

HELD_ALREADY = (
    "A column before this one holds {holds} already, so nothing of this one was taken: choose what"
    " each of them holds"
)


def _is_kept_reason(column: Column, cell: Cell) -> bool:
    """Whether a reason that the desk wrote out stands there: it is kept with the setting."""
    ours = our_column(column.header)
    return ours is not None and ours.role is Role.REASON and not note_says(cell.text)


def _is_crew_note(column: Column, cell: Cell, row: Row) -> bool:
    """Whether a note for the crew that the desk wrote out stands there, and can be taken."""
    ours = our_column(column.header)
    if ours is None or ours.role is not Role.CREW_NOTE or note_says(cell.text):
        return False
    return row.model is not None and len(on_one_line(cell.text)) <= LONGEST_NOTE


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
