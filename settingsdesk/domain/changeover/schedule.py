"""The shortest schedule of operations for a few pairs of hands, where some must precede others."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from itertools import pairwise
from operator import or_

from settingsdesk.domain.base.errors import SettingsDeskError


@dataclass(frozen=True, slots=True)
class Operation:
    """Work that is not interrupted once begun.

    ``after`` are the places, in the list that the operation is part of, of those that must have
    ended before. ``hands_needed`` pairs of hands work at it together from begin to end.
    """

    what: str
    seconds: int
    after: frozenset[int] = frozenset()
    hands_needed: int = 1


@dataclass(frozen=True, slots=True)
class Placed:
    """When one operation of the list is done, and by which pairs of hands, counted from 1."""

    operation: int
    starts_s: int
    ends_s: int
    who: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Schedule:
    """Every operation once, in the order in which they begin."""

    placed: tuple[Placed, ...]

    @property
    def seconds(self) -> int:
        """From the first begin to the last end."""
        return max((placed.ends_s for placed in self.placed), default=0)


def shortest_schedule(operations: Sequence[Operation], hands: int) -> Schedule:
    """The schedule that ends earliest; of several, the first by its order of beginning.

    Exact. Where all operations before a place in the list must precede all from there on, the
    later ones cannot begin before the earlier have taken their shortest time, and one schedule
    put behind the other keeps every rule: so each such stage is solved alone. Within a stage
    every order of beginning is tried, each operation as early as that order allows. Take the
    order of a shortest schedule: by induction no operation begins later than it does there, so
    a shortest one is among those tried. What is cut off cannot end earlier than one already
    found: something left is on a chain of too many seconds, or the work left is too much for
    all hands together, or the same operations led to the same state before.

    Raises ``CannotBeScheduled`` where an operation needs more hands than there are, takes less
    than no time, or has to follow one that the list does not have before it.
    """
    for place, operation in enumerate(operations):
        _must_be_possible(operation, place, hands)
    placed: list[Placed] = []
    for first, stage in _stages(operations):
        begin_s = max((earlier.ends_s for earlier in placed), default=0)
        order = _Search(stage, hands).shortest() if len(stage) > 1 else (0,)
        placed.extend(
            Placed(
                first + operation.operation,
                begin_s + operation.starts_s,
                begin_s + operation.ends_s,
                operation.who,
            )
            for operation in _in_order(stage, order, hands)
        )
    return Schedule(tuple(placed))


def _stages(operations: Sequence[Operation]) -> Iterator[tuple[int, list[Operation]]]:
    """The list cut wherever all before must precede all behind; with each part's first place."""
    earlier: list[int] = []  # of each operation, as bits, all that must precede it
    for operation in operations:
        earlier.append(reduce(or_, (earlier[place] | 1 << place for place in operation.after), 0))
    cuts = [
        place
        for place in range(len(operations) + 1)
        if all(some & (1 << place) - 1 == (1 << place) - 1 for some in earlier[place:])
    ]
    for first, end in pairwise(cuts):
        yield (
            first,
            [
                Operation(
                    operation.what,
                    operation.seconds,
                    frozenset(place - first for place in operation.after if place >= first),
                    operation.hands_needed,
                )
                for operation in operations[first:end]
            ],
        )


def _in_order(stage: Sequence[Operation], order: Sequence[int], hands: int) -> Iterator[Placed]:
    """Each operation as early as the order of beginning allows, by the lowest hands then free."""
    free_s = [0] * hands
    ends_s: dict[int, int] = {}
    starts_s = 0
    for place in order:
        operation = stage[place]
        needed = operation.hands_needed
        starts_s = max(starts_s, _ready_s(operation, ends_s), sorted(free_s)[needed - 1])
        who = [hand for hand in range(hands) if free_s[hand] <= starts_s][:needed]
        ends_s[place] = starts_s + operation.seconds
        for hand in who:
            free_s[hand] = ends_s[place]
        yield Placed(place, starts_s, ends_s[place], tuple(hand + 1 for hand in who))


