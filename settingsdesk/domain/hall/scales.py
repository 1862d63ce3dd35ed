"""Scales: all stops of an axis, label to length and length to the nearest stop.

A stop is counted from 0, upwards or outwards; its label is what is printed on the apparatus. All
lengths are millimetres in the datum of the axis that the scale belongs to.
"""

from abc import ABC, abstractmethod
from bisect import bisect_left
from dataclasses import dataclass
from enum import Enum
from math import floor

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import (
    SaysLengths,
    compared_length,
    format_length,
    in_eighths,
    length_in_words,
    read_length_mm,
    said_mm,
)
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.domain.base.units import Unit

TIE_MM = 0.05
"""Two stops this nearly as far off are both named: nobody reads a tape finer."""

HALF_MM = 0.5
"""A length this little past an end is printed as that end, so it is not called outside."""

FINEST_MM = 1.0

MOST_STOPS = 5_000
LONGEST_MM = 100_000.0


@dataclass(frozen=True, slots=True)
class Nearest:
    """The stop nearest to a length, or the two it lies half-way between.

    ``residual_mm`` is the stop's length less the wanted one, one for each stop.
    """

    stops: tuple[int, ...]
    residual_mm: tuple[float, ...]


class Scale(ABC):
    """Stops in order of length, each with its label."""

    __slots__ = ()

    @property
    @abstractmethod
    def count(self) -> int:
        """How many stops there are."""

    @property
    def has_pins(self) -> bool:
        """Whether something seats at each stop; on a ruler nothing does."""
        return True

    @abstractmethod
    def _label(self, stop: int) -> str: ...

    @property
    def ruled_in(self) -> Unit | None:
        """The unit of a ruler, whose marks are lengths; None where they are numbers or letters."""
        return None

    @abstractmethod
    def _length_mm(self, stop: int) -> float: ...

    def label(self, stop: int) -> str:
        """What is printed at that stop."""
        self._must_have(stop)
        return self._label(stop)

    def length_mm(self, stop: int) -> float:
        """Where that stop is."""
        self._must_have(stop)
        return self._length_mm(stop)

    def stop_of(self, label: str) -> int:
        """The stop with that label, upper or lower case; ``NoSuchLabel`` where there is none."""
        wanted = self._spelling(label)
        for stop in range(self.count):
            if self._spelling(self._label(stop)) == wanted:
                return stop
        likely = self._meant(label)
        raise NoSuchLabel(label, self._label(0), self._label(self.count - 1), self.count, likely)

    def _meant(self, label: str) -> str:
        """The label of a metric ruler that is meant by a figure in another unit; empty for none."""
        if self.ruled_in is not Unit.CENTIMETRE:
            return ""
        said = said_mm(label)
        lengths_mm = (
            [said] if said else [mm for unit in ("m", "mm") if (mm := said_mm(f"{label} {unit}"))]
        )
        labels = {self._label(stop) for stop in range(self.count)}
        meant = (f"{float(mm) / 10:.1f}" for mm in lengths_mm if mm.denominator == 1)
        return next((figure for figure in meant if figure in labels), "")

    def nearest(self, length_mm: float) -> Nearest:
        """The nearest stop and its residual, both candidates where the length is half-way.

        ``OutsideScale`` where the length is farther past an end than half the last gap (half a
        millimetre at least).
        """
        last = self.count - 1
        if not self._covers(length_mm):
            raise OutsideScale(length_mm, self._length_mm(0), self._length_mm(last))
        above = bisect_left(range(self.count), length_mm, key=self._length_mm)
        off = {
            stop: self._length_mm(stop) - length_mm
            for stop in {max(above - 1, 0), min(above, last)}
        }
        least = min(abs(residual) for residual in off.values())
        stops = tuple(
            sorted(stop for stop, residual in off.items() if abs(residual) <= least + TIE_MM)
        )
        return Nearest(stops, tuple(off[stop] for stop in stops))

    def _covers(self, length_mm: float) -> bool:
        last = self.count - 1
        low_gap = self._length_mm(min(1, last)) - self._length_mm(0)
        high_gap = self._length_mm(last) - self._length_mm(max(last - 1, 0))
        below = self._length_mm(0) - length_mm
        beyond = length_mm - self._length_mm(last)
        return (
            below <= max(low_gap / 2, HALF_MM) + TIE_MM
            and beyond <= max(high_gap / 2, HALF_MM) + TIE_MM
        )

    def _spelling(self, label: str) -> str:
        """A label as it is compared: upper or lower case and blanks around it do not matter."""
        return label.strip().casefold()

    def _must_have(self, stop: int) -> None:
        if not 0 <= stop < self.count:
            raise NoSuchStop(stop, self.count)


