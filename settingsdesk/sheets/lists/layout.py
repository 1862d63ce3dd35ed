"""What each place of a table's lines is read for, and what kind of line one is."""

import re
from collections.abc import Callable, Iterable, Iterator
from fractions import Fraction
from functools import cached_property
from typing import Any

from settingsdesk.sheets.lists.blocks import Block
from settingsdesk.sheets.lists.grid import Line
from settingsdesk.sheets.lists.headers import NAMES, Column, is_value_like
from settingsdesk.sheets.lists.values_figures import read_length
from settingsdesk.sheets.lists.values_text import plain
from settingsdesk.sheets.lists.vocabulary import Role, RowSays, row_says
from settingsdesk.sheets.table import Cell, CellKind

_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")
_YEAR = re.compile(r"(?:19|20)?\d\d|(?:13|14|25|98)\d\d")  # of other calendars, too
_EXTREMES: dict[str, Callable[..., Any]] = {
    **dict.fromkeys(("min", "mín", "мин", "мін", "最小"), min),
    **dict.fromkeys(("max", "máx", "макс", "最大"), max),
}
ABOUT_PERSONS = frozenset(
    (
        *NAMES,
        Role.PARTICLE,
        Role.PRINTED_NAME,
        Role.CLUB,
        Role.GROUP,
        Role.LEVEL,
        Role.START_NUMBER,
        Role.NUMBER_HERE,
        Role.BIRTH_YEAR,
        Role.RAISE,
    )
)
LOOKED_AT = frozenset(
    (
        *(Role.VALUE, Role.ACCEPTS, Role.AXIS, Role.UNIT),
        *(Role.REMARK, Role.REASON, Role.CREW_NOTE, Role.PURPOSE),
    )
)


