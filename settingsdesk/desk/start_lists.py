"""A start order as it was typed or sent: line by line the entrant that is meant, or why none is.

Nothing is guessed: a line that fits nobody, or several, is told, and so is whoever stands twice.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from settingsdesk.desk.meets import Entrant
from settingsdesk.domain.figures import quoted
from settingsdesk.sheets.table import Table
from settingsdesk.store.base import folded


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
    """The athletes in their order, and every line that could not be taken."""

    athlete_ids: tuple[int, ...]
    faults: tuple[LineFault, ...]


def read_typed(text: str, entrants: Iterable[Entrant]) -> StartList:
    """The entrants that those lines name, each by start number or name; blank lines are nothing."""
    lines = ((number, [line]) for number, line in enumerate(text.splitlines(), start=1))
    return _read(((number, cells) for number, cells in lines if cells[0].strip()), entrants)


def read_sent(table: Table, entrants: Iterable[Entrant]) -> StartList:
    """The same from a sheet: in each row a start number, or a name in one or two cells.

    A first row that is nobody's is a header and not counted as a fault.
    """
    rows = [(row.number, [cell.text for cell in row.cells]) for row in table.rows]
    found = _read(rows, entrants)
    first = rows[0][0] if rows else 0
    return StartList(
        found.athlete_ids, tuple(fault for fault in found.faults if fault.number != first)
    )


def _read(lines: Iterable[tuple[int, Sequence[str]]], entrants: Iterable[Entrant]) -> StartList:
    known = _Known(entrants)
    athlete_ids: list[int] = []
    faults: list[LineFault] = []
    for number, cells in lines:
        meant = known.meant_by(cells)
        read = ", ".join(cells)
        if len(meant) == 1 and meant[0].member.id not in athlete_ids:
            athlete_ids.append(meant[0].member.id)
        else:
            faults.append(LineFault(number, read, _why(meant)))
    return StartList(tuple(athlete_ids), tuple(faults))


def _why(meant: Sequence[Entrant]) -> str:
    if not meant:
        return "nobody entered has this number or name, so look at the entries"
    if len(meant) == 1:
        return f"{meant[0].member.listed_name} stands above already, so leave one of the two"
    names = "; ".join(
        f"{one.member.listed_name} ({one.from_club or 'no club'}, number"
        f" {one.start_number or 'none'})"
        for one in meant
    )
    return f"it may be {names}: write the start number"


class _Known:
    """The entrants who come, by what a line may call them."""

    def __init__(self, entrants: Iterable[Entrant]) -> None:
        self.by_number: dict[str, list[Entrant]] = {}
        self.by_name: dict[str, list[Entrant]] = {}
        for one in entrants:
            if one.is_in:
                self._add(one)

    def _add(self, entrant: Entrant) -> None:
        if entrant.start_number:
            self.by_number.setdefault(folded(entrant.start_number), []).append(entrant)
        person = entrant.member.person
        names = {
            _key(person.family_name, person.given_name),
            _key(person.given_name, person.family_name),
            _key(entrant.member.printed_name),
        }
        for name in names:
            self.by_name.setdefault(name, []).append(entrant)

    def meant_by(self, cells: Sequence[str]) -> list[Entrant]:
        """Whoever fits a line: by the start number where one stands in it, else by the name."""
        for cell in cells:
            if found := self.by_number.get(folded(cell)):
                return found
        for key in _keys(cells):
            if found := self.by_name.get(key):
                return found
        return []


def _keys(cells: Sequence[str]) -> Iterator[str]:
    """What a line may be found by: each cell, and each two that stand beside each other."""
    yield from (_key(cell) for cell in cells)
    yield from (_key(one, two) for one, two in pairwise(cells))


def _key(*parts: str) -> str:
    return folded(" ".join(parts).replace(",", " "))
