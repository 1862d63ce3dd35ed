"""Calibrating one apparatus: a tape against the printed stops of an axis.

Ordinary least squares of what the tape found against what the model says gives the apparatus's
own scale; a stop whose reading the others contradict is named, never dropped silently.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations
from math import inf, sqrt

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.hall.scales import CalibratedScale, RegularScale, Scale

MISFIT_SD = 4.0
"""A stop does not fit where it is off by this many standard deviations of the others' residuals."""

TAPE_MM = 3.0
"""Nor is it a misfit below this: two careful readings of a tape differ by as much."""

MOST_PAIRED = 40
"""Two slips are looked for among so many readings; nobody measures more stops of one axis."""


@dataclass(frozen=True, slots=True)
class FittedLine:
    """A straight line through points, with the standard errors of its two coefficients.

    ``residual_sd`` has n - 2 degrees of freedom; both it and the standard errors are 0 where two
    points leave none.
    """

    intercept: float
    slope: float
    intercept_se: float
    slope_se: float
    residual_sd: float
    residuals: tuple[float, ...]
    leverages: tuple[float, ...]

    def at(self, x: float) -> float:
        """The line's value at x."""
        return self.intercept + self.slope * x


def fit_line(x: Sequence[float], y: Sequence[float]) -> FittedLine:
    """Least squares of y on x, centred for accuracy.

    ``CalibrationTooThin`` where fewer than two different x fix no line.
    """
    count = len(x)
    if count < 2 or max(x) - min(x) <= 0:
        raise CalibrationTooThin(count, len(set(x)))
    mean_x, mean_y = sum(x) / count, sum(y) / count
    spread = sum((value - mean_x) ** 2 for value in x)
    slope = sum((a - mean_x) * (b - mean_y) for a, b in zip(x, y, strict=True)) / spread
    residuals = tuple(b - mean_y - slope * (a - mean_x) for a, b in zip(x, y, strict=True))
    freedom = count - 2
    sd = sqrt(sum(residual**2 for residual in residuals) / freedom) if freedom else 0.0
    return FittedLine(
        intercept=mean_y - slope * mean_x,
        slope=slope,
        intercept_se=sd * sqrt(1 / count + mean_x**2 / spread),
        slope_se=sd / sqrt(spread),
        residual_sd=sd,
        residuals=residuals,
        leverages=tuple(1 / count + (value - mean_x) ** 2 / spread for value in x),
    )


@dataclass(frozen=True, slots=True)
class TapedStop:
    """One stop measured with a tape; ``length_mm`` is in the datum that the axis's scale reads."""

    stop: int
    length_mm: float


@dataclass(frozen=True)
class Calibration:
    """What the tape says of one axis of one apparatus.

    ``offset_mm`` and ``gain`` turn the model's lengths into this apparatus's. ``residuals_mm`` is
    what the tape found less what the fitted scale says, stop by stop; ``left_out`` are the stops
    that the coach chose not to use.
    """

    scale: CalibratedScale
    residual_sd_mm: float
    taped: tuple[TapedStop, ...]
    residuals_mm: tuple[float, ...]
    left_out: frozenset[int]

    @cached_property
    def misfits(self) -> tuple[int, ...]:
        """The stops in use that the others contradict.

        Sought where somebody reads it: every page needs the scale, and only few say how good it is.
        """
        kept = [reading for reading in self.taped if reading.stop not in self.left_out]
        return _misfits(self.scale.printed, kept)

    @property
    def first_mm(self) -> float:
        """Where the lowest stop really stands."""
        return self.scale.length_mm(0)

    @property
    def shift_mm(self) -> float:
        """How far the lowest stop stands from where the model says: the offset a coach means."""
        return self.scale.length_mm(0) - self.scale.printed.length_mm(0)

    @property
    def pitch_mm(self) -> float | None:
        """The real distance from stop to stop, where the model's scale is regular."""
        printed = self.scale.printed
        return self.scale.gain * printed.pitch_mm if isinstance(printed, RegularScale) else None


def calibrate(
    printed: Scale, taped: Sequence[TapedStop], left_out: Collection[int] = ()
) -> Calibration:
    """The apparatus's own scale from at least three taped stops.

    Stops in ``left_out`` are shown with their residual but not fitted. ``CalibrationTooThin``
    where readings at fewer than three different stops are left to fit: two stops fix a line
    that nothing can contradict.
    """
    kept = [reading for reading in taped if reading.stop not in left_out]
    own = _own_scale(printed, kept)
    return Calibration(
        scale=own,
        residual_sd_mm=_line(printed, kept).residual_sd,
        taped=tuple(taped),
        residuals_mm=tuple(reading.length_mm - own.length_mm(reading.stop) for reading in taped),
        left_out=frozenset(left_out),
    )


