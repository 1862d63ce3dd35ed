"""Carrying a setting to an apparatus: the combination of stops that comes closest to it.

Heights and the inner spread of a rail pair depend on each other, so all axes are chosen
together: the least weighted sum of squared residuals, every combination considered.
"""

from dataclasses import dataclass
from functools import lru_cache
from heapq import nsmallest
from itertools import product
from math import ceil

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import compared_length, compared_most
from settingsdesk.domain.base.sentences import Sentence, marked
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.hall.geometry import RailPair
from settingsdesk.domain.hall.models import ApparatusModel, Axis, Setup
from settingsdesk.domain.hall.scales import HALF_MM, TIE_MM
from settingsdesk.domain.settings.pair_search import Stops, keeping_the_drop, two_best_of_a_pair
from settingsdesk.domain.settings.settings import Setting, Wanted

KEPT = 4096
"""So many transfers are kept in memory: some forty apparatus of a meet with 96 athletes."""


WITHOUT_DROP = Sentence(
    "for which drop between the rails its scale is printed is not entered for the model, so this"
    " mark may be many centimetres wrong"
)

ACCEPTED = marked("%(axis)s: %(off)s; %(limit)s is accepted")
USUAL_HERE = marked("%(axis)s: %(off)s; %(limit)s is usual here")


@dataclass(frozen=True, slots=True)
class AxisFit:
    """One axis at a chosen stop: the mark, the length there, and how far off the wish that is.

    ``gap_mm`` is how far a tape would find the next stop towards the wish from it, or the one on
    the other side at an end; 0 where there is none.
    ``lacks_drop`` is true of a spread whose length is unknown, as its model ``lacks_drop``.
    """

    axis: Axis
    wanted: Wanted
    stop: int
    measure_mm: float
    gap_mm: float
    lacks_drop: bool = False

    @property
    def mark(self) -> str:
        """The label of the chosen stop."""
        return self.axis.scale.label(self.stop)

    @property
    def residual_mm(self) -> float:
        """The length there less the wanted one."""
        return self.measure_mm - self.wanted.wanted_mm

    @property
    def off_mm(self) -> int:
        """The residual as it is printed: whole millimetres, without direction."""
        return abs(round(self.residual_mm))

    @property
    def as_near(self) -> str:
        """The label of the stop on the other side of the wish that is just as far off it.

        Empty where there is none: of two that are as near, somebody ought to choose.
        """
        beyond = self.stop + (1 if self.residual_mm < 0 else -1)
        is_half_way = abs(self.gap_mm - 2 * abs(self.residual_mm)) <= TIE_MM
        if not self.off_mm or not is_half_way or not 0 <= beyond < self.axis.scale.count:
            return ""
        return self.axis.scale.label(beyond)

    @property
    def within_accepted(self) -> bool:
        """Whether the athlete accepts that residual, told to the millimetre as it is printed."""
        return self.off_mm <= self.wanted.accepts_mm

    @property
    def unalarming_mm(self) -> int:
        """Up to which deviation no alarm sounds.

        What the athlete accepts; where the setting says nothing, what the club usually accepts,
        and never less than what the stops cannot avoid: half the way to the next one.
        """
        if self.wanted.accepts_mm:
            return self.wanted.accepts_mm
        return max(self.axis.usually_accepts_mm, ceil(self.gap_mm / 2 - TIE_MM))

    @property
    def alarming(self) -> bool:
        """Whether it is to be heeded: out of range, or too far off what is wanted."""
        return self.lacks_drop or self.out_of_range or self.off_mm > self.unalarming_mm

    @property
    def out_of_range(self) -> bool:
        """Whether the scale ends before the wish: the last stop is taken, and is too far off."""
        at_an_end = self.stop in (0, self.axis.scale.count - 1)
        return at_an_end and not self._covered

    @property
    def _covered(self) -> bool:
        if self.axis.scale.count == 1:
            return self.off_mm <= self.unalarming_mm
        past_the_end = self.residual_mm > 0 if self.stop == 0 else self.residual_mm < 0
        return not past_the_end or abs(self.residual_mm) <= self.gap_mm / 2 + HALF_MM

    @property
    def warning(self) -> str:
        """What the coach must know before using it, in centimetres, or nothing."""
        return self.warning_in(Unit.CENTIMETRE)

    def warning_in(self, unit: Unit) -> str:
        """The same for people who read lengths in that unit."""
        name = self.axis.kind.name
        if self.lacks_drop:
            return Sentence("%(axis)s: %(why)s", axis=name, why=WITHOUT_DROP)
        if self.out_of_range:
            quantity = self.axis.kind.quantity
            way = quantity.too_much if self.residual_mm > 0 else quantity.too_little
            off = compared_length(self.off_mm, unit)
            return Sentence(
                "%(axis)s: this apparatus does not reach it; its last mark is %(off)s %(way)s",
                axis=name,
                off=off,
                way=way,
            )
        if self.alarming:
            limit = compared_most(self.unalarming_mm, unit)
            form = ACCEPTED if self.wanted.accepts_mm else USUAL_HERE
            return Sentence(form, axis=name, off=self._off_in(unit), limit=limit)
        return ""

    def residual_in(self, unit: Unit) -> str:
        """How far off it is, without alarm; empty where it is exact."""
        if not self.off_mm:
            return ""
        return Sentence("%(axis)s: %(off)s", axis=self.axis.kind.name, off=self._off_in(unit))

    def _off_in(self, unit: Unit) -> Sentence:
        length = compared_length(self.off_mm, unit)
        if self.residual_mm > 0:
            return Sentence("%(length)s over what is wanted", length=length)
        return Sentence("%(length)s under what is wanted", length=length)


