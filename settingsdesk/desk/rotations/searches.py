"""Searches for orders, each in a process of its own: begun, looked at, stopped, kept.

A search belongs to what it is for; it is gone when nobody looks at it any more. What it found is
kept by whoever began it, when it has found it or is stopped. Where that was asked, it goes on then
with what each wish costs; nobody waits for that, and it gives way to any other search.
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
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields
from hashlib import sha256
from typing import Any

from settingsdesk.desk.workers import OneWorker, Workers
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.planner.child import WANT_OF_MEMORY, OutOfMemory, Task
from settingsdesk.planner.errors import Where
from settingsdesk.planner.plan import Plan, Solution, WishCost
from settingsdesk.planner.problem import Problem

MOST_AT_ONCE = 2
MOST_MEMORY_BYTES = 1 << 30
PATIENCE_S = 2.0
"""So long a new search waits for one of those that run to end."""
LONGEST_S = 90.0
UNWATCHED_S = 60.0
FORGOTTEN_AFTER_S = 600.0
LOOKS_S = 0.2
ASKS_AGAIN_S = 0.05
"""So often whoever waits looks whether it has come about."""
ENDS_WITHIN_S = 5.0
ENDS_FOR_WANT_OF_MEMORY = (WANT_OF_MEMORY, -signal.SIGABRT, -signal.SIGSEGV)
"""How a process ends whose engine gets no memory, or whose stack cannot grow (measured)."""

log = logging.getLogger(__name__)

Keep = Callable[[Solution], None]
KeepCosts = Callable[[Sequence[WishCost]], None]
Process = subprocess.Popen[bytes]


@dataclass(frozen=True, slots=True)
class Progress:
    """How a search stands: whether it runs, for how long, the best so far, or why there is none."""

    running: bool
    seconds: float
    best: Solution | None
    refusal: str


@dataclass
class _Entry:
    """What all workers know of a search.

    ``worker`` runs it, ``problem`` is a digest of what is asked. ``over`` is set when it shall end
    or its process has said all, ``answered`` when what it found is kept and it only works out what
    the wishes cost, ``ended`` after that process is gone. ``dropped`` says why what was found is
    not wanted any more.
    """

    club_id: int
    what: str
    problem: str
    worker: str
    begun_at: float
    looked_at: float
    best: dict[str, Any] | None = None
    refusal: str = ""
    dropped: str = ""
    over: bool = False
    answered: bool = False
    ended: bool = False

    @property
    def searches(self) -> bool:
        """Whether somebody waits for what it finds."""
        return not self.answered and not self.ended

    @property
    def weighs(self) -> bool:
        """Whether it only works out what the wishes cost."""
        return self.answered and not self.ended

    def is_for(self, club_id: int, what: str) -> bool:
        return (self.club_id, self.what) == (club_id, what)

    def drop(self, why: SettingsDeskError) -> None:
        self.dropped, self.over = str(why), True

    def end(self, refusal: str) -> None:
        self.refusal, self.over, self.ended = refusal or self.refusal, True, True


@dataclass(slots=True)
class _Run:
    """What only the worker has that runs a search."""

    task: Task
    keep: Keep | None
    keep_costs: KeepCosts | None
    costs: dict[Where, WishCost] = field(default_factory=dict)
    over: threading.Event = field(default_factory=threading.Event)
    answered: threading.Event = field(default_factory=threading.Event)
    ended: threading.Event = field(default_factory=threading.Event)


class Searches:
    """All searches of one desk; every method may be called from any thread of any of its workers.

    A search runs in the worker that was asked for it. How it stands, and what others want of it,
    is in a list that all workers have (``Workers.changing``); the one that runs it looks there five
    times a second.
    """

    def __init__(
        self,
        clock: Callable[[], float] = time.monotonic,
        memory_bytes: int = MOST_MEMORY_BYTES,
        workers: Workers | None = None,
    ) -> None:
        """``clock`` gives seconds that grow, the same in all processes of the machine."""
        self._workers = workers or OneWorker()
        self._clock = clock
        self._memory_bytes = memory_bytes
        self._runs: dict[str, _Run] = {}

    def begin(
        self,
        club_id: int,
        what: str,
        problem: Problem,
        keep: Keep,
        keep_costs: KeepCosts | None = None,
    ) -> str:
        """Begin a search, and give its id; one for the same problem that runs is given back.

        With ``keep_costs``, what each wish costs is worked out after it, and handed over when that
        ends, as far as it came. Another problem for the same thing ends the search before, whose
        answer is not kept. ``TooManySearches`` where the machine has enough to do for a while.
        """
        task = Task(problem, with_costs=keep_costs is not None)
        return self._begin(club_id, what, _Run(task, keep, keep_costs))

    def weigh(
        self, club_id: int, what: str, problem: Problem, plan: Plan, keep_costs: KeepCosts
    ) -> None:
        """Only work out what each wish costs that a plan keeps, beside all else.

        ``TooManySearches`` where the machine has enough to do for a while.
        """
        run = _Run(Task(problem, with_costs=True, known=plan), None, keep_costs)
        run.answered.set()
        self._begin(club_id, what, run)

    def is_weighing(self, club_id: int, what: str) -> bool:
        """Whether it is being worked out what the wishes for this cost."""
        with self._entries() as entries:
            return any(
                entry.is_for(club_id, what) and entry.weighs and not entry.refusal
                for entry in entries.values()
            )

    def _begin(self, club_id: int, what: str, run: _Run) -> str:
        gives_up_at = time.monotonic() + PATIENCE_S
        while True:
            with self._entries() as entries:
                self._tidy(entries)
                key, is_new = self._joined_or_new(entries, club_id, what, run)
            if is_new:
                threading.Thread(target=self._run, args=(key, run), daemon=True).start()
            if key:
                return key
            if time.monotonic() >= gives_up_at:
                raise TooManySearches
            time.sleep(ASKS_AGAIN_S)

    def look(self, club_id: int, key: str) -> Progress | None:
        """How a search stands; None where this club has no such search."""
        with self._entries() as entries:
            entry = entries.get(key)
            if entry is None or entry.club_id != club_id:
                return None
            self._end_where_lost(entry)
            entry.looked_at = self._clock()
            best = Solution.from_json(entry.best) if entry.best else None
            seconds = entry.looked_at - entry.begun_at
            return Progress(entry.searches, seconds, best, entry.refusal)

    def wait(self, club_id: int, key: str, seconds: float) -> Progress | None:
        """The same, after the search has found what it can or so much time has passed."""
        gives_up_at = time.monotonic() + seconds
        run = self._runs.get(key)
        if run is not None:
            run.answered.wait(seconds)
        progress = self.look(club_id, key)
        while progress is not None and progress.running and time.monotonic() < gives_up_at:
            time.sleep(ASKS_AGAIN_S)
            progress = self.look(club_id, key)
        return progress

    def stop(self, club_id: int, key: str) -> None:
        """End a search; the best so far is kept."""
        with self._entries() as entries:
            entry = entries.get(key)
            if entry is None or entry.club_id != club_id:
                return
            entry.over = True
        run = self._runs.get(key)
        if run is not None:
            run.over.set()
        self.wait(club_id, key, ENDS_WITHIN_S)

    def close(self) -> None:
        """End every search of this worker, for instance before it stops; the best so far is kept.

        Those of other workers go on.
        """
        running = list(self._runs.values())
        for run in running:
            run.over.set()
        for run in running:
            run.ended.wait(ENDS_WITHIN_S)

    @contextlib.contextmanager
    def _entries(self) -> Iterator[dict[str, _Entry]]:
        """The list of all workers, which nobody else looks at or changes meanwhile."""
        with self._workers.changing("searches") as notes:
            entries = {key: _Entry(**told) for key, told in notes.items() if _is_ours(told)}
            yield entries
            notes.clear()
            notes.update({key: vars(entry) for key, entry in entries.items()})

    def _tidy(self, entries: dict[str, _Entry]) -> None:
        """Let go of what nobody looks at any more, and of whatever a worker left that was killed.

        A moment that is still to come is one of before the machine was started.
        """
        now = self._clock()
        for key, entry in list(entries.items()):
            self._end_where_lost(entry)
            if entry.ended and not now - FORGOTTEN_AFTER_S < entry.looked_at <= now:
                del entries[key]

    def _end_where_lost(self, entry: _Entry) -> None:
        if not entry.ended and not self._workers.is_there(entry.worker):
            entry.end(str(SearchLost()))

    def _joined_or_new(
        self, entries: dict[str, _Entry], club_id: int, what: str, run: _Run
    ) -> tuple[str, bool]:
        """The id of the search that does what is asked, and whether it is this one.

        The id is empty while there is no place for it. Where there are enough processes, the first
        of those that only weigh wishes ends.
        """
        asked = sha256(repr(run.task.problem).encode()).hexdigest()
        for key, entry in entries.items():
            if entry.is_for(club_id, what) and not entry.ended:
                if entry.problem != asked:
                    entry.drop(OrderedAnew())
                elif not entry.over:
                    return key, False
        there = [entry for entry in entries.values() if not entry.ended]
        if sum(entry.searches for entry in there) >= MOST_AT_ONCE:
            return "", False
        weighing = [entry for entry in there if entry.weighs]
        for entry in weighing[: len(there) + 1 - MOST_AT_ONCE]:
            entry.over = True
        key, now = secrets.token_urlsafe(16), self._clock()
        answered = run.answered.is_set()
        entries[key] = _Entry(club_id, what, asked, self._workers.me, now, now, answered=answered)
        self._runs[key] = run
        return key, True

    def _run(self, key: str, run: _Run) -> None:
        """A thread that lives as long as the process it begins.

        On Linux a child that is to die with its parent dies with the thread that began it: were
        that the thread of a request, the search would end with the answer to the request.
        """
        status = None
        try:
            with _child(self._memory_bytes) as process:
                talk = threading.Thread(target=self._talk, args=(key, run, process), daemon=True)
                talk.start()
                try:
                    while not run.over.wait(LOOKS_S):
                        self._end_where_due(key, run)
                finally:
                    process.kill()
                    talk.join()
            status = process.returncode
        except (OSError, SettingsDeskError):
            log.exception("the process of a search could not be looked after")
        finally:
            self._finish(key, run, status)

    def _end_where_due(self, key: str, run: _Run) -> None:
        now = self._clock()
        with self._entries() as entries:
            entry = entries[key]
            if entry.searches and now - entry.looked_at > UNWATCHED_S:
                entry.drop(NobodyLooked())
            elif now - entry.begun_at > LONGEST_S:
                entry.over = True
            is_over = entry.over
        if is_over:
            run.over.set()

    def _talk(self, key: str, run: _Run, process: Process) -> None:
        """Hand the problem over and take the answers, until the process has no more."""
        assert process.stdin is not None  # noqa: S101 -- opened as a pipe, see _child
        assert process.stdout is not None  # noqa: S101 -- opened as a pipe, see _child
        try:
            # A process that is gone already tells so by answering nothing.
            with contextlib.suppress(BrokenPipeError), process.stdin as problem:
                problem.write(pickle.dumps(run.task))
            for line in process.stdout:
                if line.endswith(b"\n"):
                    self._take(key, run, json.loads(line))
        except Exception:
            log.exception("the process of a search was not understood")
        finally:
            run.over.set()

    def _take(self, key: str, run: _Run, told: Mapping[str, Any]) -> None:
        if "cost" in told:
            cost = WishCost.from_json(told["cost"])
            run.costs[cost.where] = cost
        elif "answered" in told:
            self._keep_answer(key, run)
        elif "solution" in told:
            with self._entries() as entries:
                entries[key].best = told["solution"]
        elif run.answered.is_set():
            log.error("what the wishes cost could not be worked out")
        else:
            with self._entries() as entries:
                entries[key].refusal = told["refused"]

    def _keep_answer(self, key: str, run: _Run, status: int | None = None) -> None:
        """Keep what was found where it is wanted, and tell whoever waits for it, once."""
        if run.answered.is_set() or run.keep is None:
            return
        refusal = str(SearchEnded())
        try:
            with self._entries() as entries:
                entry = entries[key]
            refusal = entry.dropped or entry.refusal
            if not entry.dropped and entry.best is not None:
                run.keep(Solution.from_json(entry.best))
            elif not refusal:
                refusal = str(OutOfMemory() if status in ENDS_FOR_WANT_OF_MEMORY else SearchEnded())
        except SettingsDeskError as refused:
            refusal = str(refused)
        except Exception:
            log.exception("what a search found could not be kept")
            refusal = str(SearchEnded())
        finally:
            self._tell_answer(key, run, refusal)

    def _tell_answer(self, key: str, run: _Run, refusal: str) -> None:
        try:
            with self._entries() as entries:
                entry = entries[key]
                entry.answered, entry.refusal = True, refusal
                entry.over = entry.over or bool(refusal)  # of what is not kept no wish is weighed
        except Exception:
            log.exception("the answer of a search could not be told")
        finally:
            run.answered.set()

    def _finish(self, key: str, run: _Run, status: int | None) -> None:
        """Keep whatever is not kept yet, then tell that the search has ended."""
        with contextlib.suppress(Exception), self._entries() as entries:
            entries[key].over = True  # whoever asks for the same from now on begins anew
        self._keep_answer(key, run, status)
        try:
            with self._entries() as entries:
                wanted = not entries[key].dropped and not entries[key].refusal
            if wanted and run.costs and run.keep_costs is not None:
                run.keep_costs(list(run.costs.values()))
        except Exception:
            log.exception("what the wishes cost could not be kept")
        finally:
            self._tell_end(key, run, "")

    def _tell_end(self, key: str, run: _Run, refusal: str) -> None:
        try:
            with self._entries() as entries:
                entries[key].end(refusal)
        except Exception:
            log.exception("the end of a search could not be told")
        finally:
            del self._runs[key]
            run.ended.set()


def _is_ours(told: Mapping[str, Any]) -> bool:
    """Whether it is of this version: the desk may have been upgraded since."""
    return told.keys() == {one.name for one in fields(_Entry)}


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


class SearchLost(SettingsDeskError):
    """The worker that ran a search was killed."""

    sentence = "The search was cut off, and no order of it was kept. Plan the rotation once more"


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
