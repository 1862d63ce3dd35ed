"""The times of a model that can be learned, one by one, and what each has to do with a change-over.

At one end of an axis: to unlock and lock it, and for each stop more or less. What every
change-over takes besides (slacken, square, tension, walk round) shows in its sum only, so it is
one time, whose parts keep their proportions.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from settingsdesk.domain.crew import CrewTime, crew_any_move_s, crew_time
from settingsdesk.domain.kinds import AxisKind
from settingsdesk.domain.models import ApparatusModel, Axis, AxisTimes, Procedure
from settingsdesk.domain.timing import TimedChangeOver

HANDLING = "handling_s"
OF_AXIS = (HANDLING, "up_s", "down_s")


@dataclass(frozen=True, slots=True)
class TimePart:
    """One time to be learned: of an axis, by the name that ``AxisTimes`` has for it, or of all."""

    axis: AxisKind | None = None
    what: str = ""

    @property
    def name(self) -> str:
        """The operation in words: "Low rail height, one stop up"."""
        if self.axis is None:
            return "Every change-over, whatever is moved"
        if self.what == HANDLING:
            return f"{self.axis.name}, unlock and lock"
        quantity = self.axis.quantity
        return f"{self.axis.name}, one stop {quantity.more if self.raises else quantity.less}"

    @property
    def raises(self) -> bool:
        """Whether it is the time for a stop more."""
        return self.what == "up_s"

    def present_s(self, model: ApparatusModel) -> int:
        """What the model says now; for one pair of hands."""
        if self.axis is None:
            return model.procedure.any_move_s
        seconds: int = getattr(model.axis(self.axis.key).times, self.what)
        return seconds


EVERY = TimePart()


def time_parts(model: ApparatusModel) -> tuple[TimePart, ...]:
    """What every change-over takes, then three times for each axis."""
    return (EVERY, *(TimePart(axis.kind, what) for axis in model.axes for what in OF_AXIS))


def with_times(model: ApparatusModel, seconds: Mapping[TimePart, int]) -> ApparatusModel:
    """The model with those whole seconds instead of its own; the other times stay."""
    procedure = model.procedure
    if EVERY in seconds:
        procedure = _in_proportion(procedure, seconds[EVERY])
    return replace(
        model,
        procedure=procedure,
        axes=tuple(_with_times(axis, seconds) for axis in model.axes),
    )


def _with_times(axis: Axis, seconds: Mapping[TimePart, int]) -> Axis:
    own = {part.what: given for part, given in seconds.items() if part.axis == axis.kind}
    return replace(axis, times=replace(axis.times, **own))


def _in_proportion(procedure: Procedure, whole_s: int) -> Procedure:
    """The four times in their present proportions, in whole seconds that add up to the whole.

    Where all are 0 now there is no proportion, and the walk round, which every apparatus has,
    stands for all of it.
    """
    if not procedure.any_move_s:
        return replace(procedure, walk_round_s=whole_s)
    present_s = (
        procedure.slacken_s,
        procedure.square_s,
        procedure.tension_s,
        procedure.walk_round_s,
    )
    ends_s = [
        round(Fraction(whole_s * sum(present_s[:count]), procedure.any_move_s))
        for count in range(len(present_s) + 1)
    ]
    slacken_s, square_s, tension_s, walk_round_s = (end - begin for begin, end in pairwise(ends_s))
    return replace(
        procedure,
        slacken_s=slacken_s,
        square_s=square_s,
        tension_s=tension_s,
        walk_round_s=walk_round_s,
    )


class Shares:
    """How often each part is in the time of a change-over: what one second more of it would add.

    The plan itself is asked, with a model on which everything else takes no time, so that the
    fit and the plan cannot mean different things. That is enough, as the time of a change-over
    is a sum of the parts for any crew (``CrewTime``).
    """

    def __init__(self, model: ApparatusModel, parts: Sequence[TimePart]) -> None:
        self._model, self._parts = model, parts
        self._known: dict[tuple[TimePart, int], CrewTime] = {}

    def of(self, timed: TimedChangeOver) -> tuple[Fraction, ...]:
        """The shares in the order of the parts.

        Whole numbers, but for what every change-over takes: of that a crew of several needs
        only some for each second of one pair of hands.
        """
        return tuple(self._share(part, timed) for part in self._parts)

    def _share(self, part: TimePart, timed: TimedChangeOver) -> Fraction:
        if part == EVERY:
            return self._every(timed.hands)
        known = self._known
        if (part, timed.hands) not in known:
            known[part, timed.hands] = crew_time(self._only(part), timed.hands)
        return Fraction(known[part, timed.hands](timed.start, timed.goal))

    def _only(self, part: TimePart) -> ApparatusModel:
        bare = replace(
            self._model,
            procedure=replace(
                self._model.procedure, slacken_s=0, square_s=0, tension_s=0, walk_round_s=0
            ),
            axes=tuple(replace(axis, times=AxisTimes(0, 0, 0)) for axis in self._model.axes),
        )
        return with_times(bare, {part: 1})

    def _every(self, hands: int) -> Fraction:
        procedure = self._model.procedure
        if not procedure.any_move_s:
            return Fraction(1)
        return Fraction(crew_any_move_s(procedure, hands), procedure.any_move_s)
