"""How often somebody may try in vain before having to wait.

Failures are counted for a name from one address (so that nobody can lock another out from
elsewhere with a few tries), for one address, and for a name from everywhere. Counts live in memory:
a restart forgets them.
"""

import threading
import time
from collections import deque
from collections.abc import Callable, Hashable
from dataclasses import dataclass
from math import ceil

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.sentences import Counted

MOST_KEYS = 10_000


class TooManyAttempts(SettingsDeskError):
    """Tried in vain too often (a page answers 429 with Retry-After)."""

    def __init__(self, wait_seconds: int):
        self.wait_seconds = wait_seconds

    def __str__(self) -> str:
        minutes = ceil(self.wait_seconds / 60)
        return Counted(
            "There were too many tries that did not succeed. Wait 1 minute, then try again",
            "There were too many tries that did not succeed. Wait %(count)s minutes, then try"
            " again",
            minutes,
        )


@dataclass(frozen=True, slots=True)
class Limit:
    """At most ``tries`` failures within ``seconds``."""

    tries: int
    seconds: int


@dataclass(frozen=True, slots=True)
class Limits:
    """What holds for a name from one address, for it from everywhere, and for an address.

    ``address`` is None where failures with it say nothing about other names.
    """

    here: Limit
    everywhere: Limit
    address: Limit | None = None


PASSWORDS = Limits(Limit(10, 15 * 60), Limit(100, 15 * 60), Limit(60, 15 * 60))
SHORT_CODES = Limits(Limit(10, 60), Limit(100, 60 * 60))
"""For codes of eight letters and a check letter, of which a meet has a few hundred that count."""
REMARKS = Limits(Limit(10, 15 * 60), Limit(50, 60 * 60))
"""For remarks about one card, of which none failed: a whole hall says them from one address."""


class Attempts:
    """Counts failures; ``clock`` gives seconds that only grow."""

    def __init__(self, clock: Callable[[], float] = time.monotonic):
        self._clock = clock
        self._lock = threading.Lock()
        self._failures: dict[Hashable, deque[float]] = {}

    def begin(self, name: str, address: str, limits: Limits) -> None:
        """Count a try as failed before it is made, so that many at once cannot slip through.

        Raises ``TooManyAttempts`` where the limit is reached; such a try is not counted.
        """
        with self._lock:
            now = self._clock()
            counted = _counted(name, address, limits)
            wait_seconds = max(self._wait(key, limit, now) for key, limit in counted)
            if wait_seconds > 0:
                raise TooManyAttempts(ceil(wait_seconds))
            self._make_room()
            for key, _ in counted:
                self._failures.setdefault(key, deque()).append(now)

    def succeeded(self, name: str, address: str, limits: Limits) -> None:
        """Forget the failures of this name here, and take this try back from the other counts."""
        with self._lock:
            here, *others = (key for key, _ in _counted(name, address, limits))
            self._failures.pop(here, None)
            for key in others:
                if self._failures.get(key):
                    self._failures[key].pop()

    def _wait(self, key: Hashable, limit: Limit, now: float) -> float:
        failures = self._failures.get(key, deque())
        while failures and failures[0] <= now - limit.seconds:
            failures.popleft()
        return failures[0] + limit.seconds - now if len(failures) >= limit.tries else 0

    def _make_room(self) -> None:
        """Forget the older half of what is counted before it fills the memory."""
        if len(self._failures) < MOST_KEYS:
            return
        newest = sorted(self._failures.items(), key=lambda item: item[1][-1] if item[1] else 0)
        self._failures = dict(newest[MOST_KEYS // 2 :])


def _counted(name: str, address: str, limits: Limits) -> list[tuple[Hashable, Limit]]:
    counted: list[tuple[Hashable, Limit]] = [
        ((name, address), limits.here),
        (("name", name, ""), limits.everywhere),
    ]
    if limits.address is not None:
        counted.append((("address", address, ""), limits.address))
    return counted