class Layout:
    """The columns of one table by what they are read for."""

    def __init__(self, block: Block) -> None:
        self.block = block
        self.uses = {place: _use_of(column) for place, column in block.columns.items()}
        self.unlike_its_header = {
            column.place for column in block.of_role(Role.BIRTH_YEAR) if not self._are_days(column)
        }
        self.about_persons: dict[Role, Column] = {}
        for column in block.columns.values():
            if (
                role := column.role
            ) in ABOUT_PERSONS and column.place not in self.unlike_its_header:
                self.about_persons.setdefault(role, column)
        self.values = {
            place: block.columns[place] for place, use in self.uses.items() if use is Role.VALUE
        }
        """The columns of lengths and marks."""
        self.unknown = {
            place
            for place, column in block.columns.items()
            if column.role is None and self.uses[place] is Role.NOT_KEPT
        } | self.unlike_its_header
        self.taken_with_the_row = {
            place for place, use in self.uses.items() if use and use not in LOOKED_AT
        } - self.unknown
        self.of_rows = block.of_role(Role.KIND, Role.MODEL, Role.AXIS, Role.UNIT)
        self.of_purpose = next(iter(block.of_role(Role.PURPOSE)), None)
        self.name_places = [column.place for column in block.of_role(*NAMES)]
        self.has_both_names = bool(
            block.of_role(Role.FAMILY_NAME) and block.of_role(Role.GIVEN_NAME)
        )

    def read_before(self, column: Column) -> Column | None:
        """The column that is read for what this one holds, too; None where it is this one.

        A level stands back where a column holds the group.
        """
        role = Role.GROUP if column.role is Role.LEVEL else column.role
        first = next(
            (
                self.about_persons[one]
                for one in (role, column.role)
                if one is not None and one in self.about_persons
            ),
            None,
        )
        return None if first is column else first

    def _are_days(self, column: Column) -> bool:
        """Whether birth years can stand in a column: no number in it is larger or smaller."""
        if column.is_said:
            return True
        cells = (line.cells.get(column.place) for line in self.block.body)
        numbers = [cell.text for cell in cells if cell is not None and _NUMBER.fullmatch(cell.text)]
        return all(_YEAR.fullmatch(number) for number in numbers)

    def has_values(self, line: Line) -> bool:
        """Whether a line has a figure, or anything where lengths, marks and deviations stand."""
        if not self._value_places.isdisjoint(line.cells):
            return True
        return any(map(is_value_like, line.cells.values()))

    @cached_property
    def _value_places(self) -> frozenset[int]:
        roles = (Role.VALUE, Role.ACCEPTS)
        return frozenset(at for at, column in self.block.columns.items() if column.role in roles)

    @cached_property
    def names_of_one_word(self) -> bool:
        """Whether most names in one column have no blank in them."""
        place = self.name_places[0]
        names = [line.cells[place].text for line in self.block.body if place in line.cells]
        return sum(len(name.split()) == 1 for name in names) * 2 > len(names)

    def is_header_again(self, line: Line) -> bool:
        """Whether a line repeats one of the header."""
        first = min(line.cells)
        texts = [header[first] for header in self._headers if first in header]
        return line.cells[first].text in texts and _texts(line) in self._headers

    @cached_property
    def _headers(self) -> list[dict[int, str]]:
        return [_texts(line) for line in self.block.header_lines]

    def row_says(self, line: Line) -> RowSays | None:
        """What a line is that is no athlete's, by its first words or where names stand."""
        first = line.cells[min(line.cells)]
        if first.kind is not CellKind.TEXT:
            return None
        if self.has_both_names and all(place in line.cells for place in self.name_places):
            return None
        says = row_says(first.text)
        if says is None:
            name = next((line.cells[at] for at in self.name_places if at in line.cells), None)
            says = row_says(name.text) if name is not None and name is not first else None
        if says is RowSays.FOOTNOTE and any(
            is_value_like(cell) for at, cell in line.cells.items() if at in self.values
        ):
            return None  # "2) Ida Marsh", with her values
        return says or (RowSays.AVERAGE if self._is_an_extreme(line) else None)

    def _is_an_extreme(self, line: Line) -> bool:
        """Whether a line called "Min" or "Max" has the least or the greatest value of each column.

        Both are names too: an athlete's own values are not just those of all columns.
        """
        words = [line.cells[at].text for at in self.name_places if at in line.cells]
        of = _EXTREMES.get(words[0].strip(" .:").casefold()) if len(words) == 1 else None
        if of is None:
            return False
        own = {at: cell for at, cell in line.cells.items() if at in self.values}
        figures = {at: _figure(cell) for at, cell in own.items()}
        others = [other for other in self.block.body if not self._is_called_extreme(other)]
        return (
            bool(own)
            and len(others) > 1
            and all(
                figure is not None and figure == of(self._figures(others, at), default=None)
                for at, figure in figures.items()
            )
        )

    def _is_called_extreme(self, line: Line) -> bool:
        words = [line.cells[at].text for at in self.name_places if at in line.cells]
        return len(words) == 1 and words[0].strip(" .:").casefold() in _EXTREMES

    def _figures(self, lines: Iterable[Line], place: int) -> Iterator[Fraction]:
        cells = (line.cells[place] for line in lines if place in line.cells)
        return (figure for cell in cells if (figure := _figure(cell)) is not None)


def _figure(cell: Cell) -> Fraction | None:
    """The number in a cell, whatever its unit."""
    length = read_length(plain(cell.text))
    return length.amount if length else None


def _use_of(column: Column) -> Role | None:
    """For what a column's cells are read; None where it has neither header nor meaning."""
    if Role.VALUE in column.meaning.roles or column.role is Role.VALUE:
        return Role.VALUE
    if Role.ACCEPTS in column.meaning.roles:
        return Role.ACCEPTS
    return column.role or (Role.NOT_KEPT if column.header else None)


def _texts(line: Line) -> dict[int, str]:
    return {place: cell.text for place, cell in line.cells.items()}