class Lettering(Enum):
    """How the stops of a regular scale are labelled."""

    NUMBERS = "numbers"
    LETTERS = "letters"


@dataclass(frozen=True, slots=True)
class RegularScale(Scale):
    """Evenly spaced stops, labelled by running numbers or letters from ``first_label``."""

    first_mm: float
    pitch_mm: float
    stops: int
    lettering: Lettering = Lettering.NUMBERS
    first_label: int = 1

    def __post_init__(self) -> None:
        _must_be_countable(self.stops)
        if self.pitch_mm <= 0:
            raise ScaleDoesNotRise("The distance from mark to mark must be more than 0")
        _must_be_short(self.first_mm, self._length_mm(self.stops - 1))
        if self.lettering is Lettering.LETTERS and self.first_label < 1:
            raise ScaleDoesNotRise("Letters start at A: the first label must be 1 or more")

    @property
    def count(self) -> int:
        return self.stops

    def _label(self, stop: int) -> str:
        number = self.first_label + stop
        return str(number) if self.lettering is Lettering.NUMBERS else _letters(number)

    def _length_mm(self, stop: int) -> float:
        return self.first_mm + self.pitch_mm * stop


@dataclass(frozen=True, slots=True)
class TabulatedScale(Scale):
    """Any list of labels and lengths, in order of length."""

    table: tuple[tuple[str, float], ...]

    def __post_init__(self) -> None:
        _must_be_countable(len(self.table))
        seen: set[str] = set()
        previous_mm: float | None = None
        for label, length_mm in self.table:
            _must_be_short(length_mm)
            if not label.strip() or label.strip().casefold() in seen:
                raise LabelNotUnique(label)
            if previous_mm is not None and length_mm <= previous_mm:
                raise StopNotBeyond(label, length_mm, previous_mm)
            seen.add(label.strip().casefold())
            previous_mm = length_mm

    @property
    def count(self) -> int:
        return len(self.table)

    def _label(self, stop: int) -> str:
        return self.table[stop][0]

    def _length_mm(self, stop: int) -> float:
        return self.table[stop][1]


@dataclass(frozen=True, slots=True)
class ContinuousScale(Scale):
    """A spindle or a slide with a ruler, read to its resolution; the label is what it shows.

    ``printed_in`` is the unit of that: centimetres to the millimetre, or inches to the eighth. No
    ruler is read finer, so no two labels are alike.
    """

    from_mm: float
    to_mm: float
    resolution_mm: float
    printed_in: Unit = Unit.CENTIMETRE

    def __post_init__(self) -> None:
        _must_be_short(self.from_mm, self.to_mm, self.resolution_mm)
        if self.resolution_mm < FINEST_MM or self.to_mm < self.from_mm:
            raise ScaleDoesNotRise(
                "A ruler must rise: its end beyond its start, and its resolution at least 0.1 cm"
            )
        if self.printed_in is Unit.INCH and not (
            in_eighths(self.from_mm) and in_eighths(self.resolution_mm)
        ):
            raise ScaleDoesNotRise(
                "A ruler that is printed in inches must begin at a whole eighth of an inch and be"
                " read to whole eighths"
            )
        _must_be_countable(self.count)

    @property
    def ruled_in(self) -> Unit:
        return self.printed_in

    @property
    def has_pins(self) -> bool:
        return False

    @property
    def count(self) -> int:
        return int((self.to_mm - self.from_mm) / self.resolution_mm + 1e-9) + 1

    def _label(self, stop: int) -> str:
        if self.printed_in is Unit.INCH:
            return format_length(self._length_mm(stop), Unit.INCH)
        return f"{floor(self._length_mm(stop) + HALF_MM) / 10:.1f}"

    def _spelling(self, label: str) -> str:
        """A figure however it is typed: "170", "170,0" and "170.0" are one, as "51.5", "51 1/2"."""
        if self.printed_in is Unit.INCH:
            try:
                return str(read_length_mm(label, "mark", Unit.INCH))
            except SettingsDeskError:
                return label
        whole, _, part = label.strip().replace(",", ".").partition(".")
        return f"{whole}.{part or 0}"

    def _length_mm(self, stop: int) -> float:
        return self.from_mm + self.resolution_mm * stop


