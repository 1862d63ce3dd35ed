"""The columns of the squad sheet, the same for coming in and for going out.

One row per athlete and apparatus model; per axis the wanted length in centimetres or the mark,
and the deviation that the athlete accepts.
"""

import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache

from openpyxl.utils import get_column_letter

from settingsdesk.domain.base.datums import Edge, Level, SpreadDatum
from settingsdesk.domain.base.kinds import KINDS, Quantity
from settingsdesk.domain.settings.crew_note import LONGEST
from settingsdesk.sheets.lists.units import ListUnit
from settingsdesk.sheets.lists.vocabulary import Axis, HeaderMeaning, Role

SQUAD_SHEET = "Squad"  # the name of the sheet, in workbooks that have several
HELP_SHEET = "How to fill in"

_PLAIN = (
    ("Family name", Role.FAMILY_NAME, "the athlete's family name"),
    ("Given name", Role.GIVEN_NAME, "the athlete's given name"),
    (
        "Printed name",
        Role.PRINTED_NAME,
        "the name as it is printed on cards; blank for the given name and an initial",
    ),
    ("Group", Role.GROUP, "the training group, or blank"),
    (
        "Model",
        Role.MODEL,
        "the apparatus model as it is named here; blank if the row has no lengths and marks",
    ),
)
_PURPOSE = (
    "Purpose",
    Role.PURPOSE,
    "competition, training or learning; blank for competition, the one that cards carry",
)
_NUMBER_HERE = (
    "Number in settingsdesk",
    Role.NUMBER_HERE,
    (
        "which of several athletes of one name it is, as settingsdesk wrote it; leave it as it is,"
        " blank for all others and for somebody new"
    ),
)
_OF_AN_AXIS = (
    (
        "{} (cm)",
        Role.VALUE,
        ListUnit.CM,
        "the length the athlete wants in centimetres, like 245 or 247.5",
    ),
    (
        "{} (mark)",
        Role.VALUE,
        ListUnit.MARK,
        "or, instead of centimetres, the mark on the model's scale",
    ),
    (
        "{} accepts (± cm)",
        Role.ACCEPTS,
        ListUnit.CM,
        "how far from it, up or down, the athlete accepts, in centimetres, like 1 or 0.5",
    ),
)
_REASON = ("Reason", Role.REASON, "why the setting is as it is, or blank")
_CREW_NOTE = (
    "Note for the crew",
    Role.CREW_NOTE,
    (
        f"what whoever sets the apparatus should know besides, in {LONGEST} characters at most: no"
        " name and nothing about health, since strangers read it; blank for the note that there is"
    ),
)
_REQUIRED = (Role.FAMILY_NAME, Role.GIVEN_NAME, Role.MODEL)


@dataclass(frozen=True, slots=True)
class OurColumn:
    """One column: its header, what it holds and in which unit, and of which axis (empty for none).

    ``explained`` completes the sentence that explains it to the coach.
    """

    header: str
    role: Role
    explained: str
    axis: str = ""
    unit: ListUnit | None = None

    @property
    def meaning(self) -> HeaderMeaning:
        """What its header says: all of its cells, and nothing is left to be asked."""
        axes = tuple(
            Axis(kind.key, axis.key)
            for kind in KINDS.values()
            for axis in kind.axes
            if axis.name == self.axis
        )
        quantities = {KINDS[at.kind].axis(at.axis).quantity for at in axes}
        is_height, is_spread = Quantity.HEIGHT in quantities, Quantity.SPREAD in quantities
        return HeaderMeaning(
            text=self.header,
            roles=(self.role,),
            axes=axes,
            units=(self.unit,) if self.unit else (),
            levels=(Level.FLOOR,) if is_height else (),
            edges=(Edge.UPPER,) if is_height else (),
            spreads=(SpreadDatum.INNER,) if is_spread else (),
        )


@dataclass(frozen=True, slots=True)
class SquadColumns:
    """All columns for the given axes, in the order in which they are written.

    Axes of one name share their columns: the row's model says which of them is meant. What a
    setting is for has a column where ``purposes`` are told apart; without it, it is the usual one.
    So have the ``numbers`` of athletes, where several have one name.
    """

    axes: tuple[str, ...]
    purposes: bool
    numbers: bool

    def __init__(self, axes: Sequence[str], *, purposes: bool = False, numbers: bool = False):
        by_key: dict[str, str] = {}
        for axis in axes:
            by_key.setdefault(_key(axis), axis)
        object.__setattr__(self, "axes", tuple(by_key.values()))
        object.__setattr__(self, "purposes", purposes)
        object.__setattr__(self, "numbers", numbers)

    def __iter__(self) -> Iterator[OurColumn]:
        for header, role, explained in _PLAIN:
            yield OurColumn(header, role, explained)
        if self.purposes:
            yield OurColumn(*_PURPOSE)
        for axis in self.axes:
            for pattern, role, unit, explained in _OF_AN_AXIS:
                yield OurColumn(pattern.format(axis), role, explained, axis, unit)
        yield OurColumn(*_REASON)
        yield OurColumn(*_CREW_NOTE)
        if self.numbers:
            yield OurColumn(*_NUMBER_HERE)

    def letter_of(self, role: Role) -> str:
        """The letter under which the first column that holds this is written."""
        roles = [column.role for column in self]
        return get_column_letter(roles.index(role) + 1)


@cache
def squad_columns() -> SquadColumns:
    """The columns of the squad sheet: those of all axes of all kinds."""
    axes = [axis.name for kind in KINDS.values() for axis in kind.axes]
    return SquadColumns(axes, purposes=True, numbers=True)


@lru_cache(maxsize=1024)
def our_column(header: str) -> OurColumn | None:
    """The column of that header; capitals, blanks and "+/-" for "±" make no difference."""
    return _by_key().get(_key(header))


def are_ours(headers: Sequence[str]) -> bool:
    """Whether those are headers of ours and no others, each once, with all that are needed."""
    found = [our_column(header) for header in headers]
    held = {column.role for column in found if column}
    return None not in found and len(set(found)) == len(found) and held.issuperset(_REQUIRED)


@cache
def _by_key() -> dict[str, OurColumn]:
    return {_key(column.header): column for column in squad_columns()}


def _key(header: str) -> str:
    plain = unicodedata.normalize("NFKC", header).replace("+/-", "±")
    return "".join(plain.casefold().split())
