"""Converting: marks to lengths and back, and a setup of one apparatus to another's marks."""

from collections.abc import Mapping
from dataclasses import dataclass

from settingsdesk.domain.base.datums import (
    Edge,
    HeightDatum,
    Level,
    SpreadDatum,
    height_in_words,
    spread_in_words,
)
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.kinds import AxisKind, Quantity
from settingsdesk.domain.hall.models import ApparatusModel, Axis, Setup
from settingsdesk.domain.settings.settings import Setting, Wanted


@dataclass(frozen=True, slots=True)
class Reading:
    """The same place on an axis in every datum in which a coach may have it."""

    axis: AxisKind
    datum: str
    length_mm: float


def setup_of_labels(model: ApparatusModel, labels: Mapping[str, str]) -> Setup:
    """The setup at those printed marks, by axis key; ``MarkAbsent`` names an axis left out."""
    return tuple(_stop(axis, labels.get(axis.key, "")) for axis in model.axes)


def canonical_setting(
    model: ApparatusModel,
    lengths_mm: Mapping[str, int],
    height_datum: HeightDatum,
    spread_datum: SpreadDatum,
    mat_mm: float,
    accepts_mm: Mapping[str, int] | None = None,
) -> Setting:
    """The setting that those lengths are, read in the datums given, in canonical millimetres.

    Raises ``LengthAbsent``, ``SectionUnknown``, ``SpreadTooSmall``, or what ``Setting`` refuses.
    """
    model.must_know_its_section(height_datum, spread_datum)
    found = {
        axis.key: _canonical_mm(model, axis, lengths_mm, height_datum, mat_mm)
        for axis in model.axes
    }
    pair = model.rail_pair
    if pair is not None:
        drop_mm = found[pair.high] - found[pair.low]
        found[pair.spread] = spread_datum.read_as_mm(
            SpreadDatum.INNER, found[pair.spread], pair.section, drop_mm
        )
    accepts = accepts_mm or {}
    return Setting(
        model.kind,
        {key: Wanted(round(mm), accepts.get(key, 0)) for key, mm in found.items()},
    )


def in_every_datum(model: ApparatusModel, setting: Setting, mat_mm: float) -> list[Reading]:
    """What a tape reads of a setting, axis by axis, in every datum that makes sense for it.

    Where the section of the rail is a guess, in those alone that do not hang on it.
    """
    return [
        Reading(axis.kind, datum, length_mm)
        for axis in model.axes
        for datum, length_mm in _readings(model, axis, setting, mat_mm)
    ]


def in_datums(
    model: ApparatusModel,
    measures_mm: Mapping[str, float],
    height_datum: HeightDatum,
    spread_datum: SpreadDatum,
    mat_mm: float,
) -> dict[str, Reading]:
    """What a tape finds at canonical lengths where it is held as it was held elsewhere, by axis.

    Over the mats that lie here; without mats above the floor. Only what differs from the canonical
    datum is told, and nothing that would hang on a section that is a guess.
    """
    found: dict[str, Reading] = {}
    over = height_datum if mat_mm else HeightDatum(edge=height_datum.edge)
    if over != HeightDatum() and not (model.guesses_section and over.edge is not Edge.UPPER):
        for axis in model.axes:
            if axis.kind.quantity is Quantity.HEIGHT:
                length_mm = over.from_canonical_mm(measures_mm[axis.key], model.section, mat_mm)
                datum = height_in_words(over, axis.kind.point)
                found[axis.key] = Reading(axis.kind, datum, length_mm)
    pair = None if model.guesses_section or model.lacks_drop else model.rail_pair
    if pair is not None and spread_datum is not SpreadDatum.INNER:
        length_mm = SpreadDatum.INNER.read_as_mm(
            spread_datum,
            measures_mm[pair.spread],
            pair.section,
            measures_mm[pair.high] - measures_mm[pair.low],
        )
        datum = spread_in_words(spread_datum)
        found[pair.spread] = Reading(model.kind.axis(pair.spread), datum, length_mm)
    return found


def _readings(
    model: ApparatusModel, axis: Axis, setting: Setting, mat_mm: float
) -> list[tuple[str, float]]:
    wanted_mm = setting.axes[axis.key].wanted_mm
    if axis.kind.quantity in (Quantity.DISTANCE, Quantity.SPACING):
        return [(f"between {axis.kind.point}", wanted_mm)]
    if axis.kind.quantity is Quantity.HEIGHT:
        has_section = model.kind.railed and not model.guesses_section
        edges = list(Edge) if has_section else [Edge.UPPER]
        levels = list(Level) if mat_mm else [Level.FLOOR]
        datums = [HeightDatum(level, edge) for level in levels for edge in edges]
        return [
            (
                height_in_words(datum, axis.kind.point),
                datum.from_canonical_mm(wanted_mm, model.section, mat_mm),
            )
            for datum in datums
        ]
    return _spreads(model, setting, wanted_mm)


def _spreads(model: ApparatusModel, setting: Setting, inner_mm: int) -> list[tuple[str, float]]:
    pair = model.rail_pair
    if pair is None:
        return []
    drop_mm = setting.axes[pair.high].wanted_mm - setting.axes[pair.low].wanted_mm
    return [
        (
            spread_in_words(datum),
            SpreadDatum.INNER.read_as_mm(datum, inner_mm, pair.section, drop_mm),
        )
        for datum in ([SpreadDatum.INNER] if model.guesses_section else SpreadDatum)
    ]


def _stop(axis: Axis, label: str) -> int:
    if not label.strip():
        raise MarkAbsent(axis.kind)
    return axis.scale.stop_of(label)


def _canonical_mm(
    model: ApparatusModel,
    axis: Axis,
    lengths_mm: Mapping[str, int],
    height_datum: HeightDatum,
    mat_mm: float,
) -> float:
    if axis.key not in lengths_mm:
        raise LengthAbsent(axis.kind)
    if axis.kind.quantity is not Quantity.HEIGHT:
        return lengths_mm[axis.key]
    return height_datum.to_canonical_mm(lengths_mm[axis.key], model.section, mat_mm)


class MarkAbsent(SettingsDeskError):
    """No mark was given for an axis."""

    def __init__(self, axis: AxisKind) -> None:
        self.axis = axis

    def __str__(self) -> str:
        return f"Enter the mark of the {self.axis.in_a_sentence}"


class LengthAbsent(SettingsDeskError):
    """No length was given for an axis."""

    def __init__(self, axis: AxisKind) -> None:
        self.axis = axis

    def __str__(self) -> str:
        return f"Enter the {self.axis.in_a_sentence}"
