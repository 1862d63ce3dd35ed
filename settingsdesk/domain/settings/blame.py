"""Which of several lengths is to be looked at first, where they cannot be together.

A length outside its own scale is blamed before what it does to the others; else the one that was
changed, where only one was; else the one that the refusal itself is about.
"""

from collections.abc import Mapping

from settingsdesk.domain.base.datums import SpreadTooSmall
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import SaysLengths, and_in_another_unit, length_in_words
from settingsdesk.domain.base.kinds import AxisKind, Kind, Range
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.hall.doubts import not_believed
from settingsdesk.domain.hall.geometry import SpreaderDoesNotFit
from settingsdesk.domain.hall.models import ApparatusModel, Axis
from settingsdesk.domain.hall.scales import Scale
from settingsdesk.domain.settings.settings import RailsInWrongOrder

NOT_TOGETHER = (RailsInWrongOrder, SpreadTooSmall, SpreaderDoesNotFit)
"""The refusals of lengths that are possible one by one, and not beside one another."""

Blame = tuple[AxisKind, SettingsDeskError]
"""The axis to be looked at, and what is to be said there."""


def of_lengths(
    refusal: SettingsDeskError,
    model: ApparatusModel,
    lengths_mm: Mapping[str, float],
    before_mm: Mapping[str, float] | None = None,
) -> Blame:
    """Whom to blame among canonical lengths by axis; ``before_mm`` are those that went before."""
    involved = [axis for axis in _involved(refusal, model.kind) if axis.key in lengths_mm]
    scales = {axis.key: scale_mm(model, model.axis(axis.key)) for axis in involved}
    outside_mm = {axis: _outside_mm(lengths_mm[axis.key], scales[axis.key]) for axis in involved}
    worst = max(involved, key=lambda axis: outside_mm[axis], default=None)
    if worst is not None and outside_mm[worst] > 0:
        length_mm = lengths_mm[worst.key]
        return worst, OutsideItsScale(worst, length_mm, scales[worst.key], model, refusal)
    before = before_mm or {}
    changed = [
        axis
        for axis in involved
        if axis.key in before and abs(before[axis.key] - lengths_mm[axis.key]) >= 1
    ]
    return (changed[0] if len(changed) == 1 else _usual(refusal, model.kind)), refusal


def of_scales(refusal: SettingsDeskError, kind: Kind, scales: Mapping[str, Scale]) -> Blame:
    """Whom to blame among the scales of a model by axis, at whose ends its rails cannot stand."""
    for axis in kind.axes:
        scale = scales[axis.key]
        for length_mm in (scale.length_mm(0), scale.length_mm(scale.count - 1)):
            if not_believed(axis, length_mm) is not None:
                return axis, OutsideWhatIsUsual(axis, length_mm, refusal)
    return _usual(refusal, kind), refusal


def scale_mm(model: ApparatusModel, axis: Axis) -> Range:
    """From where to where a scale goes, canonical, as far as no other axis shifts it."""
    last = axis.scale.count - 1
    return Range(*(round(model.alone_mm(axis, axis.scale.length_mm(stop))) for stop in (0, last)))


def _involved(refusal: SettingsDeskError, kind: Kind) -> list[AxisKind]:
    if isinstance(refusal, RailsInWrongOrder):
        return [refusal.low, refusal.high]
    between = dict.fromkeys(kind.spread_between or ())
    spread = [kind.spread_axis] if kind.spread_axis else []
    return [*(kind.axis(key) for key in between), *spread]


def _usual(refusal: SettingsDeskError, kind: Kind) -> AxisKind:
    """Where nothing else tells: the low rail of two in the wrong order, else the spread."""
    return _involved(refusal, kind)[0 if isinstance(refusal, RailsInWrongOrder) else -1]


def _outside_mm(length_mm: float, scale: Range) -> float:
    return max(scale.least_mm - length_mm, length_mm - scale.most_mm)


class OutsideItsScale(SaysLengths):
    """A length far from its own scale, which therefore cannot be beside the others."""

    def __init__(
        self,
        axis: AxisKind,
        length_mm: float,
        scale: Range,
        model: ApparatusModel,
        refusal: SettingsDeskError,
    ) -> None:
        self.axis, self.length_mm, self.scale = axis, length_mm, scale
        self.model, self.refusal = model, refusal

    def told(self, unit: Unit) -> str:
        least = length_in_words(self.scale.least_mm, unit).alone
        most = length_in_words(self.scale.most_mm, unit)
        likely = and_in_another_unit([self.length_mm], unit, self.scale.holds)
        return (
            f"{self.axis.name}: {length_in_words(self.length_mm, unit)} was read, and the scale of"
            f" {self.model.name} goes from {least} to {most}.{likely} {self.refusal.told(unit)}"
        )


class OutsideWhatIsUsual(SaysLengths):
    """An end of a scale that is hardly one of such an axis, and cannot be beside the others."""

    def __init__(self, axis: AxisKind, length_mm: float, refusal: SettingsDeskError) -> None:
        self.axis, self.length_mm, self.refusal = axis, length_mm, refusal

    def told(self, unit: Unit) -> str:
        least = length_in_words(self.axis.believed.least_mm, unit).alone
        most = length_in_words(self.axis.believed.most_mm, unit)
        likely = and_in_another_unit([self.length_mm], unit, self.axis.believed.holds)
        return (
            f"{self.axis.name}: {length_in_words(self.length_mm, unit)} was read, {least} to {most}"
            f" is usual.{likely} {self.refusal.told(unit)}"
        )
