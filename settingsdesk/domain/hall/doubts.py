"""What of a model is asked about before it is kept: figures that may be slips, and may be right.

Nothing here is refused, and nothing is changed: a coach looks once more, and what was typed stays.
"""

from abc import ABC, abstractmethod
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from settingsdesk.domain.base.datums import Section
from settingsdesk.domain.base.figures import and_in_another_unit, length_in_words
from settingsdesk.domain.base.kinds import AxisKind, Range
from settingsdesk.domain.base.units import Unit, unit_label
from settingsdesk.domain.hall.geometry import Leaning
from settingsdesk.domain.hall.models import ApparatusModel, Axis
from settingsdesk.domain.hall.scales import (
    HALF_MM,
    TIE_MM,
    ContinuousScale,
    Lettering,
    RegularScale,
    Scale,
    TabulatedScale,
)


class Doubt(ABC):
    """One thing to be looked at once more."""

    __slots__ = ()

    @abstractmethod
    def told(self, unit: Unit) -> str:
        """The question, with its lengths in that unit."""


@dataclass(frozen=True, slots=True)
class OfAxis(Doubt):
    """A question about one axis, which begins with its name."""

    axis: AxisKind

    def told(self, unit: Unit) -> str:
        """The question, with its lengths in that unit."""
        return f"{self.axis.name}: {self._asked(unit)}"

    @abstractmethod
    def _asked(self, unit: Unit) -> str:
        """What is asked of the axis."""


@dataclass(frozen=True, slots=True)
class NotBelieved(OfAxis):
    """A length, or the ends of a scale, outside what is believed of such an axis."""

    least_mm: float
    most_mm: float

    def _asked(self, unit: Unit) -> str:
        believed = self.axis.believed
        is_one_length = self.least_mm == self.most_mm
        first = "" if is_one_length else f"from {_as_typed(self.least_mm, unit)[0]} to "
        read = f"{first}{_as_typed(self.most_mm, unit)[1]}"
        return _read_and_usual(read, [self.least_mm, self.most_mm], believed, unit)


@dataclass(frozen=True, slots=True)
class SpreadMisread(OfAxis):
    """A mark of a spread whose length a tape would not find, while the rails stand ``drop_mm``
    apart in height."""

    mark: str
    reading_mm: float
    found_mm: float
    drop_mm: float

    def _asked(self, unit: Unit) -> str:
        return (
            f"mark {self.mark} reads {length_in_words(self.reading_mm, unit)},"
            f" but with the rails {length_in_words(self.drop_mm, unit)} apart in height, the middle"
            f" of their scales, a tape would find {length_in_words(self.found_mm, unit)}. Is the"
            " drop for which the scale is printed right?"
        )


@dataclass(frozen=True, slots=True)
class MarksOfRuler(OfAxis):
    """A ruler that begins or ends between two of its own steps, so that its marks are odd ones."""

    scale: ContinuousScale

    def _asked(self, unit: Unit) -> str:
        """In the unit in which the ruler is printed, whoever reads it."""
        scale = self.scale
        step = length_in_words(scale.resolution_mm, scale.printed_in)
        first = ", ".join(scale.label(stop) for stop in range(min(scale.count, 3)))
        last = f" … {scale.label(scale.count - 1)}" if scale.count > 3 else ""
        return (
            f"from {length_in_words(scale.from_mm, scale.printed_in)} to"
            f" {length_in_words(scale.to_mm, scale.printed_in)}, read to the nearest {step}, its"
            f" marks would be {first}{last}. Are these what the ruler shows?"
        )


@dataclass(frozen=True, slots=True)
class MarksUpwards(OfAxis):
    """Numbers that begin where those of a scale that is numbered downwards would begin."""

    scale: Scale

    def _asked(self, unit: Unit) -> str:
        return (
            f"its marks would run from {self.scale.label(0)}, the lowest, up to"
            f" {self.scale.label(self.scale.count - 1)}. Where they are numbered downwards, list"
            " them one by one; is it right as it is?"
        )


@dataclass(frozen=True, slots=True)
class OneStop(OfAxis):
    """An axis that could not be moved."""

    mark: str

    def _asked(self, unit: Unit) -> str:
        return f"it would have one mark alone, {self.mark}. Is that all of its scale?"


@dataclass(frozen=True, slots=True)
class StopsNear(OfAxis):
    """Holes that would run into one another."""

    apart_mm: float

    def _asked(self, unit: Unit) -> str:
        apart = length_in_words(self.apart_mm, unit)
        return f"two of its marks would be {apart} apart. Is it so near, or is a digit missing?"


