"""The planner against a general-purpose solver, which knows nothing of groups, bounds or trees.

The referee (OR-Tools CP-SAT, in the tests only) decides slot by slot who has the turn and where
each axis stands. Its model is written from the problem's format alone.
"""

from collections.abc import Callable
from typing import Any

import pytest
from ortools.sat.python import cp_model

from settingsdesk.planner.errors import NoOrderKeepsThis
from settingsdesk.planner.plan import Status
from settingsdesk.planner.problem import Goal, Problem, Setup, Unit
from settingsdesk.planner.solve import solve

KINDS: dict[str, tuple[int, dict[str, Any]]] = {
    "one turn": (40, {"athletes": 6}),
    "wishes": (40, {"athletes": 6, "wishes": True}),
    "rest": (30, {"athletes": 4, "turns": 2, "rest": 2}),
    "rest and wishes": (20, {"athletes": 3, "turns": 2, "rest": 1, "wishes": True}),
    "deviations": (25, {"athletes": 5, "bands": True}),
    "deviations, rest and wishes": (
        (10, {"athletes": 3, "turns": 2, "rest": 1, "bands": True, "wishes": True})
    ),
    "two apparatus": (20, {"athletes": 5, "units": 2}),
    "two apparatus, makespan": (15, {"athletes": 5, "units": 2, "goal": Goal.MAKESPAN}),
}


