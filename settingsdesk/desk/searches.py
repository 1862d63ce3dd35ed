"""Searches for orders, each in a process of its own: begun, looked at, stopped, kept.

A search belongs to what it is for; it is gone when nobody looks at it any more. What it found is
kept by whoever began it, when it ends or is stopped.
"""

import json
import logging
import pickle
import secrets
import selectors
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field

from settingsdesk.domain.errors import SettingsDeskError
from settingsdesk.planner.plan import Solution
from settingsdesk.planner.problem import Problem

MOST_AT_ONCE = 2
LONGEST_S = 90.0
UNWATCHED_S = 60.0
FORGOTTEN_AFTER_S = 600.0
LOOKS_S = 0.2
ENDS_WITHIN_S = 5.0

log = logging.getLogger(__name__)

Keep = Callable[[Solution], None]


@dataclass(frozen=True, slots=True)
class Progress:
    """How a search stands: whether it runs, for how long, the best so far, or why there is none."""

    running: bool
    seconds: float
    best: Solution | None
    refusal: str


@dataclass(slots=True)
class _Search:
    club_id: int
    what: str
    problem: Problem
    keep: Keep
    process: "subprocess.Popen[bytes]"
    begun_at: float
    looked_at: float
    best: Solution | None = None
    refusal: str = ""
    stopped: bool = False
    ended: threading.Event = field(default_factory=threading.Event)


class Searches:
    """All searches of one application; every method may be called from any thread."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._searches: dict[str, _Search] = {}

    def begin(self, club_id: int, what: str, problem: Problem, keep: Keep) -> str:
        """Begin a search, and give its id; one for the same thing that still runs is given back.

        Another problem for the same thing ends the search before. ``TooManySearches`` where the
        machine has enough to do already.
        """
        with self._lock:
            self._forget_old()
            for key, search in self._running(club_id, what):
                if search.problem == problem:
                    return key
                self._end(search)
            if len(self._running()) >= MOST_AT_ONCE:
                raise TooManySearches
            now = self._clock()
            search = _Search(club_id, what, problem, keep, _child(), now, now)
            key = secrets.token_urlsafe(16)
            self._searches[key] = search
        threading.Thread(target=self._watch, args=(search,), daemon=True).start()
        return key

    def look(self, club_id: int, key: str) -> Progress | None:
        """How a search stands; None where this club has no such search."""
        with self._lock:
            search = self._searches.get(key)
            if search is None or search.club_id != club_id:
                return None
            search.looked_at = self._clock()
            seconds = search.looked_at - search.begun_at
            return Progress(not search.ended.is_set(), seconds, search.best, search.refusal)

    def wait(self, club_id: int, key: str, seconds: float) -> Progress | None:
        """The same, after the search has ended or so much time has passed."""
        search = self._searches.get(key)
        if search is not None and search.club_id == club_id:
            search.ended.wait(seconds)
        return self.look(club_id, key)

    def stop(self, club_id: int, key: str) -> None:
        """End a search; the best so far is kept."""
        with self._lock:
            search = self._searches.get(key)
            if search is None or search.club_id != club_id:
                return
            search.stopped = True
            search.process.kill()
        search.ended.wait(ENDS_WITHIN_S)

    def close(self) -> None:
        """End every search, for instance before the server stops."""
        with self._lock:
            running = [search for _, search in self._running()]
            for search in running:
                self._end(search)
        for search in running:
            search.ended.wait(ENDS_WITHIN_S)

    def _running(self, club_id: int | None = None, what: str = "") -> list[tuple[str, _Search]]:
        return [
            (key, search)
            for key, search in self._searches.items()
            if not search.ended.is_set()
            and (club_id is None or (search.club_id, search.what) == (club_id, what))
        ]

    def _forget_old(self) -> None:
        oldest = self._clock() - FORGOTTEN_AFTER_S
        self._searches = {
            key: search
            for key, search in self._searches.items()
            if not search.ended.is_set() or search.looked_at > oldest
        }

    @staticmethod
    def _end(search: _Search) -> None:
        search.process.kill()

    def _watch(self, search: _Search) -> None:
        """Read the child's answers until it ends, then keep the best if somebody still wants it."""
        process = search.process
        try:
            _hand_over(search.problem, process)
            self._read(search)
        finally:
            process.kill()
            process.wait()
            for pipe in (process.stdin, process.stdout):
                if pipe is not None:
                    pipe.close()
            self._finish(search)

    def _read(self, search: _Search) -> None:
        assert search.process.stdout is not None  # noqa: S101 -- opened as a pipe, see _child
        with selectors.DefaultSelector() as answers:
            answers.register(search.process.stdout, selectors.EVENT_READ)
            while not self._is_over(search):
                if answers.select(LOOKS_S) and not self._take(search):
                    return

    def _is_over(self, search: _Search) -> bool:
        now = self._clock()
        unwatched = now - search.looked_at > UNWATCHED_S
        return unwatched or now - search.begun_at > LONGEST_S

    def _take(self, search: _Search) -> bool:
        """Take one line of the child; False when there are no more."""
        assert search.process.stdout is not None  # noqa: S101 -- opened as a pipe, see _child
        line = search.process.stdout.readline()
        if not line.endswith(b"\n"):
            return False
        told = json.loads(line)
        with self._lock:
            if "solution" in told:
                search.best = Solution.from_json(told["solution"])
            else:
                search.refusal = told["refused"]
        return True

    def _finish(self, search: _Search) -> None:
        try:
            wanted = self._clock() - search.looked_at <= UNWATCHED_S
            if search.best is not None and (wanted or search.stopped):
                search.keep(search.best)
            elif search.best is None and not search.refusal:
                search.refusal = str(SearchEnded())
        except SettingsDeskError as refusal:
            search.refusal = str(refusal)
        except Exception:
            log.exception("what a search found could not be kept")
            search.refusal = str(SearchEnded())
        finally:
            search.ended.set()


def _child() -> "subprocess.Popen[bytes]":
    command = [sys.executable, "-m", "settingsdesk.planner.child"]
    return subprocess.Popen(  # noqa: S603 -- our own program, no words from outside
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE
    )


def _hand_over(problem: Problem, process: "subprocess.Popen[bytes]") -> None:
    assert process.stdin is not None  # noqa: S101 -- opened as a pipe, see _child
    try:
        process.stdin.write(pickle.dumps(problem))
        process.stdin.flush()
    except BrokenPipeError:
        log.warning("a search was ended before it began")


class TooManySearches(SettingsDeskError):
    """The machine searches for enough orders already."""

    def __str__(self) -> str:
        return (
            f"The desk is working out {MOST_AT_ONCE} other orders already. Wait until one of them"
            " is found or stopped, and press again"
        )


class SearchEnded(SettingsDeskError):
    """A search came to an end without an answer."""

    def __str__(self) -> str:
        return "The search was ended before it found an order. Order the rotation once more"