@dataclass(frozen=True, slots=True)
class OutOfStep(OfAxis):
    """One listed stop that lies elsewhere than all the others would put it."""

    mark: str
    listed_mm: float
    expected_mm: float

    def _asked(self, unit: Unit) -> str:
        return (
            f"mark {self.mark} is at {length_in_words(self.listed_mm, unit)}, where all the others"
            f" would put it at {length_in_words(self.expected_mm, unit)}. Is it so?"
        )


@dataclass(frozen=True, slots=True)
class MarkSkipped(OfAxis):
    """Stops that are equally far apart, and numbers that are not."""

    before: str
    after: str

    def _asked(self, unit: Unit) -> str:
        return (
            f"its marks are equally far apart, but go from {self.before} to {self.after}."
            " Is a mark missing or mistyped?"
        )


@dataclass(frozen=True, slots=True)
class RailNotBelieved(Doubt):
    """A rail thinner or thicker than any that hands hold."""

    section: Section

    def told(self, unit: Unit) -> str:
        """The question, with its lengths in that unit."""
        height = length_in_words(self.section.height_mm, unit).alone
        width = length_in_words(self.section.width_mm, unit)
        both_mm = [self.section.height_mm, self.section.width_mm]
        return f"Rail section: {_read_and_usual(f'{height} by {width}', both_mm, RAIL, unit)}"


TENTHS_ARE_TYPED = 1e-6
"""How near to a tenth of a millimetre a length is that was typed; worked out ones seldom are."""


def _as_typed(mm: float, unit: Unit) -> tuple[str, str]:
    """The figure of a length, and the length with its unit.

    Tenths of a millimetre are typed, not measured: rounded, nobody finds the figure again.
    """
    tenths = round(mm * 10)
    if unit is Unit.CENTIMETRE and tenths % 10 and abs(mm * 10 - tenths) < TENTHS_ARE_TYPED:
        figure = f"{tenths / 100:.2f}"
        return figure, f"{figure} {unit_label(unit)}"
    length = length_in_words(mm, unit)
    return length.alone, length


def _read_and_usual(read: str, lengths_mm: Sequence[float], believed: Range, unit: Unit) -> str:
    least, most = (length_in_words(mm, unit) for mm in (believed.least_mm, believed.most_mm))
    likely = and_in_another_unit(lengths_mm, unit, believed.holds)
    return (
        f"{read} was read, {least.alone} to {most} is usual. Was it typed in another unit, or"
        f" with a digit too few or too many?{likely}"
    )


RAIL = Range(20, 80)
"""What is believed of a rail each way: the published ones are 28 mm round to some 5 cm high."""

MOST_DIGITS = 6

NEAREST_HOLES_MM = 10.0
"""Holes nearer than this would leave no metal between their pins; to catch a missing digit."""


def doubts(model: ApparatusModel) -> tuple[Doubt, ...]:
    """All that is asked about a model, in the order of its axes."""
    return tuple(_doubts(model))


def not_believed(axis: AxisKind, length_mm: float) -> NotBelieved | None:
    """The question about one canonical length; None where it is believed of such an axis."""
    return None if axis.believed.holds(length_mm) else NotBelieved(axis, length_mm, length_mm)


def _doubts(model: ApparatusModel) -> Iterator[Doubt]:
    for axis in model.axes:
        least_mm, most_mm = _ends_mm(model, axis)
        believed = axis.kind.believed
        if not (believed.holds(least_mm) and believed.holds(most_mm)):
            yield NotBelieved(axis.kind, least_mm, most_mm)
        yield from _of_scale(axis)
    section = model.section
    if section and not (RAIL.holds(section.height_mm) and RAIL.holds(section.width_mm)):
        yield RailNotBelieved(section)
    misread = _spread_misread(model)
    if misread is not None:
        yield misread


def _of_scale(axis: Axis) -> Iterator[Doubt]:
    scale = axis.scale
    if scale.count == 1:
        yield OneStop(axis.kind, scale.label(0))
        return
    match scale:
        case ContinuousScale() if not _begins_and_ends_on_its_steps(scale):
            yield MarksOfRuler(axis.kind, scale)
        case RegularScale(first_label=first, lettering=Lettering.NUMBERS) if first == scale.count:
            yield MarksUpwards(axis.kind, scale)
        case TabulatedScale():
            yield from _of_list(axis.kind, scale)
    if scale.has_pins:
        nearest_mm = min(
            scale.length_mm(stop + 1) - scale.length_mm(stop) for stop in range(scale.count - 1)
        )
        if nearest_mm < NEAREST_HOLES_MM - TIE_MM:
            yield StopsNear(axis.kind, nearest_mm)


