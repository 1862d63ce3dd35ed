"""One search in a process of its own: ``python -m settingsdesk.planner.child``.

The engine holds the interpreter lock while it searches, so a server that searched by itself would
answer nobody meanwhile. The parent writes one pickled problem to the standard input; each answer
goes to the standard output as a line of JSON, every one at least as good as the one before, and
the last one is the best that the time allows.
"""

import contextlib
import ctypes
import json
import pickle
import resource
import signal
import sys
from collections.abc import Iterator
from typing import Any

from settingsdesk.domain.errors import SettingsDeskError
from settingsdesk.planner.errors import NoPlanInTime
from settingsdesk.planner.plan import Solution, Status
from settingsdesk.planner.problem import Problem
from settingsdesk.planner.solve import solve

ROUNDS_S = (1.0, 4.0, 15.0, 40.0)
"""Time limits of the searches, one after the other: each begins anew and looks further."""

MOST_MEMORY_BYTES = 2 << 30
MOST_CPU_S = 120
DIE_WITH_PARENT = 1  # PR_SET_PDEATHSIG of Linux's prctl(2)


def answers(problem: Problem) -> Iterator[Solution]:
    """The plan after each round, until one is proven or the rounds are over.

    Raises what ``solve`` refuses; a round that found no plan at all is passed over unless it was
    the last one.
    """
    best: Solution | None = None
    for limit_s in ROUNDS_S:
        with contextlib.suppress(*([NoPlanInTime] if limit_s != ROUNDS_S[-1] or best else [])):
            found = solve(problem, time_limit_s=limit_s)
            best = found if best is None or found.goal_s <= best.goal_s else best
            yield best
            if found.status is Status.PROVEN:
                return


def main() -> None:
    """Read a problem, write answers."""
    _limit()
    # Only our own parent holds the other end of this pipe, and it pickled the problem itself.
    problem = pickle.load(sys.stdin.buffer)  # noqa: S301
    try:
        for answer in answers(problem):
            _say({"solution": answer.to_json()})
    except SettingsDeskError as refusal:
        _say({"refused": str(refusal)})
    except MemoryError:
        _say({"refused": "The search ran out of memory. Ask for fewer turns or wishes"})


def _limit() -> None:
    """Never outlive the parent, nor take the machine from it."""
    with contextlib.suppress(OSError, AttributeError):
        ctypes.CDLL(None).prctl(DIE_WITH_PARENT, signal.SIGKILL)
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY_BYTES, MOST_MEMORY_BYTES))
    resource.setrlimit(resource.RLIMIT_CPU, (MOST_CPU_S, MOST_CPU_S))


def _say(line: dict[str, Any]) -> None:
    sys.stdout.write(json.dumps(line) + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
