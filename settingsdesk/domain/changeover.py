"""The change-over: what to do from one setup to the next, in the trade's safe sequence.

Slacken; the low rail, end by end; the high rail; the spreaders; sight for square; tension in
stages from the high-rail side; walk round with every lock and handle once more. Nothing at all
where the setups are the same.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from settingsdesk.domain.kinds import Kind
from settingsdesk.domain.models import ApparatusModel, Axis, Procedure, Setup


@dataclass(frozen=True, slots=True)
class Move:
    """One end of one axis, from stop to stop; ``by_mm`` is how far its scale runs between them."""

    axis: Axis
    end: str
    from_stop: int
    to_stop: int

    @property
    def stops(self) -> int:
        """How many stops, without direction."""
        return abs(self.to_stop - self.from_stop)

    @property
    def direction(self) -> str:
        """The word for the way it goes: up or down, out or in, away or nearer."""
        quantity = self.axis.kind.quantity
        return quantity.more if self.to_stop > self.from_stop else quantity.less

    @property
    def by_mm(self) -> float:
        """How far, without direction."""
        scale = self.axis.scale
        return abs(scale.length_mm(self.to_stop) - scale.length_mm(self.from_stop))

    @property
    def seconds(self) -> int:
        """Unlock, move, lock."""
        times = self.axis.times
        per_stop_s = times.up_s if self.to_stop > self.from_stop else times.down_s
        return times.handling_s + self.stops * per_stop_s


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do, by one pair of hands; ``move`` where a stop is changed."""

    what: str
    seconds: int
    move: Move | None = None


@dataclass(frozen=True, slots=True)
class ChangeOver:
    """The ordered steps from one setup to another, and the time for one pair of hands."""

    steps: tuple[Step, ...]

    @property
    def seconds(self) -> int:
        """The whole time: the steps one after the other."""
        return sum(step.seconds for step in self.steps)

    @property
    def moves(self) -> tuple[Move, ...]:
        """The steps that change a stop."""
        return tuple(step.move for step in self.steps if step.move is not None)


def change_over(model: ApparatusModel, start: Sequence[int], goal: Sequence[int]) -> ChangeOver:
    """What one pair of hands does from one setup to another; no step where they are the same."""
    model.must_have(start)
    model.must_have(goal)
    moves = tuple(_moves(model, tuple(start), tuple(goal)))
    if not moves:
        return ChangeOver(())
    before, after = _before(model.procedure), _after(model.procedure, model.kind)
    return ChangeOver((*before, *(Step(_told(move), move.seconds, move) for move in moves), *after))


def change_over_s(model: ApparatusModel, start: Sequence[int], goal: Sequence[int]) -> int:
    """The time of that change-over without its steps: what a search asks thousands of times."""
    if tuple(start) == tuple(goal):
        return 0
    seconds = model.procedure.any_move_s
    for axis, here, there in zip(model.axes, start, goal, strict=True):
        if here != there:
            per_stop_s = axis.times.up_s if there > here else axis.times.down_s
            seconds += len(axis.ends) * (axis.times.handling_s + abs(there - here) * per_stop_s)
    return seconds


def _moves(model: ApparatusModel, start: Setup, goal: Setup) -> Iterator[Move]:
    for axis, here, there in zip(model.axes, start, goal, strict=True):
        if here != there:
            for end in axis.ends:
                yield Move(axis, end, here, there)


def _told(move: Move) -> str:
    scale = move.axis.scale
    return (
        f"{move.axis.kind.name}, {move.end}: {move.direction} from"
        f" {scale.label(move.from_stop)} to {scale.label(move.to_stop)}, and lock"
    )


def _before(procedure: Procedure) -> Iterator[Step]:
    if procedure.tensioners_per_side:
        yield Step("Slacken the tensioners a little, no more than needed", procedure.slacken_s)


def _after(procedure: Procedure, kind: Kind) -> Iterator[Step]:
    yield from sighting(procedure)
    stages = _tension_stages(procedure.tensioners_per_side, kind)
    for place, stage in enumerate(stages):
        yield Step(stage, share_s(procedure.tension_s, place, len(stages)))
    yield walk_round(procedure)


def sighting(procedure: Procedure) -> tuple[Step, ...]:
    """The look along it after the last move; none where nothing is tensioned and it takes none."""
    if procedure.tensioners_per_side:
        what = "Sight along the uprights: square, before anything is tensioned"
        return (Step(what, procedure.square_s),)
    if procedure.square_s:
        return (Step("Sight along the apparatus: level and square", procedure.square_s),)
    return ()


def walk_round(procedure: Procedure) -> Step:
    """The last step of every change-over."""
    return Step("Walk round: every lock seated, every handle closed", procedure.walk_round_s)


def _tension_stages(per_side: int, kind: Kind) -> list[str]:
    """The first side of the kind first; none to the full before its partners have a first stage.

    A tensioner's partners are the others on its side; where it is alone there, the one opposite.
    """
    if not per_side:
        return []
    first, second = kind.sides
    if per_side == 1:
        return [
            f"Tension {first}: to about half",
            f"Tension {second}: to about half; sight again for square",
            f"Tension {first}: to the full",
            f"Tension {second}: to the full",
        ]
    return [
        f"Tension {first}, each tensioner in turn: to about half",
        f"Tension {first}, each in turn: to the full; sight again for square",
        f"Tension {second}, first what pulls against the lean, then the rest: to about half",
        f"Tension {second}, each in turn: to the full",
    ]


def share_s(whole_s: int, place: int, shares: int) -> int:
    """A whole number of seconds for each stage, that add up to the whole."""
    return whole_s * (place + 1) // shares - whole_s * place // shares