def _begins_and_ends_on_its_steps(scale: ContinuousScale) -> bool:
    ends = (scale.from_mm / scale.resolution_mm, scale.to_mm / scale.resolution_mm)
    return all(abs(steps - round(steps)) < 0.001 for steps in ends)


def _of_list(axis: AxisKind, scale: TabulatedScale) -> Iterator[Doubt]:
    """What a slip in one line leaves behind: four stops at least, so that three speak against it.

    Stops are looked at against their numbers, which may leave gaps or fall, else one by one.
    """
    lengths_mm = [length_mm for _, length_mm in scale.table]
    numbers = [int(label) for label, _ in scale.table if _is_number(label)]
    places = numbers if len(set(numbers)) == scale.count else list(range(scale.count))
    if scale.count < 4 or _on_a_line(places, lengths_mm):
        return
    if _on_a_line(range(scale.count), lengths_mm):
        steps = [after - before for before, after in pairwise(numbers)]
        usual = max(set(steps), key=steps.count)
        odd = next(stop for stop, step in enumerate(steps) if step != usual)
        yield MarkSkipped(axis, scale.label(odd), scale.label(odd + 1))
        return
    for stop in range(scale.count):
        others = [other for other in range(scale.count) if other != stop]
        at, at_mm = [places[other] for other in others], [lengths_mm[other] for other in others]
        if _on_a_line(at, at_mm):
            expected_mm = _line_at(at, at_mm, places[stop])
            yield OutOfStep(axis, scale.label(stop), lengths_mm[stop], expected_mm)
            return


def _is_number(label: str) -> bool:
    return label.isascii() and label.isdecimal() and len(label) <= MOST_DIGITS


def _on_a_line(places: Sequence[int], lengths_mm: Sequence[float]) -> bool:
    return places[0] != places[-1] and all(
        abs(_line_at(places, lengths_mm, place) - length_mm) <= HALF_MM
        for place, length_mm in zip(places, lengths_mm, strict=True)
    )


def _line_at(places: Sequence[int], lengths_mm: Sequence[float], place: int) -> float:
    per_place_mm = (lengths_mm[-1] - lengths_mm[0]) / (places[-1] - places[0])
    return lengths_mm[0] + per_place_mm * (place - places[0])


def _ends_mm(model: ApparatusModel, axis: Axis) -> tuple[float, float]:
    """What a tape would find at the first and the last stop; of a spread, what the scale reads."""
    stops = (0, axis.scale.count - 1)
    if isinstance(model.geometry, Leaning):
        ends = (
            model.measures_mm([0 if first else other.scale.count - 1 for other in model.axes])
            for first in (True, False)
        )
        least_mm, most_mm = (end[axis.key] for end in ends)
    else:
        least_mm, most_mm = (model.alone_mm(axis, axis.scale.length_mm(stop)) for stop in stops)
    return least_mm, most_mm


def _spread_misread(model: ApparatusModel) -> SpreadMisread | None:
    """Where the spread's marks lie off the lengths they stand for by more than their own step.

    Looked at in the middle of all scales, in the datum that the scale itself reads: for about that
    drop a scale along slanting rails is printed. None where no drop matters, or none is known.
    """
    pair, drop_mm = model.rail_pair, model.middle_drop_mm
    if pair is None or drop_mm is None or model.lacks_drop:
        return None
    axis = model.axis(pair.spread)
    scale, stop = axis.scale, (axis.scale.count - 1) // 2
    reading_mm = scale.length_mm(stop)
    horizontal_mm = model.geometry.horizontal_mm(pair, 0.0, 0.0, reading_mm)
    found_mm = pair.spread_datum.from_horizontal_mm(horizontal_mm, pair.section, drop_mm)
    steps_mm = [
        abs(scale.length_mm(near) - reading_mm)
        for near in (stop - 1, stop + 1)
        if 0 <= near < scale.count
    ]
    if abs(found_mm - reading_mm) <= min(steps_mm, default=0.0) + TIE_MM:
        return None
    return SpreadMisread(axis.kind, scale.label(stop), reading_mm, found_mm, drop_mm)
