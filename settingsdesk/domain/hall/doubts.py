"""What of a model is asked about before it is kept: figures that may be slips, and may be right.

Nothing here is refused, and nothing is changed: a coach looks once more, and what was typed stays.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

from settingsdesk.domain.base.figures import format_length, length_in_words
from settingsdesk.domain.base.kinds import AxisKind
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.hall.geometry import Leaning
from settingsdesk.domain.hall.models import ApparatusModel, Axis
from settingsdesk.domain.hall.scales import TIE_MM


class Doubt(Protocol):
    """One thing to be looked at once more."""

    def told(self, unit: Unit) -> str:
        """The question, with its lengths in that unit."""


@dataclass(frozen=True, slots=True)
class NotBelieved:
    """A length, or the ends of a scale, outside what is believed of such an axis."""

    axis: AxisKind
    least_mm: float
    most_mm: float

    def told(self, unit: Unit) -> str:
        """The question, with its lengths in that unit."""
        believed = self.axis.believed
        usual = (
            f"{format_length(believed.least_mm, unit)} to"
            f" {length_in_words(believed.most_mm, unit)} is usual"
        )
        one = self.least_mm == self.most_mm
        first = "" if one else f"from {format_length(self.least_mm, unit)} to "
        return (
            f"{self.axis.name}: {first}{length_in_words(self.most_mm, unit)} was read, {usual}. Was"
            " it typed in another unit, or with a digit too few or too many?"
        )


@dataclass(frozen=True, slots=True)
class SpreadMisread:
    """A mark of a spread whose length a tape would not find, while the rails stand ``drop_mm``
    apart in height."""

    axis: AxisKind
    mark: str
    reading_mm: float
    found_mm: float
    drop_mm: float

    def told(self, unit: Unit) -> str:
        """The question, with its lengths in that unit."""
        return (
            f"{self.axis.name}: mark {self.mark} reads {length_in_words(self.reading_mm, unit)},"
            f" but with the rails {length_in_words(self.drop_mm, unit)} apart in height, the middle"
            f" of their scales, a tape would find {length_in_words(self.found_mm, unit)}. Is the"
            " drop for which the scale is printed right?"
        )


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
    misread = _spread_misread(model)
    if misread is not None:
        yield misread


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
