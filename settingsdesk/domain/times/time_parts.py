"""The times of a model that can be learned, one by one, and what each has to do with a change-over.

At one end of an axis: to unlock and lock it, and for each stop more or less. What every
change-over takes besides (slacken, square, tension, walk round) shows in its sum only, so it is
one time, whose parts keep their proportions. On an apparatus with a single axis every change-over
unlocks and locks that one, so there this is part of the sum too.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from settingsdesk.domain.base.kinds import AxisKind
from settingsdesk.domain.changeover.crew import (
    CrewTime,
    crew_any_move_s,
    crew_time,
    rounds_of_ends,
)
from settingsdesk.domain.hall.models import ApparatusModel, Axis, AxisTimes, Procedure
from settingsdesk.domain.times.timed import TimedChangeOver

HANDLING = "handling_s"
OF_AXIS = (HANDLING, "up_s", "down_s")


@dataclass(frozen=True, slots=True)
class TimePart:
    """One time to be learned: of an axis, by the name that ``AxisTimes`` has for it, or of all."""

    axis: AxisKind | None = None
    what: str = ""

    @property
    def name(self) -> str:
        """The operation in words: "Low rail height, one mark up"."""
        if self == EVERY:
            return "Every change-over, whatever is moved"
        if self.axis is None:
            return "Every change-over, with unlock and lock"
        if self.what == HANDLING:
            return f"{self.axis.name}, unlock and lock"
        quantity = self.axis.quantity
        return f"{self.axis.name}, one mark {quantity.more if self.raises else quantity.less}"

    @property
    def raises(self) -> bool:
        """Whether it is the time for a stop more."""
        return self.what == "up_s"

    def present_s(self, model: ApparatusModel) -> int:
        """What the model says now; for one pair of hands."""
        if self.axis is None:
            return model.procedure.any_move_s + _locking_s(model, 1)
        seconds: int = getattr(model.axis(self.axis.key).times, self.what)
        return seconds


EVERY = TimePart()
EVERY_WITH_LOCKING = TimePart(what=HANDLING)


def time_parts(model: ApparatusModel) -> tuple[TimePart, ...]:
    """What every change-over takes, then the times of each axis."""
    alone = len(model.axes) == 1
    return (
        EVERY_WITH_LOCKING if alone else EVERY,
        *(
            TimePart(axis.kind, what)
            for axis in model.axes
            for what in OF_AXIS
            if not (alone and what == HANDLING)
        ),
    )


def _locking_s(model: ApparatusModel, hands: int) -> int:
    """What unlocking and locking adds to every change-over, whatever else is moved."""
    if len(model.axes) > 1:
        return 0
    (axis,) = model.axes
    return rounds_of_ends(axis, hands) * axis.times.handling_s


def with_times(model: ApparatusModel, seconds: Mapping[TimePart, int]) -> ApparatusModel:
    """The model with those whole seconds instead of its own; the other times stay."""
    changed = replace(model, axes=tuple(_with_times(axis, seconds) for axis in model.axes))
    for part, whole_s in seconds.items():
        if part.axis is None:
            changed = _in_proportion(changed, whole_s)
    return changed


def _with_times(axis: Axis, seconds: Mapping[TimePart, int]) -> Axis:
    own = {part.what: given for part, given in seconds.items() if part.axis == axis.kind}
    return replace(axis, times=replace(axis.times, **own))


def _in_proportion(model: ApparatusModel, whole_s: int) -> ApparatusModel:
    """What every change-over takes in its present proportions, in whole seconds that add up.

    Where all is 0 now there is no proportion, and the walk round, which every apparatus has,
    stands for all of it.
    """
    present_s, locking_s = model.procedure.any_move_s, _locking_s(model, 1)
    if not locking_s:
        return replace(model, procedure=_shared(model.procedure, whole_s))
    (axis,) = model.axes
    handling_s = axis.times.handling_s * whole_s // (present_s + locking_s)
    left_s = whole_s - rounds_of_ends(axis, 1) * handling_s
    return replace(
        model,
        axes=(replace(axis, times=replace(axis.times, handling_s=handling_s)),),
        procedure=_shared(model.procedure, left_s),
    )


def _shared(procedure: Procedure, whole_s: int) -> Procedure:
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
        if part.axis is None:
            return self._every(part, timed.hands)
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

    def _every(self, part: TimePart, hands: int) -> Fraction:
        present_s = part.present_s(self._model)
        if not present_s:
            return Fraction(1)
        theirs_s = crew_any_move_s(self._model.procedure, hands) + _locking_s(self._model, hands)
        return Fraction(theirs_s, present_s)