def _ready_s(operation: Operation, ends_s: Mapping[int, int]) -> int:
    return max((ends_s.get(place, 0) for place in operation.after), default=0)


class _Search:
    """The orders in which the operations of one stage can begin, in the order of the list.

    Of the hands only matters when each is free again, never before the latest begin: earlier
    than that nothing begins any more.
    """

    def __init__(self, stage: Sequence[Operation], hands: int) -> None:
        self._stage, self._hands = stage, hands
        self._best: tuple[int, ...] = ()
        self._best_s = sum(operation.seconds for operation in stage) + 1
        self._chain_s = _chains_s(stage)
        self._seen: set[frozenset[tuple[int, int]]] = set()

    def shortest(self) -> tuple[int, ...]:
        self._follow({}, (0,) * self._hands)
        return self._best

    def _follow(self, ends_s: dict[int, int], free_s: tuple[int, ...]) -> None:
        if self._least_s(ends_s, free_s) >= self._best_s or self._seen_before(ends_s, free_s):
            return
        if len(ends_s) == len(self._stage):
            self._best, self._best_s = tuple(ends_s), free_s[-1]
        for place, operation in enumerate(self._stage):
            if place not in ends_s and operation.after <= ends_s.keys():
                needed = operation.hands_needed
                starts_s = max(_ready_s(operation, ends_s), free_s[needed - 1])
                end_s = starts_s + operation.seconds
                others_s = (max(free, starts_s) for free in free_s[needed:])
                free_again_s = tuple(sorted([*others_s, *[end_s] * needed]))
                self._follow({**ends_s, place: end_s}, free_again_s)

    def _least_s(self, ends_s: Mapping[int, int], free_s: tuple[int, ...]) -> int:
        """No end is earlier: by what is under way, by each chain left, by all the work left."""
        left = [place for place in range(len(self._stage)) if place not in ends_s]
        work_s = sum(self._stage[place].seconds * self._stage[place].hands_needed for place in left)
        chains_s = (
            max(_ready_s(self._stage[place], ends_s), free_s[0]) + self._chain_s[place]
            for place in left
        )
        return max(free_s[-1], -(-(sum(free_s) + work_s) // self._hands), *chains_s)

    def _seen_before(self, ends_s: Mapping[int, int], free_s: tuple[int, ...]) -> bool:
        """Whether the same were begun before, and what is left finds no difference.

        When what is under way ends also says when which hands are free again.
        """
        state = frozenset((place, max(end, free_s[0])) for place, end in ends_s.items())
        known = state in self._seen
        self._seen.add(state)
        return known


def _chains_s(stage: Sequence[Operation]) -> list[int]:
    """From the begin of each operation, the longest chain of what must follow it."""
    chains_s = [operation.seconds for operation in stage]
    for place in reversed(range(len(stage))):
        for earlier in stage[place].after:
            chains_s[earlier] = max(chains_s[earlier], stage[earlier].seconds + chains_s[place])
    return chains_s


def _must_be_possible(operation: Operation, place: int, hands: int) -> None:
    if not 1 <= operation.hands_needed <= hands:
        reason = f"needs {operation.hands_needed} pairs of hands, and there are {hands}"
        raise CannotBeScheduled(operation, reason)
    if operation.seconds < 0:
        raise CannotBeScheduled(operation, f"cannot take {operation.seconds} seconds")
    if not all(0 <= earlier < place for earlier in operation.after):
        raise CannotBeScheduled(operation, "must be listed behind all that it has to follow")


class CannotBeScheduled(SettingsDeskError):
    """An operation that no schedule for these hands can have."""

    def __init__(self, operation: Operation, reason: str) -> None:
        self.operation, self.reason = operation, reason

    def __str__(self) -> str:
        return f"“{self.operation.what}” {self.reason}"
