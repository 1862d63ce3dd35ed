"""The change-over for a crew: who does what at which end, and the shortest time it takes.

The sequence stays that of one pair of hands, which is the safe one. An axis is set at all its
ends and locked before the next is touched, so that no rail hangs askew. What several do at once
is to work at the ends of one axis, to slacken, and to tension one side, where those tensioners
that pull against each other are pulled together on a count. One sights for square and walks
round (common practice, no source; the maker's instructions come first).
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.kinds import Kind
from settingsdesk.domain.base.sentences import Sentence, marked
from settingsdesk.domain.changeover.changeover import (
    TO_STAGE,
    Frame,
    Phase,
    PulledFirst,
    Stage,
    Stands,
    Step,
    axis_rounds,
    begun_clear,
    change_over,
    move_step,
    sighting,
    sighting_again,
    tension_stages,
    tensioning,
    walk_round,
)
from settingsdesk.domain.changeover.moves import Move, share_s
from settingsdesk.domain.changeover.schedule import Operation, shortest_schedule
from settingsdesk.domain.hall.models import ApparatusModel, Axis, AxisTimes, Procedure, Setup

CREWS = (1, 2, 4)
SLACKEN = marked("Slacken %(side)s: a little, no more than needed")
SLACKEN_ONE = marked("Slacken %(side)s, tensioner %(number)s: a little, no more than needed")
ONE_TO_STAGE = marked("Tension %(side)s, tensioner %(number)s: to %(stage)s")
TWO_TO_STAGE = marked(
    "Tension %(side)s, tensioners %(number)s and %(other)s together on a count: to %(stage)s"
)
NAMELESS = Kind("", "", "", (), sides=("", ""))


@dataclass(frozen=True, slots=True)
class CrewStep:
    """One thing to do: by which pairs of hands, counted from 1, and when it begins.

    ``who`` names more than one pair of hands where they work together on a count. ``move`` says
    which end goes from which stop to which, where a stop is changed; ``how`` what the hands do.
    """

    phase: Phase
    who: tuple[int, ...]
    what: str
    starts_s: int
    seconds: int
    move: Move | None = None
    how: tuple[str, ...] = ()

    @property
    def ends_s(self) -> int:
        """When it is done, in seconds from the begin of the change-over."""
        return self.starts_s + self.seconds


@dataclass(frozen=True, slots=True)
class CrewChangeOver:
    """The steps from one setup to another, in the order in which they begin."""

    steps: tuple[CrewStep, ...]

    @property
    def seconds(self) -> int:
        """The whole time; these steps cannot be done in less by this crew."""
        return max((step.ends_s for step in self.steps), default=0)


def crew_change_over(
    model: ApparatusModel,
    start: Stands,
    goal: Sequence[int],
    hands: int,
    *,
    frame: Frame = Frame.TENSIONED,
    lean: PulledFirst | None = None,
) -> CrewChangeOver:
    """Who does what from one setup to another; no step where they are the same.

    For one pair of hands these are the steps of ``change_over``, which says what ``start``,
    ``frame`` and ``lean`` may be. The time is the shortest there is; of several ways to keep it,
    the one that begins the steps in the order they are told. Where the ends of an axis may differ
    only so far, that holds for the legs of ``rounds_of_moves``, each begun when those before are
    done.
    ``NotACrew`` for other numbers than 1, 2 and 4; what ``change_over`` raises.
    """
    _must_be_a_crew(hands)
    alone = change_over(model, start, goal, frame=frame, lean=lean)
    if not alone.steps or hands == 1:
        return _worked([_Work(step)] for step in alone.steps)
    worked = _worked(
        [
            *(() if frame is Frame.SLACK else _before(model.procedure, model.kind)),
            *_moved(model, start, goal, hands),
            *_after(model.procedure, model.kind, lean),
        ],
        hands,
    )
    return CrewChangeOver(tuple(_nobody_near(step, model.kind) for step in worked.steps))


@dataclass(frozen=True, slots=True)
class CrewTime:
    """A crew's time between two setups without the steps: what a search asks thousands of times.

    It is the sum of what any change-over takes and, for every axis that differs, as many rounds
    as its ends need at that crew's number of hands. As all ends of an axis take equally long, in
    one leg or in several, that is the time of ``crew_change_over``. Going by way of a third setup
    is never quicker, for any crew: no axis is moved for less in two goes than in one, whichever
    way each goes, and what any change-over takes is then due twice.
    """

    any_move_s: int
    axes: tuple[tuple[int, AxisTimes], ...]

    def __call__(self, start: Setup, goal: Setup) -> int:
        """Seconds from one setup to another; 0 where they are the same."""
        if start == goal:
            return 0
        seconds = self.any_move_s
        for (rounds, times), here, there in zip(self.axes, start, goal, strict=True):
            if there > here:
                seconds += rounds * (times.handling_s + (there - here) * times.up_s)
            elif there < here:
                seconds += rounds * (times.handling_s + (here - there) * times.down_s)
        return seconds


def crew_time(model: ApparatusModel, hands: int) -> CrewTime:
    """The times of a model for that many pairs of hands; ``NotACrew`` for other than 1, 2, 4."""
    return CrewTime(
        crew_any_move_s(model.procedure, hands),
        tuple((rounds_of_ends(axis, hands), axis.times) for axis in model.axes),
    )


def crew_time_s(
    model: ApparatusModel, start: Sequence[int], goal: Sequence[int], hands: int
) -> int:
    """Seconds from one setup to another for that many pairs of hands, as ``crew_time`` has them."""
    return crew_time(model, hands)(tuple(start), tuple(goal))


def rounds_of_ends(axis: Axis, hands: int) -> int:
    """In how many rounds all ends of an axis are set."""
    return -(-len(axis.ends) // hands)


@lru_cache(maxsize=256)
def crew_any_move_s(procedure: Procedure, hands: int) -> int:
    """What any change-over takes before the first stop is moved and after the last one."""
    _must_be_a_crew(hands)
    if hands == 1:
        return procedure.any_move_s
    # What the sides are called makes no difference to the time.
    return _worked(
        [*_before(procedure, NAMELESS), *_after(procedure, NAMELESS, None)], hands
    ).seconds


def _nobody_near(step: CrewStep, kind: Kind) -> CrewStep:
    """The step; whoever begins first, whichever pair of hands, sees first that nobody is near."""
    if step.starts_s:
        return step
    return replace(step, how=begun_clear(kind, step.how))


@dataclass(frozen=True, slots=True)
class _Work:
    step: Step
    hands_needed: int = 1


def _worked(stages: Iterable[Sequence[_Work]], hands: int = 1) -> CrewChangeOver:
    """Stage after stage, each begun when all of the one before is done."""
    works: list[_Work] = []
    operations: list[Operation] = []
    done: frozenset[int] = frozenset()
    for stage in stages:
        for work in stage:
            step = work.step
            operations.append(Operation(step.what, step.seconds, done, work.hands_needed))
        done = frozenset(range(len(works), len(operations)))
        works.extend(stage)
    return CrewChangeOver(
        tuple(
            CrewStep(
                step.phase,
                placed.who,
                step.what,
                placed.starts_s,
                step.seconds,
                step.move,
                step.how,
            )
            for placed in shortest_schedule(operations, hands).placed
            for step in [works[placed.operation].step]
        )
    )


def _before(procedure: Procedure, kind: Kind) -> Iterator[list[_Work]]:
    per_side = procedure.tensioners_per_side
    where = [(side, number) for side in kind.sides for number in range(1, per_side + 1)]
    if where:
        yield [
            _Work(
                Step(
                    Phase.SLACKEN,
                    Sentence(SLACKEN_ONE if per_side > 1 else SLACKEN, side=side, number=number),
                    share_s(procedure.slacken_s, place, len(where)),
                )
            )
            for place, (side, number) in enumerate(where)
        ]


def _moved(
    model: ApparatusModel, start: Stands, goal: Sequence[int], hands: int
) -> Iterator[list[_Work]]:
    """Axis by axis in their safe order, the moves of one round at once."""
    for rounds in axis_rounds(model, start, goal, hands):
        for at_once in rounds:
            yield [_Work(move_step(move)) for move in at_once]


def _after(procedure: Procedure, kind: Kind, lean: PulledFirst | None) -> Iterator[list[_Work]]:
    for step in sighting(procedure):
        yield [_Work(step)]
    if procedure.tensioners_per_side:
        yield from _tensioned(procedure, kind, lean)
    yield [_Work(walk_round(procedure))]


def _tensioned(procedure: Procedure, kind: Kind, lean: PulledFirst | None) -> Iterator[list[_Work]]:
    """The stages of ``change_over``, each shared among the crew; square is sighted halfway."""
    per_side = procedure.tensioners_per_side
    for number, (side, stage) in enumerate(tension_stages(kind, per_side, lean)):
        if number == 2:
            yield [_Work(sighting_again(procedure))]
        yield [
            _pulled(
                procedure,
                number,
                first,
                side,
                stage,
                tensioning(procedure, kind, side, stage, lean),
            )
            for first in range(1, per_side + 1, 2)
        ]


def _pulled(
    procedure: Procedure,
    number: int,
    first: int,
    side: str,
    stage: Stage,
    how: tuple[str, ...],
) -> _Work:
    """A tensioner and the one that pulls against it; the odd one of a side alone.

    The time of two together is that of the one that takes longer.
    """
    per_side = procedure.tensioners_per_side
    pair = range(first, min(first + 2, per_side + 1))
    seconds = max(
        share_s(procedure.pulling_s, number * per_side + tensioner - 1, 4 * per_side)
        for tensioner in pair
    )
    form = TWO_TO_STAGE if len(pair) == 2 else ONE_TO_STAGE if per_side > 1 else TO_STAGE
    what = Sentence(form, side=side, stage=stage.value, number=first, other=first + 1)
    return _Work(Step(Phase.TENSION, what, seconds, how=how), len(pair))


def _must_be_a_crew(hands: int) -> None:
    if hands not in CREWS:
        raise NotACrew(hands)


class NotACrew(SettingsDeskError):
    """A number of hands for which no change-over is worked out."""

    def __init__(self, hands: int) -> None:
        self.hands = hands

    def __str__(self) -> str:
        return Sentence("A crew is of 1, 2 or 4 people; %(hands)s was given", hands=self.hands)
