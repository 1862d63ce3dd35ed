"""The answer: who has which turn at which setup, what it costs, and how good it is."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from settingsdesk.planner.errors import Where
from settingsdesk.planner.problem import Setup


@dataclass(frozen=True, slots=True)
class Turn:
    """One athlete's go, and the stops at which the apparatus stands for it."""

    athlete: str
    setup: Setup


Plan = Mapping[str, tuple[Turn, ...]]


class Status(StrEnum):
    """Proven: no plan has a smaller goal nor, at this goal, a smaller deviation."""

    PROVEN = "proven"
    BEST_FOUND = "best found"


@dataclass(frozen=True, slots=True)
class Compared:
    """The goals, in seconds, of the orders a coach would otherwise take; None where impossible.

    ``group_by_group_s`` is that of each group planned by itself, where there are several.
    """

    as_listed_s: int | None
    by_height_s: int | None
    group_by_group_s: int | None = None


@dataclass(frozen=True, slots=True)
class WishCost:
    """What the goal could be without one wish, all others kept.

    ``where`` is the wish's place in the problem. ``goal_s`` is the smallest goal found without it,
    and ``bound_s`` is proven: no plan without it has less.
    """

    where: Where
    goal_s: int
    bound_s: int

    def at_least_s(self, bound_s: int) -> int:
        """Seconds that keeping the wish costs at least, where no plan with it is below a bound."""
        return max(0, bound_s - self.goal_s)

    def at_most_s(self, goal_s: int) -> int:
        """Seconds that keeping the wish costs at most, where a plan with it has that goal."""
        return goal_s - self.bound_s

    def to_json(self) -> dict[str, Any]:
        """As it is kept, and told from one process to another."""
        return {"where": list(self.where), "goal_s": self.goal_s, "bound_s": self.bound_s}

    @staticmethod
    def from_json(told: Mapping[str, Any]) -> "WishCost":
        """What ``to_json`` wrote."""
        return WishCost(tuple(told["where"]), told["goal_s"], told["bound_s"])


@dataclass(frozen=True, slots=True)
class Solution:
    """A plan with its goal, the proven bound below which no goal lies, and its other figures.

    ``least_rest_turns`` are the turns of others that lie at least between two of one athlete; None
    where nobody has two. ``group_by_group`` is the plan in which each group was planned by itself.
    """

    status: Status
    goal_s: int
    bound_s: int
    change_over_s: int
    makespan_s: int
    deviation_stops: int
    change_overs: int
    compared: Compared
    plan: Plan
    solve_s: float
    least_rest_turns: int | None = None
    group_by_group: Plan | None = None

    def to_json(self) -> dict[str, Any]:
        """The answer as ``settingsdesk order --json`` writes it."""
        return {
            "status": str(self.status),
            "goal_s": self.goal_s,
            "bound_s": self.bound_s,
            "change_over_s": self.change_over_s,
            "makespan_s": self.makespan_s,
            "deviation_stops": self.deviation_stops,
            "change_overs": self.change_overs,
            "least_rest_turns": self.least_rest_turns,
            "compared": {
                "as_listed_s": self.compared.as_listed_s,
                "by_height_s": self.compared.by_height_s,
                "group_by_group_s": self.compared.group_by_group_s,
            },
            "plan": _plan_to_json(self.plan),
            "group_by_group": self.group_by_group and _plan_to_json(self.group_by_group),
            "solve_s": round(self.solve_s, 3),
        }

    @staticmethod
    def from_json(told: Mapping[str, Any]) -> "Solution":
        """The answer that ``to_json`` wrote."""
        compared = told["compared"]
        return Solution(
            status=Status(told["status"]),
            goal_s=told["goal_s"],
            bound_s=told["bound_s"],
            change_over_s=told["change_over_s"],
            makespan_s=told["makespan_s"],
            deviation_stops=told["deviation_stops"],
            change_overs=told["change_overs"],
            compared=Compared(**compared),
            plan=_plan_from_json(told["plan"]),
            solve_s=told["solve_s"],
            least_rest_turns=told.get("least_rest_turns"),
            group_by_group=_plan_from_json(by_groups)
            if (by_groups := told.get("group_by_group"))
            else None,
        )


def _plan_to_json(plan: Plan) -> dict[str, Any]:
    return {
        unit_id: [{"athlete": turn.athlete, "setup": list(turn.setup)} for turn in turns]
        for unit_id, turns in plan.items()
    }


def _plan_from_json(told: Mapping[str, Any]) -> Plan:
    return {
        unit_id: tuple(Turn(turn["athlete"], tuple(turn["setup"])) for turn in turns)
        for unit_id, turns in told.items()
    }