@dataclass(frozen=True, slots=True)
class CalibratedScale(Scale):
    """One apparatus's own scale: the labels of its model, at the lengths that a tape found.

    A stop of the model at n millimetres stands at ``offset_mm + gain * n``.
    """

    printed: Scale
    offset_mm: float
    gain: float

    def __post_init__(self) -> None:
        if self.gain <= 0:
            raise ScaleDoesNotRise(
                "The measured lengths must rise with the marks: were they taken from the other end?"
            )
        _must_be_short(self._length_mm(0), self._length_mm(self.count - 1))

    @property
    def ruled_in(self) -> Unit | None:
        return self.printed.ruled_in

    @property
    def has_pins(self) -> bool:
        return self.printed.has_pins

    @property
    def count(self) -> int:
        return self.printed.count

    def _label(self, stop: int) -> str:
        return self.printed.label(stop)

    def _spelling(self, label: str) -> str:
        return self.printed._spelling(label)

    def _length_mm(self, stop: int) -> float:
        return self.offset_mm + self.gain * self.printed.length_mm(stop)


def _letters(number: int) -> str:
    """1 is A, 26 is Z, 27 is AA, as the columns of a ledger run on."""
    letters = ""
    while number > 0:
        number, letter = divmod(number - 1, 26)
        letters = chr(ord("A") + letter) + letters
    return letters


def _must_be_countable(count: int) -> None:
    if not 1 <= count <= MOST_STOPS:
        raise WrongNumberOfStops(count)


def _must_be_short(*lengths_mm: float) -> None:
    if not all(abs(length_mm) <= LONGEST_MM for length_mm in lengths_mm):
        raise ScaleDoesNotRise(f"A scale must end within {LONGEST_MM / 1000:g} metres")


class NoSuchStop(SettingsDeskError):
    """A stop number beyond the scale."""

    def __init__(self, stop: int, count: int) -> None:
        self.stop, self.count = stop, count

    def __str__(self) -> str:
        return f"Stop {self.stop} is not on this scale: its stops are counted 0 to {self.count - 1}"


class NoSuchLabel(SettingsDeskError):
    """A mark was named that is not printed on this scale."""

    def __init__(self, label: str, first: str, last: str, count: int, likely: str = "") -> None:
        self.label, self.first, self.last, self.count = label, first, last, count
        self.likely = likely
        """The mark that is meant if the figure is one in another unit; empty for none."""

    def __str__(self) -> str:
        if self.likely:
            return Sentence(
                "Mark '%(mark)s' is not on this scale, which runs from %(first)s to %(last)s:"
                " type %(likely)s if that is meant",
                mark=self.label.strip(),
                first=self.first,
                last=self.last,
                likely=self.likely,
            )
        return Sentence(
            "Mark '%(mark)s' is not on this scale: its %(count)s marks run from %(first)s to"
            " %(last)s",
            mark=self.label.strip(),
            count=self.count,
            first=self.first,
            last=self.last,
        )


class OutsideScale(SaysLengths):
    """A length past the ends of the scale."""

    def __init__(self, length_mm: float, first_mm: float, last_mm: float) -> None:
        self.length_mm, self.first_mm, self.last_mm = length_mm, first_mm, last_mm

    def told(self, unit: Unit) -> str:
        return (
            f"{compared_length(self.length_mm, unit)} is outside this scale, which runs from"
            f" {length_in_words(self.first_mm, unit).alone} to"
            f" {length_in_words(self.last_mm, unit)}"
        )


class WrongNumberOfStops(SettingsDeskError):
    """No stop at all, or more than any apparatus has."""

    def __init__(self, count: int) -> None:
        self.count = count

    def __str__(self) -> str:
        return (
            f"A scale must have between 1 and {MOST_STOPS} stops; this one would have {self.count}"
        )


class LabelNotUnique(SettingsDeskError):
    """Two stops of one scale bear the same label, or one bears none."""

    def __init__(self, label: str) -> None:
        self.label = label

    def __str__(self) -> str:
        if not self.label.strip():
            return "Each mark must have a name: the one printed at it"
        return f"Two stops are labelled '{self.label}': each label must be on one stop only"


class ScaleDoesNotRise(SettingsDeskError):
    """The numbers given make no rising scale."""

    def __init__(self, what: str) -> None:
        self.what = what

    def __str__(self) -> str:
        return self.what


class StopNotBeyond(SaysLengths, ScaleDoesNotRise):
    """A stop of a scale is not further than the one before it."""

    def __init__(self, label: str, length_mm: float, previous_mm: float) -> None:
        self.label, self.length_mm, self.previous_mm = label, length_mm, previous_mm

    def told(self, unit: Unit) -> str:
        return (
            f"Stop '{self.label}' at {compared_length(self.length_mm, unit)} must lie beyond the"
            f" stop before it, which is at {compared_length(self.previous_mm, unit)}"
        )