@dataclass(frozen=True, slots=True)
class Fit:
    """One combination of stops with its residuals; ``score`` is the weighted sum of squares."""

    setup: Setup
    axes: tuple[AxisFit, ...]
    score: float

    @property
    def warnings(self) -> tuple[str, ...]:
        """What is out of range or outside the accepted deviation, axis by axis, in centimetres."""
        return self.warnings_in(Unit.CENTIMETRE)

    def warnings_in(self, unit: Unit) -> tuple[str, ...]:
        """The same for people who read lengths in that unit."""
        return tuple(axis.warning_in(unit) for axis in self.axes if axis.warning)

    def residuals_in(self, unit: Unit) -> tuple[str, ...]:
        """What is off without an alarm, where the athlete's setting does not say what it may be."""
        return tuple(
            axis.residual_in(unit)
            for axis in self.axes
            if axis.off_mm and not axis.alarming and not axis.wanted.accepts_mm
        )


@dataclass(frozen=True, slots=True)
class Transfer:
    """The closest combination of stops, and the next closest where there is another."""

    best: Fit
    runner_up: Fit | None


def transfer(setting: Setting, model: ApparatusModel) -> Transfer:
    """The two combinations of stops of ``model`` that come closest to ``setting``.

    Exact over all combinations. Where heights lie half-way between two stops, the pair of low and
    high rail that keeps the drop between them comes before the least sum (see
    ``keeping_the_drop``); of equal ones, the one with the lower stops. ``OtherKind`` where setting
    and model are not of one apparatus kind.
    """
    if setting.kind.key != model.kind.key:
        raise OtherKind(setting, model)
    return _closest(tuple(setting.axes[axis.key] for axis in model.axes), model)


@lru_cache(maxsize=KEPT)
def _closest(wishes: tuple[Wanted, ...], model: ApparatusModel) -> Transfer:
    """The same of the wishes on each axis; kept, as page after page asks for the same ones."""
    setting = Setting(model.kind, dict(zip((axis.key for axis in model.axes), wishes, strict=True)))
    pair = model.rail_pair
    parts = [two_best_of_a_pair(setting, model, pair)] if pair else []
    coupled = parts[0][0].keys() if parts else ()
    parts += [
        _two_best_alone(setting, model, axis) for axis in model.axes if axis.key not in coupled
    ]
    setups = (_joined(model, choice) for choice in product(*parts))
    closest = nsmallest(2, ((_score(setting, model, setup), setup) for setup in setups))
    if pair is not None:
        closest = _keeping_the_drop(setting, model, pair, closest)
    fits = [_fit(setting, model, setup, score) for score, setup in closest]
    return Transfer(fits[0], fits[1] if len(fits) > 1 else None)


