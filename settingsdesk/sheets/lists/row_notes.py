"""What one table says besides its values: notes, titles, remarks, and lines that name nobody."""

import re
from collections.abc import Iterable, Iterator, Sequence
from functools import cached_property
from hashlib import sha256

from settingsdesk.domain.base.datums import HeightDatum, SpreadDatum
from settingsdesk.domain.base.names import on_one_line
from settingsdesk.domain.settings.crew_note import LONGEST as LONGEST_NOTE
from settingsdesk.sheets.lists.blocks import Block
from settingsdesk.sheets.lists.found import Found
from settingsdesk.sheets.lists.grid import Grid, Line
from settingsdesk.sheets.lists.headers import is_value_like
from settingsdesk.sheets.lists.layout import Layout
from settingsdesk.sheets.lists.notes import (
    is_as_kept,
    is_no_name,
    may_change,
    note_says,
    only_names_a_mat,
    tells_more_of_lengths,
)
from settingsdesk.sheets.lists.preview import (
    APPLIES,
    CREW_NOTE,
    LEAVE_OUT,
    NOT_COMING,
    NUMBERS_OUT,
    READ,
    TAKE,
    Choice,
    Note,
    NoteKind,
    NoteSays,
    Place,
    Query,
)
from settingsdesk.sheets.lists.units import ListUnit
from settingsdesk.sheets.lists.values_said import Said
from settingsdesk.sheets.lists.vocabulary import header_words

MOST_CELLS_OF_A_NOTE = 3
A_REMARK = "A remark on this athlete: read it, and say whether it changes what is taken"
ONLY_A_REMARK = "Only a remark stands with this athlete: say whether it means that they do not come"
A_NOTE = "This is a note beside the table: read it, nothing of it was taken"
NOTE_OF_VALUES = (
    "This is a note that may change what the lengths mean: say whether it does, nothing is taken"
    " till then"
)
NOTE_NOT_KNOWN = (
    "This is a note, and nobody but a person can tell whether it changes what the lengths mean:"
    " nothing is taken till somebody has read it"
)
FIGURE_IN_REMARK = "This remark has a figure in it: read it, nothing of it was taken"
UNSURE_NAME = "More than a name stands here: read it, and say whether it changes what is taken"
_BESIDE_A_NAME = re.compile(r"[?？؟]\s*$|[*†‡※]")
_IN_BRACKETS = re.compile(r"[(\[（]\s*[^\W\d_]")  # "(*2012)" is a year


