"""Good plans where several turns come with accepted deviations: gather athletes at few setups.

Give everybody one setup of those that they accept, and the rotation is one of several turns at
exactly those setups, whose cheapest order is found quickly; along that order the setups are then
settled turn by turn. So look for the setups: begin with some, and move athletes from one setup to
another as long as the plan gets better. The plans tried are counted, so that the clock does not
matter.
"""

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from settingsdesk.planner.plan import Plan
from settingsdesk.planner.problem import Problem, Setup
from settingsdesk.planner.recount import count
from settingsdesk.planner.search import Budget
from settingsdesk.planner.settle import settled
from settingsdesk.planner.stands import stands_for

WORK_PER_PLAN_S = 0.03

At = Mapping[str, Setup]
Order = Callable[[Problem, Budget], Plan | None]


def gathered(problem: Problem, budget: Budget, order: Order, begins: Sequence[At]) -> Plan | None:
    """The best plan found from given setups, one per athlete, on the one apparatus.

    ``order`` finds a good order of a rotation without deviations.
    """
    search = _Gathering(problem, budget, order, round(budget.work_s / WORK_PER_PLAN_S))
    found = [planned for at in begins if (planned := search.planned(at)) is not None]
    found = [
        search.improved(planned) for planned in sorted(found, key=lambda planned: planned.cost)
    ]
    return min(found, key=lambda planned: planned.cost).plan if found else None


@dataclass(frozen=True, slots=True)
class _Planned:
    cost: tuple[int, int]
    plan: Plan
    at: At


@dataclass
class _Gathering:
    problem: Problem
    budget: Budget
    order: Order
    tries_left: int

    def improved(self, best: _Planned) -> _Planned:
        """Move athletes as long as that helps; every gain begins the moves anew."""
        moves = _moves(self.problem, best.at)
        while self.tries_left > 0 and self.budget.left_s > WORK_PER_PLAN_S:
            goers = next(moves, None)
            if goers is None:
                break
            now = self.planned({**best.at, **goers})
            if now is not None and now.cost < best.cost:
                best, moves = now, _moves(self.problem, now.at)
        return best

    def planned(self, at: At) -> _Planned | None:
        """The plan with the athletes at these setups, settled along its order."""
        self.tries_left -= 1
        work = Budget(min(self.budget.work_s, WORK_PER_PLAN_S), self.budget.ends_at)
        found = self.order(at_exactly(self.problem, at), work)
        if found is None:
            return None
        plan = settled(self.problem, found)
        counted = count(self.problem, plan)
        return _Planned((counted.change_over_s, counted.deviation_stops), plan, at)


def at_exactly(problem: Problem, at: At) -> Problem:
    """The same rotation where everybody accepts only the setup given, on the one apparatus."""
    (unit,) = problem.apparatus
    athletes = tuple(
        replace(entrant, setups={unit.id: at[entrant.id]}, accepts={})
        for entrant in problem.athletes
    )
    return replace(problem, athletes=athletes)


def _moves(problem: Problem, at: At) -> Iterator[At]:
    """Who could go to another setup: first so many that there are enough for the rest there,

    then everybody, then some or one of them to a setup that is used already; near ones first.
    """
    (unit,) = problem.apparatus
    here: dict[Setup, list[str]] = defaultdict(list)
    for entrant in problem.athletes:
        here[at[entrant.id]].append(entrant.id)
    athletes = {entrant.id: entrant for entrant in problem.athletes}
    found: list[tuple[int, int, Setup, tuple[str, ...]]] = []
    for stand in stands_for(problem, for_time_alone=True):
        there = len(here.get(stand.setup, []))
        for setup, some in here.items():
            goers = tuple(goer for goer in some if stand.serves(athletes[goer]))
            if not goers or setup == stand.setup:
                continue
            far_s = unit.seconds(setup, stand.setup)
            lacking = problem.rest_turns + 1 - there
            if there and 0 < lacking <= len(goers):
                found += [
                    (0, far_s, stand.setup, going) for going in (goers[:lacking], goers[-lacking:])
                ]
            if len(goers) == len(some):
                found.append((1, far_s, stand.setup, goers))
            elif there:
                found += [
                    (2, far_s, stand.setup, going) for going in (goers, *((k,) for k in goers))
                ]
    for _, _, setup, goers in sorted(dict.fromkeys(found)):
        yield dict.fromkeys(goers, setup)
