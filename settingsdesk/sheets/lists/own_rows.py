"""The strict layout: a table of our own columns, as the desk writes it out and takes it whole.

Each header says all of its cells, so no row is a total or a note, names are as they are written,
and nothing is guessed. Whatever cannot be taken is a query at its cell.
"""

import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from settingsdesk.domain.base.figures import quoted
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.domain.base.names import on_one_line
from settingsdesk.domain.settings.crew_note import LONGEST as LONGEST_NOTE
from settingsdesk.domain.settings.purposes import USUAL
from settingsdesk.sheets.columns import are_ours, our_column
from settingsdesk.sheets.lists.blocks import Block, Context
from settingsdesk.sheets.lists.found import ColumnReading, Found
from settingsdesk.sheets.lists.grid import Grid, Line
from settingsdesk.sheets.lists.headers import Column
from settingsdesk.sheets.lists.preview import PersonFound, model_key
from settingsdesk.sheets.lists.row_persons import LONGEST_NAME
from settingsdesk.sheets.lists.rows import NO_HEADER, BlockReading, Row
from settingsdesk.sheets.lists.units import ListUnit
from settingsdesk.sheets.lists.values import Doubt, Said, Value
from settingsdesk.sheets.lists.vocabulary import Axis, Role
from settingsdesk.sheets.table import REPLACEMENT, Cell, CellKind

AMONG_FIRST_LINES = 20
FEWEST_HEADERS = 2  # a title may have the word of one header in it, hardly of two

NOT_TEXT = "The cell holds {kind}, and text is expected: format it as text and type it again"
NOT_PRINTABLE = "The text has signs that cannot be printed: type it again without the sign �"
NO_NAME = "No athlete is named in this row: write the athlete's family name and given name"
TOO_LONG = "A name has at most {most} characters, and this one has {signs}: shorten it"
NOTE_TOO_LONG = "A note for the crew has at most {most} characters, and this one has {signs}"
OTHER_PRINTED_NAME = "Row {row} is of the same athlete and has {name}: leave one of the two"
ROW_TWICE = "Row {row} is of the same athlete, model and purpose: leave one of the two rows"
NO_MODEL = "Lengths and marks stand in this row, and no model that they belong to: write its name"
TWO_VALUES = "Column {column} has {read} for the same: leave a length or a mark, and not both"
DEVIATION_OF_NOTHING = "No length or mark stands in this row that this deviation is from: write it"
OTHER_KIND = "{model} is {kind} and has no such adjustment: clear the cell"
LACKING = "{axis}: a length or a mark is missing, and {model} needs every adjustment"

INVISIBLE_AT_THE_ENDS = "\u200b\ufeff"
_UNSEEN = frozenset(("Cc", "Cs"))
_Places = tuple[int | None, int | None, int | None]
"""Where lengths, marks and accepted deviations of an axis stand; None without such a column."""


def own_block(grid: Grid) -> Block | None:
    """The table of a sheet whose headers are all ours; None where it is somebody's own list."""
    for at, line in enumerate(grid.lines[:AMONG_FIRST_LINES]):
        headers = {place: cell.text for place, cell in line.cells.items()}
        if sum(our_column(header) is not None for header in headers.values()) < FEWEST_HEADERS:
            continue
        if not are_ours(list(headers.values())):
            return None
        return Block(
            header_line=line.number,
            header_lines=(line,),
            columns=dict(_columns(headers)),
            context=Context(),
            body=tuple(grid.lines[at + 1 :]),
            titles=tuple(grid.lines[:at]),
            is_ours=True,
        )
    return None


def _columns(headers: Mapping[int, str]) -> Iterator[tuple[int, Column]]:
    for place, header in headers.items():
        if ours := our_column(header):
            yield place, Column(place, header, ours.meaning, ours.meaning)


@dataclass(slots=True)
class MarksAsWritten(ColumnReading):
    """A column of marks, of which each is whatever is written there."""

    def read(self, cell: Cell) -> Value | Doubt:
        """The mark of that label."""
        if why := why_no_text(cell):
            return Doubt(why)
        label = as_written(cell.text)
        return Value(None, label, ListUnit.MARK, f"mark {label}")


