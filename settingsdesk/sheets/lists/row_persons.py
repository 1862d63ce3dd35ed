"""Whom a line of a table is about: the name that stands there, or why nobody can be told by it."""

import re
from collections.abc import Mapping
from contextlib import suppress
from functools import cached_property

from settingsdesk.domain.base.figures import quoted
from settingsdesk.sheets.encodings import has_sign_in_a_word
from settingsdesk.sheets.lists.blanks import Blanks
from settingsdesk.sheets.lists.blocks import Block
from settingsdesk.sheets.lists.found import Found
from settingsdesk.sheets.lists.grid import Grid, Line
from settingsdesk.sheets.lists.headers import NAMES, is_value_like
from settingsdesk.sheets.lists.headings import Headings
from settingsdesk.sheets.lists.layout import Layout
from settingsdesk.sheets.lists.name_cells import NameRead, clean, read_name
from settingsdesk.sheets.lists.persons import split_full_name
from settingsdesk.sheets.lists.preview import NoteKind, PersonFound, Place, Query
from settingsdesk.sheets.lists.row_notes import Notes, has_a_note
from settingsdesk.sheets.lists.vocabulary import Role
from settingsdesk.sheets.table import Cell

LONGEST_NAME = 80
NOT_A_NAME = "A number stands where a name is expected: ask who is meant"
NO_LETTERS = "Nothing but signs stands where a name is expected: ask who is meant"
TOO_LONG_A_NAME = "More is written here than any name needs: write the name alone"
LOST_SIGNS = (
    "This row is not taken, as signs of the name were lost when the file was written: save it again"
    " as CSV in UTF-8, or as .xlsx, from the program in which the name is right"
)
# "Ma?gorzata": a sign that the encoding did not have.
_LOST = re.compile("\ufffd|\\?(?=[^\\W\\d_])")
_WRONGLY_READ = re.compile("[\u0080-\u00ff\u0152-\u0178\u02c6-\u2122]")


class RowPersons:
    """The athletes of one table, line by line; each question about a name is asked on the way."""

    def __init__(
        self, grid: Grid, block: Block, found: Found, layout: Layout, notes: Notes
    ) -> None:
        self.grid, self.block, self.found = grid, block, found
        self.layout, self.notes = layout, notes
        self._last: tuple[int, int] | None = None
        """The line and person above, in a long list."""

    def lost_signs(self, line: Line) -> int | None:
        """Where a name stands of which signs were lost."""
        cells = line.cells
        lost = (
            at for at in self.layout.name_places if at in cells and _has_lost_signs(cells[at].text)
        )
        return next(lost, None)

    def of_line(self, line: Line, headings: Headings, blanks: Blanks) -> int | None:
        """The place of the athlete a line is about; None where nobody is named."""
        texts: dict[Role, str] = {}
        names: list[tuple[int, str, NameRead]] = []
        for role, column in self.layout.about_persons.items():
            cell = blanks.at(line, column.place)
            if cell is not None and role in NAMES:
                read = read_name(cell.text)
                names.append((column.place, cell.text, read))
                texts[role] = read.name
            elif cell is not None:
                texts[role] = clean(cell.text)
        if not any(texts.get(role) for role in NAMES):
            return self._person_above(line)
        if not self._are_names(line, blanks):
            return None
        above = headings.of(line)
        person = PersonFound(
            family_name=_with_particle(texts),
            given_name=texts.get(Role.GIVEN_NAME, ""),
            full_name=texts.get(Role.FULL_NAME, ""),
            club=texts.get(Role.CLUB, "") or above.club or self.block.context.club,
            group=texts.get(Role.GROUP, "") or above.group or texts.get(Role.LEVEL, ""),
            start_number=texts.get(Role.START_NUMBER, ""),
            birth_year=texts.get(Role.BIRTH_YEAR, "")
            or next((read.year for *_, read in names if read.year), ""),
            number_here=texts.get(Role.NUMBER_HERE, ""),
            raise_request=texts.get(Role.RAISE, ""),
            rows=[(self.grid.sheet, line.number)],
        )
        if person.full_name:
            person.names_first = self._names_first
            family, given = split_full_name(person.full_name, self._names_first)
            if family and given:
                person.family_name, person.given_name, person.full_name = family, given, ""
        at = self.place_of(line, person)
        self._last = (line.number, at)
        for place, text, read in names:
            where = (self.grid.sheet, *self.grid.where(line, place))
            self._say_beside(line, where, text, read, at)
        return at

    def _say_beside(self, line: Line, where: Place, text: str, read: NameRead, person: int) -> None:
        """Ask about a cell where more than a name stands, and say what was left out of it."""
        if read.is_unsure or has_a_note(text):
            self.notes.of_name(line, where, text, person)
        if read.said:
            why = read.said.format(name=quoted(read.name))
            self.found.note(NoteKind.CLEANED, where, read.name, why, persons=[person])

    def place_of(self, line: Line, person: PersonFound) -> int:
        """Whose place among all that are found it is; where that is in doubt, it is asked."""
        number, letter = self.grid.where(line, self.layout.name_places[0])
        key = f"who:{self.grid.sheet}!{letter}{number}"
        where = person.at = (self.grid.sheet, number, letter)
        place, doubtful = self.found.persons.place_of(person, key, self.found.answers)
        self.found.must_not_be_too_many()
        if doubtful is not None:
            shown = person.shown
            query = Query(*where, shown, doubtful.why, place, key if doubtful.is_answerable else "")
            self.found.queries.append(query)
            others = [] if doubtful.other is None else [doubtful.other]
            self.found.hold([place, *others], key)
        return place

    def _are_names(self, line: Line, blanks: Blanks) -> bool:
        """Whether names stand where they should; nothing is taken of half a name."""
        are_names = True
        for place in self.layout.name_places:
            cell = blanks.at(line, place)
            if cell is not None and (why := _why_no_name(cell)):
                self.found.query(self.grid, line, place, why)
                are_names = False
        return are_names

    def _person_above(self, line: Line) -> int | None:
        """In a long list, whoever stands in the line right above goes on."""
        if self.block.is_long and self._last and line.number == self._last[0] + 1:
            self._last = (line.number, self._last[1])
            return self._last[1]
        return None

    @cached_property
    def _names_first(self) -> str:
        """Which of the two names stands first in a full name, as its header says; often nothing."""
        for column in self.block.of_role(Role.FULL_NAME):
            if column.names_first:
                return column.names_first
            if column.meaning.family_first is not None:
                return "family" if column.meaning.family_first else "given"
        return ""


def _why_no_name(cell: Cell) -> str:
    if is_value_like(cell):
        return NOT_A_NAME
    if len(cell.text) > LONGEST_NAME:
        return TOO_LONG_A_NAME
    return "" if any(sign.isalpha() for sign in cell.text) else NO_LETTERS


def _with_particle(texts: Mapping[Role, str]) -> str:
    """The family name with what stands before it in a column of its own."""
    family = texts.get(Role.FAMILY_NAME, "")
    return " ".join(part for part in (texts.get(Role.PARTICLE, ""), family) if family and part)


def _has_lost_signs(name: str) -> bool:
    """Whether signs are gone ("M?ller"), or another encoding's ("M\u00c3\u00bcller", "£ucja")."""
    if _LOST.search(name) or has_sign_in_a_word(name):
        return True
    if not _WRONGLY_READ.search(name):
        return False
    for encoding in ("cp1252", "latin-1"):
        with suppress(UnicodeError):
            return name.encode(encoding).decode("utf-8", "surrogatepass") != name
    return False
