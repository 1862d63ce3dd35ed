"""Plain models to begin with: of every kind one, invented, to be corrected with a tape in hand.

The lengths are round numbers of our own around what is usual (no make has them). The section and
the drop of slanting rails are guesses of the model's: they are asked for once something needs them.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from settingsdesk.domain.base.datums import Section
from settingsdesk.domain.base.figures import length_in_words
from settingsdesk.domain.base.kinds import KINDS, AxisKind, Kind, Quantity
from settingsdesk.domain.base.units import INCH_MM, Unit
from settingsdesk.domain.hall.models import ApparatusModel, Axis, AxisTimes, Guess, Procedure
from settingsdesk.domain.hall.scales import ContinuousScale, RegularScale, Scale


@dataclass(frozen=True, slots=True)
class Starter:
    """A plain model of one kind: the scale of every axis, and what is not asked at first."""

    kind: Kind
    scales: Mapping[str, Scale]
    section: Section | None = None

    def printed_in(self, unit: Unit) -> "Starter":
        """The same for a hall that reads in that unit: its lengths are round there."""
        if unit is Unit.CENTIMETRE:
            return self
        inches = {key: _in_round_inches(scale) for key, scale in self.scales.items()}
        return replace(self, scales=inches)

    def model(
        self,
        name: str,
        scales: Mapping[str, Scale],
        times: Mapping[str, AxisTimes],
        procedure: Procedure,
    ) -> ApparatusModel:
        """The model with those scales and times by axis; raises what a model refuses."""
        axes = tuple(
            Axis(
                axis,
                scales[axis.key],
                times[axis.key],
                axis.ends,
                ends_may_differ=1 if _goes_end_by_end(axis) else None,
            )
            for axis in self.kind.axes
        )
        model = ApparatusModel(name, self.kind, axes, procedure, self.section)
        # A ruler of slanting rails is true at one drop; there it is laid until somebody tells it.
        guessed = [Guess.SECTION] * self.kind.railed + [Guess.DROP] * model.lacks_drop
        return replace(model.with_middle_drop(), guessed=frozenset(guessed))


def _in_round_inches(scale: Scale) -> Scale:
    match scale:
        case RegularScale():
            first_mm, pitch_mm = _inches(scale.first_mm, 1), _inches(scale.pitch_mm, 2)
            return replace(scale, first_mm=first_mm, pitch_mm=pitch_mm)
        case ContinuousScale():
            ends_mm = _inches(scale.from_mm, 1), _inches(scale.to_mm, 1)
            return ContinuousScale(*ends_mm, _inches(scale.resolution_mm, 4), Unit.INCH)
    return scale


def _inches(mm: float, parts: int) -> float:
    """The nearest inch, or half or quarter of one where ``parts`` is 2 or 4; in millimetres."""
    return round(mm / INCH_MM * parts) / parts * INCH_MM


def _goes_end_by_end(axis: AxisKind) -> bool:
    return axis.quantity is Quantity.HEIGHT and len(axis.ends) > 1


def in_words(scale: Scale, unit: Unit) -> str:
    """A scale in one phrase: "12 holes every 5.0 cm, the first at 145.0 cm"."""
    first = length_in_words(scale.length_mm(0), unit)
    if isinstance(scale, RegularScale):
        pitch = length_in_words(scale.pitch_mm, unit)
        return f"{scale.stops} holes every {pitch}, the first at {first}"
    last = length_in_words(scale.length_mm(scale.count - 1), unit)
    return f"a ruler from {first} to {last}"


STARTERS: dict[str, Starter] = {
    starter.kind.key: starter
    for starter in (
        Starter(
            KINDS["uneven_bars"],
            {
                "low_rail": RegularScale(1450, 50, 12),
                "high_rail": RegularScale(2250, 50, 12),
                "spread": ContinuousScale(1300, 1900, 10),
            },
            Section(40, 40),
        ),
        Starter(
            KINDS["parallel_bars"],
            {"rails": RegularScale(1600, 50, 10), "spread": ContinuousScale(400, 600, 5)},
            Section(50, 40),
        ),
        Starter(KINDS["horizontal_bar"], {"rail": RegularScale(2400, 50, 9)}, Section(28, 28)),
        Starter(KINDS["rings"], {"rings": RegularScale(2400, 50, 9)}),
        Starter(
            KINDS["pommel_horse"],
            {"body": RegularScale(950, 50, 5), "pommels": ContinuousScale(380, 460, 5)},
        ),
        Starter(KINDS["balance_beam"], {"beam": RegularScale(800, 50, 10)}),
        Starter(
            KINDS["vault_table"],
            {
                "table": RegularScale(1000, 50, 8),
                "board": ContinuousScale(300, 2000, 50),
                "run_up": ContinuousScale(10000, 25000, 100),
            },
        ),
    )
}
"""The starter of each kind, by the kind's key."""