class OwnRows(BlockReading):
    """One table of our own columns being read into what was found."""

    def __init__(self, grid: Grid, block: Block, found: Found) -> None:
        super().__init__(grid, block, found)
        found.persons.as_written = True
        self._rows: dict[tuple[int, str], int] = {}
        """The row in which each athlete stands with each model for each purpose."""
        self._printed: dict[int, tuple[int, str]] = {}
        """The printed name of each athlete, with the row that says it."""
        [of_model] = block.of_role(Role.MODEL)
        self._model_place = of_model.place
        self._axes = _axes(block)
        self._by_kind = {
            place for place, column in block.columns.items() if column.meaning.is_ambiguous
        }
        """The columns of which only the kind of a row's apparatus tells the axis."""

    def _is_no_athlete(self, line: Line) -> bool:
        return False

    def _query_unknown_columns(self) -> None:
        """None is unknown."""

    def _person(self, line: Line) -> int:
        texts = {
            role: self._text(line, column.place)
            for role, column in self.layout.about_persons.items()
            if column.place in line.cells
        }
        first = self.layout.name_places[0]
        person = PersonFound(
            family_name=texts.get(Role.FAMILY_NAME, ""),
            given_name=texts.get(Role.GIVEN_NAME, ""),
            printed_name=texts.get(Role.PRINTED_NAME, ""),
            group=texts.get(Role.GROUP, ""),
            number_here=texts.get(Role.NUMBER_HERE, ""),
            rows=[(self.grid.sheet, line.number)],
        )
        if not person.shown:
            self.found.query(self.grid, line, first, NO_NAME)
        at = self.names.place_of(line, person)
        for role in (Role.FAMILY_NAME, Role.GIVEN_NAME):
            if not texts.get(role):
                where = self.grid.where(line, self.layout.about_persons[role].place)
                person.at = (self.grid.sheet, *where)
        if person.printed_name:
            row, printed = self._printed.setdefault(at, (line.number, person.printed_name))
            if printed != person.printed_name:
                place = self.layout.about_persons[Role.PRINTED_NAME].place
                why = OTHER_PRINTED_NAME.format(row=row, name=quoted(printed))
                self.found.query(self.grid, line, place, why, person=at)
        return at

    def _text(self, line: Line, place: int) -> str:
        """A name on one line, and a query where no card could carry it."""
        cell = line.cells[place]
        text = as_written(cell.text)
        why = why_no_text(cell)
        if len(text) > LONGEST_NAME:
            why = TOO_LONG.format(most=LONGEST_NAME, signs=len(text))
        if why:
            self.found.query(self.grid, line, place, why)
        return text[:LONGEST_NAME]

    def _apparatus_said(self, text: str) -> tuple[str | None, str | None]:
        """The model of that name, or the one that a person chose for it."""
        known = self.found.known_models
        name = as_written(text)
        model = known.named(name) or known.named(self.found.answers.get(f"model:{name}", ""))
        return (model, known.kind_of(model)) if model else (None, None)

    def _column_reading(self, said: Said) -> ColumnReading:
        reads = MarksAsWritten if said.unit is ListUnit.MARK else ColumnReading
        return reads(said, self.found)

    def _cells(self, line: Line, row: Row) -> None:
        """Each cell that can be taken; the row is one of its athlete and model alone."""
        of_what = model_key((row.model or "").casefold(), row.purpose or USUAL) or ""
        first = self._rows.setdefault((row.person or 0, of_what), line.number)
        if first != line.number and row.athlete:
            self._doubt(line, self.layout.name_places[0], ROW_TWICE.format(row=first), row)
            return
        faults = list(self._faults(line, row))
        for place, why in faults:
            self._doubt(line, place, why, row)
        faulty = {place for place, _ in faults}
        if row.kind is None:
            faulty |= self._by_kind
        sound = {place: cell for place, cell in line.cells.items() if place not in faulty}
        super()._cells(Line(line.number, sound), row)

    def _cell(self, line: Line, place: int, cell: Cell, row: Row) -> None:
        if self.layout.uses[place] is Role.CREW_NOTE and row.person is not None:
            self._keep_crew_note(line, place, cell, row)
        elif self.layout.uses[place] is Role.REASON and row.person is not None:
            of_what = model_key(row.model, row.purpose or USUAL)
            self.found.persons.found[row.person].reasons[of_what] = _lines_of(cell.text)
        else:
            super()._cell(line, place, cell, row)

    def _faults(self, line: Line, row: Row) -> Iterator[tuple[int, str]]:
        """What cannot be taken of a row for another reason than what a length or mark says."""
        cells = line.cells
        for place, cell in cells.items():
            use = self.layout.uses.get(place)
            if use is None:
                yield place, NO_HEADER
            elif use in (Role.MODEL, Role.REASON, Role.CREW_NOTE) and (why := why_no_text(cell)):
                yield place, why
            elif use is Role.CREW_NOTE and (signs := len(as_written(cell.text))) > LONGEST_NOTE:
                yield place, NOTE_TOO_LONG.format(most=LONGEST_NOTE, signs=signs)
        for_a_model = [place for places in self._axes.values() for place in places]
        if self.layout.of_purpose is not None:
            for_a_model.append(self.layout.of_purpose.place)
        if self._model_place not in cells and any(place in cells for place in for_a_model):
            yield self._model_place, NO_MODEL
        for axes, places in self._axes.items():
            yield from self._faults_of_axis(axes, places, line, row)
        for axis in KINDS[row.kind].axes if row.kind else ():
            if not any((row.kind, axis.key) in axes for axes in self._axes):
                yield self._model_place, LACKING.format(axis=axis.name, model=row.model)

    def _faults_of_axis(
        self, axes: Sequence[Axis], places: _Places, line: Line, row: Row
    ) -> Iterator[tuple[int, str]]:
        length, mark, accepts = places
        here = [place for place in places if place is not None and place in line.cells]
        of_model = [at for at in axes if at.kind == row.kind]
        if row.kind and not of_model:
            kind = KINDS[row.kind].name.lower()
            yield from ((at, OTHER_KIND.format(model=row.model, kind=kind)) for at in here)
        elif length in here and mark in here:
            column = self.grid.name_of_place(length)
            yield mark, TWO_VALUES.format(column=column, read=quoted(line.cells[length].text))
        elif accepts in here and len(here) == 1:
            yield accepts, DEVIATION_OF_NOTHING
        elif of_model and not here:
            axis = KINDS[of_model[0].kind].axis(of_model[0].axis).name
            at = next((place for place in places if place is not None), self._model_place)
            yield at, LACKING.format(axis=axis, model=row.model)


