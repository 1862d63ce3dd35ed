"""Running the engine: anytime beam search over a model, within a given work and time."""

import time
from dataclasses import dataclass
from typing import Any

import didppy as dp  # type: ignore[import-untyped]  # the engine ships no types

WIDEST_BEAM = 1 << 15  # keeps the peak below 64 MB


WORK_PER_SECOND = 100_000


def default_work(time_limit_s: float) -> int:
    """Expanded states that a usual machine manages well before the time limit."""
    return max(1000, round(time_limit_s * WORK_PER_SECOND))


@dataclass(frozen=True, slots=True)
class Budget:
    """How much may be searched: ``work`` in expanded states decides, the clock only stops.

    ``ends_at`` is a reading of ``time.perf_counter``.
    """

    work: int
    ends_at: float

    @classmethod
    def starting_now(cls, work: int, time_limit_s: float) -> "Budget":
        """A budget whose time begins to run at once."""
        return cls(work, time.perf_counter() + time_limit_s)

    @property
    def left_s(self) -> float:
        """Seconds until the clock stops the search."""
        return max(0.01, self.ends_at - time.perf_counter())

    def beam(self, layers: int) -> int:
        """The widest beam whose search, with all narrower ones before it, stays within the work."""
        widest = max(1, self.work // (2 * max(1, layers)))
        return min(WIDEST_BEAM, 1 << (widest.bit_length() - 1))


@dataclass(frozen=True, slots=True)
class Found:
    """What a search brought: the names of the transitions, the cost and a bound on every cost.

    ``steps`` and ``cost`` are None where nothing (better than the bar set) was found; ``proven``
    then says that there is nothing.
    """

    steps: tuple[str, ...] | None
    cost: int | None
    bound: int
    proven: bool


def search(
    model: Any, budget: Budget, layers: int, *, below: int | None = None, largest: bool = False
) -> Found:
    """Look for the cheapest way to a base case of ``model``, which takes ``layers`` steps.

    Only costs ``below`` are of interest, where given. ``largest``: the cost is the largest of the
    steps' costs instead of their sum.
    """
    operator = dp.FOperator.Max if largest else dp.FOperator.Plus
    solver = dp.CABS(
        model,
        f_operator=operator,
        primal_bound=below,
        time_limit=budget.left_s,
        max_beam_size=budget.beam(layers),
        quiet=True,
    )
    best = solver.search()
    proven = bool(best.is_optimal or best.is_infeasible)
    if best.cost is None:
        bound = below if proven and below is not None else best.best_bound
        return Found(None, None, int(bound or 0), proven)
    steps = tuple(step.name for step in best.transitions)
    bound = best.cost if proven else min(best.cost, best.best_bound or 0)
    return Found(steps, int(best.cost), int(bound), proven)
