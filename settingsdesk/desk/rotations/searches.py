"""Searches for orders, each in a process of its own: begun, looked at, stopped, kept.

A search belongs to what it is for; it is gone when nobody looks at it any more. What it found is
kept by whoever began it, when it ends or is stopped.
"""

import contextlib
import json
import logging
import pickle
import secrets
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.planner.child import WANT_OF_MEMORY, OutOfMemory
from settingsdesk.planner.plan import Solution
from settingsdesk.planner.problem import Problem

MOST_AT_ONCE = 2
MOST_MEMORY_BYTES = 1 << 30
PATIENCE_S = 2.0
"""So long a new search waits for one of those that run to end."""
LONGEST_S = 90.0
UNWATCHED_S = 60.0
FORGOTTEN_AFTER_S = 600.0
LOOKS_S = 0.2
ENDS_WITHIN_S = 5.0
ENDS_FOR_WANT_OF_MEMORY = (WANT_OF_MEMORY, -signal.SIGABRT, -signal.SIGSEGV)
"""How a process ends whose engine gets no memory, or whose stack cannot grow (measured)."""

log = logging.getLogger(__name__)

Keep = Callable[[Solution], None]
Process = subprocess.Popen[bytes]


@dataclass(frozen=True, slots=True)
class Progress:
    """How a search stands: whether it runs, for how long, the best so far, or why there is none."""

    running: bool
    seconds: float
    best: Solution | None
    refusal: str


@dataclass(slots=True)
class _Search:
    """``over`` is set when the process has said all or shall be ended, ``ended`` after it is gone.

    ``dropped`` says why what was found is not wanted any more.
    """

    club_id: int
    what: str
    problem: Problem
    keep: Keep
    begun_at: float
    looked_at: float
    best: Solution | None = None
    refusal: str = ""
    dropped: SettingsDeskError | None = None
    over: threading.Event = field(default_factory=threading.Event)
    ended: threading.Event = field(default_factory=threading.Event)

    def is_for(self, club_id: int, what: str) -> bool:
        return (self.club_id, self.what) == (club_id, what)

    def drop(self, why: SettingsDeskError) -> None:
        self.dropped = why
        self.over.set()


