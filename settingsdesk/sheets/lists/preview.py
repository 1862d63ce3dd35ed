"""What a coach's list comes to: values that are taken, cells that a person has to settle."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from settingsdesk.sheets.lists.units import ListUnit
from settingsdesk.sheets.lists.vocabulary import Role

Mapped = Mapping[str, Mapping[str, str]]
"""What a person said of columns: "sheet!C" to what it holds, by "role", "axis" (as
"kind/axis"), "unit", "level", "edge", "spread", "mat_mm", "rail_mm" (the rail's diameter) and
"names" ("family" or "given", the one that comes first)."""

EVERY_AXIS = ""
"""Stands for an axis where a deviation is stated of none in particular."""


class Accepted(NamedTuple):
    """One value taken from one cell; exactly one of ``value_mm`` and ``mark``.

    ``athlete`` is "Family, Given", or the name as it stands where the two cannot be told apart.
    ``value_mm`` is canonical; ``converted`` says in words how ``read`` was understood. ``row``
    counts the file's records from 1; ``person`` is the place in ``ListPreview.persons``.
    """

    athlete: str
    club: str
    model: str | None
    kind: str | None
    axis: str
    value_mm: int | None
    mark: str | None
    read: str
    converted: str
    sheet: str
    row: int
    column: str
    person: int


@dataclass(frozen=True, slots=True)
class Query:
    """A cell or row that a person has to settle: what was read, and why it was not taken.

    ``person`` is the place in ``ListPreview.persons`` of whoever it is about; None where nobody is
    named. It is no part of what is asked.
    """

    sheet: str
    row: int
    column: str
    read: str
    why: str
    person: int | None = field(default=None, compare=False)


@dataclass(slots=True)
class PersonFound:
    """One athlete of a list, with no more than what the work at the apparatus needs.

    ``birth_year`` only tells twins of one name apart and is never kept. ``full_name`` is the name
    as it stands where one cell holds both parts, and ``names_first`` which is known to come first.
    ``accepts_mm`` goes by model, kind and axis, or
    ``EVERY_AXIS``.
    """

    family_name: str = ""
    given_name: str = ""
    full_name: str = ""
    names_first: str = ""
    club: str = ""
    group: str = ""
    start_number: str = ""
    birth_year: str = ""
    raise_request: str = ""
    rows: list[tuple[str, int]] = field(default_factory=list)
    accepts_mm: dict[tuple[str | None, str | None, str], int] = field(default_factory=dict)

    @property
    def shown(self) -> str:
        """The name as the preview shows it."""
        if self.full_name:
            return self.full_name
        return ", ".join(part for part in (self.family_name, self.given_name) if part)

    @property
    def is_split(self) -> bool:
        """Whether family name and given name are told apart."""
        return bool(self.family_name or self.given_name) and not self.full_name


@dataclass(frozen=True, slots=True)
class ColumnFound:
    """What a column holds, or in a list with the athletes in columns, a row.

    ``line`` is its letter or number, ``why`` what a person has to choose before it can be read.
    """

    sheet: str
    line: str
    header: str
    role: Role | None
    kind: str | None
    axis: str | None
    unit: ListUnit | None
    datum: str
    why: str = ""


@dataclass(frozen=True, slots=True)
class TableFound:
    """One table of a sheet: how it lies, and what its columns hold.

    ``names_first`` is "family" or "given" where a column holds both, empty where nobody has said
    which comes first, and None where no column holds both. ``header_place`` says where the headers
    end, in words: "row 4", "column A".
    """

    sheet: str
    read_as: str
    header_row: int
    header_place: str
    layout: str
    columns: tuple[ColumnFound, ...]
    names_first: str | None
    layout_key: str
    hidden: bool = False


@dataclass(frozen=True, slots=True)
class ListPreview:
    """A whole file: what would be taken, what is to be settled, how it was understood."""

    accepted: tuple[Accepted, ...]
    queries: tuple[Query, ...]
    tables: tuple[TableFound, ...]
    persons: tuple[PersonFound, ...]
