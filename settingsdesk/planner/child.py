"""One search in a process of its own: ``python -m settingsdesk.planner.child MEMORY_BYTES``.

The engine holds the interpreter lock while it searches, so a server that searched by itself would
answer nobody meanwhile. The parent writes one pickled task to the standard input; each answer
goes to the standard output as a line of JSON, every one at least as good as the one before, and
the last one is the best that the time allows. A problem without an answer gets the refusal. Where
that is asked, a line says that no better answer comes, and what each wish costs follows, line by
line: nobody waits for it who waits for the order.
"""

import contextlib
import ctypes
import json
import os
import pickle
import signal
import sys
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.planner.errors import NoPlanInTime
from settingsdesk.planner.plan import Plan, Solution, Status
from settingsdesk.planner.problem import Problem
from settingsdesk.planner.solve import solve
from settingsdesk.planner.wish_costs import wish_costs

if sys.platform != "win32":
    import resource

ROUNDS_S = (0.3, 1.0, 4.0, 15.0, 40.0)
"""Time limits of the searches, one after the other: each begins anew and looks further."""

MOST_CPU_S = 120
POLITE = 10
"""Pages and confirmations come first, where there is not enough for all."""
WANT_OF_MEMORY = 77
"""The exit status that says so."""
DIE_WITH_PARENT = 1  # PR_SET_PDEATHSIG of Linux's prctl(2)


@dataclass(frozen=True, slots=True)
class Task:
    """A problem, and whether what each of its wishes costs is asked too.

    With ``known``, a plan that keeps to the problem, only that is asked.
    """

    problem: Problem
    with_costs: bool = False
    known: Plan | None = None


def answers(problem: Problem) -> Iterator[Solution]:
    """The best plan after each round, until one is proven or the rounds are over.

    Raises what ``solve`` refuses; a round that found no plan at all is passed over unless it was
    the last one.
    """
    best: Solution | None = None
    for limit_s in ROUNDS_S:
        with contextlib.suppress(*([NoPlanInTime] if limit_s != ROUNDS_S[-1] or best else [])):
            found = solve(problem, time_limit_s=limit_s)
            best = found if best is None else _better(found, best)
            yield best
            if best.status is Status.PROVEN:
                return


def _better(found: Solution, before: Solution) -> Solution:
    """The one of smaller goal, then of less deviation, with the larger bound: both are proven."""
    best = min(found, before, key=lambda answer: (answer.goal_s, answer.deviation_stops))
    return replace(best, bound_s=max(found.bound_s, before.bound_s))


def main(memory_bytes: int) -> None:
    """Read a problem, write answers; ends with ``WANT_OF_MEMORY`` where there is not enough."""
    _live_within(memory_bytes)
    try:
        _answer()
    except (MemoryError, SystemError):  # the interpreter raises either when nothing is left
        os._exit(WANT_OF_MEMORY)  # to say more would take memory


def _answer() -> None:
    try:
        # Only our own parent holds the other end of this pipe, and it pickled the task itself.
        task: Task = pickle.load(sys.stdin.buffer)  # noqa: S301
        plan = task.known
        for answer in answers(task.problem) if plan is None else ():
            plan = answer.plan
            _say({"solution": answer.to_json()})
        if task.with_costs and plan is not None:
            _say({"answered": True})
            for cost in wish_costs(task.problem, plan, sum(ROUNDS_S)):
                _say({"cost": cost.to_json()})
    except SettingsDeskError as refusal:
        _say({"refused": str(refusal)})


def _live_within(memory_bytes: int) -> None:
    """Never outlive the parent, nor take the machine from it; how far depends on the system."""
    # Ctrl-C at the terminal reaches this process too, but it is the parent that answers it.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(DIE_WITH_PARENT, signal.SIGKILL)
    if sys.platform != "win32":
        os.nice(POLITE)
        for limit, most in ((resource.RLIMIT_AS, memory_bytes), (resource.RLIMIT_CPU, MOST_CPU_S)):
            # Refused where a lower limit holds already, or where the system has no such limit.
            with contextlib.suppress(OSError, ValueError):
                resource.setrlimit(limit, (most, most))


def _say(line: dict[str, Any]) -> None:
    sys.stdout.write(json.dumps(line) + "\n")
    sys.stdout.flush()


class OutOfMemory(SettingsDeskError):
    """A search broke off as one does that gets no more memory."""

    sentence = (
        "The search broke off, most likely because it needed more memory than the desk gives"
        " to one order. Ask for fewer turns, fewer athletes or fewer wishes"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]))
