"""Running the engine: anytime beam search over a model, within a given work and time."""

import time
from dataclasses import dataclass
from typing import Any

import didppy as dp  # type: ignore[import-untyped]  # the engine ships no types

WIDEST_BEAM = 1 << 15  # keeps the peak below 64 MB
STEPS_BETWEEN_LOOKS_AT_THE_CLOCK = 1 << 14
STATES_PER_PRICING_STEP = 50
"""What the engine expands while one step is taken on the way to better prices of a bound."""
FEWEST_PRICING_STEPS = 20
SHARE_OF_TIME = 0.75  # so that a usual machine is done with its work before the clock stops it


@dataclass(frozen=True, slots=True)
class Budget:
    """How much may be searched: the work decides, the clock only stops.

    ``work_s`` counts states, as the seconds in which a usual machine expands so many of them.
    ``ends_at`` is a reading of ``time.perf_counter``.
    """

    work_s: float
    ends_at: float

    @classmethod
    def starting_now(cls, time_limit_s: float, work_s: float | None = None) -> "Budget":
        """A budget whose time begins at once; its work follows from the time if not given."""
        work_s = SHARE_OF_TIME * time_limit_s if work_s is None else work_s
        return cls(work_s, time.perf_counter() + time_limit_s)

    def less(self, spent_s: float) -> "Budget":
        """What is left of the work after some was done, within the same time."""
        return Budget(max(0.0, self.work_s - spent_s), self.ends_at)

    def share(self, part: float) -> "Budget":
        """A part of the work, within the same time."""
        return Budget(part * self.work_s, self.ends_at)

    @property
    def left_s(self) -> float:
        """Seconds until the clock stops the search."""
        return max(0.01, self.ends_at - time.perf_counter())

    @property
    def is_over(self) -> bool:
        """Whether the clock has stopped the search."""
        return time.perf_counter() >= self.ends_at

    def beam(self, layers: int, pace: float) -> int:
        """The widest beam whose search, with all narrower ones before it, stays within the work."""
        states = self.work_s * pace
        return max(1, min(WIDEST_BEAM, round(states / (2 * max(1, layers)))))


def pricing_steps(states: int, most: int) -> int:
    """Steps to better prices of a bound that are worth it where a model has so many states.

    They take no longer than it would to go through every state.
    """
    return max(FEWEST_PRICING_STEPS, min(most, states // STATES_PER_PRICING_STEP))


class OutOfSteps(Exception):
    """The work or the time that may be spent is spent."""


class Steps:
    """Counts the steps of a search beside the engine; a usual machine does so many per second."""

    def __init__(self, budget: Budget, per_second: float):
        self._budget, self._per_second = budget, per_second
        self._spent = 0
        self._look_at = 0

    def spend(self, steps: int) -> None:
        """Count some steps; raises OutOfSteps where there are no more."""
        self._spent += steps
        if self.spent_s >= self._budget.work_s:
            raise OutOfSteps
        if self._spent >= self._look_at:
            self._look_at = self._spent + STEPS_BETWEEN_LOOKS_AT_THE_CLOCK
            if time.perf_counter() > self._budget.ends_at:
                raise OutOfSteps

    @property
    def spent_s(self) -> float:
        """The work that they took."""
        return self._spent / self._per_second


@dataclass(frozen=True, slots=True)
class Found:
    """What a search brought: the names of the transitions, the cost and a bound on every cost.

    ``steps`` and ``cost`` are None where nothing (better than the bar set) was found; ``proven``
    then says that there is nothing. ``spent_s`` is the work that the search took.
    """

    steps: tuple[str, ...] | None
    cost: int | None
    bound: int
    proven: bool
    spent_s: float = 0


def search(
    model: Any,
    budget: Budget,
    layers: int,
    pace: float,
    *,
    below: int | None = None,
    largest: bool = False,
) -> Found:
    """Look for the cheapest way to a base case of ``model``, which takes ``layers`` steps.

    ``pace`` is how many states a usual machine expands per second; each model has its own, as
    measured. Only costs ``below`` are of interest, where given. ``largest``: the cost is the
    largest of the steps' costs instead of their sum.
    """
    operator = dp.FOperator.Max if largest else dp.FOperator.Plus
    solver = dp.CABS(
        model,
        f_operator=operator,
        primal_bound=below,
        time_limit=budget.left_s,
        max_beam_size=budget.beam(layers, pace),
        quiet=True,
    )
    best = solver.search()
    proven = bool(best.is_optimal or best.is_infeasible)
    spent_s = best.expanded / pace
    if best.cost is None:
        bound = below if proven and below is not None else best.best_bound
        return Found(None, None, int(bound or 0), proven, spent_s)
    steps = tuple(step.name for step in best.transitions)
    bound = best.cost if proven else min(best.cost, best.best_bound or 0)
    return Found(steps, int(best.cost), int(bound), proven, spent_s)
