"""Calibrations: the tape's readings of one apparatus, fitted, kept, and used until set aside."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from math import ceil, floor

from settingsdesk.domain.base.kinds import AxisKind
from settingsdesk.domain.hall.calibration import (
    Calibration,
    CalibrationTooThin,
    TapedStop,
    calibrate,
)
from settingsdesk.domain.hall.models import ApparatusModel, Axis
from settingsdesk.domain.hall.scales import Scale, ScaleDoesNotRise
from settingsdesk.store import apparatus as kept_apparatus
from settingsdesk.store.base import utc_now
from settingsdesk.store.work import ClubSession

ROUND_LENGTHS_MM = (10, 20, 50, 100, 200, 500, 1000, 2000, 5000)
"""On a ruler a tape is held at whole ones of these."""


@dataclass(frozen=True, slots=True)
class Taped:
    """One line of a calibration as a coach takes it: a mark, and the canonical length found."""

    label: str
    measure_mm: float


@dataclass(frozen=True, slots=True)
class OwnScale:
    """A calibration that is in use."""

    id: int
    axis: str
    calibration: Calibration
    taken_on: date
    recorded_by: str
    note: str


@dataclass(frozen=True, slots=True)
class CalibrationOnRecord:
    """A calibration as it was kept: in use, older than the one in use, or set aside.

    ``fitted`` is None where the model's present scale no longer has its stops.
    """

    id: int
    axis: AxisKind
    fitted: OwnScale | None
    taken_on: date
    recorded_by: str
    note: str
    in_use: bool
    set_aside_at: datetime | None
    set_aside_by: str


def try_calibration(
    model: ApparatusModel,
    axis_key: str,
    held_mm: Mapping[str, float],
    taped: Sequence[Taped],
    left_out: Collection[str] = (),
) -> Calibration:
    """The calibration that those readings give, without keeping it.

    ``held_mm`` is what the scales of the other axes showed while the tape was used. Raises
    ``NoSuchLabel``, ``TapedFarOff`` or ``CalibrationTooThin``.
    """
    axis = model.axis(axis_key)
    readings = [
        TapedStop(
            axis.scale.stop_of(line.label),
            model.reading_for_mm(axis_key, line.measure_mm, held_mm),
        )
        for line in taped
    ]
    return calibrate(axis.scale, readings, {axis.scale.stop_of(label) for label in left_out})


def to_tape(printed: Scale, most: int) -> list[int]:
    """At which stops a tape is held, at most so many, over the whole scale.

    Each where they are few; of more, evenly spread ones; of a ruler, round lengths.
    """
    last = printed.count - 1
    if printed.count <= most:
        return list(range(printed.count))
    if printed.has_pins:
        return [round(place * last / (most - 1)) for place in range(most)]
    first_mm, last_mm = printed.length_mm(0), printed.length_mm(last)
    for round_mm in ROUND_LENGTHS_MM:
        lengths_mm = range(ceil(first_mm / round_mm) * round_mm, floor(last_mm) + 1, round_mm)
        if 2 <= len(lengths_mm) <= most:
            return [printed.nearest(length_mm).stops[0] for length_mm in lengths_mm]
    return [0, last]


def with_every_reading(calibration: Calibration) -> Calibration | None:
    """The same with nothing left out, to be compared; None where nothing is, or nothing fits so."""
    if not calibration.left_out:
        return None
    try:
        return calibrate(calibration.scale.printed, calibration.taped)
    except ScaleDoesNotRise:
        return None


def keep_calibration(
    session: ClubSession,
    apparatus_id: int,
    axis: str,
    calibration: Calibration,
    taken_on: date,
    note: str = "",
) -> None:
    """Use that calibration for the apparatus from now on; older ones stay on record."""
    row = kept_apparatus.by_id(session, apparatus_id)
    session.add(
        kept_apparatus.Calibration(
            apparatus_id=row.id,
            axis=axis,
            measurements=[
                {
                    "stop": reading.stop,
                    "length_mm": reading.length_mm,
                    "left_out": reading.stop in calibration.left_out,
                }
                for reading in calibration.taped
            ],
            fitted={
                "offset_mm": calibration.scale.offset_mm,
                "gain": calibration.scale.gain,
                "residual_sd_mm": calibration.residual_sd_mm,
            },
            taken_on=taken_on,
            recorded_by=session.by,
            note=note.strip(),
        )
    )
    session.flush()


def set_aside(session: ClubSession, calibration_id: int) -> None:
    """Stop using a calibration; the one before it, or the model's scale, counts again."""
    row = kept_apparatus.calibration_by_id(session, calibration_id)
    if row.set_aside_at is None:
        row.set_aside_at, row.set_aside_by = utc_now(), session.by
        session.flush()


def own_scales(
    in_use: Mapping[str, kept_apparatus.Calibration], model: ApparatusModel
) -> dict[str, OwnScale]:
    """The calibrations in use on an apparatus by axis, fitted anew to the model's present scale.

    One whose stops the present scale no longer has is left out: the model's scale counts then.
    """
    return {
        key: own
        for key, row in in_use.items()
        for own in [_fitted(model.axis(key), row)]
        if own is not None
    }


def on_record(
    session: ClubSession, apparatus_id: int, model: ApparatusModel
) -> list[CalibrationOnRecord]:
    """Every calibration of an apparatus, the newest first; ``model`` is on its printed scales."""
    in_use = kept_apparatus.calibrations_in_use(session, [apparatus_id])[apparatus_id]
    used = {row.id for row in in_use.values()}
    return [
        CalibrationOnRecord(
            id=row.id,
            axis=model.axis(row.axis).kind,
            fitted=fitted,
            taken_on=row.taken_on,
            recorded_by=row.recorded_by,
            note=row.note,
            in_use=row.id in used and fitted is not None,
            set_aside_at=row.set_aside_at,
            set_aside_by=row.set_aside_by or "",
        )
        for row in kept_apparatus.calibrations(session, apparatus_id)
        for fitted in [_fitted(model.axis(row.axis), row)]
    ]


def misfits_off_mm(calibration: Calibration) -> dict[int, float]:
    """How far each stop that does not fit is off the line of all the others, by stop."""
    if not calibration.misfits:
        return {}
    without = {*calibration.misfits, *calibration.left_out}
    others = calibrate(calibration.scale.printed, calibration.taped, without)
    off_mm: dict[int, float] = {}
    for reading, residual_mm in zip(calibration.taped, others.residuals_mm, strict=True):
        if reading.stop in calibration.misfits:
            off_mm[reading.stop] = max(off_mm.get(reading.stop, 0.0), residual_mm, key=abs)
    return off_mm


def _fitted(axis: Axis, row: kept_apparatus.Calibration) -> OwnScale | None:
    """The calibration on the model's present scale; None where they no longer go together."""
    if any(line["stop"] >= axis.scale.count for line in row.measurements):
        return None
    try:
        return _read(axis, row)
    except (CalibrationTooThin, ScaleDoesNotRise):
        return None


def _read(axis: Axis, row: kept_apparatus.Calibration) -> OwnScale:
    taped = [TapedStop(line["stop"], line["length_mm"]) for line in row.measurements]
    left_out = {line["stop"] for line in row.measurements if line["left_out"]}
    return OwnScale(
        id=row.id,
        axis=row.axis,
        calibration=calibrate(axis.scale, taped, left_out),
        taken_on=row.taken_on,
        recorded_by=row.recorded_by,
        note=row.note,
    )
