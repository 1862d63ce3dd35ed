"""What an athlete wants on an apparatus: a length on each axis, and what they accept."""

from collections.abc import Mapping
from dataclasses import dataclass

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import (
    SaysLengths,
    compared_length,
    length_in_words,
    most_in_words,
)
from settingsdesk.domain.base.kinds import AxisKind, Kind, Quantity
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.domain.base.units import Unit

MOST_ACCEPTED_MM = 500
LONGEST_WANTED_MM = 30_000


@dataclass(frozen=True, slots=True)
class Wanted:
    """One axis of a setting: canonical whole millimetres, and the accepted deviation each way.

    ``weight`` says how much the axis matters to the athlete against the others.
    """

    wanted_mm: int
    accepts_mm: int = 0
    weight: int = 1

    def __post_init__(self) -> None:
        if not 0 <= self.wanted_mm <= LONGEST_WANTED_MM:
            raise NotALength(self.wanted_mm)
        if not 0 <= self.accepts_mm <= MOST_ACCEPTED_MM:
            raise NotADeviation(self.accepts_mm)
        if not 1 <= self.weight <= 9:
            raise NotAWeight(self.weight)


@dataclass(frozen=True, slots=True)
class Setting:
    """What an athlete wants on every axis of a kind, by axis key."""

    kind: Kind
    axes: Mapping[str, Wanted]

    def __post_init__(self) -> None:
        for axis in self.kind.axes:
            if axis.key not in self.axes:
                raise AxisMissing(axis)
        for key in self.axes:
            self.kind.axis(key)
        if self.kind.spread_between is not None:
            self._must_be_in_order(*self.kind.spread_between)

    def _must_be_in_order(self, low: str, high: str) -> None:
        if low != high and self.axes[low].wanted_mm >= self.axes[high].wanted_mm:
            raise RailsInWrongOrder(
                self.kind.axis(low),
                self.axes[low].wanted_mm,
                self.kind.axis(high),
                self.axes[high].wanted_mm,
            )


def longest_mm(axis: AxisKind) -> int:
    """The longest length that is believed on such an axis: 4 m of height or spread, 30 m else."""
    return LONGEST_WANTED_MM if axis.quantity is Quantity.DISTANCE else 4_000


class NotALength(SaysLengths):
    """A length no apparatus has."""

    def __init__(self, wanted_mm: int) -> None:
        self.wanted_mm = wanted_mm

    def told(self, unit: Unit) -> str:
        return (
            f"A setting must be between 0 and {compared_length(LONGEST_WANTED_MM, unit)};"
            f" {compared_length(self.wanted_mm, unit)} was given"
        )


class NotADeviation(SaysLengths):
    """An accepted deviation that is negative or absurdly large."""

    def __init__(self, accepts_mm: int) -> None:
        self.accepts_mm = accepts_mm

    def told(self, unit: Unit) -> str:
        return (
            "The accepted deviation must be between 0 and"
            f" {most_in_words(MOST_ACCEPTED_MM, unit)};"
            f" {compared_length(self.accepts_mm, unit)} was given"
        )


class NotAWeight(SettingsDeskError):
    """A weight outside 1 to 9."""

    def __init__(self, weight: int) -> None:
        self.weight = weight

    def __str__(self) -> str:
        return f"How much an adjustment matters must be between 1 and 9; {self.weight} was given"


class AxisMissing(SettingsDeskError):
    """A setting leaves out an axis that its kind has."""

    def __init__(self, axis: AxisKind) -> None:
        self.axis = axis

    def __str__(self) -> str:
        return f"Enter the {self.axis.in_a_sentence}: a setting needs every adjustment"


class RailsInWrongOrder(SaysLengths):
    """The low rail would be as high as the high rail, or higher."""

    def __init__(self, low: AxisKind, low_mm: int, high: AxisKind, high_mm: int) -> None:
        self.low, self.low_mm, self.high, self.high_mm = low, low_mm, high, high_mm

    def told(self, unit: Unit) -> str:
        return Sentence(
            "%(low)s (%(low_mm)s) must be less than %(high)s (%(high_mm)s): are the two swapped?",
            low=self.low.name,
            low_mm=length_in_words(self.low_mm, unit),
            high=self.high.in_a_sentence,
            high_mm=length_in_words(self.high_mm, unit),
        )
