"""A start order as it was typed or sent: line by line the entrant that is meant, or why none is.

Nothing is guessed and nothing is lost: a line that fits nobody, or several, is told, and so is
whoever stands twice; a sheet comes back as lines that can be put right by typing.
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from settingsdesk.desk.meets.entrant_match import Called, Meant, Roll
from settingsdesk.desk.meets.entries import Entrant
from settingsdesk.domain.base.figures import quoted
from settingsdesk.sheets.lists.name_cells import read_name
from settingsdesk.sheets.lists.vocabulary import Role, header_words, together
from settingsdesk.sheets.table import Row, Table

_ORDINAL = re.compile(r"\s*\d+\s*[.)]\s+(?=\S)")
_LEADING_NUMBER = re.compile(r"\s*(\S*\d\S*)\s+(\S.*)")
_BETWEEN_CELLS = re.compile(r"[\t;]")
_OF_A_NAME = (Role.FULL_NAME, Role.FAMILY_NAME, Role.GIVEN_NAME)
_TELLING = {*_OF_A_NAME, Role.START_NUMBER, Role.RUNNING_NUMBER}


@dataclass(frozen=True, slots=True)
class LineFault:
    """A line that is no entrant's: its number from 1, what was read, and what to do."""

    number: int
    read: str
    why: str

    def __str__(self) -> str:
        return f"Line {self.number}, {quoted(self.read)}: {self.why}"


@dataclass(frozen=True, slots=True)
class StartList:
    """The athletes in their order, and every line that could not be taken.

    ``text`` is the list as lines to type in; the faults count its lines.
    """

    athlete_ids: tuple[int, ...]
    faults: tuple[LineFault, ...]
    text: str


def read_typed(text: str, entrants: Iterable[Entrant]) -> StartList:
    """The entrants that those lines name, each by number, name, or both; blank lines are nothing.

    A line may be a row pasted from a sheet, or begin with its place, as in "1. Osterkamp".
    """
    roll = Roll(entrants)
    lines = enumerate(text.splitlines(), start=1)
    called = [(number, line, _typed(line, roll)) for number, line in lines if line.strip()]
    return _read(called, roll, text)


def read_sent(table: Table, entrants: Iterable[Entrant]) -> StartList:
    """The same from a sheet: in each row a start number, a name, or both, and the club.

    Where a header says which column is what, it is gone by, and a running number counts only in a
    row without a name. Titles above the header are left out.
    """
    roll = Roll(entrants)
    above, columns, below = _parted(table.rows, roll)
    called = [found for found in map(_free, above) if roll.meant_by(found).entrant]
    called += [_headed(row, columns) if columns else _free(row) for row in below]
    texts = [_line(line) for line in called]
    numbered = zip(range(1, len(called) + 1), texts, called, strict=True)
    return _read([line for line in numbered if line[1]], roll, "\n".join(texts))


def _read(called: Iterable[tuple[int, str, Called]], roll: Roll, text: str) -> StartList:
    athlete_ids: list[int] = []
    faults: list[LineFault] = []
    for number, line, found in called:
        meant = roll.meant_by(found)
        if meant.entrant and meant.entrant.member.id not in athlete_ids:
            athlete_ids.append(meant.entrant.member.id)
        else:
            faults.append(LineFault(number, " ".join(line.split()), _why(meant)))
    return StartList(tuple(athlete_ids), tuple(faults), text)


def _why(meant: Meant) -> str:
    if meant.entrant is None:
        return meant.why
    return f"{meant.entrant.member.listed_name} stands above already, so leave one of the two"


def _typed(line: str, roll: Roll) -> Called:
    line = _ORDINAL.sub("", line, count=1)
    cells = [cell.strip() for cell in _BETWEEN_CELLS.split(line)]
    if len(cells) == 1:
        cells = list(_cells_of(cells[0], roll))
    return _free_cells([cell for cell in cells if cell])


def _cells_of(line: str, roll: Roll) -> Iterator[str]:
    """A start number before a name, and a name and a club that commas part."""
    begins = _LEADING_NUMBER.fullmatch(line)
    if begins and (roll.has_number(begins[1]) or begins[1].isdecimal()):
        yield begins[1]
        line = begins[2]
    yield line
    parts = [part.strip() for part in line.split(",")]
    if len(parts) > 1:
        yield from parts


def _free(row: Row) -> Called:
    return _free_cells([cell.text.strip() for cell in row.cells])


def _free_cells(cells: Sequence[str]) -> Called:
    """Cells of which nobody has said what they are: any may be the number, the name or the club."""
    return Called(tuple(cells), tuple(cells), tuple(cells))


def _headed(row: Row, columns: Mapping[str, Role]) -> Called:
    at: dict[Role, list[str]] = {}
    for cell in row.cells:
        if cell.column in columns:
            at.setdefault(columns[cell.column], []).append(cell.text.strip())
    families = [
        " ".join((*at.get(Role.PARTICLE, ()), name)) for name in at.get(Role.FAMILY_NAME, ())
    ]
    at[Role.FAMILY_NAME] = families
    names = [read_name(name).name for role in _OF_A_NAME for name in at.get(role, ())]
    given = at.get(Role.START_NUMBER, [])
    running = [] if given else at.get(Role.RUNNING_NUMBER, [])
    clubs = at.get(Role.CLUB, [])
    return Called(tuple(given or running), tuple(names), tuple(clubs), by_place=bool(running))


def _line(called: Called) -> str:
    """The row as it would be typed; a number that may only count the rows goes with no name."""
    numbers = () if called.by_place and called.names else called.numbers
    return "\t".join(dict.fromkeys((*numbers, *called.names, *called.clubs)))


def _parted(
    rows: Sequence[Row], roll: Roll
) -> tuple[Sequence[Row], Mapping[str, Role], Sequence[Row]]:
    """The rows above the header, what its columns hold, and those below; no header, all below."""
    for place, row in enumerate(rows):
        if roll.meant_by(_free(row)).entrant is None and (columns := _columns(row)):
            return rows[:place], columns, rows[place + 1 :]
    return (), {}, rows


def _columns(row: Row) -> Mapping[str, Role]:
    """What each column holds, if the row is a header that tells numbers or names."""
    headers = together([header_words(cell.text) for cell in row.cells])
    columns = {
        cell.column: header.role
        for cell, header in zip(row.cells, headers, strict=True)
        if header.role is not None
    }
    return columns if _TELLING & set(columns.values()) else {}
