"""What a coach types of a setting, lengths and marks side by side, and the setting that it is.

Lengths are kept as they were typed, in the canonical datum. A mark stands for what a tape finds at
it while the other axes stand as they are wanted, since heights and spread shift one another. It is
the mark of the scales of the model that is given: those of one apparatus, where it was read there.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import product

from settingsdesk.desk.hall.conversions import canonical_setting
from settingsdesk.domain.base.datums import (
    HeightDatum,
    Level,
    SpreadDatum,
    height_in_words,
    spread_in_words,
)
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import SaysLengths, if_in_another_unit, length_in_words
from settingsdesk.domain.base.kinds import AxisKind, Quantity
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.hall.models import FARTHEST_OFF_SCALE_MM, ApparatusModel, Axis, TapedFarOff
from settingsdesk.domain.settings.settings import Setting, Wanted, longest_mm
from settingsdesk.domain.settings.transfer import transfer

MOST_ROUNDS = 40
SETTLED_MM = 0.001


@dataclass(frozen=True, slots=True)
class AsTyped:
    """One axis as it was typed: a length in the datum of the form, or a stop of the scale."""

    length_mm: int | None = None
    stop: int | None = None
    accepts_mm: int = 0
    weight: int = 1


@dataclass(frozen=True, slots=True)
class Datums:
    """Between which points the lengths of one form are taken; by themselves the canonical ones."""

    height: HeightDatum = field(default_factory=HeightDatum)
    spread: SpreadDatum = SpreadDatum.INNER
    mat_mm: int = 0

    @property
    def canonical(self) -> bool:
        """Whether lengths are typed as they are kept."""
        return self.height == HeightDatum() and self.spread is SpreadDatum.INNER

    @property
    def over_mat(self) -> bool:
        """Whether heights are taken from the mat, so that its thickness matters."""
        return self.height.level is Level.MAT

    def alone_mm(self, model: ApparatusModel, axis: Axis, length_mm: float) -> float:
        """A length of the form in the canonical datum, as far as no other axis shifts it."""
        if axis.kind.quantity is not Quantity.HEIGHT:
            return float(length_mm)
        return self.height.to_canonical_mm(length_mm, model.section, self.mat_mm)

    def in_words(self, axis: AxisKind) -> str:
        """The datum of an axis as it is printed beside its length."""
        if axis.quantity is Quantity.HEIGHT:
            return height_in_words(self.height, axis.point)
        if axis.quantity is Quantity.SPREAD:
            return spread_in_words(self.spread)
        return f"between {axis.point}"


def lengths_alone_mm(
    model: ApparatusModel, typed: Mapping[str, AsTyped], datums: Datums | None = None
) -> dict[str, float]:
    """What was typed of each axis, canonical, as if no axis shifted another."""
    lengths_mm: dict[str, float] = {}
    for axis in model.axes:
        of_axis = typed[axis.key]
        if of_axis.stop is not None:
            lengths_mm[axis.key] = model.alone_mm(axis, axis.scale.length_mm(of_axis.stop))
        elif of_axis.length_mm is not None:
            lengths_mm[axis.key] = (datums or Datums()).alone_mm(model, axis, of_axis.length_mm)
    return lengths_mm


def setting_typed(
    model: ApparatusModel, typed: Mapping[str, AsTyped], datums: Datums | None = None
) -> Setting:
    """The setting that was typed, in whole canonical millimetres.

    Raises ``AxisNotTyped`` or ``AxisTypedTwice`` for an axis, ``LengthNotBelieved``,
    ``SectionUnknown``, ``TooFarBesideMarks``, ``SpreadTooSmall``, or what ``Setting`` refuses.
    """
    datums = datums or Datums()
    if any(of_axis.length_mm is not None for of_axis in typed.values()):
        model.must_know_its_section(datums.height, datums.spread)
    for axis in model.kind.axes:
        of_axis = typed.get(axis.key, AsTyped())
        _must_be_said_once(axis, of_axis)
        if of_axis.length_mm is not None:
            _must_be_believed(axis, of_axis.length_mm)
    found_mm = _canonical_mm(model, typed, datums)
    for axis in model.kind.axes:
        _must_be_believed(axis, found_mm[axis.key])
    return _brought_back(model, typed, _setting(model, typed, found_mm))


def _setting(
    model: ApparatusModel, typed: Mapping[str, AsTyped], lengths_mm: Mapping[str, int]
) -> Setting:
    return Setting(
        model.kind,
        {
            key: Wanted(length_mm, typed[key].accepts_mm, typed[key].weight)
            for key, length_mm in lengths_mm.items()
        },
    )


def _brought_back(model: ApparatusModel, typed: Mapping[str, AsTyped], nearest: Setting) -> Setting:
    """The setting whose closest stops are the marks, where every axis was given as a mark.

    On a ruler a mark is a millimetre from the next, and whole millimetres may lie nearer to that
    one: each length is then one above or below, as near as possible.
    """
    stops = [typed[axis.key].stop for axis in model.axes]
    if None in stops:
        return nearest
    goal = tuple(stop for stop in stops if stop is not None)
    for steps in sorted(
        product((0, -1, 1), repeat=len(goal)), key=lambda step: sum(map(abs, step))
    ):
        lengths_mm = {
            axis.key: nearest.axes[axis.key].wanted_mm + step
            for axis, step in zip(model.axes, steps, strict=True)
        }
        setting = _setting(model, typed, lengths_mm)
        if transfer(setting, model).best.setup == goal:
            return setting
    return nearest


def _must_be_said_once(axis: AxisKind, of_axis: AsTyped) -> None:
    if of_axis.length_mm is None and of_axis.stop is None:
        raise AxisNotTyped(axis)
    if of_axis.length_mm is not None and of_axis.stop is not None:
        raise AxisTypedTwice(axis)


def _must_be_believed(axis: AxisKind, length_mm: int) -> None:
    if not 0 < length_mm <= longest_mm(axis):
        raise LengthNotBelieved(axis, length_mm)


def _canonical_mm(
    model: ApparatusModel, typed: Mapping[str, AsTyped], datums: Datums
) -> dict[str, int]:
    typed_mm = {
        key: of_axis.length_mm for key, of_axis in typed.items() if of_axis.length_mm is not None
    }
    if len(typed_mm) == len(model.axes):
        setting = canonical_setting(model, typed_mm, datums.height, datums.spread, datums.mat_mm)
        return {key: wanted.wanted_mm for key, wanted in setting.axes.items()}
    settled_mm = _settled_mm(model, typed, typed_mm, datums)
    return {axis.key: round(settled_mm[axis.key]) for axis in model.axes}


def _settled_mm(
    model: ApparatusModel,
    typed: Mapping[str, AsTyped],
    typed_mm: Mapping[str, int],
    datums: Datums,
) -> dict[str, float]:
    """Canonical lengths where the marks are set and the typed lengths are all reached at once."""
    readings_mm = {axis.key: _first_reading_mm(model, axis.key, typed) for axis in model.axes}
    for _ in range(MOST_ROUNDS):
        before_mm = dict(readings_mm)
        found_mm = model.measures_at_mm(readings_mm)
        aims_mm = _aims_mm(model, typed_mm, datums, found_mm)
        for key, aim_mm in aims_mm.items():
            readings_mm[key] = _reading_mm(model, key, aim_mm, readings_mm)
        if all(abs(readings_mm[key] - before_mm[key]) < SETTLED_MM for key in readings_mm):
            break
    return {**model.measures_at_mm(readings_mm), **aims_mm}


def _first_reading_mm(model: ApparatusModel, key: str, typed: Mapping[str, AsTyped]) -> float:
    scale, stop = model.axis(key).scale, typed[key].stop
    return scale.length_mm(scale.count // 2 if stop is None else stop)


def _aims_mm(
    model: ApparatusModel,
    typed_mm: Mapping[str, int],
    datums: Datums,
    found_mm: Mapping[str, float],
) -> dict[str, float]:
    """The typed lengths in the canonical datum; a spread's depends on the heights beside it."""
    aims_mm = {
        key: datums.alone_mm(model, model.axis(key), length_mm)
        for key, length_mm in typed_mm.items()
    }
    pair = model.rail_pair
    if pair is not None and pair.spread in aims_mm:
        stand_mm = {**found_mm, **aims_mm}
        drop_mm = stand_mm[pair.high] - stand_mm[pair.low]
        aims_mm[pair.spread] = datums.spread.read_as_mm(
            SpreadDatum.INNER, aims_mm[pair.spread], pair.section, drop_mm
        )
    return aims_mm


