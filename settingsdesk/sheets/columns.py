"""The columns of the squad sheet, the same for coming in and for going out.

One row per athlete and apparatus model; per axis the wanted length in centimetres or the mark,
and the deviation that the athlete accepts.
"""

import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import Enum

from openpyxl.utils import get_column_letter


class Role(Enum):
    """What a column holds; the value completes the sentence that explains it to the coach."""

    FAMILY_NAME = "the athlete's family name"
    GIVEN_NAME = "the athlete's given name"
    PRINTED_NAME = "the name as it is printed on cards; blank for the given name and an initial"
    GROUP = "the training group, or blank"
    MODEL = "the apparatus model as it is named here; blank if the row has no lengths and marks"
    CENTIMETRES = "the length the athlete wants in centimetres, like 245 or 247.5"
    MARK = "or, instead of centimetres, the mark on the model's scale"
    ACCEPTS = "how far from it, up or down, the athlete accepts, in centimetres, like 1 or 0.5"
    REASON = "why the setting is as it is, or blank"


_PLAIN_HEADERS = {
    Role.FAMILY_NAME: "Family name",
    Role.GIVEN_NAME: "Given name",
    Role.PRINTED_NAME: "Printed name",
    Role.GROUP: "Group",
    Role.MODEL: "Model",
}
_AXIS_HEADERS = {
    Role.CENTIMETRES: "{} (cm)",
    Role.MARK: "{} (mark)",
    Role.ACCEPTS: "{} accepts (± cm)",
}
_REQUIRED = (Role.FAMILY_NAME, Role.GIVEN_NAME, Role.MODEL)


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its header, what it holds, and of which axis (empty for none)."""

    header: str
    role: Role
    axis: str = ""


@dataclass(frozen=True, slots=True)
class SquadColumns:
    """All columns for the given axes, in the order in which they are written.

    Axes of one name share their columns: the row's model says which of them is meant.
    """

    axes: tuple[str, ...]

    def __init__(self, axes: Sequence[str]):
        by_key: dict[str, str] = {}
        for axis in axes:
            by_key.setdefault(_key(axis), axis)
        object.__setattr__(self, "axes", tuple(by_key.values()))

    def __iter__(self) -> Iterator[Column]:
        for role, header in _PLAIN_HEADERS.items():
            yield Column(header, role)
        for axis in self.axes:
            for role, pattern in _AXIS_HEADERS.items():
                yield Column(pattern.format(axis), role, axis)
        yield Column("Reason", Role.REASON)

    def by_letter(self) -> dict[str, Column]:
        """The columns by the letter under which they are written."""
        return {get_column_letter(number): column for number, column in enumerate(self, start=1)}

    @property
    def required(self) -> tuple[Column, ...]:
        """Those without which a sheet cannot be read."""
        return tuple(column for column in self if column.role in _REQUIRED)

    def find(self, header: str) -> Column | None:
        """The column of that header; capitals, blanks and "+/-" for "±" make no difference."""
        return {_key(column.header): column for column in self}.get(_key(header))


def _key(header: str) -> str:
    plain = unicodedata.normalize("NFKC", header).replace("+/-", "±")
    return "".join(plain.casefold().split())