def _own_scale(printed: Scale, readings: Sequence[TapedStop]) -> CalibratedScale:
    """The scale that readings fix; ``CalibrationTooThin``, or what no scale can be."""
    stops = {reading.stop for reading in readings}
    if len(stops) < 3:
        raise CalibrationTooThin(len(readings), len(stops))
    line = _line(printed, readings)
    return CalibratedScale(printed, line.intercept, line.slope)


def _line(printed: Scale, readings: Sequence[TapedStop]) -> FittedLine:
    return fit_line(
        [printed.length_mm(reading.stop) for reading in readings],
        [reading.length_mm for reading in readings],
    )


def _misfits(printed: Scale, readings: Sequence[TapedStop]) -> tuple[int, ...]:
    """The stops that the others contradict, taken away one by one, the worst first.

    Judged by the deleted studentised residual: a stop's distance from the line through the
    *others*, against the scatter of those others, so that a wild reading cannot hide in the
    scatter it makes. Three readings cannot tell which of them is wrong, however often each stop
    was taped: a stop is blamed only where the others fix a scale without it.
    """
    left, found = list(readings), list[int]()
    while len(left) >= 4:
        contradictions = _contradictions(printed, left)
        worst = contradictions.index(max(contradictions))
        blamed = [*found, left[worst].stop]
        if contradictions[worst] <= MISFIT_SD or not _fix_a_scale(printed, readings, blamed):
            break
        found.append(left.pop(worst).stop)
    hidden = [*found, *(reading.stop for reading in _hidden_pair(printed, left))]
    return tuple(sorted(set(hidden if _fix_a_scale(printed, readings, hidden) else found)))


def _fix_a_scale(printed: Scale, readings: Sequence[TapedStop], but: Collection[int]) -> bool:
    """Whether readings still do, all those at some stops left out."""
    try:
        _own_scale(printed, [reading for reading in readings if reading.stop not in but])
    except SettingsDeskError:
        return False
    return True


def _hidden_pair(printed: Scale, readings: Sequence[TapedStop]) -> list[TapedStop]:
    """Two readings that hide each other in the scatter which both of them make.

    Looked for only where so great a scatter is left that no careful tape makes it, and found only
    where all the others then agree; four at least must be left to speak against two.
    """
    if not 6 <= len(readings) <= MOST_PAIRED or _scatter_mm(printed, readings) <= 2 * TAPE_MM:
        return []
    pair = min(
        combinations(readings, 2),
        key=lambda two: _scatter_mm(
            printed, [reading for reading in readings if reading not in two]
        ),
    )
    others = [reading for reading in readings if reading not in pair]
    if _scatter_mm(printed, others) > TAPE_MM:
        return []
    line = _line(printed, others)
    off_mm = [abs(reading.length_mm - line.at(printed.length_mm(reading.stop))) for reading in pair]
    return list(pair) if min(off_mm) > max(TAPE_MM, MISFIT_SD * line.residual_sd) else []


def _scatter_mm(printed: Scale, readings: Sequence[TapedStop]) -> float:
    """The standard deviation about their own line; endless where they fix none."""
    if len({reading.stop for reading in readings}) < 2:
        return inf
    return _line(printed, readings).residual_sd


def _contradictions(printed: Scale, readings: Sequence[TapedStop]) -> list[float]:
    """For each reading, how many standard deviations of the others it is off their line.

    They are of three stops at least, so the others always fix one.
    """
    leverages = _line(printed, readings).leverages
    found = []
    for place, (suspect, leverage) in enumerate(zip(readings, leverages, strict=True)):
        line = _line(printed, [*readings[:place], *readings[place + 1 :]])
        off_mm = abs(suspect.length_mm - line.at(printed.length_mm(suspect.stop)))
        scatter_mm = line.residual_sd / sqrt(max(1 - leverage, 1e-9))
        found.append(0.0 if off_mm <= TAPE_MM else off_mm / scatter_mm if scatter_mm else inf)
    return found


class CalibrationTooThin(SettingsDeskError):
    """Too few readings, or all at one stop, fix no scale."""

    def __init__(self, readings: int, stops: int) -> None:
        self.readings, self.stops = readings, stops

    def __str__(self) -> str:
        if self.stops < 2 and self.readings >= 2:
            return (
                f"All {self.readings} readings are at one mark: measure at least three marks, as"
                " far apart as the scale allows"
            )
        return (
            f"A calibration needs at least three measured marks to go by; this one has"
            f" {self.stops}. Measure some more, as far apart as the scale allows"
        )