class Referee:
    """One boolean per apparatus, slot and athlete; one whole number per axis and slot."""

    def __init__(self, problem: Problem):
        self.problem = problem
        self.model = cp_model.CpModel()
        self.total = problem.turn_count
        self.has = {
            (unit.id, slot, one.id): self.model.new_bool_var("")
            for unit in problem.apparatus
            for slot in range(self.total)
            for one in problem.athletes
        }
        self.seconds: dict[str, Any] = {}
        self.deviation: list[Any] = []
        for unit in problem.apparatus:
            self._add_slots(unit)
            self._add_change_overs(unit)
        for one in problem.athletes:
            self._add_turns(one.id)
        if problem.wishes:
            self._add_wishes()

    def _add_slots(self, unit: Unit) -> None:
        has, athletes, model = self.has, self.problem.athletes, self.model
        full = [sum(has[unit.id, slot, one.id] for one in athletes) for slot in range(self.total)]
        for slot, used in enumerate(full):
            model.add(used <= (1 if slot == 0 else full[slot - 1]))
            for one in athletes:
                if unit.id not in one.setups:
                    model.add(has[unit.id, slot, one.id] == 0)
                span = range(slot, min(slot + self.problem.rest_turns + 1, self.total))
                model.add(sum(has[unit.id, s, one.id] for s in span) <= 1)
        model.add(sum(full) >= (unit.turns_min or 0))
        if unit.turns_max is not None:
            model.add(sum(full) <= unit.turns_max)

    def _add_change_overs(self, unit: Unit) -> None:
        model = self.model
        before: list[Any] = list(unit.setup)
        costs = []
        for slot in range(self.total):
            now = [model.new_int_var(0, axis.stops - 1, "") for axis in unit.axes]
            costs.append(self._move(unit, before, now))
            away = [model.new_int_var(0, axis.stops, "") for axis in unit.axes]
            for one in self.problem.athletes:
                if unit.id in one.setups:
                    self._serve(self.has[unit.id, slot, one.id], now, away, one, unit.id)
            self.deviation += away
            before = now
        if unit.final_setup is not None:
            costs.append(self._move(unit, before, list(unit.final_setup)))
        self.seconds[unit.id] = sum(costs)

    def _serve(self, goes: Any, now: list[Any], away: list[Any], one: Any, unit_id: str) -> None:
        wanted: Setup = one.setups[unit_id]
        for stop, gap, want, most in zip(now, away, wanted, one.accepted(unit_id), strict=True):
            self.model.add(stop - want <= gap).only_enforce_if(goes)
            self.model.add(want - stop <= gap).only_enforce_if(goes)
            self.model.add(gap <= most).only_enforce_if(goes)

    def _move(self, unit: Unit, before: list[Any], now: list[Any]) -> Any:
        model, cost = self.model, 0
        anything = model.new_bool_var("")
        for axis, a, b in zip(unit.axes, before, now, strict=True):
            up, down = (model.new_int_var(0, axis.stops, "") for _ in range(2))
            moves = model.new_bool_var("")
            model.add(b - a == up - down)
            model.add(up + down <= axis.stops * moves)
            model.add_implication(moves, anything)
            cost += axis.ends * (axis.handling_s * moves + axis.up_s * up + axis.down_s * down)
        return cost + unit.any_move_s * anything

    def _add_turns(self, athlete: str) -> None:
        on = []
        for unit in self.problem.apparatus:
            here = self.model.new_bool_var("")
            turns = sum(self.has[unit.id, slot, athlete] for slot in range(self.total))
            self.model.add(turns == self.problem.turns * here)
            on.append(here)
        self.model.add_exactly_one(on)

    def _add_wishes(self) -> None:
        wishes, model = self.problem.wishes, self.model
        unit_id = self.problem.apparatus[0].id
        first = self._first_turns(unit_id)
        if wishes.first is not None:
            model.add(self.has[unit_id, 0, wishes.first] == 1)
        if wishes.last is not None:
            model.add(self.has[unit_id, self.total - 1, wishes.last] == 1)
        for a, b in wishes.before:
            model.add(first[a] < first[b])
        for group in wishes.together:
            for a in group:
                for b in group:
                    model.add(first[a] - first[b] <= len(group) - 1)
        for athlete, turn in wishes.place.items():
            model.add(first[athlete] == turn)

    def _first_turns(self, unit_id: str) -> dict[str, Any]:
        first: dict[str, Any] = {}
        for one in self.problem.athletes:
            begins = [self.model.new_bool_var("") for _ in range(self.total)]
            self.model.add_exactly_one(begins)
            for slot, begin in enumerate(begins):
                self.model.add_implication(begin, self.has[unit_id, slot, one.id])
                for earlier in range(slot):
                    self.model.add_implication(begin, ~self.has[unit_id, earlier, one.id])
            first[one.id] = sum((slot + 1) * begin for slot, begin in enumerate(begins))
        return first

    def least(self) -> tuple[int, int] | None:
        """Goal and deviation, or None where there is no plan."""
        goal = self.model.new_int_var(0, 100_000, "")
        busy = self.problem.goal is Goal.MAKESPAN
        if busy:
            for unit in self.problem.apparatus:
                turns_s = sum(
                    one.turn_s * self.has[unit.id, slot, one.id]
                    for one in self.problem.athletes
                    for slot in range(self.total)
                )
                self.model.add(goal >= self.seconds[unit.id] + turns_s)
        else:
            self.model.add(goal == sum(self.seconds.values()))
        away = sum(self.deviation)
        self.model.minimize(1000 * goal + away)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        # at most six turns: five times as quick without linear relaxations, and as exact
        solver.parameters.linearization_level = 0
        status = solver.solve(self.model)
        if status == cp_model.INFEASIBLE:
            return None
        assert status == cp_model.OPTIMAL
        return solver.value(goal), solver.value(away)


class TestTheReferee:
    @pytest.mark.parametrize("kind", KINDS)
    def test_agrees(self, kind: str, invent: Callable[..., Problem]):
        """Two programs that share no line come to the same best plan."""
        count, asked = KINDS[kind]
        for seed in range(count):
            problem = invent(f"referee {kind} {seed}", **asked)
            least = Referee(problem).least()
            if least is None:
                with pytest.raises(NoOrderKeepsThis):
                    solve(problem)
                continue

            solution = solve(problem)

            assert (solution.goal_s, solution.deviation_stops) == least, f"{kind} {seed}"
            assert solution.status is Status.PROVEN, f"{kind} {seed}"

    def test_is_asked_often_enough(self):
        """At least 200 small rotations of all kinds."""
        assert sum(count for count, _ in KINDS.values()) >= 200
