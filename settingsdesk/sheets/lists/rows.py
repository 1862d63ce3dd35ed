"""The lines of one table, cell by cell: taken, queried, or known to be about the person."""

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property

from settingsdesk.domain.base.datums import HeightDatum, SpreadDatum
from settingsdesk.domain.base.figures import quoted
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.sheets.columns import Role as OurRole
from settingsdesk.sheets.columns import SquadColumns
from settingsdesk.sheets.lists.deviations import read_deviation
from settingsdesk.sheets.lists.found import ColumnReading, Found, Place
from settingsdesk.sheets.lists.grid import Grid, Line
from settingsdesk.sheets.lists.headers import Block, Column, is_value_like
from settingsdesk.sheets.lists.notes import (
    is_as_kept,
    is_known_whole,
    is_no_name,
    may_change,
    note_says,
)
from settingsdesk.sheets.lists.persons import split_full_name
from settingsdesk.sheets.lists.preview import (
    APPLIES,
    EVERY_AXIS,
    LEAVE_OUT,
    READ,
    Accepted,
    Choice,
    ColumnQuestion,
    Note,
    NoteKind,
    NoteSays,
    PersonFound,
    Query,
)
from settingsdesk.sheets.lists.units import ListUnit
from settingsdesk.sheets.lists.untold_units import untold_unit
from settingsdesk.sheets.lists.values import Doubt, Said, Value, read_typed
from settingsdesk.sheets.lists.values_doubts import NO_UNIT
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
MOST_CELLS_OF_A_NOTE = 3
_UNITS = {unit.value: unit for unit in ListUnit}
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
LOST_SIGNS = (
    "This row is not taken, as signs of the name were lost when the file was written: save it again"
    " as CSV in UTF-8, or as .xlsx, from the program in which the name is right"
)
UNSURE_NAME = "More than a name stands here: read it, and say whether it changes what is taken"
CLEANED = "Signs that nobody sees stood in this name and were left out: it is read as {name}"
A_REMARK = "A remark on this athlete: read it, and say whether it changes what is taken"
A_NOTE = "This is a note beside the table: read it, nothing of it was taken"
NOTE_OF_VALUES = (
    "This is a note that may change what the lengths mean: say whether it does, nothing is taken"
    " till then"
)
MODEL_UNKNOWN = (
    "Nothing is taken of this, as the model {model} is not known here: add it, or write one of"
    " {known} in the list, or choose it here"
)
NO_APPARATUS = (
    "Nothing is taken of this, as {model} is no apparatus that is known: choose which is meant"
)
COLUMN_NO_UNIT = "No unit is stated for this column, and {why}: choose one for all of it"
NO_AXIS = "What is adjusted cannot be told from this: choose which axis is meant"
NOT_A_UNIT = "This is no unit that is known: choose one for the row"
FIGURE_IN_REMARK = "This remark has a figure in it: read it, nothing of it was taken"
# "Ma?gorzata": a sign that the encoding did not have.
_LOST = re.compile("\ufffd|\\?(?=[^\\W\\d_])")
_BESIDE_A_NAME = re.compile(r"[?？؟]\s*$|[*†‡※]")
_IN_BRACKETS = re.compile(r"[(\[（]([^)\]）]*)")


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
    axis_text: str = ""


