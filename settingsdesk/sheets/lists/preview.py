"""What a coach's list comes to: values that are taken, cells that a person has to settle."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import NamedTuple

from settingsdesk.domain.settings.purposes import USUAL, Purpose
from settingsdesk.sheets.lists.units import ListUnit
from settingsdesk.sheets.lists.vocabulary import Role

Mapped = Mapping[str, Mapping[str, str]]
"""What a person said of columns: "sheet!C" to what it holds, by "role", "axis" (as
"kind/axis"), "unit", "level", "edge", "spread", "mat_mm", "rail_mm" (the rail's diameter) and
"names" ("family" or "given", the one that comes first)."""

Answers = Mapping[str, str]
"""What a person answered of one file, by the keys of its notes, questions and queries. Of the
whole list: "unit", "datum" ("floor", or "mat:200" with the mat's millimetres) and "model"."""

Marks = Mapping[str, Mapping[str, Collection[str]]]
"""The labels of the marks of each model that is known, by its name and the keys of its axes."""

Place = tuple[str, int, str]
"""Sheet, row and column of a cell."""

EVERY_AXIS = ""
"""Stands for an axis where a deviation is stated of none in particular."""


def model_key(model: str | None, purpose: Purpose) -> str | None:
    """By what is told apart what a list says of one model for several purposes."""
    return model if purpose is USUAL else f"{model}, {purpose}"


def cell_key(sheet: str, row: int, column: str) -> str:
    """How a cell is named among the answers, where something was typed in its place."""
    return f"cell:{sheet}!{column}{row}"


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
    purpose: Purpose = USUAL

    @property
    def place(self) -> Place:
        """Where it stands."""
        return self.sheet, self.row, self.column


@dataclass(frozen=True, slots=True)
class Query:
    """A cell or row that a person has to settle: what was read, and why it was not taken.

    ``person`` is the place in ``ListPreview.persons`` of whoever it is about; None where nobody is
    named. It is no part of what is asked. ``key`` is what ``Answers`` name it by, empty where it is
    put right in the list itself; ``likely`` the answer that seems meant. ``is_only_said`` is that
    of a row of which nothing could be taken anyway: a total.
    """

    sheet: str
    row: int
    column: str
    read: str
    why: str
    person: int | None = field(default=None, compare=False)
    key: str = field(default="", compare=False)
    likely: str = field(default="", compare=False)
    is_only_said: bool = field(default=False, compare=False)

    @property
    def place(self) -> Place:
        """Where it stands."""
        return self.sheet, self.row, self.column


class Choice(NamedTuple):
    """One answer that can be given: as ``Answers`` have it, and in words."""

    value: str
    label: str


READ = Choice("read", "It changes nothing: read on")
TAKE = Choice("read", "It changes nothing: take the numbers")
CREW_NOTE = Choice("crew_note", "Take the numbers, and keep it as a note for the crew")
NUMBERS_OUT = Choice("leave_out", "Leave the numbers out")
NOT_COMING = Choice("not_coming", "Leave the athlete out")
READ_LIKE_ALL = Choice("read", "Read it like all others")
LEAVE_OUT = Choice("leave_out", "Take nothing of it")
APPLIES = Choice("applies", "Read the lengths as it says")
SAME = Choice("same", "They are one athlete")
TWO = Choice("two", "They are two athletes")
JOIN = Choice("join", "Join the parts of each number again")
HALF = Choice("half", "Take the middle, and accept half the range to either side")
MIDDLE = Choice("middle", "Take the middle, and accept what is usual")
GROUP = Choice("group", "It is the group of those below it")
CLUB = Choice("club", "It is the club of those below it")
ABOVE = Choice("above", "Each means what stands above it")
NONE_MEANT = Choice("none", "None is meant there")
ATHLETE = Choice("athlete", "It is an athlete")


class NoteKind(Enum):
    """Where a text stands that is no value, or what a cell looks like."""

    TITLE = "a title"
    FOOTNOTE = "a note beside the table"
    REMARK = "a remark"
    COMMENT = "a comment on a cell"
    STRUCK = "a cell that is struck through"
    COLOUR = "a cell coloured otherwise than its column"
    HIDDEN_ROW = "a hidden row"
    HIDDEN_COLUMN = "a hidden column"
    HEADER = "a column that is old or in doubt"
    SHEET = "a sheet that is hidden or old"
    BOX = "a text over the cells or on every page"
    CLEANED = "a name beside which something stood"
    HEADING = "a line that heads those below it"


class NoteSays(Enum):
    """What the words of a note are about."""

    DATUM = "from where to where lengths are taken"
    UNIT = "the unit"
    AGE = "how old it is"
    DOUBT = "that somebody is not sure"
    OTHERWISE = "that lengths are taken otherwise than from any point that is known here"


@dataclass(frozen=True, slots=True)
class Note:
    """A text of the list that is no value, or a look of cells that says something.

    ``persons`` are the places in ``ListPreview.persons`` of those it bears on. Where ``choices``
    are offered and ``answered`` is empty they wait for an answer; without choices it is only said.
    ``of_column`` is the key that answers for all notes of its column that say the same, ``of_all``
    the one that answers for all that are not answered otherwise; empty where nothing does.
    """

    key: str
    kind: NoteKind
    sheet: str
    row: int
    column: str
    text: str
    says: tuple[NoteSays, ...]
    persons: tuple[int, ...]
    why: str
    choices: tuple[Choice, ...] = ()
    answered: str = ""
    of_column: str = ""
    of_all: str = ""

    @property
    def is_open(self) -> bool:
        """Whether somebody has to answer it."""
        return bool(self.choices) and not self.answered


@dataclass(frozen=True, slots=True)
class ColumnQuestion:
    """What is asked once for all cells of a column, or for a word that many rows have.

    ``about`` is "unit", "model", "columns" (which of several counts, or what is taken of a range),
    "blanks" (what they mean) or "rows". ``line`` is the column's letter, or the row's number where
    athletes stand in columns, ``row`` the header's; ``likely`` the value of a choice, or empty;
    ``cells`` how many wait for the answer.
    """

    key: str
    about: str
    sheet: str
    line: str
    row: int
    header: str
    why: str
    choices: tuple[Choice, ...]
    likely: str
    cells: int
    examples: tuple[str, ...] = ()


@dataclass(slots=True)
class PersonFound:
    """One athlete of a list, with no more than what the work at the apparatus needs.

    ``birth_year`` only tells twins of one name apart and is never kept; ``number_here`` does so in
    our own columns, as the squad was written out. ``full_name`` is the name
    as it stands where one cell holds both parts, and ``names_first`` which is known to come first.
    ``accepts_mm`` goes by model, kind and axis, or ``EVERY_AXIS``, ``reasons`` by model, the model
    as ``model_key`` has it, and ``crew_notes`` by model, each with its place. ``at`` is where the
    name stands first, or lacks. While ``waits`` has the key of a query, nothing of this athlete is
    taken.
    """

    family_name: str = ""
    given_name: str = ""
    full_name: str = ""
    names_first: str = ""
    printed_name: str = ""
    club: str = ""
    group: str = ""
    start_number: str = ""
    birth_year: str = ""
    number_here: str = ""
    raise_request: str = ""
    rows: list[tuple[str, int]] = field(default_factory=list)
    waits: list[str] = field(default_factory=list)
    accepts_mm: dict[tuple[str | None, str | None, str], int] = field(default_factory=dict)
    reasons: dict[str | None, str] = field(default_factory=dict)
    crew_notes: dict[str | None, tuple[str, Place]] = field(default_factory=dict)
    at: Place = ("", 0, "")

    @property
    def shown(self) -> str:
        """The name as the preview shows it."""
        if self.full_name:
            return self.full_name
        return ", ".join(part for part in (self.family_name, self.given_name) if part)

    @property
    def is_split(self) -> bool:
        """Whether family name and given name are told apart."""
        return not self.full_name


@dataclass(frozen=True, slots=True)
class ColumnFound:
    """What a column holds, or in a list with the athletes in columns, a row.

    ``line`` is its letter or number, ``why`` what a person has to choose before it can be read.
    ``is_unheaded`` is that of a column above which no header stands.
    ``told_by`` says what told its unit: "header", "title", "values", "person", or nothing where no
    unit was needed or none is known, and "column" where another one is read for what it holds;
    ``because`` says it in words.
    """

    sheet: str
    line: str
    header: str
    role: Role | None
    kind: str | None
    axis: str | None
    unit: ListUnit | None
    datum: str
    told_by: str
    because: str
    why: str = ""
    is_unheaded: bool = False


@dataclass(frozen=True, slots=True)
class TableFound:
    """One table of a sheet: how it lies, and what its columns hold.

    ``names_first`` is "family" or "given" where a column holds both, empty where nobody has said
    which comes first, and None where no column holds both. ``header_place`` says where the headers
    end, in words: "row 4", "column A". ``is_ours`` says whether the columns are those of the squad
    sheet.
    """

    sheet: str
    read_as: str
    header_row: int
    header_place: str
    layout: str
    columns: tuple[ColumnFound, ...]
    names_first: str | None
    hidden: bool = False
    is_ours: bool = False
    places: range | None = None
    """The numbers of its columns, where other tables stand beside it."""


@dataclass(frozen=True, slots=True)
class ListPreview:
    """A whole file: what would be taken, what is to be settled, how it was understood.

    ``waiting`` are values of athletes who wait for an answer, and in none of ``accepted``.
    ``unbelieved`` are lengths that are hardly one of their axis: a query stands at each, and none
    of them is in ``accepted`` either.
    """

    accepted: tuple[Accepted, ...]
    queries: tuple[Query, ...]
    tables: tuple[TableFound, ...]
    persons: tuple[PersonFound, ...]
    waiting: tuple[Accepted, ...] = ()
    notes: tuple[Note, ...] = ()
    column_questions: tuple[ColumnQuestion, ...] = ()
    unbelieved: tuple[Accepted, ...] = ()

    @property
    def is_ours(self) -> bool:
        """Whether it is a sheet of our own columns, which is taken whole or not at all."""
        return any(table.is_ours for table in self.tables)
