"""The model of the whole problem, turn by turn, as the format defines it.

It is exact for every kind of rotation: several apparatus (filled one after the other), several
turns with rest, in rounds or at one setup each, wishes, accepted deviations and either goal. Kinds
of rotation with more structure have models of their own, which reach their proof much sooner.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import didppy as dp  # type: ignore[import-untyped]  # the engine ships no types

from settingsdesk.planner.bounds.disjoint import disjoint_entries
from settingsdesk.planner.bounds.families import good_family
from settingsdesk.planner.models.bands import seconds_at_least
from settingsdesk.planner.plan import Plan, Turn
from settingsdesk.planner.problem import Entrant, Goal, Problem, Unit
from settingsdesk.planner.search import Budget, Found, search
from settingsdesk.planner.stands import Stand, accepted_ranges, stands_for
from settingsdesk.planner.twins import twins

NEXT = "next apparatus"
STATES_PER_SECOND = 9e6  # with one transition
FAMILY_ROUNDS = 120


@dataclass(frozen=True, slots=True)
class Aim:
    """What is to be small: the goal, or, with the goal held, the deviation."""

    goal_at_most_s: int | None = None

    @property
    def is_deviation(self) -> bool:
        return self.goal_at_most_s is not None


def best_plan(problem: Problem, aim: Aim, budget: Budget, below: int | None) -> Found:
    """The best sequence of turns; read the steps with ``plan_from``.

    Not even begun where the work would not reach the end of one sequence.
    """
    layers = problem.turn_count + len(problem.apparatus)
    stands = stands_for(problem)
    served = sum(stand.serves(entrant) for entrant in problem.athletes for stand in stands)
    if budget.work_s * STATES_PER_SECOND < layers * served and below is not None:
        return Found(None, None, 0, proven=False)
    model = AnythingModel(problem, aim).model
    pace = STATES_PER_SECOND / len(model.get_transitions())
    largest = problem.goal is Goal.MAKESPAN and not aim.is_deviation
    return search(model, budget, layers, pace, below=below, largest=largest)


def plan_from(problem: Problem, steps: Sequence[str]) -> Plan:
    """The plan that a sequence of steps stands for."""
    stands = stands_for(problem)
    turns: list[list[Turn]] = [[]]
    for step in steps:
        if step == NEXT:
            turns.append([])
            continue
        athlete, stand = step.split()
        turns[-1].append(Turn(problem.athletes[int(athlete)].id, stands[int(stand)].setup))
    return {unit.id: tuple(part) for unit, part in zip(problem.apparatus, turns, strict=True)}


class AnythingModel:
    """The state: who has turns left, who rests, where the apparatus stands, what is spent."""

    def __init__(self, problem: Problem, aim: Aim):
        self.problem, self.aim = problem, aim
        self.stands = stands_for(problem)
        self.needs = [problem.turns_of(entrant) for entrant in problem.athletes]
        self.number = {entrant.id: number for number, entrant in enumerate(problem.athletes)}
        self.twin = twins(problem)
        self.model = dp.Model()
        self._add_state()
        self._add_rounds()
        self._add_setups()
        for athlete in problem.athletes:
            for place, stand in enumerate(self.stands):
                if stand.serves(athlete):
                    self._add_turn(athlete, place, stand)
        for number in range(len(problem.apparatus) - 1):
            self._add_next_apparatus(number)
        self._add_end()
        self._add_bound()

    def _add_state(self) -> None:
        problem, model = self.problem, self.model
        everybody = range(len(problem.athletes))
        self.athlete = model.add_object_type(number=len(everybody) + 1)
        stand = model.add_object_type(number=len(self.stands))
        apparatus = model.add_object_type(number=len(problem.apparatus))
        self.unit = model.add_element_var(object_type=apparatus, target=0)
        self.here = model.add_element_var(object_type=stand, target=0)
        self.new = model.add_set_var(object_type=self.athlete, target=list(everybody))
        self.more = {  # turns left of those who have several
            number: model.add_int_var(target=self.needs[number])
            for number in everybody
            if self.needs[number] > 1
        }
        self.used = model.add_int_var(target=0)
        self.waiting = model.add_int_var(target=problem.turn_count)
        self.rested = self._who_rests_at_first()
        self.recent = [
            model.add_element_var(object_type=self.athlete, target=resting)
            for resting in self.rested
        ]
        self.spent = model.add_int_resource_var(target=0, less_is_better=True)
        self.seconds = model.add_int_table(
            [[a.seconds_to(b) for b in self.stands] for a in self.stands]
        )
        self.end_seconds = model.add_int_table([at.seconds_to_end() for at in self.stands])

    def _add_rounds(self) -> None:
        """Where turns go in rounds: how many are to come, this one included, and its open turns."""
        if not self.problem.in_rounds:
            return
        most = max(self.needs)
        numbers = self.model.add_object_type(number=most + 1)
        self.rounds_to_come = self.model.add_element_var(object_type=numbers, target=most)
        self.in_round = [sum(need >= left for need in self.needs) for left in range(most + 1)]
        self.open = self.model.add_int_var(target=self.in_round[most])

    def _add_setups(self) -> None:
        """Where all turns of an athlete are at one setup: which, once there was the first."""
        several = self.more if self.problem.one_setup else ()
        self.unset = len(self.stands)
        kinds = self.model.add_object_type(number=len(self.stands) + 1)
        self.at = {
            number: self.model.add_element_var(object_type=kinds, target=self.unset)
            for number in several
        }

    def _who_rests_at_first(self) -> list[int]:
        """The last ``rest_turns`` athletes, the latest first; a number past all is nobody."""
        problem, nobody = self.problem, len(self.problem.athletes)
        if max(self.needs) == 1 and not problem.just_had:
            return []
        had = [self.number.get(athlete, nobody) for athlete in reversed(problem.just_had)]
        return [*had, *[nobody] * problem.rest_turns][: problem.rest_turns]

    def _cost(self, seconds: Any, deviation: int = 0) -> Any:
        """What a step adds to the aim; a makespan is only known when an apparatus is done."""
        if self.aim.is_deviation:
            return deviation + dp.IntExpr.state_cost()
        if self.problem.goal is Goal.MAKESPAN:
            return dp.IntExpr.state_cost()
        return seconds + dp.IntExpr.state_cost()

    def _spent_after(self, seconds: Any, turn_s: int) -> Any:
        """Seconds spent of what the goal counts; kept only where the search must know them."""
        if self.problem.goal is Goal.MAKESPAN:
            return self.spent + seconds + turn_s
        return self.spent + seconds if self.aim.is_deviation else self.spent

    def _add_turn(self, athlete: Entrant, place: int, stand: Stand) -> None:
        number, seconds = self.number[athlete.id], self.seconds[self.here, place]
        effects = [
            (self.here, place),
            (self.used, self.used + 1),
            (self.waiting, self.waiting - 1),
            (self.spent, self._spent_after(seconds, athlete.turn_s)),
            *zip(self.recent, [number, *self.recent], strict=False),
        ]
        allowed = [self.unit == stand.unit_number, *(resting != number for resting in self.recent)]
        if stand.unit.turns_max is not None:
            allowed.append(self.used < stand.unit.turns_max)
        more = self.more.get(number)
        counted = [] if more is None else [(more, more - 1)]
        begins = [self.new.contains(number), *self._twin_has_begun(athlete)]
        at = self.at.get(number)
        stays = [] if at is None else [at == place]
        set_for = [] if at is None else [(at, place)]
        kinds = [(True, begins, [*counted, *set_for, (self.new, self.new.remove(number))])]
        if more is not None:
            kinds.append((False, [~self.new.contains(number), more > 0, *stays], counted))
        for is_first, rules, changes in kinds:
            for in_turn, goes_on in self._in_rounds(number):
                self.model.add_transition(
                    dp.Transition(
                        name=f"{number} {place}",
                        cost=self._cost(seconds, stand.deviation(athlete)),
                        effects=[*effects, *changes, *goes_on],
                        preconditions=[
                            *allowed,
                            *rules,
                            *in_turn,
                            *self._wished(athlete.id, is_first),
                        ],
                    )
                )

    def _in_rounds(self, number: int) -> Iterator[tuple[list[Any], list[Any]]]:
        """What a turn in rounds must keep to and changes: one of a round, or its last."""
        if not self.problem.in_rounds:
            yield [], []
            return
        more, to_come = self.more.get(number), self.rounds_to_come
        for left in range(1, self.needs[number] + 1):
            now = [to_come == left, *([] if more is None else [more == left])]
            yield [*now, self.open > 1], [(self.open, self.open - 1)]
            following = [(self.open, self.in_round[left - 1]), (to_come, left - 1)]
            yield [*now, self.open == 1], following

    def _twin_has_begun(self, athlete: Entrant) -> list[Any]:
        """Of athletes who are alike in everything, the one listed first begins first."""
        twin = self.twin[athlete.id]
        return [] if twin is None else [~self.new.contains(self.number[twin])]

    def _wished(self, athlete: str, is_first: bool) -> list[Any]:
        """What the wishes demand of a turn, which may be this athlete's first one."""
        wishes, last_turn = self.problem.wishes, self.problem.turn_count
        rules: list[Any] = []
        if wishes.first not in (None, athlete):
            rules.append(self.used > 0)
        if wishes.last not in (None, athlete):
            rules.append(self.used < last_turn - 1)
        for other, turn in wishes.place.items():
            if other != athlete or not is_first:
                rules.append(self.used != turn - 1)
            else:
                rules.append(self.used == turn - 1)
        if is_first:
            earlier = [a for a, b in wishes.before if b == athlete]
            rules += [~self.new.contains(self.number[other]) for other in earlier]
        for group in wishes.together:
            if not is_first or athlete not in group:
                members = self.model.create_set_const(
                    object_type=self.athlete, value=[self.number[member] for member in group]
                )
                rules.append(members.issubset(self.new) | (members & self.new).is_empty())
        return rules

    def _done(self, number: int) -> list[Any]:
        """This apparatus may be left: enough turns, nobody between two turns, the goal held."""
        unit = self.problem.apparatus[number]
        rules = [
            self.unit == number,
            self.used >= (unit.turns_min or 0),
            *((left == 0) | (left == self.needs[athlete]) for athlete, left in self.more.items()),
        ]
        if self.aim.goal_at_most_s is not None:
            rules.append(self.spent + self.end_seconds[self.here] <= self.aim.goal_at_most_s)
        return rules

    def _add_next_apparatus(self, number: int) -> None:
        end_s = self.end_seconds[self.here]
        cost, spent = self._cost(end_s), self._spent_after(end_s, 0)
        if self.problem.goal is Goal.MAKESPAN:
            if not self.aim.is_deviation:
                cost = dp.max(spent, dp.IntExpr.state_cost())
            spent = 0
        self.model.add_transition(
            dp.Transition(
                name=NEXT,
                cost=cost,
                effects=[
                    (self.unit, number + 1),
                    (self.here, number + 1),
                    (self.used, 0),
                    (self.spent, spent),
                    *zip(self.recent, self.rested, strict=True),
                ],
                preconditions=self._done(number),
            )
        )

    def _add_end(self) -> None:
        last = len(self.problem.apparatus) - 1
        cost = self.end_seconds[self.here]
        if self.aim.is_deviation:
            cost = dp.IntExpr(0)
        elif self.problem.goal is Goal.MAKESPAN:
            cost = self.spent + cost
        self.model.add_base_case([self.waiting == 0, *self._done(last)], cost=cost)

    def _add_bound(self) -> None:
        disjoint = disjoint_entries(self.problem, self.stands)
        entry = self.model.add_int_table([*disjoint.entry_s, 0])
        served = self.model.add_set_table(
            [list(athletes) for athletes in disjoint.served], object_type=self.athlete
        )
        still = entry[self.new - served[self.here]]
        (unit, *more) = self.problem.apparatus
        if not more and unit.change_over is None:
            still = dp.max(still, self._of_the_family(unit))
        if self.aim.goal_at_most_s is not None:
            if self.problem.goal is Goal.TOTAL:
                self.model.add_state_constr(self.spent + still <= self.aim.goal_at_most_s)
            self.model.add_dual_bound(0)
        elif self.problem.goal is Goal.TOTAL:
            self.model.add_dual_bound(still)
        else:
            self._add_makespan_bound(still)

    def _of_the_family(self, unit: Unit) -> Any:
        """What it takes at least to come to everybody who has had no turn yet."""
        setups = [stand.setup for stand in self.stands]
        boxes = [tuple(accepted_ranges(unit, entrant)) for entrant in self.problem.athletes]
        family = good_family(unit, setups, boxes, rounds=FAMILY_ROUNDS)
        return seconds_at_least(self.model, family, self.athlete, self.new, self.here)

    def _add_makespan_bound(self, still: Any) -> None:
        """All work that is left, spread evenly over the apparatus that are not done."""
        turn_s = [entrant.turn_s for entrant in self.problem.athletes]
        work = self.spent + still
        for number, need in enumerate(self.needs):
            left = self.more.get(number)
            if left is not None:
                work += left * turn_s[number]
            else:
                work += self.new.contains(number).if_then_else(need * turn_s[number], 0)
        units = len(self.problem.apparatus)
        for number in range(units):
            share = (work + (units - number - 1)) // (units - number)
            self.model.add_dual_bound((self.unit == number).if_then_else(share, 0))
        self.model.add_dual_bound(self.spent)
