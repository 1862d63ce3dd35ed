"""What the words of a coach's list say: a header, a title or legend, a word in a cell.

The words are in ``words.toml``. A word that can mean several things leaves them all standing;
other words beside it, the kind that is known, or the other headers of the table may settle it
(``within``, ``together``), and nothing else does.
"""

import re
import unicodedata
from collections.abc import Iterable, Sequence, Set
from dataclasses import dataclass, replace
from enum import Enum
from functools import lru_cache
from typing import NamedTuple, TypeVar

from settingsdesk.domain.base.datums import (
    Edge,
    HeightDatum,
    Level,
    SpreadDatum,
    spread_in_words,
)
from settingsdesk.domain.base.figures import quoted
from settingsdesk.domain.base.kinds import KINDS, Quantity
from settingsdesk.sheets.lists.units import ListUnit
from settingsdesk.sheets.lists.vocabulary_table import Found, find, meanings_of

_One = TypeVar("_One")

_MOST_NAMED = 3
LONGEST_HEADER = 200  # characters; of a longer text only the beginning is read


class Role(Enum):
    """What a column or row is for; the value completes "this column holds …"."""

    FULL_NAME = "the athlete's name"
    FAMILY_NAME = "the athlete's family name"
    GIVEN_NAME = "the athlete's given name"
    PARTICLE = "what stands before the family name, as van der"
    PRINTED_NAME = "the name as it is printed"
    CLUB = "the club"
    GROUP = "the group or level"
    LEVEL = "the level, which is the group where no column holds one"
    START_NUMBER = "the start number"
    RUNNING_NUMBER = "a running number"
    BIRTH_YEAR = "the birth year"
    NOT_KEPT = "something about the person that is not stored"
    KIND = "the apparatus"
    MODEL = "the apparatus model"
    AXIS = "the adjustment"
    VALUE = "a length or mark"
    UNIT = "the unit"
    ACCEPTS = "the deviation that is accepted"
    REMARK = "a remark"
    REASON = "the reason of a setting"
    CREW_NOTE = "a note for the crew"
    PURPOSE = "what a setting is for"
    NUMBER_HERE = "the number by which settingsdesk tells athletes of one name apart"
    RAISE = "a request to raise the rails"


class CellSays(Enum):
    """What a cell says in words where a value is expected."""

    SAME = "the same as elsewhere"
    UNSETTLED = "not settled yet"
    ABOUT = "about"
    LIMIT = "at least or at most"
    BOOLEAN = "true or false"


class RowSays(Enum):
    """What a row is that is no athlete's."""

    TOTAL = "a total"
    AVERAGE = "an average"
    FOOTNOTE = "a footnote"


class Axis(NamedTuple):
    """An axis by the key of its kind and its own."""

    kind: str
    axis: str

    @property
    def in_words(self) -> str:
        """ "the high rail height of the uneven bars"."""
        kind = KINDS[self.kind]
        return f"the {kind.axis(self.axis).in_a_sentence} of the {kind.name.lower()}"


_IN_ORDER = tuple(Axis(kind.key, axis.key) for kind in KINDS.values() for axis in kind.axes)
ALL_AXES = frozenset(_IN_ORDER)


def _axes(*quantities: Quantity) -> frozenset[Axis]:
    return frozenset(at for at in ALL_AXES if KINDS[at.kind].axis(at.axis).quantity in quantities)


_UNEVEN, _PARALLEL = "uneven_bars", "parallel_bars"
_RAILED = frozenset(at for at in ALL_AXES if KINDS[at.kind].railed)
_TABLE = "vault_table"

# Which axes a word leaves possible, by its name in the table of words.
_PARTS: dict[str, frozenset[Axis]] = {
    "high": frozenset({Axis(_UNEVEN, "high_rail")}),
    "low": frozenset({Axis(_UNEVEN, "low_rail")}),
    "rail": _RAILED,
    "height": _axes(Quantity.HEIGHT),
    "spread": _axes(Quantity.SPREAD),
    "width": _axes(Quantity.SPREAD, Quantity.SPACING),
    "distance": _axes(Quantity.SPREAD, Quantity.SPACING, Quantity.DISTANCE),
    "board": frozenset({Axis(_TABLE, "board")}),
    "table": frozenset({Axis(_TABLE, "table")}),
    "run_up": frozenset({Axis(_TABLE, "run_up")}),
    "pommels": frozenset({Axis("pommel_horse", "pommels")}),
}

