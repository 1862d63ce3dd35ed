"""What cells of a table say by their look, by a comment, or by being hidden.

Each is a note with its place. What is hidden or struck through is not taken unless somebody asks
for it; a colour that its column does not have, and a comment, may mean anything.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

from settingsdesk.sheets.lists.blocks import Block
from settingsdesk.sheets.lists.found import Found
from settingsdesk.sheets.lists.grid import Grid, Line
from settingsdesk.sheets.lists.notes import column_says, is_only_a_limit, note_says
from settingsdesk.sheets.lists.preview import LEAVE_OUT, READ, READ_LIKE_ALL, NoteKind, NoteSays
from settingsdesk.sheets.lists.rows import BlockReading
from settingsdesk.sheets.lists.vocabulary import Role

_ALTERNATES = 0.6  # of the changes from row to row that strict stripes have
_OF_A_BAND = 0.3  # of a column's cells
_NAMED_OF_A_COLOUR = 12

HIDDEN = "This {line} is hidden, so nothing of it is taken: say whether it counts"
OLD_COLUMN = "This column says that it is old, so nothing of it is taken: say whether it counts"
DOUBTFUL_COLUMN = (
    "This column says that it is not sure: nothing is taken of it till that is settled"
)
LIMITS = (
    "This column says that its lengths are limits: nothing is taken of it till it is said whether"
    " they are what is wanted"
)
OTHERWISE_COLUMN = (
    "The header says that these lengths are taken otherwise than from any point that is known here,"
    " such as to the outside or by half: say whether they are to be read as all others"
)
_OF_COLUMNS = {
    NoteSays.AGE: OLD_COLUMN,
    NoteSays.OTHERWISE: OTHERWISE_COLUMN,
    NoteSays.DOUBT: DOUBTFUL_COLUMN,
}
"""What a header can say of all its column, the first that it says before the others."""
HIDDEN_COLUMN = "This column is hidden, so nothing of it is taken: say whether it counts"
HIDDEN_BESIDE = "This column is hidden; it was read like all others"
STRUCK = "This is struck through, so it is not taken: say whether it counts"
COLOUR = (
    "These cells are coloured otherwise than their column ({colour}): ask what the colour means"
)
COMMENT = "A comment hangs on this cell: read it, and say whether it changes what is taken"


class Marked:
    """The looks, comments and hidden lines of one table that has been read."""

    def __init__(self, grid: Grid, block: Block, reading: BlockReading, found: Found) -> None:
        self.grid, self.block, self.reading, self.found = grid, block, reading, found
        self.lines = {line.number: line for line in block.body}
        side = grid.on_its_side
        beside = grid.beside
        self._hidden_lines = beside.hidden_columns if side else beside.hidden_rows
        self._hidden_places = beside.hidden_rows if side else beside.hidden_columns

    def note(self) -> None:
        """Say each of them."""
        self._hidden()
        self._columns()
        self._headers()
        self._struck()
        self._comments()
        self._colours()

    def _hidden(self) -> None:
        for number in sorted(self._hidden_lines & self.lines.keys()):
            line = self.lines[number]
            if number in self.reading.persons:
                kind = NoteKind.HIDDEN_COLUMN if self.grid.on_its_side else NoteKind.HIDDEN_ROW
                why = HIDDEN.format(line="column" if self.grid.on_its_side else "row")
                self._unless_asked_for(kind, line, min(line.cells), why, line)

    def _columns(self) -> None:
        for place in sorted(self._hidden_places & self.block.columns.keys()):
            column = self.block.columns[place]
            header = self.block.header_lines[-1]
            number, letter = self.grid.where(header, place)
            where = (self.grid.sheet, number, letter)
            persons = self._who_has(place)
            if column.role not in (Role.VALUE, Role.ACCEPTS) or not persons:
                self.found.note(NoteKind.HIDDEN_COLUMN, where, column.header, HIDDEN_BESIDE)
                continue
            note = self.found.note(
                NoteKind.HIDDEN_COLUMN,
                where,
                column.header,
                HIDDEN_COLUMN,
                persons=persons,
                choices=(READ_LIKE_ALL, LEAVE_OUT),
            )
            if note.answered != READ.value:
                for line in self.block.body:
                    self.found.drop_cell(self.grid, line, place)

    def _headers(self) -> None:
        """What headers say of the age of their columns, and of how sure they are."""
        for place, column in () if self.block.is_ours else self.reading.layout.values.items():
            says = column_says(column.header) & _OF_COLUMNS.keys()
            is_limit = is_only_a_limit(column.header)
            if is_limit and place in self.reading.same_axis.asked:
                says = says - {NoteSays.DOUBT}  # it is asked there what is taken of them
            persons = self._who_has(place)
            if not says or not persons or place in self._hidden_places:
                continue
            first = next(one for one in _OF_COLUMNS if one in says)
            is_old = first is NoteSays.AGE
            note = self.found.note(
                NoteKind.HEADER,
                (self.grid.sheet, *self.grid.where(self.block.header_lines[-1], place)),
                column.header,
                LIMITS if is_limit and first is NoteSays.DOUBT else _OF_COLUMNS[first],
                says=tuple(says),
                persons=persons,
                choices=(READ_LIKE_ALL if is_old else READ, LEAVE_OUT),
            )
            if note.answered == LEAVE_OUT.value or (is_old and not note.answered):
                for line in self.block.body:
                    self.found.drop_cell(self.grid, line, place)

    def _who_has(self, place: int) -> list[int]:
        """The athletes who have something in a column."""
        return [
            self.reading.persons[line.number]
            for line in self.block.body
            if place in line.cells and line.number in self.reading.persons
        ]

    def _struck(self) -> None:
        if not self.grid.beside.struck:
            return
        for line in self.block.body:
            struck = [
                at for at in line.cells if self.grid.spot(line, at) in self.grid.beside.struck
            ]
            if not struck or line.number not in self.reading.persons:
                continue
            if len(struck) == len(line.cells) or set(struck) & set(self.reading.layout.name_places):
                self._unless_asked_for(NoteKind.STRUCK, line, struck[0], STRUCK, line)
                continue
            for place in struck:
                self._unless_asked_for(NoteKind.STRUCK, line, place, STRUCK, None)

    def _unless_asked_for(
        self, kind: NoteKind, line: Line, place: int, why: str, dropped: Line | None
    ) -> None:
        """A note of what is not taken unless somebody asks for it: a whole line, or one cell."""
        number, letter = self.grid.where(line, place)
        note = self.found.note(
            kind,
            (self.grid.sheet, number, letter),
            line.cells[place].text,
            why,
            persons=self._who(line),
            choices=(READ_LIKE_ALL, LEAVE_OUT),
            of_column=f"{kind.name.lower()}:{self.grid.sheet}",
        )
        if note.answered != READ.value:
            if dropped is not None:
                is_alone = self.block.places is None  # else somebody else stands on the line
                is_answered = bool(note.answered) and is_alone
                self.found.drop_line(self.grid, line, is_answered=is_answered)
            else:
                self.found.drop_cell(self.grid, line, place)

    def _comments(self) -> None:
        for spot, text in sorted(self.grid.beside.comments.items()):
            number, place = (spot[1], spot[0]) if self.grid.on_its_side else spot
            line = self.lines.get(number)
            if line is None or not self._who(line):
                if self._is_above(number):
                    where = self.grid.where(Line(number, {}), place)
                    self.reading.notes.of_table(NoteKind.COMMENT, where, text)
                continue
            row, letter = self.grid.where(line, place)
            note = self.found.note(
                NoteKind.COMMENT,
                (self.grid.sheet, row, letter),
                text,
                COMMENT,
                says=note_says(text),
                persons=self._who(line),
                choices=(READ, LEAVE_OUT),
                key=f"comment:{self.grid.sheet}!{letter}{row}",
            )
            if note.answered == LEAVE_OUT.value:
                self._drop(line, place)

    def _is_above(self, number: int) -> bool:
        """Whether a line is a title or a header of this table, or a note below it."""
        numbers = [line.number for line in (*self.block.titles, *self.block.header_lines)]
        return number in (*numbers, *self.lines)

    def _colours(self) -> None:
        if not self.grid.beside.colours:
            return
        cells: dict[str, list[tuple[Line, int]]] = {}
        for place in self._coloured_places():
            for line, colour in self._unusual(place):
                cells.setdefault(colour, []).append((line, place))
        for colour, marked in cells.items():
            self._colour(colour, sorted(marked, key=lambda spot: (spot[0].number, spot[1])))

    def _coloured_places(self) -> Iterable[int]:
        return sorted({*self.reading.layout.name_places, *self.reading.layout.values})

    def _colour(self, colour: str, marked: Sequence[tuple[Line, int]]) -> None:
        line, place = marked[0]
        number, letter = self.grid.where(line, place)
        names = [f"{at}{row}" for row, at in (self.grid.where(*spot) for spot in marked)]
        more = ", …" if len(names) > _NAMED_OF_A_COLOUR else ""
        note = self.found.note(
            NoteKind.COLOUR,
            (self.grid.sheet, number, letter),
            ", ".join(names[:_NAMED_OF_A_COLOUR]) + more,
            COLOUR.format(colour=colour),
            persons=[who for marked_line, _ in marked for who in self._who(marked_line)],
            choices=(READ, LEAVE_OUT),
            key=f"colour:{self.grid.sheet}!{self.block.header_line}:{colour}",
        )
        if note.answered == LEAVE_OUT.value:
            for marked_line, at in marked:
                self._drop(marked_line, at)

    def _unusual(self, place: int) -> Iterator[tuple[Line, str]]:
        """The cells of a column whose colour the column does not have."""
        colours = self.grid.beside.colours
        found = [
            (line, colours.get(self.grid.spot(line, place), ""))
            for line in self.block.body
            if place in line.cells and line.number in self.reading.persons
        ]
        usual = _usual([colour for _, colour in found])
        for line, colour in found:
            if colour not in usual:
                yield line, colour or "no colour"

    def _drop(self, line: Line, place: int) -> None:
        if place in self.reading.layout.values:
            self.found.drop_cell(self.grid, line, place)
        else:
            self.found.drop_line(self.grid, line, is_answered=self.block.places is None)

    def _who(self, line: Line) -> list[int]:
        person = self.reading.persons.get(line.number)
        return [] if person is None else [person]


def _usual(colours: Sequence[str]) -> set[str]:
    """The colour that most cells have, or both of them where rows are striped."""
    counts = Counter(colours)
    if not counts:
        return set()
    most = max(counts.values())
    usual = {"" if counts[""] == most else counts.most_common(1)[0][0]}
    changes = sum(a != b for a, b in pairwise(colours))
    if len(colours) > 2 and changes >= _ALTERNATES * (len(colours) - 1):
        usual |= {colour for colour, count in counts.items() if count >= _OF_A_BAND * len(colours)}
    return usual
