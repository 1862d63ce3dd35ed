"""What is known of a column before its cells are read, and what a cell comes to."""

from dataclasses import dataclass
from functools import cache

from settingsdesk.domain.base.datums import HeightDatum, Section, SpreadDatum
from settingsdesk.domain.base.kinds import KINDS, AxisKind
from settingsdesk.sheets.lists.units import ListUnit


@dataclass(frozen=True, slots=True)
class Said:
    """What header, title, sheet name, legend or the person say about the cells of a column or row.

    ``datum`` and ``spread`` only where they are stated. The mat's thickness and the rail's section
    are no matter of a list: they are given by whoever settles the mapping, and without them a
    height above the mat or to another edge is not taken.
    """

    axis: str | None = None
    unit: ListUnit | None = None
    datum: HeightDatum | None = None
    spread: SpreadDatum | None = None
    kind: str | None = None
    mat_mm: int | None = None
    section: Section | None = None

    @property
    def axis_kind(self) -> AxisKind | None:
        """The axis, where it is known; a spread is the same on all kinds that have one."""
        return _axis_kind(self.kind, self.axis)

    @property
    def has_rails(self) -> bool:
        """Whether the axis is that of rails, so that they have an edge above and one below."""
        return any(
            kind.railed and self.axis in {axis.key for axis in kind.axes} for kind in KINDS.values()
        )


@dataclass(frozen=True, slots=True)
class Value:
    """A length in the canonical datum, or a mark; exactly one of the two.

    ``unit`` is the one in which it was read; ``converted`` says in words how it was.
    """

    value_mm: int | None
    mark: str | None
    unit: ListUnit
    converted: str


@dataclass(frozen=True, slots=True)
class Doubt:
    """A cell that a person has to settle: one sentence why, and what to do.

    ``unbelieved`` is the length, where it can be read and is hardly one of that axis.
    """

    why: str
    unbelieved: Value | None = None


@cache
def _axis_kind(kind_key: str | None, axis_key: str | None) -> AxisKind | None:
    kinds = [KINDS[kind_key]] if kind_key in KINDS else list(KINDS.values())
    axes = (axis for kind in kinds for axis in kind.axes)
    return next((axis for axis in axes if axis.key == axis_key), None)
