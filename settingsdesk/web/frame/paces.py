"""So many at once, and after that so many each second, for each client and for all together.

Nothing here is a guess at a secret: it is mere load, so it is counted in memory, and a restart
forgets it.

What fills again each second goes on at its pace when it was emptied; a count within a window, as of
those who try in vain (``failed_tries.Attempts``), would stop a whole hall until the window is over.
"""

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from math import ceil

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


class Load:
    """What is left of each client's pace and of everybody's; ``clock`` gives seconds that grow."""

    def __init__(self, clock: Callable[[], float] = time.monotonic):
        self._clock = clock
        self._lock = threading.Lock()
        self._left: dict[tuple[str, str], tuple[float, float]] = {}

    def take(self, kind: Kind, client: str, *, of_all: bool = True) -> int:
        """Take one; returns 0, or the seconds until there is one, and then takes none.

        Without ``of_all`` only the client's own pace counts.
        """
        counted = [((kind.name, client), kind.client)]
        if of_all:
            counted.append(((kind.name, ""), kind.all))
        with self._lock:
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
                self._left.pop(key, None)
                self._left[key] = (one - 1, now)
            while len(self._left) > MOST_CLIENTS:
                del self._left[next(iter(self._left))]
            return 0

    def _now(self, key: tuple[str, str], pace: Pace, now: float) -> float:
        left, at = self._left.get(key, (pace.at_once, now))
        return min(pace.at_once, left + (now - at) * pace.each_second)
