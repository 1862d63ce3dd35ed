"""How the rails stand when each axis is locked at a stop of its scale.

The readings of all axes together give what a tape would find: each rail's upper edge above the
floor, and the inner spread. Where uprights lean, every axis shifts the others by some millimetres.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import asin, cos, hypot, sin

from settingsdesk.domain.base.datums import Edge, Section, SpreadDatum
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import SaysLengths, length_in_words
from settingsdesk.domain.base.units import Unit

Readings = Mapping[str, float]
"""Axis key to the length in millimetres that its scale shows."""


@dataclass(frozen=True, slots=True)
class RailPair:
    """The two rails that a spread separates: their height axes, the spread's axis, the section.

    ``edges`` says to which edge each height scale reads, ``spread_datum`` what the spread's
    scale reads.
    """

    low: str
    high: str
    spread: str
    section: Section
    edges: Mapping[str, Edge]
    spread_datum: SpreadDatum


@dataclass(frozen=True, slots=True)
class Stance:
    """Where two rails stand: centre heights above the floor and their horizontal distance."""

    low_centre_mm: float
    high_centre_mm: float
    horizontal_mm: float

    @property
    def drop_mm(self) -> float:
        """How much higher the high rail's centre is."""
        return self.high_centre_mm - self.low_centre_mm

    def inner_mm(self, section: Section) -> float:
        """The shortest inner distance of the rails (the inner diagonal)."""
        return hypot(self.horizontal_mm, self.drop_mm) - section.width_mm


@dataclass(frozen=True, slots=True)
class Upright:
    """Uprights that stay vertical: the axes are independent of each other.

    ``reference_drop_mm`` is the height difference of the rails at which a printed *diagonal*
    spread is true, 0 where nobody has told it (see ``ApparatusModel.lacks_drop``); a scale of
    horizontal distances needs none, nor do level rails.
    """

    reference_drop_mm: float = 0.0

    def centre_mm(self, pair: RailPair, axis: str, reading_mm: float, spread_mm: float) -> float:
        """A rail's centre above the floor; where the spread stands does not matter."""
        section = pair.section
        return reading_mm + pair.edges[axis].below_upper_mm(section) - section.height_mm / 2

    def horizontal_mm(
        self, pair: RailPair, low_mm: float, high_mm: float, spread_mm: float
    ) -> float:
        """The centres' horizontal distance; where the heights stand does not matter."""
        return pair.spread_datum.to_horizontal_mm(spread_mm, pair.section, self.reference_drop_mm)


@dataclass(frozen=True, slots=True)
class Leaning:
    """Uprights that pivot at their foot and are opened by the spreader.

    Feet ``foot_distance_mm`` apart at ``pivot_height_mm`` above the floor; the spreader is
    fastened ``spreader_at_mm`` up each upright. A height scale then reads along the upright, to
    the rail's centre, and the spread's scale reads the spreader's own width.
    """

    foot_distance_mm: float
    spreader_at_mm: float
    pivot_height_mm: float

    def __post_init__(self) -> None:
        if not (self.foot_distance_mm > 0 and self.spreader_at_mm > 0):
            raise NotAFrame("The distance of the feet and of the spreader must be more than 0")

    def centre_mm(self, pair: RailPair, axis: str, reading_mm: float, spread_mm: float) -> float:
        """A rail's centre above the floor: the lower, the more the upright leans."""
        return self.pivot_height_mm + reading_mm * cos(self.lean_rad(spread_mm))

    def horizontal_mm(
        self, pair: RailPair, low_mm: float, high_mm: float, spread_mm: float
    ) -> float:
        """The centres' horizontal distance: the wider, the higher the rails sit."""
        return self.foot_distance_mm + (low_mm + high_mm) * sin(self.lean_rad(spread_mm))

    def lean_rad(self, spreader_mm: float) -> float:
        """How far each upright leans outwards, in radians; ``NotAFrame`` where it cannot."""
        sine = (spreader_mm - self.foot_distance_mm) / (2 * self.spreader_at_mm)
        if not -1 < sine < 1:
            raise SpreaderDoesNotFit(spreader_mm, self.foot_distance_mm)
        return asin(sine)


Geometry = Upright | Leaning


def stance(geometry: Geometry, pair: RailPair, readings: Readings) -> Stance:
    """Where both rails stand for those readings."""
    low_mm, high_mm, spread_mm = readings[pair.low], readings[pair.high], readings[pair.spread]
    return Stance(
        geometry.centre_mm(pair, pair.low, low_mm, spread_mm),
        geometry.centre_mm(pair, pair.high, high_mm, spread_mm),
        geometry.horizontal_mm(pair, low_mm, high_mm, spread_mm),
    )


class NotAFrame(SettingsDeskError):
    """The measures given cannot be those of a frame that stands."""

    def __init__(self, what: str) -> None:
        self.what = what

    def __str__(self) -> str:
        return self.what


class SpreaderDoesNotFit(SaysLengths, NotAFrame):
    """A spreader too wide or too narrow for where the uprights stand."""

    def __init__(self, spreader_mm: float, foot_distance_mm: float) -> None:
        self.spreader_mm, self.foot_distance_mm = spreader_mm, foot_distance_mm

    def told(self, unit: Unit) -> str:
        return (
            f"A spreader {length_in_words(self.spreader_mm, unit)} wide does not fit uprights whose"
            f" feet are {length_in_words(self.foot_distance_mm, unit)} apart"
        )
