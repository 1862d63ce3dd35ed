"""So many at once, and after that so many each second, for each client and for all together.

Nothing here is a guess at a secret: it is mere load, so it is counted in memory, and a restart
forgets it. The workers of one desk count in memory that they have in common: to give each of them
its part would refuse a hall whose phones all came to the same one.

What fills again each second goes on at its pace when it was emptied; a count within a window, as of
those who try in vain (``failed_tries.Attempts``), would stop a whole hall until the window is over.
"""

import mmap
import os
import struct
import time
from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import dataclass
from hashlib import blake2b
from math import ceil
from typing import Protocol

from settingsdesk.desk.workers import OneWorker, Workers

MOST_CLIENTS = 10_000
"""Of whom something is remembered; those that asked for nothing lately are forgotten first."""


@dataclass(frozen=True, slots=True)
class Pace:
    """So many at once, and after that so many each second."""

    at_once: int
    each_second: float


@dataclass(frozen=True, slots=True)
class Kind:
    """What is counted together: for one client, and for all of them."""

    name: str
    client: Pace
    all: Pace


Counted = int
"""A digest of a kind and a client, or of all of them; odd, since none is a place that is free."""

Left = tuple[float, float]
"""What was left, and when."""


class Counts(Protocol):
    """What is left for each client; asked and changed in a turn."""

    def turn(self) -> AbstractContextManager[None]:
        """A block in which nobody else counts."""
        ...

    def left(self, counted: Counted) -> Left | None:
        """What was left when it was counted last; None where nothing is remembered."""
        ...

    def count(self, counted: Counted, left: Left) -> None:
        """Remember it, where need be in the place of whoever asked for nothing for longest."""
        ...


class OwnCounts:
    """Counted by one process alone."""

    def __init__(self) -> None:
        self._workers = OneWorker()
        self._left = dict[Counted, Left]()

    def turn(self) -> AbstractContextManager[None]:
        """As in ``Counts``."""
        return self._workers.turn("paces")

    def left(self, counted: Counted) -> Left | None:
        """As in ``Counts``."""
        return self._left.get(counted)

    def count(self, counted: Counted, left: Left) -> None:
        """As in ``Counts``."""
        self._left.pop(counted, None)
        self._left[counted] = left
        while len(self._left) > MOST_CLIENTS:
            del self._left[next(iter(self._left))]


class SharedCounts:
    """Counted by several workers together, in a table that they all have in their memory.

    A client's place is one of eight by its digest; where all eight are taken, who asked for nothing
    for longest gives way. The file is a table of numbers: it names nobody.
    """

    PLACE = struct.Struct("=Qdd")
    PLACES_BESIDE = 8
    ROWS = 2048
    BYTES = ROWS * PLACES_BESIDE * PLACE.size

    def __init__(self, workers: Workers) -> None:
        self._workers = workers
        self._table: mmap.mmap | None = None

    def turn(self) -> AbstractContextManager[None]:
        """As in ``Counts``."""
        return self._workers.turn("paces")

    def left(self, counted: Counted) -> Left | None:
        """As in ``Counts``."""
        for _, there, left, at in self._row(counted):
            if there == counted:
                return left, at
        return None

    def count(self, counted: Counted, left: Left) -> None:
        """As in ``Counts``."""
        places = list(self._row(counted))
        own = [place for place in places if place[1] == counted]
        start, *_ = own[0] if own else min(places, key=lambda place: place[3] if place[1] else -1.0)
        self.PLACE.pack_into(self._opened(), start, counted, *left)

    def _row(self, counted: Counted) -> list[tuple[int, int, float, float]]:
        """The places where it may be: where each begins, and what is there."""
        table, first = self._opened(), (counted >> 1) % self.ROWS * self.PLACES_BESIDE
        starts = ((first + number) * self.PLACE.size for number in range(self.PLACES_BESIDE))
        return [(start, *self.PLACE.unpack_from(table, start)) for start in starts]

    def _opened(self) -> mmap.mmap:
        if self._table is None:
            assert self._workers.folder is not None  # noqa: S101 -- see counts_of
            file = os.open(self._workers.folder / "paces", os.O_RDWR | os.O_CREAT, 0o600)
            os.ftruncate(file, self.BYTES)
            self._table = mmap.mmap(file, self.BYTES)
            os.close(file)
        return self._table


def counts_of(workers: Workers) -> Counts:
    """Where the workers of a desk count."""
    return OwnCounts() if workers.folder is None else SharedCounts(workers)


class Load:
    """What is left of each client's pace and of everybody's.

    ``clock`` gives seconds that grow, the same in all processes of the machine. Who asked is kept
    as a digest by ``secret``: neither addresses nor what signs a device in lie in any memory.
    """

    def __init__(
        self,
        secret: bytes,
        clock: Callable[[], float] = time.monotonic,
        counts: Counts | None = None,
    ) -> None:
        self._secret, self._clock, self._counts = secret[:64], clock, counts or OwnCounts()

    def take(self, kind: Kind, client: str, *, of_all: bool = True) -> int:
        """Take one; returns 0, or the seconds until there is one, and then takes none.

        Without ``of_all`` only the client's own pace counts.
        """
        counted = [(self._digest(kind.name, client), kind.client)]
        if of_all:
            counted.append((self._digest(kind.name), kind.all))
        with self._counts.turn():
            now = self._clock()
            left = [self._now(key, pace, now) for key, pace in counted]
            lacking = [
                (1 - one) / pace.each_second
                for one, (_, pace) in zip(left, counted, strict=True)
                if one < 1
            ]
            if lacking:
                return ceil(max(lacking))
            for one, (key, _) in zip(left, counted, strict=True):
                self._counts.count(key, (one - 1, now))
            return 0

    def _digest(self, *told: str) -> Counted:
        said = blake2b("\0".join(told).encode(), digest_size=8, key=self._secret)
        return int.from_bytes(said.digest()) | 1

    def _now(self, counted: Counted, pace: Pace, now: float) -> float:
        left, at = self._counts.left(counted) or (pace.at_once, now)
        if at > now:  # it was counted before the machine was started
            return pace.at_once
        return min(pace.at_once, left + (now - at) * pace.each_second)
