"""Every mark of an axis with what its scale reads and what a tape finds there, for a printed list.

On some frames a mark is another length as the other adjustments stand otherwise: such a list
holds for one stand of them alone, and says which.
"""

from dataclasses import dataclass

from settingsdesk.domain.hall.geometry import Leaning
from settingsdesk.domain.hall.models import ApparatusModel, Axis


@dataclass(frozen=True, slots=True)
class MarkLength:
    """One mark: what its scale reads, in the scale's datum, and the canonical length.

    ``taped_mm`` is None where nobody can tell it: the model ``lacks_drop``.
    """

    mark: str
    reading_mm: float
    taped_mm: float | None


@dataclass(frozen=True, slots=True)
class MarkLengths:
    """All marks of an axis.

    ``held`` are the other axes and the marks at which they stand for it to hold, none where it
    holds however they stand. ``drop_mm`` is how far the rails are apart in height then, where that
    is what it hangs on.
    """

    axis: Axis
    marks: tuple[MarkLength, ...]
    held: tuple[tuple[Axis, str], ...] = ()
    drop_mm: float | None = None

    @property
    def reads_otherwise(self) -> bool:
        """Whether the scale reads other lengths than a tape finds, by a millimetre or more."""
        return any(
            one.taped_mm is not None and round(one.taped_mm - one.reading_mm) != 0
            for one in self.marks
        )


def mark_lengths(model: ApparatusModel, axis: Axis) -> MarkLengths:
    """The list of one axis of a model, the others at the middle of their scales."""
    place = model.axes.index(axis)
    setup = [other.scale.count // 2 for other in model.axes]
    marks = []
    for stop in range(axis.scale.count):
        taped_mm = model.taped_mm([*setup[:place], stop, *setup[place + 1 :]])
        marks.append(
            MarkLength(axis.scale.label(stop), axis.scale.length_mm(stop), taped_mm.get(axis.key))
        )
    held = tuple(
        (other, other.scale.label(stop))
        for other, stop in zip(model.axes, setup, strict=True)
        if other.key in _hangs_on(model, axis)
    )
    return MarkLengths(axis, tuple(marks), held, _drop_mm(model, axis, setup))


def _hangs_on(model: ApparatusModel, axis: Axis) -> frozenset[str]:
    """Which other axes move what a tape finds at a mark of this one."""
    pair = model.rail_pair
    if pair is None or axis.key not in (pair.low, pair.high, pair.spread):
        return frozenset()
    if isinstance(model.geometry, Leaning):
        return frozenset({pair.low, pair.high, pair.spread} - {axis.key})
    if axis.key == pair.spread and pair.low != pair.high:
        return frozenset({pair.low, pair.high})
    return frozenset()


def _drop_mm(model: ApparatusModel, axis: Axis, setup: list[int]) -> float | None:
    pair = model.rail_pair
    if pair is None or axis.key != pair.spread or pair.low == pair.high:
        return None
    measures_mm = model.measures_mm(setup)
    return measures_mm[pair.high] - measures_mm[pair.low]