def _axes(block: Block) -> dict[tuple[Axis, ...], _Places]:
    """The columns of each axis; those of one name have the same columns."""
    found: dict[tuple[Axis, ...], list[int | None]] = {}
    for column in block.of_role(Role.VALUE, Role.ACCEPTS):
        at = 2 if column.role is Role.ACCEPTS else int(column.meaning.unit is ListUnit.MARK)
        found.setdefault(column.meaning.axes, [None, None, None])[at] = column.place
    return {axes: (places[0], places[1], places[2]) for axes, places in found.items()}


def as_written(text: str) -> str:
    """A name or mark on one line: composed characters (NFC), single blanks."""
    return on_one_line(text).strip(INVISIBLE_AT_THE_ENDS)


def _lines_of(text: str) -> str:
    """A note, which may have several lines."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").strip()
    return unicodedata.normalize("NFC", lines.strip(INVISIBLE_AT_THE_ENDS))


def why_no_text(cell: Cell) -> str:
    """Why a cell is no text, or none that can be printed; empty where it is."""
    if cell.kind not in (CellKind.TEXT, CellKind.NUMBER):
        return NOT_TEXT.format(kind=cell.kind.value)
    is_printable = all(
        sign in "\t\r\n" or (sign != REPLACEMENT and unicodedata.category(sign) not in _UNSEEN)
        for sign in cell.text
    )
    return "" if is_printable else NOT_PRINTABLE