_ROLES = {role.name.lower(): role for role in Role} | dict.fromkeys(
    ("bare_name", "person", "family_first", "given_first"), Role.FULL_NAME
)
_HORIZONTAL = SpreadDatum.CENTRES_HORIZONTAL.value
_NAMES = {Role.FULL_NAME, Role.FAMILY_NAME, Role.GIVEN_NAME}
_OTHER_NAME = {Role.FAMILY_NAME: Role.GIVEN_NAME, Role.GIVEN_NAME: Role.FAMILY_NAME}
_SHORT_NAMES = {
    "first": Role.GIVEN_NAME,
    "given": Role.GIVEN_NAME,
    "last": Role.FAMILY_NAME,
    "family": Role.FAMILY_NAME,
}
"""What these words are as a whole header, where the other name has a column too."""
_OF_VALUES = {Role.VALUE, Role.AXIS, Role.UNIT}
_SAID_BESIDE_OTHERS = {CellSays.SAME, CellSays.ABOUT, CellSays.LIMIT}

_TIMES = ("age", "now")
_FOOTNOTE_SIGN = re.compile(r"\s*(?:[*†‡※¹²³]|[0-9]\))")
_SHORT_UNITS = {
    "po": "pouce",
    "pol": "polegada",
    "m": "metre",
    "м": "metre",
    "م": "metre",
    "in": "inch",
    '"': "inch",
    "''": "inch",
}
_UNIT = "|".join(_SHORT_UNITS)
_NUMBER_WITH_UNIT = re.compile(r"([0-9]) ?(?:[cmсм]?[mм])(?![^\W_])", re.IGNORECASE)
_UNIT_IN_BRACKETS = re.compile(rf"[(\[]\s*({_UNIT})\.?\s*[)\]]", re.IGNORECASE)
_INCHES_TOO = re.compile(
    r"(?<=[cm]m)\s*(?:[/,;&+|]|or|and|oder|und|ou|et|e|y|o|i)\s*in\b", re.IGNORECASE
)
_UNIT_AT_THE_END = re.compile(rf"[\s,;:/-]({_UNIT})\.?\s*$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class HeaderMeaning:
    """What one header, title or legend says; what it does not say is None or empty.

    ``roles``, ``axes``, ``units``, ``levels``, ``edges`` and ``spreads`` are all that its words
    leave possible: one where it is clear, several where a person has to choose. ``unread`` are
    words that are not in the table. ``times`` are "age" and "now" where it says that something is
    old, or holds today. ``beside_other`` is which of two names it is where the other one has a
    column of its own.
    """

    text: str
    roles: tuple[Role, ...] = ()
    axes: tuple[Axis, ...] = ()
    units: tuple[ListUnit, ...] = ()
    levels: tuple[Level, ...] = ()
    edges: tuple[Edge, ...] = ()
    spreads: tuple[SpreadDatum, ...] = ()
    unread: tuple[str, ...] = ()
    is_bare_name: bool = False
    family_first: bool | None = None
    times: tuple[str, ...] = ()
    beside_other: Role | None = None

    @property
    def role(self) -> Role | None:
        """The one role, where there is one."""
        return _only(self.roles)

    @property
    def kind(self) -> str | None:
        """The key of the one apparatus kind that is meant."""
        return _only({at.kind for at in self.axes})

    @property
    def axis(self) -> str | None:
        """The key of the one axis that is meant; the spread has one key on both bars."""
        return _only({at.axis for at in self.axes})

    @property
    def unit(self) -> ListUnit | None:
        """The one unit that is stated."""
        return _only(self.units)

    @property
    def datum(self) -> HeightDatum | None:
        """The height datum, where any of it is stated; upper edge and floor go without saying."""
        level, edge = _only(self.levels), _only(self.edges)
        if level is None and edge is None:
            return None
        return HeightDatum(level or Level.FLOOR, edge or Edge.UPPER)

    @property
    def spread(self) -> SpreadDatum | None:
        """The spread datum that is stated."""
        return _only(self.spreads)

    @property
    def is_ambiguous(self) -> bool:
        """Whether a person has to choose before values below can be read."""
        several = (self.roles, self.units, self.levels, self.edges, self.spreads)
        is_for_values = any(role in (Role.VALUE, Role.ACCEPTS) for role in self.roles)
        return any(len(found) > 1 for found in several) or bool(
            is_for_values and self.axes and self.axis is None
        )

    @property
    def why_ambiguous(self) -> str:
        """What the header can mean, as a sentence that says what to do."""
        found: list[Iterable[str]] = [
            [role.value for role in self.roles],
            [at.in_words for at in self.axes] if self.axis is None else [],
            [unit.in_words for unit in self.units],
            [f"a height from the {level.value}" for level in self.levels],
            [f"a height to the {edge.value} edge" for edge in self.edges],
            [spread_in_words(spread) for spread in self.spreads],
        ]
        several = next((words for words in map(list, found) if len(words) > 1), [])
        can_be = " or ".join(several[:_MOST_NAMED] + ["more"] * (len(several) > _MOST_NAMED))
        return f"{quoted(self.text)} can mean {can_be or 'several things'}: choose which is meant"

    def within(self, *kinds: str) -> "HeaderMeaning":
        """The meaning where only these kinds can be meant; unchanged if it names none of them."""
        axes = tuple(at for at in self.axes if at.kind in kinds)
        return replace(self, axes=axes) if axes else self


def _only(found: Iterable[_One]) -> _One | None:
    values = list(found)
    return values[0] if len(values) == 1 else None


@lru_cache(maxsize=2048)
def header_words(text: str) -> HeaderMeaning:
    """What a header, title, sheet name or legend says; a text of no known words says nothing."""
    found = tuple(find(_with_units_in_full(text[:LONGEST_HEADER])))
    names = _Names(found)
    axes = _axes_left(found)
    levels = _left(found, "level") or (_left(found, "bare_level") if axes else ())
    edges = _left(found, "edge") or (_left(found, "bare_edge") if axes else ())
    return HeaderMeaning(
        text=text,
        roles=_roles(names, axes),
        axes=axes,
        units=tuple(map(ListUnit, _left(found, "unit"))),
        levels=tuple(map(Level, levels)),
        edges=tuple(map(Edge, edges)),
        spreads=tuple(map(SpreadDatum, _left(found, "spread"))),
        unread=tuple(word for at in found if not at.meanings for word in at.words),
        is_bare_name=bool({"bare_name", "person"} & set(names.of("role"))),
        family_first=_family_first(names),
        times=tuple(name for name in names.of("note") if name in _TIMES),
        beside_other=_beside_other(text, names),
    )


def together(headers: Sequence[HeaderMeaning]) -> tuple[HeaderMeaning, ...]:
    """The headers of one table, where they settle each other.

    "HB" beside "low rail" is the high rail; "Name" beside "given name" is the family name, and so
    is "Last" beside "First".
    """
    kinds = {at.kind for header in headers if len(header.axes) == 1 for at in header.axes}
    names = {header.beside_other or header.role for header in headers}
    headers = [_one_of_two(header, names) for header in headers]
    roles = {header.role for header in headers}
    return tuple(_beside(header, roles).within(*kinds) for header in headers)


def _one_of_two(header: HeaderMeaning, names: Set[Role | None]) -> HeaderMeaning:
    """One of two names, where the other one has a column too: "Last", "Athlete's surname"."""
    role = header.beside_other
    if role is None or _OTHER_NAME[role] not in names:
        return header
    return replace(header, roles=(role,), is_bare_name=False, times=())


def _beside(header: HeaderMeaning, roles: Set[Role | None]) -> HeaderMeaning:
    if not header.is_bare_name:
        return header
    if Role.GIVEN_NAME in roles:
        return replace(header, roles=(Role.FAMILY_NAME,))
    return replace(header, roles=(Role.GIVEN_NAME,)) if Role.FAMILY_NAME in roles else header


def row_says(text: str) -> RowSays | None:
    """What a row is whose first cell says this, or None where it may be an athlete's.

    A total or an average has to be all that the cell says, but for numbers: a name may begin so.
    """
    if _FOOTNOTE_SIGN.match(text):
        return RowSays.FOOTNOTE
    found = tuple(find(text[:LONGEST_HEADER]))
    said = _Names(found[:1]).of("row")
    if "footnote" in said and (len(found) == 1 or ":" in text or "：" in text):
        return RowSays.FOOTNOTE
    if not all(_counts(at) for at in found):
        return None
    if said:
        return RowSays[said[0].upper()]
    is_count = len(found) > 1 or text.rstrip().endswith((":", "："))
    return RowSays.TOTAL if is_count and _Names(found).of("counted") else None


def cell_says(text: str) -> CellSays | None:
    """What a cell says in words where a value is expected."""
    found = tuple(find(text))
    if not found:
        return None
    at_ends = _Names(found[:1]).of("cell") + _Names(found[-1:]).of("cell")
    says = [CellSays[name.upper()] for name in at_ends]
    is_all = len(found) == 1
    return next((said for said in says if is_all or said in _SAID_BESIDE_OTHERS), None)


@lru_cache(maxsize=1024)
def unit_word(text: str) -> ListUnit | None:
    """The unit that a whole text names: "cm", "Loch", "pouces"; "m" and "in" too."""
    units = [name for section, name in meanings_of(_in_full(text)) if section == "unit"]
    return _only(map(ListUnit, units))


class _Names:
    """The names of what was found, by section of the table, each once and in order."""

    def __init__(self, found: Sequence[Found]) -> None:
        self._names: dict[str, dict[str, None]] = {}
        for at in found:
            for section, name in at.meanings:
                self._names.setdefault(section, {})[name] = None

    def of(self, section: str) -> tuple[str, ...]:
        return tuple(self._names.get(section, ()))


def _left(found: Sequence[Found], section: str) -> tuple[str, ...]:
    """The names that every word of that section leaves possible; all where words contradict."""
    possible = [names for at in found if (names := _Names((at,)).of(section))]
    every = dict.fromkeys(name for names in possible for name in names)
    left = [name for name in every if all(name in names for names in possible)]
    return tuple(left or every)


def _axes_left(found: Sequence[Found]) -> tuple[Axis, ...]:
    """The axes that every word about axes leaves possible; all of them where words contradict."""
    possible = [axes for at in found if (axes := _axes_of(at))]
    if not possible and set(_Names(found).of("spread")) - {_HORIZONTAL}:
        possible = [_PARTS["spread"]]
    if not possible:
        return ()
    left = frozenset.intersection(*possible) or frozenset.union(*possible)
    return tuple(at for at in _IN_ORDER if at in left)


def _axes_of(found: Found) -> frozenset[Axis]:
    of_parts = [_PARTS[name] for section, name in found.meanings if section == "part"]
    kinds = {name for section, name in found.meanings if section == "kind"}
    return frozenset(at for at in ALL_AXES if at.kind in kinds).union(*of_parts)


def _roles(names: _Names, axes: Sequence[Axis]) -> tuple[Role, ...]:
    roles = tuple(dict.fromkeys(_ROLES[name] for name in names.of("role")))
    if len(roles) > 1:
        roles = tuple(role for role in roles if role is not Role.RUNNING_NUMBER)
    if len(roles) > 1 and Role.GROUP in roles:
        roles = tuple(role for role in roles if role is not Role.LEVEL)
    if len(roles) > 1 and set(roles) <= _NAMES:
        return (Role.FULL_NAME,)
    if len(roles) > 1 and Role.ACCEPTS in roles:
        roles = tuple(role for role in roles if role not in _OF_VALUES)
    is_of_values = any(map(names.of, ("part", "unit", "spread"))) or len(axes) == 1
    if is_of_values and set(roles) <= _OF_VALUES | {Role.RUNNING_NUMBER}:
        return (Role.VALUE,)
    return roles


def _family_first(names: _Names) -> bool | None:
    """Which of two names in one column comes first, where the header tells."""
    roles = names.of("role")
    if set(roles) & {"family_first", "given_first"}:
        return "family_first" in roles
    given = "given_name" if "given_name" in roles else "bare_name"
    family = "family_name" if "family_name" in roles else "bare_name"
    if given == family or given not in roles or family not in roles:
        return None
    return roles.index(family) < roles.index(given)


def _beside_other(text: str, names: _Names) -> Role | None:
    """Which name "Last" and "Athlete's surname" are, where the other one has a column too."""
    roles = set(names.of("role"))
    of_both = {"family_name", "given_name"} & roles
    if "person" in roles and len(of_both) == 1 and not roles & {"bare_name", "full_name"}:
        return _ROLES[of_both.pop()]
    return _SHORT_NAMES.get(text.strip(" .:").casefold())


def _with_units_in_full(text: str) -> str:
    """Units of one letter, and "in", in full where they cannot be anything else.

    A number's own unit is no unit of the column: mats of 20 cm say nothing about heights.
    """
    text = unicodedata.normalize("NFKC", text)
    text = _NUMBER_WITH_UNIT.sub(r"\1", text)
    text = _INCHES_TOO.sub(" inch", text)
    text = _UNIT_IN_BRACKETS.sub(lambda match: f" {_in_full(match[1])} ", text)
    return _UNIT_AT_THE_END.sub(lambda match: f" {_in_full(match[1])} ", text)


def _in_full(unit: str) -> str:
    return _SHORT_UNITS.get(unit.casefold().strip(" ."), unit)


def _counts(found: Found) -> bool:
    """Whether a word may stand in a count: "12 gymnasts", "Anzahl Turnerinnen: 12"."""
    of_rows = _Names((found,))
    says = of_rows.of("row") or of_rows.of("counted") or of_rows.of("filler")
    return bool(says) or "running_number" in of_rows.of("role") or _is_number(found)


def _is_number(found: Found) -> bool:
    return found.words[0].isdecimal()
