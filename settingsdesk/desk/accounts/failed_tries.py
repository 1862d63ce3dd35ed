"""How often somebody may try in vain before having to wait.

Failures are counted for a name from one address (so that nobody can lock another out from
elsewhere with a few tries), for one address, and for a name from everywhere. A device that has
been let in before is counted by itself and by nothing else: whatever others try, it may.

What guesses a secret is counted in the database (``FailedTries``), for every worker and over
restarts; what is mere load, in memory (``Attempts``), so that reading writes nothing.
"""

import hmac
import ipaddress
import time
from collections.abc import Callable, Hashable, Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass
from hashlib import sha256
from itertools import dropwhile
from math import ceil

from sqlalchemy.orm import Session

from settingsdesk.desk.workers import OneWorker, Workers
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.sentences import Counted
from settingsdesk.store import failed_tries as kept_tries
from settingsdesk.store.failed_tries import FailedTry
from settingsdesk.store.work import Store

MOST_KEYS = 10_000
MOST_KEYS_IN_COMMON = 1_000
"""Of several workers: all of it is read for each try."""
LONGEST_MS = 24 * 60 * 60 * 1000
"""The longest that any limit looks back."""


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

    ``everywhere`` is None where somebody is counted by themselves, ``address`` where failures with
    it say nothing about other names.
    """

    here: Limit
    everywhere: Limit | None = None
    address: Limit | None = None


PASSWORDS = Limits(Limit(10, 15 * 60), Limit(100, 15 * 60), Limit(60, 15 * 60))
PASSWORDS_OF_KNOWN = Limits(Limit(10, 15 * 60))
"""On a device on which the same account was signed in before."""
SECOND_FACTORS = Limits(Limit(5, 60 * 60), Limit(10, 24 * 60 * 60))
"""For six figures, of which three count at any time; whoever types them knows the password."""
SECOND_FACTORS_OF_KNOWN = Limits(Limit(10, 24 * 60 * 60))
SHORT_CODES = Limits(Limit(10, 60), Limit(100, 60 * 60))
"""For codes of eight letters and a check letter, of which a meet has a few hundred that count."""
SHORT_CODES_OF_KNOWN = Limits(Limit(20, 60 * 60))
"""On a phone that was in at a station before."""
REMARKS = Limits(Limit(10, 15 * 60), Limit(50, 60 * 60))
"""For remarks about one card, of which none failed: a whole hall says them from one address."""


class FailedTries:
    """Counts failures in the database; ``clock`` gives seconds since 1970.

    Names are kept as hashes by ``secret``: people type passwords into the wrong box.
    """

    def __init__(self, store: Store, secret: bytes, clock: Callable[[], float] = time.time):
        self._store, self._secret, self._clock = store, secret, clock

    def begin(self, name: str, address: str, limits: Limits) -> None:
        """Count a try as failed before it is made, so that many at once cannot slip through.

        Raises ``TooManyAttempts`` where the limit is reached; such a try is not counted, and has
        nothing written.
        """
        counted = self._counted(name, address, limits)
        with self._store.installation(writes=False) as session:
            self._must_not_wait(session, counted)
        self._store.again(lambda: self._count(counted))

    def succeeded(self, name: str, address: str, limits: Limits) -> None:
        """Forget the failures of this name here, and take this try back from the other counts."""
        counted = self._counted(name, address, limits)
        self._store.again(lambda: self._take_back(*counted))

    def _count(self, counted: Mapping[str, Limit]) -> None:
        with self._store.installation(writes=True) as session:
            now_ms = self._must_not_wait(session, counted)
            kept_tries.forget_outside(session, now_ms - LONGEST_MS, now_ms)
            session.add_all(FailedTry(counted=one, at_ms=now_ms) for one in counted)

    def _take_back(self, here: str, *others: str) -> None:
        with self._store.installation(writes=True) as session:
            kept_tries.take_back(session, here, others)

    def _counted(self, name: str, address: str, limits: Limits) -> Mapping[str, Limit]:
        return dict(_digested(self._secret, name, address, limits))

    def _must_not_wait(self, session: Session, counted: Mapping[str, Limit]) -> int:
        """The present moment in milliseconds, or ``TooManyAttempts``."""
        now_ms = int(self._clock() * 1000)
        after = {one: now_ms - limit.seconds * 1000 for one, limit in counted.items()}
        wait_ms = max(
            (
                first_ms + counted[one].seconds * 1000 - now_ms
                for one, (many, first_ms) in kept_tries.since(session, after, now_ms).items()
                if many >= counted[one].tries
            ),
            default=0,
        )
        if wait_ms > 0:
            raise TooManyAttempts(ceil(wait_ms / 1000))
        return now_ms


class Attempts:
    """Counts failures in memory; ``clock`` gives seconds that grow.

    The workers of one desk count together. Names and addresses are kept as hashes by ``secret``:
    without it whoever finds them would only have to try all addresses there are.
    """

    def __init__(
        self,
        secret: bytes,
        clock: Callable[[], float] = time.time,
        workers: Workers | None = None,
    ):
        self._secret, self._clock, self._workers = secret, clock, workers or OneWorker()
        self._most_keys = MOST_KEYS if self._workers.folder is None else MOST_KEYS_IN_COMMON

    def begin(self, name: str, address: str, limits: Limits) -> None:
        """Count a try as failed before it is made, so that many at once cannot slip through.

        Raises ``TooManyAttempts`` where the limit is reached; such a try is not counted.
        """
        with self._failures() as failures:
            now = self._clock()
            counted = _digested(self._secret, name, address, limits)
            wait_seconds = max(_wait(failures, key, limit, now) for key, limit in counted)
            if wait_seconds > 0:
                raise TooManyAttempts(ceil(wait_seconds))
            self._make_room(failures)
            for key, _ in counted:
                failures.setdefault(key, []).append(now)

    def succeeded(self, name: str, address: str, limits: Limits) -> None:
        """Forget the failures of this name here, and take this try back from the other counts."""
        with self._failures() as failures:
            here, *others = (key for key, _ in _digested(self._secret, name, address, limits))
            failures.pop(here, None)
            for key in others:
                if failures.get(key):
                    failures[key].pop()

    def _failures(self) -> AbstractContextManager[dict[str, list[float]]]:
        """When each failed; nobody else counts meanwhile."""
        return self._workers.changing("tries")

    def _make_room(self, failures: dict[str, list[float]]) -> None:
        """Forget the older half of what is counted before it fills the memory."""
        if len(failures) < self._most_keys:
            return
        oldest = sorted(failures.items(), key=lambda item: item[1][-1] if item[1] else 0)
        for key, _ in oldest[: self._most_keys // 2]:
            del failures[key]


def _wait(failures: Mapping[str, list[float]], key: str, limit: Limit, now: float) -> float:
    """So long until there is a try for it; those that are too old are let go of."""
    times = failures.get(key, [])
    # Too old, or from a future that a wrong clock had.
    times[:] = dropwhile(lambda at: not now - limit.seconds < at <= now, times)
    return times[0] + limit.seconds - now if len(times) >= limit.tries else 0


def _digested(secret: bytes, name: str, address: str, limits: Limits) -> list[tuple[str, Limit]]:
    return [
        (hmac.new(secret, repr(key).encode(), sha256).hexdigest(), limit)
        for key, limit in _counted(name, address, limits)
    ]


def _counted(name: str, address: str, limits: Limits) -> list[tuple[Hashable, Limit]]:
    counted: list[tuple[Hashable, Limit]] = [
        ((name, address), limits.here),
    ]
    if limits.everywhere is not None:
        counted.append((("name", name, ""), limits.everywhere))
    if limits.address is not None:
        counted.append((("address", address, ""), limits.address))
    return counted


def whence(address: str | None) -> str:
    """From where somebody asks, as it is counted: of IPv6 the part that a household has.

    Each of them has 2^64 addresses to ask from.
    """
    try:
        found = ipaddress.ip_address(address or "")
    except ValueError:
        return "unknown"
    if isinstance(found, ipaddress.IPv6Address):
        if found.ipv4_mapped:
            return str(found.ipv4_mapped)
        return str(ipaddress.ip_network((found, 64), strict=False))
    return str(found)
