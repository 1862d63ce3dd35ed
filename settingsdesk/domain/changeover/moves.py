"""Moves of the ends of an axis, and the legs in which they go where no end may get far ahead."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from settingsdesk.domain.base.sentences import Counted, Sentence, marked, with_whole_figures
from settingsdesk.domain.hall.models import Axis

FROM_TO = {
    "up": marked("up from %(start)s to %(end)s"),
    "down": marked("down from %(start)s to %(end)s"),
    "out": marked("out from %(start)s to %(end)s"),
    "in": marked("in from %(start)s to %(end)s"),
    "away": marked("away from %(start)s to %(end)s"),
    "nearer": marked("nearer from %(start)s to %(end)s"),
}
"""The way of a move, for those who hold the end in their hands."""

BY = {
    "up": marked("Up %(stops)s, %(length)s"),
    "down": marked("Down %(stops)s, %(length)s"),
    "out": marked("Out %(stops)s, %(length)s"),
    "in": marked("In %(stops)s, %(length)s"),
    "away": marked("Away %(stops)s, %(length)s"),
    "nearer": marked("Nearer %(stops)s, %(length)s"),
}
"""How far it goes, beside its arrow."""

TO = {
    "up": marked("Up %(stops)s, %(start)s to %(end)s"),
    "down": marked("Down %(stops)s, %(start)s to %(end)s"),
    "out": marked("Out %(stops)s, %(start)s to %(end)s"),
    "in": marked("In %(stops)s, %(start)s to %(end)s"),
    "away": marked("Away %(stops)s, %(start)s to %(end)s"),
    "nearer": marked("Nearer %(stops)s, %(start)s to %(end)s"),
}
WHOLE = {
    "up": marked("%(axis)s up %(stops)s, %(start)s to %(end)s (%(length)s)"),
    "down": marked("%(axis)s down %(stops)s, %(start)s to %(end)s (%(length)s)"),
    "out": marked("%(axis)s out %(stops)s, %(start)s to %(end)s (%(length)s)"),
    "in": marked("%(axis)s in %(stops)s, %(start)s to %(end)s (%(length)s)"),
    "away": marked("%(axis)s away %(stops)s, %(start)s to %(end)s (%(length)s)"),
    "nearer": marked("%(axis)s nearer %(stops)s, %(start)s to %(end)s (%(length)s)"),
}
"""What a crew sheet says of a move, on a page and on paper."""


@dataclass(frozen=True, slots=True)
class Move:
    """One end of one axis, from stop to stop; ``by_mm`` is how far its scale runs between them.

    Where the end goes its way in several legs, each is a move: ``begins`` and ``finishes`` say
    whether it is the first and the last of them.
    """

    axis: Axis
    end: str
    from_stop: int
    to_stop: int
    begins: bool = True
    finishes: bool = True

    @property
    def stops(self) -> int:
        """How many stops, without direction."""
        return abs(self.to_stop - self.from_stop)

    @property
    def from_label(self) -> str:
        """What is printed at the stop that it leaves."""
        return with_whole_figures(self.axis.scale.label(self.from_stop))

    @property
    def to_label(self) -> str:
        """What is printed at the stop that it goes to."""
        return with_whole_figures(self.axis.scale.label(self.to_stop))

    @property
    def direction(self) -> str:
        """The word for the way it goes: up or down, out or in, away or nearer."""
        quantity = self.axis.kind.quantity
        return quantity.more if self.to_stop > self.from_stop else quantity.less

    @property
    def way(self) -> Sentence:
        """Which way, between which marks: "up from 5 to 7"."""
        return Sentence(FROM_TO[self.direction], start=self.from_label, end=self.to_label)

    @property
    def so_many(self) -> Counted:
        """How many holes it passes, or marks where nothing snaps in: "2 holes"."""
        if self.axis.scale.has_pins:
            return Counted("%(count)s hole", "%(count)s holes", self.stops)
        return Counted("%(count)s mark", "%(count)s marks", self.stops)

    @property
    def to(self) -> Sentence:
        """Which way, how far, between which marks: "Up 2 holes, 5 to 7"."""
        start, end = self.from_label, self.to_label
        return Sentence(TO[self.direction], stops=self.so_many, start=start, end=end)

    def whole(self, length: str) -> Sentence:
        """All of it in one line: "High rail height up 2 holes, 5 to 7 (10.0 cm)"."""
        return Sentence(
            WHOLE[self.direction],
            axis=self.axis.kind.name,
            stops=self.so_many,
            start=self.from_label,
            end=self.to_label,
            length=length,
        )

    def by(self, length: str) -> Sentence:
        """How far, with that length: "Up 2 holes, 10.0 cm"."""
        return Sentence(BY[self.direction], stops=self.so_many, length=length)

    @property
    def by_mm(self) -> float:
        """How far, without direction."""
        scale = self.axis.scale
        return abs(scale.length_mm(self.to_stop) - scale.length_mm(self.from_stop))

    @property
    def seconds(self) -> int:
        """Unlock, move, lock.

        In the first of several legs the screw lock is loosened, in the last it is tightened, each
        for its half of the handling; between them the spring lock is drawn and pressed back, which
        is part of the time per stop. So a way takes as long in several legs as in one.
        """
        times = self.axis.times
        per_stop_s = times.up_s if self.to_stop > self.from_stop else times.down_s
        loosen_s = share_s(times.handling_s, 0, 2) if self.begins else 0
        tighten_s = share_s(times.handling_s, 1, 2) if self.finishes else 0
        return loosen_s + self.stops * per_stop_s + tighten_s


def rounds_of_moves(
    axis: Axis, stands: Sequence[int], goal: int, hands: int
) -> list[tuple[Move, ...]]:
    """The moves that bring all ends of an axis to a stop, round after round.

    ``stands`` are the stops at which the ends stand; one that is at the goal is not moved. The
    moves of one round may be made at once. Where the ends may differ as they like, all are in
    one round. Otherwise as many ends as there are pairs of hands go together and take turns with
    the others, each leg as far as is allowed. Whoever is quicker in a round, no two ends come to
    differ by more than the axis allows, or, where they stood farther apart, farther than they
    did.
    """
    return [
        tuple(
            Move(
                axis,
                axis.ends[place],
                here,
                there,
                begins=here == stands[place],
                finishes=there == goal,
            )
            for place, here, there in legs
        )
        for legs in _rounds(axis.ends_may_differ, stands, goal, hands)
    ]


_Leg = tuple[int, int, int]  # which end, from which stop, to which


def _rounds(
    may_differ: int | None, stands: Sequence[int], goal: int, hands: int
) -> Iterator[list[_Leg]]:
    moving = [place for place, stop in enumerate(stands) if stop != goal]
    if may_differ is None:
        if moving:
            yield [(place, stands[place], goal) for place in moving]
        return
    together = [moving[first : first + hands] for first in range(0, len(moving), hands)]
    now = list(stands)
    while any(stop != goal for stop in now):
        for group in together:
            legs = [leg for leg in _legs(may_differ, now, goal, group) if leg[1] != leg[2]]
            for place, _, there in legs:
                now[place] = there
            if legs:
                yield legs


def _legs(may_differ: int, now: Sequence[int], goal: int, group: Sequence[int]) -> Iterator[_Leg]:
    """How far each of a group may go: alone, by where the others stand; with others, by all.

    Of several that go at once the first may be there before the last has begun.
    """
    going = [place for place in group if now[place] != goal]
    for place in going:
        others = [stop for other, stop in enumerate(now) if len(going) > 1 or other != place]
        if now[place] < goal:
            there = max(now[place], min(goal, min(others) + may_differ))
        else:
            there = min(now[place], max(goal, max(others) - may_differ))
        yield place, now[place], there


def share_s(whole_s: int, place: int, shares: int) -> int:
    """A whole number of seconds for each stage, that add up to the whole."""
    return whole_s * (place + 1) // shares - whole_s * place // shares