class BlockReading:
    """One table being read into what was found."""

    def __init__(self, grid: Grid, block: Block, found: Found) -> None:
        self.grid, self.block, self.found = grid, block, found
        self.last: tuple[int, int] | None = None  # the line and person above, in a long list
        self.persons: dict[int, int] = {}
        """Whom each line is about, by its number."""
        self._untold: dict[tuple[int, str], ListUnit | None] = {}
        self.unit_by: dict[tuple[int, str], tuple[str, str]] = {}
        """What told the unit of a column that states none, by its place and the rows' axis."""
        self.table_notes: list[tuple[NoteKind, tuple[int, str], str]] = []
        self._readings: dict[tuple[str | None, ListUnit | None, str], _Readings] = {}
        self._apparatus: dict[str, tuple[str | None, str | None]] = {}
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
        self._unknown = {
            place
            for place, column in block.columns.items()
            if column.role is None and self._roles[place] is Role.NOT_KEPT
        }
        self._taken_with_the_row -= self._unknown
        self._of_rows = block.of_role(Role.KIND, Role.MODEL, Role.AXIS, Role.UNIT)
        self._has_both_names = bool(
            block.of_role(Role.FAMILY_NAME) and block.of_role(Role.GIVEN_NAME)
        )

    def read(self) -> None:
        """All lines below the header."""
        self._query_unknown_columns()
        self._ask_for_units()
        widest = max(self.block.columns, default=0)
        for line in self.block.body:
            self._line(line)
            person = self.persons.get(line.number)
            if person is not None and max(line.cells) > widest:
                number, column = self.grid.where(line, max(line.cells))
                self.found.hold([person], f"cell:{self.grid.sheet}!{column}{number}")

    @cached_property
    def _headers(self) -> list[dict[int, str]]:
        return [_texts(line) for line in self.block.header_lines]

    def _line(self, line: Line) -> None:
        if self._is_header_again(line) or self._is_no_athlete(line):
            return
        person = self._person(line)
        if person is None and not self._has_values(line):
            self._beside(line)
            return
        if person is not None:
            self.persons[line.number] = person
        row = self._row(line, person)
        for place, cell in line.cells.items():
            if place in self._values:
                self._value(line, self._values[place], cell, row)
            elif place not in self._taken_with_the_row:
                self._cell(line, place, cell, row)

    def _is_no_athlete(self, line: Line) -> bool:
        """Whether a line is a total, a note, or names somebody with signs lost; it is said."""
        says = self._row_says(line)
        if says in (RowSays.TOTAL, RowSays.AVERAGE):
            self._query(line, min(line.cells), _ROW_WORDS[says])
        elif says or self._is_note(line):
            self._beside(line)
        elif (lost := self._lost_signs(line)) is not None:
            self._query(line, lost, LOST_SIGNS)
        else:
            return False
        return True

    def _lost_signs(self, line: Line) -> int | None:
        """Where a name stands of which signs were lost."""
        cells = line.cells
        lost = (at for at in self._name_places if at in cells and _LOST.search(cells[at].text))
        return next(lost, None)

    def _is_note(self, line: Line) -> bool:
        """Whether a line without any value says something, and names nobody."""
        cells = line.cells
        if len(cells) > MOST_CELLS_OF_A_NOTE or self.block.is_long:
            return False
        if any(is_value_like(cell) for cell in cells.values()):
            return False
        first = min(cells)
        others = [place for place in cells if place != first]
        if any(place in self._values for place in others):
            return False
        if is_no_name(cells[first].text):
            return first in self._name_places or not any(at in cells for at in self._name_places)
        if others or first not in self._name_places:
            return False
        return self._has_both_names or self._stands_below(line)

    def _stands_below(self, line: Line) -> bool:
        """Whether a line stands apart below the table, with no value after it."""
        body = self.block.body
        at = next(place for place, one in enumerate(body) if one.number == line.number)
        is_apart = at > 0 and line.number > body[at - 1].number + 1
        return is_apart and line.number > self._last_with_values

    @cached_property
    def _last_with_values(self) -> int:
        return max((line.number for line in self.block.body if self._has_values(line)), default=0)

    def _beside(self, line: Line) -> None:
        """A note beside the table: said once; all wait where its words can change a value."""
        first = min(line.cells)
        words = [cell.text for cell in line.cells.values() if not is_value_like(cell)]
        text = " ".join(words) or line.cells[first].text
        self.table_note(NoteKind.FOOTNOTE, self.grid.where(line, first), text)

    def table_note(self, kind: NoteKind, where: tuple[int, str], text: str) -> None:
        """A note of the whole table; whom it bears on is known when all of the table is read."""
        self.table_notes.append((kind, where, text))

    def note_table(self) -> None:
        """Say the notes of the table, now that its athletes are known."""
        everybody = tuple(dict.fromkeys(self.persons.values()))
        for kind, (number, column), text in self.table_notes:
            where = (self.grid.sheet, number, column)
            says = self.says_more(text, is_title=kind is NoteKind.TITLE)
            if says:
                is_of_lengths = NoteSays.DATUM in says or NoteSays.UNIT in says
                choices = (READ, *((APPLIES,) if is_of_lengths else ()), LEAVE_OUT)
                why = NOTE_OF_VALUES
                note = self.found.note(
                    kind, where, text, why, says=says, persons=everybody, choices=choices
                )
                self._leave_out(note, self.block.body)
                continue
            self.found.note(kind, where, text, A_NOTE, persons=everybody)
            if kind is not NoteKind.TITLE:
                self.found.queries.append(Query(self.grid.sheet, number, column, text, A_NOTE))

    def says_more(self, text: str, *, is_title: bool = False) -> tuple[NoteSays, ...]:
        """What a note says of values that is not read by it already."""
        says = note_says(text)
        known = set()
        if is_title or (is_as_kept(text) and not self._states_a_datum):
            known.add(NoteSays.DATUM)
        if is_title or self._has_only_unit(header_words(text).units):
            known.add(NoteSays.UNIT)
        return tuple(one for one in says if one not in known)

    @cached_property
    def _states_a_datum(self) -> bool:
        context = self.block.context
        said = [context.said(column, context.kind) for column in self._values.values()]
        heights = [one.datum for one in said if one.datum is not None]
        spreads = [one.spread for one in said if one.spread is not None]
        return any(one != HeightDatum() for one in heights) or any(
            one is not SpreadDatum.INNER for one in spreads
        )

    def _has_only_unit(self, units: tuple[ListUnit, ...]) -> bool:
        context = self.block.context
        told = {context.said(column, context.kind).unit for column in self._values.values()}
        return len(units) == 1 and told == set(units)

    def _ask_for_units(self) -> None:
        """Read each column without a unit as its values tell, or ask once for it."""
        context = self.block.context
        bare = [
            column
            for column in self._values.values()
            if context.said(column, context.kind).unit is None
        ]
        cells: dict[tuple[int, str], list[Cell]] = {}
        first: dict[tuple[int, str], Line] = {}
        said_of: dict[tuple[int, str], Said] = {}
        for line in self.block.body if bare else ():
            if self._is_header_again(line) or self._row_says(line):
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
            self._untold_unit(
                self._values[place],
                axis_text,
                of_column,
                said_of[(place, axis_text)],
                first[(place, axis_text)],
            )
        self._readings.clear()

    def _untold_unit(
        self, column: Column, axis_text: str, cells: list[Cell], said: Said, first: Line
    ) -> None:
        labels = self.found.labels_of(said.kind, said.axis, self.block.context.model)
        untold = untold_unit(cells, said, labels)
        if untold is None:
            return
        place = self.grid.name_of_place(column.place)
        line = f"{place}:{axis_text}" if axis_text else place
        key = f"unit:{self.grid.sheet}!{line}"
        answered = self.found.answers.get(key) or self.found.answers.get("unit")
        at = (column.place, axis_text)
        if answered in _UNITS:
            self._untold[at] = _UNITS[answered]
            self.unit_by[at] = (
                "person",
                f"somebody said that it holds {_UNITS[answered].in_words}",
            )
        elif untold.unit is not None:
            self._untold[at] = untold.unit
            self.unit_by[at] = ("values", untold.why)
        else:
            self._untold[at] = None
            header = self.block.header_lines[-1]
            number, letter = self.grid.where(header, column.place)
            self.found.ask(
                ColumnQuestion(
                    key=key,
                    about="unit",
                    sheet=self.grid.sheet,
                    line=letter,
                    row=number,
                    header=f"{column.header} {axis_text}".strip(),
                    why=COLUMN_NO_UNIT.format(why=untold.why),
                    choices=tuple(Choice(unit.value, unit.in_words) for unit in ListUnit),
                    likely=untold.likely.value if untold.likely else "",
                    cells=untold.cells,
                    examples=untold.examples,
                ),
                Place(*self.grid.where(first, column.place), cells[0].text)
                if len(cells) == 1
                else None,
            )

    def _cell(self, line: Line, place: int, cell: Cell, row: _Row) -> None:
        use = self._roles.get(place)
        if use is None and _is_legend(cell.text):
            self.table_note(NoteKind.FOOTNOTE, self.grid.where(line, place), cell.text)
        elif use is None:
            self._doubt(line, place, NO_HEADER, row)
        elif use is Role.ACCEPTS:
            self._deviation(line, self.block.columns[place], cell, row)
        elif use is Role.AXIS and row.meaning is None:
            self._doubt(line, place, NO_AXIS, row)
        elif use is Role.UNIT and row.unit is None:
            self._doubt(line, place, NOT_A_UNIT, row)
        elif use is Role.REMARK:
            self._remark(line, place, cell, row, cell.text)
        elif place in self._unknown:
            header = self.block.columns[place].header
            if note_says(header):
                self._remark(line, place, cell, row, f"{header}: {cell.text}")
            elif may_change(cell.text):
                self._remark(line, place, cell, row, cell.text)

    def _remark(self, line: Line, place: int, cell: Cell, row: _Row, text: str) -> None:
        number, letter = self.grid.where(line, place)
        has_figure = any(sign.isdigit() for sign in cell.text)
        if _is_our_reason(self.block.columns[place].header) and not note_says(cell.text):
            return  # it is kept with the setting, as it was when the desk wrote it
        if self.block.columns[place].is_said:
            if has_figure:
                self._doubt(line, place, FIGURE_IN_REMARK, row)
            return  # somebody has looked at it, and said that it is no more than a remark
        note = self.found.note(
            NoteKind.REMARK,
            (self.grid.sheet, number, letter),
            text,
            FIGURE_IN_REMARK if has_figure else A_REMARK,
            says=note_says(text),
            persons=[row.person] if row.person >= 0 else (),
            choices=(READ, LEAVE_OUT),
            of_column=f"notes:{self.grid.sheet}!{self.grid.name_of_place(place)}",
        )
        self._leave_out(note, [line])

    def _leave_out(self, note: Note, lines: Iterable[Line]) -> None:
        """Take no value of those lines where somebody answered so."""
        if note.answered == LEAVE_OUT.value:
            for line in lines:
                self.found.drop_line(self.grid, line, is_answered=False)

    def _value(self, line: Line, column: Column, cell: Cell, row: _Row) -> None:
        if row.person < 0:
            self._query(line, column.place, NO_NAME)
            return
        reading = row.readings.get(column.place) or self._reading_of(column, row)
        if reading is None or not reading.said.axis:
            self._doubt(line, column.place, self._why_no_axis(column, row), row)
            return
        number, letter = self.grid.where(line, column.place)
        typed = self.found.answers.get(f"cell:{self.grid.sheet}!{letter}{number}")
        if typed:
            if typed == "-":
                return
            cell = Cell(cell.column, typed)
            read = read_typed(typed, reading.said)
        else:
            read = reading.read(cell)
        if isinstance(read, Doubt):
            if read.why is NO_UNIT and (column.place, row.axis_text) in self._untold:
                return  # the column is asked about as a whole
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
        if row.unit is not None:
            return replace(said, unit=row.unit)
        untold = self._untold.get((column.place, row.axis_text))
        return replace(said, unit=untold) if untold and said.unit is None else said

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
        axis_text, unit, unknown = "", None, ""
        for column in self._of_rows:
            cell = self.grid.at(line, column.place)
            if cell is None:
                continue
            if column.role in (Role.MODEL, Role.KIND):
                named, of_kind = self._apparatus_said(cell.text)
                model, kind = named or model, of_kind or kind
                if not (named or of_kind):
                    model, unknown = _tidy(cell.text), cell.text
            elif column.role is Role.UNIT:
                unit = unit_word(cell.text)
            else:
                axis_text = cell.text
        meaning = self._axis_said(axis_text, kind) if axis_text else None
        axis_text = axis_text if meaning else ""
        readings = self._readings.setdefault((kind, unit, axis_text), {})
        if person is None:
            return _Row(-1, "", "", kind, model, unit, meaning, readings, axis_text)
        if unknown:
            self._ask_for_model(line, unknown, person)
        found = self.found.persons.found[person]
        return _Row(
            person, found.shown, found.club, kind, model, unit, meaning, readings, axis_text
        )

    def _apparatus_said(self, text: str) -> tuple[str | None, str | None]:
        """The known model and the kind that a cell names, as written or as a person answered."""
        if text not in self._apparatus and len(self._apparatus) < MOST_AXES:
            answers, known = self.found.answers, self.found.known_models
            answered = answers.get(f"model:{_tidy(text)}", "")
            model = (
                known.named(text) or known.named(answered) or known.named(answers.get("model", ""))
            )
            said = header_words(text if is_known_whole(text) else "")
            kinds = {at.kind for at in said.axes}
            kind = known.kind_of(model) if model else said.kind
            if kind is None and len(kinds & self._kinds_of_values) == 1:
                [kind] = kinds & self._kinds_of_values
            if kind is None and answered in KINDS:
                kind = answered
            self._apparatus[text] = model, kind
        return self._apparatus.get(text, (None, None))

    @cached_property
    def _kinds_of_values(self) -> set[str]:
        """The kinds that all of the columns of values can be of."""
        axes = [column.meaning.axes for column in self._values.values() if column.meaning.axes]
        kinds = [{at.kind for at in of_column} for of_column in axes]
        return set.intersection(*kinds) if kinds else set()

    def _ask_for_model(self, line: Line, text: str, person: int) -> None:
        """Ask once which apparatus a word means; whoever has it waits."""
        name = _tidy(text)
        key = f"model:{name}"
        self.found.hold([person], key)
        if any(one.key == key for one in self.found.questions):
            return
        column = next(
            one.place
            for one in self._of_rows
            if (cell := self.grid.at(line, one.place)) is not None and cell.text == text
        )
        models = tuple(Choice(known, known) for known in self.found.models)
        kinds = tuple(Choice(kind.key, f"no model: {kind.name.lower()}") for kind in KINDS.values())
        number, letter = self.grid.where(line, column)
        self.found.ask(
            ColumnQuestion(
                key=key,
                about="model",
                sheet=self.grid.sheet,
                line=letter,
                row=number,
                header=name,
                why=(MODEL_UNKNOWN if models else NO_APPARATUS).format(
                    model=quoted(name), known=", ".join(self.found.models)
                ),
                choices=models + kinds,
                likely=self._likely_model(),
                cells=sum(text == at.text for one in self.block.body for at in one.cells.values()),
                examples=(name,),
            )
        )

    def _likely_model(self) -> str:
        """The only model of the kind that the columns are of; nothing where there are several."""
        of_kind = [
            name for name, kind in self.found.models.items() if kind in self._kinds_of_values
        ]
        return of_kind[0] if len(of_kind) == 1 else ""

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
        texts, cleaned = {}, ""
        for role, column in self._about_persons.items():
            cell = self.grid.at(line, column.place)
            if cell is not None:
                texts[role] = clean(cell.text)
                if role in _NAMED and texts[role] != _tidy(cell.text):
                    cleaned = cleaned or texts[role]
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
        self.last = (line.number, self._place_of(line, person))
        if cleaned:
            number, letter = self.grid.where(line, self._name_places[0])
            where = (self.grid.sheet, number, letter)
            why = CLEANED.format(name=quoted(person.shown))
            self.found.note(NoteKind.CLEANED, where, cleaned, why, persons=[self.last[1]])
        return self.last[1]

    def _place_of(self, line: Line, person: PersonFound) -> int:
        number, letter = self.grid.where(line, self._name_places[0])
        key = f"who:{self.grid.sheet}!{letter}{number}"
        place, doubtful = self.found.persons.place_of(person, key, self.found.answers)
        where = (self.grid.sheet, number, letter)
        if doubtful is not None:
            shown = person.shown
            query = Query(*where, shown, doubtful.why, place, key if doubtful.is_answerable else "")
            self.found.queries.append(query)
            others = [] if doubtful.other is None else [doubtful.other]
            self.found.hold([place, *others], key)
        if _has_a_note(person.shown):
            note = self.found.note(
                NoteKind.REMARK,
                where,
                person.shown,
                UNSURE_NAME,
                says=(NoteSays.DOUBT,),
                persons=[place],
                choices=(READ, LEAVE_OUT),
            )
            self._leave_out(note, [line])
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

    def unit_of(self, at: tuple[int, str]) -> ListUnit | None:
        """The unit that values or a person told for a column that states none."""
        return self._untold.get(at)

    @property
    def name_places(self) -> list[int]:
        """Where names stand in each line."""
        return self._name_places

    @property
    def value_places(self) -> list[int]:
        """Where lengths and marks stand in each line."""
        return list(self._values)

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

    def _query_unknown_columns(self) -> None:
        """A column whose header says nothing that is known, at the header."""
        header = self.block.header_lines[-1]
        for column in self.block.columns.values():
            is_no_column = not column.is_settled and self._is_bare(column.place)
            if is_no_column and set(note_says(column.header)) - {NoteSays.UNIT}:
                where = self.grid.where(header, column.place)
                self.table_note(NoteKind.FOOTNOTE, where, column.header)
            elif column.role is None and column.header and not column.meaning.is_ambiguous:
                self._query(header, column.place, UNKNOWN_COLUMN, column.header)
            first = self._about_persons.get(column.role) if column.role else None
            if column.role and first not in (None, column):
                why = HELD_ALREADY.format(holds=column.role.value)
                self._query(header, column.place, why, column.header)

    def _is_bare(self, place: int) -> bool:
        return not any(place in line.cells for line in self.block.body)

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
        self.found.count_query()
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


def _has_a_note(name: str) -> bool:
    """Whether a question mark, a footnote's sign or words in brackets stand with a name."""
    in_brackets = _IN_BRACKETS.search(name)
    return bool(_BESIDE_A_NAME.search(name) or (in_brackets and note_says(in_brackets[1])))


def _is_legend(text: str) -> bool:
    """Whether a text beside the rows tells what something in them means: "red = old"."""
    return bool(note_says(text)) and any(sign in text for sign in "=:：＝")


def _is_our_reason(header: str) -> bool:
    ours = SquadColumns(()).find(header)
    return ours is not None and ours.role is OurRole.REASON


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


def clean(text: str) -> str:
    """A name on one line without signs that nobody sees; those that join letters stay."""
    signs = [
        sign
        for sign in text
        if sign in _JOINING or sign.isspace() or unicodedata.category(sign) not in _UNSEEN
    ]
    return _tidy("".join(signs)).strip("".join(_JOINING))


_JOINING = frozenset("\u200c\u200d")
_UNSEEN = frozenset(("Cc", "Cf", "Cs", "Co", "Cn"))


def _tidy(text: str) -> str:
    return unicodedata.normalize("NFC", " ".join(text.split()))