class Notes:
    """The texts of one table that are no values."""

    def __init__(self, grid: Grid, block: Block, found: Found, layout: Layout) -> None:
        self.grid, self.block, self.found, self.layout = grid, block, found, layout
        self._of_table: list[tuple[NoteKind, tuple[int, str], str]] = []

    def is_note(self, line: Line) -> bool:
        """Whether a line without any value says something, and names nobody."""
        cells = line.cells
        if len(cells) > MOST_CELLS_OF_A_NOTE or self.block.is_long:
            return False
        if any(is_value_like(cell) for cell in cells.values()):
            return False
        first = min(cells)
        others = [place for place in cells if place != first]
        if any(place in self.layout.values for place in others):
            return False
        if is_no_name(cells[first].text):
            return first in self.layout.name_places or not any(
                at in cells for at in self.layout.name_places
            )
        if others or first not in self.layout.name_places:
            return False
        return self.layout.has_both_names or self._stands_below(line)

    def _stands_below(self, line: Line) -> bool:
        """Whether a line stands apart below the table, or below a line that does."""
        last = self._last_with_values
        numbers = [of_body.number for of_body in self.block.body if of_body.number >= last]
        below = (
            number
            for number, before in zip(numbers[1:], numbers, strict=False)
            if number > before + 1
        )
        return line.number >= next(below, line.number + 1)

    @cached_property
    def _last_with_values(self) -> int:
        return max(
            (line.number for line in self.block.body if self.layout.has_values(line)), default=0
        )

    def beside(self, line: Line) -> None:
        """A note beside the table: said once; all wait where its words can change a value."""
        first = min(line.cells)
        words = [cell.text for cell in line.cells.values() if not is_value_like(cell)]
        text = " ".join(words) or line.cells[first].text
        self.of_table(NoteKind.FOOTNOTE, self.grid.where(line, first), text)

    def of_table(self, kind: NoteKind, where: tuple[int, str], text: str) -> None:
        """A note of the whole table; whom it bears on is known when all of the table is read."""
        self._of_table.append((kind, where, text))

    def say(self, everybody: Iterable[int], lines: Sequence[Line]) -> None:
        """Say the notes of the table, now that the athletes on whose lines they bear are known."""
        persons = tuple(dict.fromkeys(everybody))
        for kind, (number, column), text in self._of_table:
            where = (self.grid.sheet, number, column)
            is_title = kind is NoteKind.TITLE
            says = self._says_more(text, is_read=is_title and not self.block.is_ours)
            if says:
                choices = (READ, *((APPLIES,) if self._can_apply(text) else ()), LEAVE_OUT)
                note = self.found.note(
                    kind, where, text, NOTE_OF_VALUES, says=says, persons=persons, choices=choices
                )
                self.leave_out(note, lines)
                continue
            is_open = tells_more_of_lengths(text) if is_title else may_change(text)
            if is_open and not self.block.is_ours:
                choices = (READ, LEAVE_OUT)
                note = self.found.note(
                    kind, where, text, NOTE_NOT_KNOWN, persons=persons, choices=choices
                )
                self.leave_out(note, lines)
                continue
            self.found.note(kind, where, text, A_NOTE, persons=persons)
            if not (is_title or self.block.is_ours):
                self.found.queries.append(Query(*where, text, A_NOTE))

    def _can_apply(self, text: str) -> bool:
        """Whether lengths can be read as a note says: ours say it themselves, each column.

        That a mat lies there does not say that heights are taken from it.
        """
        said = header_words(text)
        is_of_lengths = said.levels or said.edges or said.spreads or said.units
        return bool(is_of_lengths) and not self.block.is_ours

    def _says_more(self, text: str, *, is_read: bool) -> tuple[NoteSays, ...]:
        """What a note says of values that is not read by it already."""
        known = set()
        is_known = is_read and not only_names_a_mat(text)
        if is_known or (is_as_kept(text) and not self._states_a_datum and not is_read):
            known.add(NoteSays.DATUM)
        if is_read or self._has_unit(header_words(text).units):
            known.add(NoteSays.UNIT)
        return tuple(said for said in note_says(text) if said not in known)

    @property
    def _said(self) -> Iterator[Said]:
        """What is known of each column of values."""
        context = self.block.context
        return (context.said(column, context.kind) for column in self.layout.values.values())

    @cached_property
    def _states_a_datum(self) -> bool:
        return any(
            said.datum not in (None, HeightDatum()) or said.spread not in (None, SpreadDatum.INNER)
            for said in self._said
        )

    def _has_unit(self, units: tuple[ListUnit, ...]) -> bool:
        """Whether that is the only unit here; in our own columns, where marks stand beside it."""
        told = {said.unit for said in self._said}
        marks = {ListUnit.MARK} if self.block.is_ours else set()
        return len(units) == 1 and told - marks == set(units) - marks

    def remark(
        self, line: Line, place: int, text: str, person: int | None, model: str | None
    ) -> None:
        """A remark in the row of an athlete, who waits until somebody has read it.

        ``model`` is the one that the row names, for which it may be kept as a note for the crew.
        """
        number, letter = self.grid.where(line, place)
        has_figure = any(sign.isdigit() for sign in line.cells[place].text)
        is_all = not any(at in self.layout.values for at in line.cells)
        if self.block.columns[place].is_role_said and not (is_all and person is not None):
            if has_figure:
                self.found.query(self.grid, line, place, FIGURE_IN_REMARK, person=person)
            return  # somebody has looked at it, and said that it is no more than a remark
        words = on_one_line(text)
        choices: tuple[Choice, ...] = (
            (READ, NOT_COMING) if is_all else (TAKE, NUMBERS_OUT, NOT_COMING)
        )
        if not is_all and person is not None and len(words) <= LONGEST_NOTE:
            choices = (TAKE, CREW_NOTE, NUMBERS_OUT, NOT_COMING)
        of_all = f"notes:{self.grid.sheet}!{self.grid.name_of_place(place)}"
        note = self.found.note(
            NoteKind.REMARK,
            (self.grid.sheet, number, letter),
            text,
            ONLY_A_REMARK if is_all else FIGURE_IN_REMARK if has_figure else A_REMARK,
            says=note_says(text),
            persons=[] if person is None else [person],
            choices=choices,
            of_column=f"{of_all}:{_key_of(text)}",
            of_all="" if is_all else of_all,
        )
        if person is not None and note.answered == CREW_NOTE.value:
            noted = self.found.persons.found[person].crew_notes
            before, at = noted.get(model, ("", (self.grid.sheet, number, letter)))
            noted[model] = ("; ".join(filter(None, (before, words))), at)
        self.leave_out(note, [line])

    def of_name(self, line: Line, where: Place, name: str, person: int) -> None:
        """A note where more than a name stands with it."""
        if self.block.is_ours:
            return  # what stands with a name is a part of it there
        note = self.found.note(
            NoteKind.REMARK,
            where,
            name,
            UNSURE_NAME,
            says=(NoteSays.DOUBT,),
            persons=[person],
            choices=(READ, LEAVE_OUT),
            of_column=f"names:{self.grid.sheet}",
        )
        self.leave_out(note, [line])

    def leave_out(self, note: Note, lines: Iterable[Line]) -> None:
        """Take no value of those lines where somebody answered so."""
        if note.answered == LEAVE_OUT.value:
            for line in lines:
                self.found.drop_line(self.grid, line, is_answered=False)


def _key_of(text: str) -> str:
    """By what the same words in another row are known."""
    return sha256(" ".join(text.split()).casefold().encode()).hexdigest()[:8]


def has_a_note(name: str) -> bool:
    """Whether a question mark, a footnote's sign or words in brackets stand with a name."""
    return bool(_BESIDE_A_NAME.search(name) or _IN_BRACKETS.search(name))


def is_legend(text: str) -> bool:
    """Whether a text beside the rows tells what something in them means: "red = old"."""
    is_told = any(sign in text for sign in "=＝")
    return is_told or (bool(note_says(text)) and any(sign in text for sign in ":："))
