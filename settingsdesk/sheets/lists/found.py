"""What the tables of a file have come to, and how the cells of one column come to it."""

import re
import unicodedata
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from settingsdesk.sheets.lists.grid import Grid, Line
from settingsdesk.sheets.lists.known_models import KnownModels
from settingsdesk.sheets.lists.persons import Persons
from settingsdesk.sheets.lists.preview import (
    READ,
    Accepted,
    Answers,
    Choice,
    ColumnQuestion,
    Marks,
    Note,
    NoteKind,
    NoteSays,
    Place,
    Query,
)
from settingsdesk.sheets.lists.values import Doubt, Said, Value, read_value
from settingsdesk.sheets.refusals import WorkbookHoldsTooMuch
from settingsdesk.sheets.table import Cell, CellKind

_BLANKS_AT_A_SIGN = re.compile(r" ?([/|:+–-]) ?")
MOST_QUERIES = 30_000  # of all cells; a list of 5,000 athletes in which each third cell is in doubt
MOST_ATHLETES = 10_000  # twice as many as a table has rows
MOST_DOUBTS = 20_000  # different texts that are no values: nobody settles so many


@dataclass(slots=True)
class Found:
    """What the tables of a file have come to so far."""

    accepted: list[Accepted] = field(default_factory=list)
    unbelieved: list[Accepted] = field(default_factory=list)
    queries: list[Query] = field(default_factory=list)
    persons: Persons = field(default_factory=Persons)
    models: Mapping[str, str] = field(default_factory=dict)
    file_name: str = ""
    doubts: int = 0
    answers: Answers = field(default_factory=dict)
    marks: Marks = field(default_factory=dict)
    notes: list[Note] = field(default_factory=list)
    questions: list[ColumnQuestion] = field(default_factory=list)
    dropped: set[Place] = field(default_factory=set)
    """Cells of which nothing is taken."""
    left_out: set[tuple[str, int]] = field(default_factory=set)
    """Lines that somebody said are to be left out, by sheet and number."""
    texts: list[tuple[NoteKind, Place, str]] = field(default_factory=list)
    """What sheets without a table say of values: it bears on everybody."""
    places: dict[int, int] | None = None
    """Where athletes stand once those who are left out are gone."""
    _known: KnownModels | None = None
    _labels: dict[tuple[str | None, str | None, str | None], dict[str, list[str]]] = field(
        default_factory=dict
    )

    @property
    def known_models(self) -> KnownModels:
        """The models that are known, to be found by their names however they are written."""
        if self._known is None:
            self._known = KnownModels(self.models)
        return self._known

    def note(
        self,
        kind: NoteKind,
        where: Place,
        text: str,
        why: str,
        *,
        says: tuple[NoteSays, ...] = (),
        persons: Iterable[int] = (),
        choices: tuple[Choice, ...] = (),
        key: str = "",
        of_column: str = "",
        of_all: str = "",
        likely: str = "",
    ) -> Note:
        """One more note; those it bears on wait for it while it is open.

        What is answered for all notes of a column counts where it may be answered to this one.
        """
        sheet, row, column = where
        key = key or f"note:{sheet}!{column}{row}"
        answered = self.answers.get(key) or self.answers.get(of_column, "")
        for_all = self.answers.get(of_all, "")
        if not answered and for_all in [choice.value for choice in choices]:
            answered = for_all
        bears_on = tuple(dict.fromkeys(persons))
        note = Note(
            key,
            kind,
            sheet,
            row,
            column,
            text,
            says,
            bears_on,
            why,
            choices,
            answered,
            of_column,
            of_all,
        )
        self.notes.append(note)
        if note.is_open:
            person = bears_on[0] if len(bears_on) == 1 else None
            likely = likely or ("" if says else READ.value)
            self.queries.append(Query(sheet, row, column, text, why, person, key, likely))
            self.hold(bears_on, key)
        return note

    def hold(self, persons: Iterable[int], key: str) -> None:
        """Let those athletes wait until the query of that key is answered."""
        for place in persons:
            waits = self.persons.found[place].waits
            if key not in waits:
                waits.append(key)

    def new_place(self, place: int | None) -> int | None:
        """Where an athlete stands once those who are left out are gone; None for one of them."""
        if place is None or self.places is None:
            return place
        return self.places.get(place)

    def placed(self, values: Iterable[Accepted]) -> Iterator[Accepted]:
        """The values with the places that athletes have in the end; none of those left out."""
        for value in values:
            at = self.new_place(value.person)
            if at is not None:
                yield value if at == value.person else value._replace(person=at)

    def placed_notes(self) -> Iterator[Note]:
        """The notes with the places that athletes have in the end."""
        for note in self.notes:
            places = [self.new_place(at) for at in note.persons]
            yield replace(note, persons=tuple(at for at in places if at is not None))

    def drop_cell(self, grid: Grid, line: Line, place: int) -> None:
        """Take nothing of a cell."""
        self.dropped.add((grid.sheet, *grid.where(line, place)))

    def drop_line(self, grid: Grid, line: Line, *, is_answered: bool) -> None:
        """Take nothing of a line; once somebody has said so, nor of whom it alone names."""
        for place in line.cells:
            self.drop_cell(grid, line, place)
        if is_answered:
            self.left_out.add((grid.sheet, line.number))

    def ask(self, question: ColumnQuestion, at: tuple[int, str, str] | None = None) -> None:
        """Ask once for a whole column, at its header, or at the only cell that it has.

        ``at`` are that cell's row, its column and what stands there.
        """
        self.questions.append(question)
        self.queries.append(
            Query(
                question.sheet,
                *(at or (question.row, question.line, question.header)),
                question.why,
                key=question.key,
                likely=question.likely,
            )
        )

    def labels_of(
        self, kind: str | None, axis: str | None, model: str | None
    ) -> Collection[str] | None:
        """The marks that may be meant: of that model, or of all of the kind; None if unknown."""
        of_kind = [name for name, its_kind in self.models.items() if kind in (None, its_kind)]
        names = [model] if model is not None and model in self.marks else of_kind
        known = [self.marks[name] for name in names if name in self.marks]
        if not known:
            return None
        return {label for axes in known for label in axes.get(axis or "", ())}

    def printed_labels(
        self, kind: str | None, axis: str | None, model: str | None
    ) -> Mapping[str, Sequence[str]]:
        """The same labels, by how they read without capitals, width and blanks."""
        at = (kind, axis, model)
        if at not in self._labels:
            by_signs = self._labels[at] = {}
            for label in self.labels_of(kind, axis, model) or ():
                by_signs.setdefault(as_printed(label), []).append(label)
        return self._labels[at]

    def query(
        self,
        grid: Grid,
        line: Line,
        place: int,
        why: str,
        read: str | None = None,
        person: int | None = None,
        *,
        is_only_said: bool = False,
    ) -> None:
        """One more cell to be settled; ``WorkbookHoldsTooMuch`` where it is no list.

        ``read`` is what stands there, where that is not the cell's text.
        """
        if len(self.queries) > MOST_QUERIES:
            raise WorkbookHoldsTooMuch(self.file_name, "cells in doubt", MOST_QUERIES)
        number, column = grid.where(line, place)
        cell = grid.at(line, place)
        text = read if read is not None else (cell.text if cell else "")
        self.queries.append(
            Query(grid.sheet, number, column, text, why, person, is_only_said=is_only_said)
        )

    def must_not_be_too_many(self) -> None:
        """``WorkbookHoldsTooMuch`` where a file names more athletes than any club has."""
        if len(self.persons.found) > MOST_ATHLETES:
            raise WorkbookHoldsTooMuch(self.file_name, "athletes", MOST_ATHLETES)

    def count_doubt(self) -> None:
        """Count one more text that is no value; ``WorkbookHoldsTooMuch`` where it is no list."""
        self.doubts += 1
        if self.doubts > MOST_DOUBTS:
            raise WorkbookHoldsTooMuch(self.file_name, "different cells in doubt", MOST_DOUBTS)


def as_printed(label: str) -> str:
    """A label without what nobody tells apart on a rail: capitals, width, and blanks at signs."""
    plain = " ".join(unicodedata.normalize("NFKC", label).casefold().split())
    return _BLANKS_AT_A_SIGN.sub(r"\1", plain)


@dataclass(slots=True)
class ColumnReading:
    """The cells of a column of which the same is known; equal cells are read once."""

    said: Said
    found: Found
    _numbers: dict[str, Value | Doubt] = field(default_factory=dict)
    _texts: dict[str, Value | Doubt] = field(default_factory=dict)

    def read(self, cell: Cell) -> Value | Doubt:
        """What the cell says."""
        if cell.kind is CellKind.NUMBER:
            known = self._numbers
        elif cell.kind is CellKind.TEXT:
            known = self._texts
        else:
            return read_value(cell.text, cell.kind, self.said)
        read = known.get(cell.text)
        if read is None:
            read = known[cell.text] = read_value(cell.text, cell.kind, self.said)
            if isinstance(read, Doubt):
                self.found.count_doubt()
        return read
