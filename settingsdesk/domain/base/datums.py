"""From where to where a length is taken, and how the same rail reads in another datum.

Canonical, and kept everywhere: a height is that of the rail's upper edge above the hall floor; a
spread is the shortest inner distance between the two rails.
"""

from dataclasses import dataclass
from enum import Enum
from math import hypot, sqrt

from settingsdesk.domain.base.figures import SaysLengths, compared_length, length_in_words
from settingsdesk.domain.base.kinds import AxisKind, Quantity
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.domain.base.units import Unit

THICKEST_RAIL_MM = 200
"""No hand closes around more."""


@dataclass(frozen=True, slots=True)
class Section:
    """A rail's section in millimetres; for a round rail both are its diameter."""

    height_mm: float
    width_mm: float

    def __post_init__(self) -> None:
        if not (0 < self.height_mm <= THICKEST_RAIL_MM and 0 < self.width_mm <= THICKEST_RAIL_MM):
            raise NotASection(self.height_mm, self.width_mm)


class Level(Enum):
    """The level from which a height is taken."""

    FLOOR = "floor"
    MAT = "mat"


class Edge(Enum):
    """The part of the rail to which a height is taken."""

    UPPER = "upper"
    CENTRE = "centre"
    UNDERSIDE = "underside"

    def below_upper_mm(self, section: Section | None) -> float:
        """How far this edge lies below the upper one."""
        thickness_mm = section.height_mm if section else 0.0
        return {"upper": 0.0, "centre": thickness_mm / 2, "underside": thickness_mm}[self.value]


@dataclass(frozen=True, slots=True)
class HeightDatum:
    """A height's two ends: the level it rises from and the edge it reaches."""

    level: Level = Level.FLOOR
    edge: Edge = Edge.UPPER

    def to_canonical_mm(self, height_mm: float, section: Section | None, mat_mm: float) -> float:
        """The upper edge above the floor, of a height read in this datum over ``mat_mm`` of mat."""
        return height_mm + self._mat_share_mm(mat_mm) + self.edge.below_upper_mm(section)

    def from_canonical_mm(self, height_mm: float, section: Section | None, mat_mm: float) -> float:
        """The reading in this datum of an upper edge ``height_mm`` above the floor."""
        return height_mm - self._mat_share_mm(mat_mm) - self.edge.below_upper_mm(section)

    def _mat_share_mm(self, mat_mm: float) -> float:
        return mat_mm if self.level is Level.MAT else 0.0


class SpreadDatum(Enum):
    """Between which points a spread is taken."""

    INNER = "inner"
    CENTRES_HORIZONTAL = "centres_horizontal"
    CENTRES_DIAGONAL = "centres_diagonal"

    def to_horizontal_mm(self, spread_mm: float, section: Section, drop_mm: float) -> float:
        """The centres' horizontal distance, where they are ``drop_mm`` apart in height.

        ``SpreadTooSmall`` where the rails' drop alone is more than that spread.
        """
        if self is SpreadDatum.CENTRES_HORIZONTAL:
            return spread_mm
        diagonal_mm = spread_mm + (section.width_mm if self is SpreadDatum.INNER else 0.0)
        if diagonal_mm <= abs(drop_mm):
            raise SpreadTooSmall(spread_mm, drop_mm)
        return sqrt(diagonal_mm**2 - drop_mm**2)

    def from_horizontal_mm(self, horizontal_mm: float, section: Section, drop_mm: float) -> float:
        """The reading in this datum, of centres ``horizontal_mm`` apart."""
        if self is SpreadDatum.CENTRES_HORIZONTAL:
            return horizontal_mm
        diagonal_mm = hypot(horizontal_mm, drop_mm)
        return diagonal_mm - (section.width_mm if self is SpreadDatum.INNER else 0.0)

    def read_as_mm(
        self, other: "SpreadDatum", spread_mm: float, section: Section, drop_mm: float
    ) -> float:
        """What another datum reads where this one reads ``spread_mm``; see ``to_horizontal_mm``."""
        horizontal_mm = self.to_horizontal_mm(spread_mm, section, drop_mm)
        return other.from_horizontal_mm(horizontal_mm, section, drop_mm)


class NotASection(SaysLengths):
    """A rail's section is not one that hands could hold."""

    def __init__(self, height_mm: float, width_mm: float) -> None:
        self.height_mm, self.width_mm = height_mm, width_mm

    def told(self, unit: Unit) -> str:
        return (
            f"A rail's section must be between 0 and {compared_length(THICKEST_RAIL_MM, unit)}"
            f" each way; {compared_length(self.height_mm, unit)} by"
            f" {compared_length(self.width_mm, unit)} was given"
        )


class SpreadTooSmall(SaysLengths):
    """Two rails cannot be as near as this while one is that much higher."""

    def __init__(self, spread_mm: float, drop_mm: float) -> None:
        self.spread_mm, self.drop_mm = spread_mm, drop_mm

    def told(self, unit: Unit) -> str:
        return (
            f"A spread of {length_in_words(self.spread_mm, unit)} cannot be: the rails are"
            f" {length_in_words(abs(self.drop_mm), unit)} apart in height alone"
        )


def height_in_words(datum: HeightDatum, point: Sentence) -> Sentence:
    """The datum as it is printed: "upper edge of the rail, above the floor"."""
    edge = {
        Edge.UPPER: point,
        Edge.CENTRE: Sentence("centre of the rail"),
        Edge.UNDERSIDE: Sentence("underside of the rail"),
    }[datum.edge]
    if datum.level is Level.MAT:
        return Sentence("%(edge)s, above the mat", edge=edge)
    return Sentence("%(edge)s, above the floor", edge=edge)


def spread_in_words(datum: SpreadDatum) -> Sentence:
    """The datum as it is printed: "horizontal distance of the rails' centres"."""
    return {
        SpreadDatum.INNER: Sentence("shortest distance between the rails' inner faces"),
        SpreadDatum.CENTRES_HORIZONTAL: Sentence("horizontal distance of the rails' centres"),
        SpreadDatum.CENTRES_DIAGONAL: Sentence("straight distance of the rails' centres"),
    }[datum]


def canonical_in_words(axis: AxisKind) -> Sentence:
    """Between which points the desk keeps a length of that axis, as it is printed beside it."""
    if axis.quantity is Quantity.HEIGHT:
        return height_in_words(HeightDatum(), axis.point)
    if axis.quantity is Quantity.SPREAD:
        return spread_in_words(SpreadDatum.INNER)
    return Sentence("between %(things)s", things=axis.point)