def _reading_mm(
    model: ApparatusModel, key: str, aim_mm: float, held_mm: Mapping[str, float]
) -> float:
    try:
        return model.reading_for_mm(key, aim_mm, held_mm)
    except TapedFarOff as far:
        raise TooFarBesideMarks(far.axis.kind, aim_mm, model) from far


class AxisNotTyped(SettingsDeskError):
    """An axis was given neither a length nor a mark."""

    def __init__(self, axis: AxisKind) -> None:
        self.axis = axis

    def __str__(self) -> str:
        return f"Enter the {self.axis.in_a_sentence} as a length or as a mark"


class AxisTypedTwice(SettingsDeskError):
    """An axis was given a length and a mark."""

    def __init__(self, axis: AxisKind) -> None:
        self.axis = axis

    def __str__(self) -> str:
        return (
            f"{self.axis.name} has a length and a mark: leave the one that counts and clear the"
            " other"
        )


class LengthNotBelieved(SaysLengths):
    """A length that no apparatus of the kind has, nor nearly."""

    def __init__(self, axis: AxisKind, length_mm: int) -> None:
        self.axis, self.length_mm = axis, length_mm

    def told(self, unit: Unit) -> str:
        most = length_in_words(longest_mm(self.axis), unit)
        likely = if_in_another_unit([self.length_mm], unit, self.axis.believed.holds)
        return (
            f"{self.axis.name} must be more than 0 and at most {most}; this would be"
            f" {length_in_words(self.length_mm, unit)}: {likely or 'was it typed in another unit?'}"
        )


class TooFarBesideMarks(SaysLengths):
    """A length far past its scale, so that nobody can say where the marks beside it would be."""

    def __init__(self, axis: AxisKind, length_mm: float, model: ApparatusModel) -> None:
        self.axis, self.length_mm, self.model = axis, length_mm, model

    def told(self, unit: Unit) -> str:
        past = length_in_words(FARTHEST_OFF_SCALE_MM, unit)
        believed = self.axis.believed.holds
        likely = ""
        if not believed(self.length_mm):
            likely = if_in_another_unit([self.length_mm], unit, believed)
        return (
            f"{self.axis.name}: {length_in_words(self.length_mm, unit)} is more than {past} past"
            f" the scale of {self.model.name}, so the lengths of the marks beside it cannot be"
            f" told: {f'{likely}; or ' if likely else ''}give every adjustment as a length"
        )
