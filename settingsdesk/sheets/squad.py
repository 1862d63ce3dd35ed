"""What a squad sheet says: a row per athlete and model, and where it says something else."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum

from settingsdesk.domain.base.figures import format_length, quoted
from settingsdesk.domain.base.units import Unit
from settingsdesk.sheets.table import place

SQUAD_SHEET = "Squad"  # the name of the sheet, in workbooks that have several


class EntryKind(Enum):
    """How a wanted setting is given."""

    CENTIMETRES = "cm"
    MARK = "mark"


@dataclass(frozen=True, slots=True)
class Entry:
    """A wanted setting on one axis, as text, with the column where it stood (empty for export).

    The text is the mark's label, or the length in centimetres with one decimal. ``length_mm`` is
    None for a mark: what a mark stands for depends on the model's scale.
    """

    kind: EntryKind
    text: str
    length_mm: int | None
    column: str = field(default="", compare=False)

    @classmethod
    def of_length(cls, length_mm: int, column: str = "") -> "Entry":
        """A length that is wanted."""
        text = format_length(length_mm, Unit.CENTIMETRE)
        return cls(EntryKind.CENTIMETRES, text, length_mm, column)

    @classmethod
    def of_mark(cls, label: str, column: str = "") -> "Entry":
        """A mark that is wanted."""
        return cls(EntryKind.MARK, label, None, column)


@dataclass(frozen=True, slots=True)
class SquadRow:
    """One athlete on one model, with the row's number in its sheet (0 for export).

    ``wanted`` and ``accepts_mm`` go by the axis's name. A row without a model has neither.
    """

    number: int = field(compare=False)
    family_name: str
    given_name: str
    printed_name: str = ""
    group: str = ""
    model: str = ""
    wanted: Mapping[str, Entry] = field(default_factory=dict)
    accepts_mm: Mapping[str, int] = field(default_factory=dict)
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing in a sheet that cannot be taken, where it stands, and what is expected there.

    ``sheet`` is empty for CSV; ``column`` and ``header`` are empty where no one column is meant;
    ``advice`` is empty where ``expected`` says it all.
    """

    sheet: str
    row: int
    column: str
    header: str
    read: str
    expected: str
    advice: str = ""

    def __str__(self) -> str:
        where = place(self.sheet, self.row, self.column)
        header = f", {self.header}" if self.header else ""
        read = f"{quoted(self.read)} was read" if self.read else "nothing was read"
        advice = f": {self.advice}" if self.advice else ""
        where = where[:1].upper() + where[1:]
        return f"{where}{header}: {read}; {self.expected} is expected{advice}"


@dataclass(frozen=True, slots=True)
class SquadSheet:
    """All of a sheet: each row stands in ``rows``, or has its lines in ``faults``.

    ``read_as`` says how the file was read ("UTF-8, separated by semicolons"); ``columns`` gives
    the letter of each header that was found; ``header_row`` is 0 where no header was found. Rows
    above the header are a title and are not read. ``is_of_our_columns`` says whether the headers
    are those of the template; where they are not, it is a list of somebody's own.
    """

    sheet: str
    read_as: str
    header_row: int
    columns: Mapping[str, str]
    rows: tuple[SquadRow, ...]
    faults: tuple[Fault, ...]
    is_of_our_columns: bool