class Searches:
    """All searches of one application; every method may be called from any thread."""

    def __init__(
        self,
        clock: Callable[[], float] = time.monotonic,
        memory_bytes: int = MOST_MEMORY_BYTES,
    ) -> None:
        self._clock = clock
        self._memory_bytes = memory_bytes
        self._changed = threading.Condition()
        self._searches: dict[str, _Search] = {}

    def begin(self, club_id: int, what: str, problem: Problem, keep: Keep) -> str:
        """Begin a search, and give its id; one for the same problem that runs is given back.

        Another problem for the same thing ends the search before, whose answer is not kept.
        ``TooManySearches`` where the machine has enough to do for a while.
        """
        with self._changed:
            self._forget_old()
            self._drop_others(club_id, what, problem)
            if not self._changed.wait_for(
                lambda: self._same(club_id, what, problem) or self._has_place(), PATIENCE_S
            ):
                raise TooManySearches
            return self._same(club_id, what, problem) or self._started(club_id, what, problem, keep)

    def look(self, club_id: int, key: str) -> Progress | None:
        """How a search stands; None where this club has no such search."""
        with self._changed:
            search = self._of(club_id, key)
            if search is None:
                return None
            search.looked_at = self._clock()
            seconds = search.looked_at - search.begun_at
            return Progress(not search.ended.is_set(), seconds, search.best, search.refusal)

    def wait(self, club_id: int, key: str, seconds: float) -> Progress | None:
        """The same, after the search has ended or so much time has passed."""
        search = self._of(club_id, key)
        if search is not None:
            search.ended.wait(seconds)
        return self.look(club_id, key)

    def stop(self, club_id: int, key: str) -> None:
        """End a search; the best so far is kept."""
        search = self._of(club_id, key)
        if search is not None:
            search.over.set()
            search.ended.wait(ENDS_WITHIN_S)

    def close(self) -> None:
        """End every search, for instance before the server stops; the best so far is kept."""
        with self._changed:
            running = self._running()
        for search in running:
            search.over.set()
        for search in running:
            search.ended.wait(ENDS_WITHIN_S)

    def _of(self, club_id: int, key: str) -> _Search | None:
        with self._changed:
            search = self._searches.get(key)
        return search if search is not None and search.club_id == club_id else None

    def _running(self) -> list[_Search]:
        return [search for search in self._searches.values() if not search.ended.is_set()]

    def _has_place(self) -> bool:
        return len(self._running()) < MOST_AT_ONCE

    def _same(self, club_id: int, what: str, problem: Problem) -> str:
        """The id of the search that does what is asked already; empty where there is none."""
        for key, search in self._searches.items():
            if search.is_for(club_id, what) and not search.over.is_set():
                return key if search.problem == problem else ""
        return ""

    def _drop_others(self, club_id: int, what: str, problem: Problem) -> None:
        for search in self._running():
            if search.is_for(club_id, what) and search.problem != problem:
                search.drop(OrderedAnew())

    def _started(self, club_id: int, what: str, problem: Problem, keep: Keep) -> str:
        # Once more: whoever had to wait for a place may find that another problem took it.
        self._drop_others(club_id, what, problem)
        now = self._clock()
        search = _Search(club_id, what, problem, keep, begun_at=now, looked_at=now)
        key = secrets.token_urlsafe(16)
        self._searches[key] = search
        threading.Thread(target=self._run, args=(search,), daemon=True).start()
        return key

    def _forget_old(self) -> None:
        oldest = self._clock() - FORGOTTEN_AFTER_S
        self._searches = {
            key: search
            for key, search in self._searches.items()
            if not search.ended.is_set() or search.looked_at > oldest
        }

    def _run(self, search: _Search) -> None:
        """A thread that lives as long as the process it begins.

        On Linux a child that is to die with its parent dies with the thread that began it: were
        that the thread of a request, the search would end with the answer to the request.
        """
        status = None
        try:
            with _child(self._memory_bytes) as process:
                talk = threading.Thread(target=self._talk, args=(search, process), daemon=True)
                talk.start()
                while not search.over.wait(LOOKS_S):
                    self._end_where_due(search)
                process.kill()
                talk.join()
            status = process.returncode
        except OSError:
            log.exception("the process of a search could not be begun")
        finally:
            self._finish(search, status)

    def _end_where_due(self, search: _Search) -> None:
        with self._changed:
            now = self._clock()
            if now - search.looked_at > UNWATCHED_S:
                search.drop(NobodyLooked())
            elif now - search.begun_at > LONGEST_S:
                search.over.set()

    def _talk(self, search: _Search, process: Process) -> None:
        """Hand the problem over and take the answers, until the process has no more."""
        assert process.stdin is not None  # noqa: S101 -- opened as a pipe, see _child
        assert process.stdout is not None  # noqa: S101 -- opened as a pipe, see _child
        try:
            # A process that is gone already tells so by answering nothing.
            with contextlib.suppress(BrokenPipeError), process.stdin as problem:
                problem.write(pickle.dumps(search.problem))
            for line in process.stdout:
                if line.endswith(b"\n"):
                    self._take(search, line)
        except Exception:
            log.exception("the process of a search was not understood")
        finally:
            search.over.set()

    def _take(self, search: _Search, line: bytes) -> None:
        told = json.loads(line)
        with self._changed:
            if "solution" in told:
                search.best = Solution.from_json(told["solution"])
            else:
                search.refusal = told["refused"]

    def _finish(self, search: _Search, status: int | None) -> None:
        try:
            if search.dropped is not None:
                search.refusal = str(search.dropped)
            elif search.best is not None:
                search.keep(search.best)
            elif not search.refusal:
                search.refusal = str(
                    OutOfMemory() if status in ENDS_FOR_WANT_OF_MEMORY else SearchEnded()
                )
        except SettingsDeskError as refusal:
            search.refusal = str(refusal)
        except Exception:
            log.exception("what a search found could not be kept")
            search.refusal = str(SearchEnded())
        finally:
            with self._changed:
                search.ended.set()
                self._changed.notify_all()


def _child(memory_bytes: int) -> Process:
    command = [sys.executable, "-m", "settingsdesk.planner.child", str(memory_bytes)]
    return subprocess.Popen(  # noqa: S603 -- our own program, no words from outside
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE
    )


class TooManySearches(SettingsDeskError):
    """The machine searches for enough orders already."""

    def __str__(self) -> str:
        return (
            f"{MOST_AT_ONCE} other orders are being worked out already. Wait until one of them"
            " is found or stopped, and press again"
        )


class SearchEnded(SettingsDeskError):
    """A search came to an end without an answer."""

    sentence = "The search was ended before it found an order. Plan the rotation once more"


class NobodyLooked(SettingsDeskError):
    """A search was ended because its page had been left."""

    def __str__(self) -> str:
        return (
            f"The search was ended and nothing was changed, because nobody had looked at it for"
            f" {UNWATCHED_S:.0f} s. Plan the rotation once more"
        )


class OrderedAnew(SettingsDeskError):
    """A search was ended because something else was asked of the same rotation."""

    sentence = (
        "This search was ended, because the rotation was changed and is being planned again."
        " Go back to the rotation for its order"
    )