def _keeping_the_drop(
    setting: Setting, model: ApparatusModel, pair: RailPair, closest: list[tuple[float, Setup]]
) -> list[tuple[float, Setup]]:
    """The closest two, the first with the drop kept where its heights are equally far off."""
    first = dict(zip((axis.key for axis in model.axes), closest[0][1], strict=True))
    kept = {**first, **keeping_the_drop(setting, model, pair, first)}
    setup = tuple(kept[axis.key] for axis in model.axes)
    others = [near for near in closest if near[1] != setup]
    return [(_score(setting, model, setup), setup), *others][:2]


def _two_best_alone(setting: Setting, model: ApparatusModel, axis: Axis) -> list[Stops]:
    """The two nearest stops of an axis that no other axis shifts."""
    wanted_mm = setting.axes[axis.key].wanted_mm

    def off(stop: int) -> tuple[float, int]:
        off_mm = abs(model.alone_mm(axis, axis.scale.length_mm(stop)) - wanted_mm)
        return round(off_mm, 6), stop

    return [{axis.key: stop} for stop in nsmallest(2, range(axis.scale.count), key=off)]


def _joined(model: ApparatusModel, parts: tuple[Stops, ...]) -> Setup:
    stops = {key: stop for part in parts for key, stop in part.items()}
    return tuple(stops[axis.key] for axis in model.axes)


def _score(setting: Setting, model: ApparatusModel, setup: Setup) -> float:
    """The weighted sum of squared residuals, rounded so that equal ones are seen to be equal."""
    measures_mm = model.measures_mm(setup)
    return round(
        sum(
            wanted.weight * (measures_mm[key] - wanted.wanted_mm) ** 2
            for key, wanted in setting.axes.items()
        ),
        6,
    )


def _fit(setting: Setting, model: ApparatusModel, setup: Setup, score: float) -> Fit:
    measures_mm = model.measures_mm(setup)
    axes = tuple(
        AxisFit(
            axis=axis,
            wanted=setting.axes[axis.key],
            stop=setup[place],
            measure_mm=measures_mm[axis.key],
            gap_mm=_gap_mm(model, setup, place, setting.axes[axis.key].wanted_mm),
            lacks_drop=model.lacks_drop and axis.kind == model.kind.spread_axis,
        )
        for place, axis in enumerate(model.axes)
    )
    return Fit(setup, axes, score)


def fit_at(setting: Setting, model: ApparatusModel, setup: Setup) -> Fit:
    """How far a setup, whatever it is, lies from a setting, axis by axis."""
    return _fit(setting, model, setup, _score(setting, model, setup))


def setting_of_setup(model: ApparatusModel, setup: Setup, accepts_mm: int = 0) -> Setting:
    """What stands at a setup, as a setting in whole millimetres.

    ``RailsInWrongOrder`` where the low rail is above the high one.
    """
    measures_mm = model.measures_mm(setup)
    return Setting(
        model.kind, {axis: Wanted(round(mm), accepts_mm) for axis, mm in measures_mm.items()}
    )


def _gap_mm(model: ApparatusModel, setup: Setup, place: int, wanted_mm: float) -> float:
    """How far the measure of one axis moves to its next stop, all else as it stands."""
    axis, stop = model.axes[place], setup[place]
    here_mm = model.measures_mm(setup)[axis.key]
    towards = 1 if here_mm <= wanted_mm else -1
    for near in (stop + towards, stop - towards):
        if 0 <= near < axis.scale.count:
            there = model.measures_mm((*setup[:place], near, *setup[place + 1 :]))
            return abs(there[axis.key] - here_mm)
    return 0.0


class OtherKind(SettingsDeskError):
    """A setting of one apparatus kind was carried to a model of another."""

    def __init__(self, setting: Setting, model: ApparatusModel) -> None:
        self.setting, self.model = setting, model

    def __str__(self) -> str:
        return (
            f"A setting for {self.setting.kind.name.lower()} cannot be carried to"
            f" {self.model.name}: that is {self.model.kind.name.lower()}"
        )
