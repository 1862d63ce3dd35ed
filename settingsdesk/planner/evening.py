"""Several groups on one apparatus, one after the other: each begins where the one before ends.

Let V(g, s, b) be the least time in which group g has all its turns from a setup s on, the apparatus
standing at b afterwards. That is a problem of one group, for which there is a quick exact way.

1. *Waypoints.* Take any plan, and of each group but the last the setup b of its last turn. The plan
   takes at least the sum of V(g, s, b) along these setups. The other way round, plans that take
   those V one after the other make a plan of the whole that takes no more than their sum, where a
   detour by b saves no time. So the best plan is a shortest way through setups, with V as lengths.
   The setup of a last turn is one that serves somebody of the group, of those worth considering
   for all groups together.
2. *Few lengths are needed.* A plan from s' to b' is one from s to b too, by way of s' and b'. So
   V(g, s', b') >= V(g, s, b) - c(s, s') - c(b', b), where c is the change-over time: every length
   that is worked out says something of all others. As long as the shortest way by what is known has
   a length on it that was not worked out, that one is; when it has none, nothing is shorter.
3. *The order of the groups*, where it is free, belongs to the way: it leads through sets of groups
   that are done.

Lengths are time first and deviation second, so that of ways that take as long the closest one is
found. Where a length is known between two bounds only, or there is no time for more, the shortest
way by the lower ones is a bound, and the best plan known is given with that gap. Where a detour may
save time, nothing is said of lengths that were not worked out.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import groupby, pairwise, zip_longest

from settingsdesk.planner.matrix import detours_cost_nothing_less
from settingsdesk.planner.plain import plainly
from settingsdesk.planner.plan import Plan, Turn
from settingsdesk.planner.problem import Problem, Setup, part_of
from settingsdesk.planner.recount import count
from settingsdesk.planner.search import Budget
from settingsdesk.planner.stands import stands_for
from settingsdesk.planner.ways import turn_by_turn
from settingsdesk.planner.ways.answer import Answer

Solve = Callable[[Problem, Budget, Plan | None], Answer]
Turns = tuple[Turn, ...]
End = Setup | None
"""Where the apparatus stands after a group; None where that does not matter."""
Step = tuple[int, Setup, End]
"""A group, and where it begins and ends."""
Way = tuple[int, tuple[Step, ...]]

SECOND = 1 << 20
"""So much a second weighs beside a stop of deviation, of which there are never so many."""
FAR = 1 << 60
TO_BEGIN_S = 0.004
"""So much work is counted for each length besides its search: to begin one takes time too."""
SHARE_OF_BOUNDS = 0.05
MOST_AT_ONCE = 1 / 12
"""Of the work, as a part: so much one length may take at first."""
MORE = 3
"""Times as much it may take when it was not enough."""


def all_together(problem: Problem, budget: Budget, known: Plan | None, solve: Solve) -> Answer:
    """The best order within all groups, and of the groups where that is free.

    ``known`` is a plan to be beaten. The goal is the change-over time.
    """
    return _Evening(problem, budget, solve).best(known)


def group_by_group(problem: Problem, budget: Budget, solve: Solve) -> Plan | None:
    """Each group as listed and as is best for it alone, from where the one before ends.

    None where some group has no plan, or none was found.
    """
    evening = _Evening(problem, budget, solve)
    here, turns = evening.unit.setup, list[Turn]()
    for group in evening.groups:
        is_last = group == evening.groups[-1]
        plan = evening.found((group, here, evening.unit.final_setup if is_last else None)).plan
        if plan is None:
            return None
        turns += plan[evening.unit.id]
        here = turns[-1].setup
    return {evening.unit.id: tuple(turns)}


def parts_in(problem: Problem, plan: Plan) -> Iterator[tuple[Problem, Plan]]:
    """Each group of a plan by itself, from where it begins to where the next one does.

    Nothing where there are no groups.
    """
    if not problem.groups:
        return
    (unit,) = problem.apparatus
    blocks = [
        (group, tuple(turns))
        for group, turns in groupby(plan[unit.id], lambda turn: problem.group_of(turn.athlete))
    ]
    here = unit.setup
    for (group, turns), following in zip_longest(blocks, blocks[1:]):
        end = following[1][0].setup if following else unit.final_setup
        there = replace(unit, setup=here, final_setup=end, turns_min=None, turns_max=None)
        part = plainly(replace(part_of(problem, group), apparatus=(there,))).problem
        yield part, {unit.id: turns}
        here = turns[-1].setup


class _Evening:
    """The lengths that were worked out, what they say of others, and the ways through them.

    ``least`` holds by group, begin and end what no plan weighs less than; ``plans`` by group, and
    by the setups of its first and last turn, the plan that weighs least.
    """

    def __init__(self, problem: Problem, budget: Budget, solve: Solve):
        self.problem, self.budget, self.solve = problem, budget, solve
        (self.unit,) = problem.apparatus
        self.groups = range(len(problem.groups))
        plain = [plainly(part_of(problem, group)) for group in self.groups]
        self.parts = [one.problem for one in plain]
        self.is_certain = all(one.is_certain for one in plain)
        self.ends = [self._ends_of(part) for part in self.parts]
        setups = list(dict.fromkeys([self.unit.setup, *(b for ends in self.ends for b in ends)]))
        self.by_short_cuts = detours_cost_nothing_less(self.unit, setups)
        self.begins = [[s for s in setups if self._may_begin(group, s)] for group in self.groups]
        self.seconds = {(a, b): self.unit.seconds(a, b) for a in setups for b in setups}
        self.least: list[dict[tuple[Setup, End], int]] = [
            {(s, b): 0 for s in self.begins[group] for b in self._ends(group)}
            for group in self.groups
        ]
        if turn_by_turn.accepts_deviations(problem):  # few lengths are worked out then
            self._begin_with_bounds(budget.share(SHARE_OF_BOUNDS))
        self.worked_out: set[Step] = set()
        self.plans: list[dict[tuple[Setup, Setup], Turns]] = [{} for _ in self.groups]
        self.left_s = (1 - SHARE_OF_BOUNDS) * budget.work_s
        self.each = budget.share(MOST_AT_ONCE)
        self.unsettled: dict[Step, float] = {}

    def _ends_of(self, part: Problem) -> list[Setup]:
        """Where a group may end: at a setup that serves somebody of it."""
        last = [one for one in part.athletes if part.wishes.last in (None, one.id)]
        stands = stands_for(self.problem)
        return list(dict.fromkeys(stand.setup for stand in stands if any(map(stand.serves, last))))

    def _may_begin(self, group: int, setup: Setup) -> bool:
        before = range(group - 1, group) if self.problem.groups_in_order else self.groups
        is_first = group == 0 or not self.problem.groups_in_order
        return (is_first and setup == self.unit.setup) or any(
            setup in self.ends[other] for other in before if other not in (group, -1)
        )

    def _ends(self, group: int) -> Iterator[End]:
        """All ends that are asked of a group: those of its own, and that of the evening."""
        in_order = self.problem.groups_in_order
        if not in_order or group != self.groups[-1]:
            yield from self.ends[group]
        if not in_order or group == self.groups[-1]:
            yield self.unit.final_setup

    def _begin_with_bounds(self, budget: Budget) -> None:
        """What each group takes at least from anywhere."""
        for group, part in enumerate(self.parts):
            seconds = turn_by_turn.least_from_anywhere_s(part, budget.share(1 / len(self.parts)))
            self.least[group] = dict.fromkeys(self.least[group], seconds * SECOND)

    def best(self, known: Plan | None) -> Answer:
        """The shortest way, worked out as far as the budget allows."""
        if known is not None:
            self._learn(known)
        while True:
            least, way = self._shortest()
            if least >= FAR:  # some group has no plan at all
                return Answer(None, 0, proven=self.is_certain)
            best, plan = self._best_plan()
            missing = [step for step in way if step not in self.worked_out]
            missing += [step for step in way if step in self.unsettled]
            if least == best or not missing or self.left_s <= 0 or self.budget.is_over:
                break
            self.work_out(missing[0])
        if plan is None:
            return Answer(None, least // SECOND, proven=False)
        proven = least == best and self.is_certain
        return Answer(plan, min(least, best) // SECOND, proven)

    def work_out(self, step: Step) -> None:
        """Find one length, and note what it says of others."""
        self.worked_out.add(step)
        answer = self.found(step)
        if answer.plan is None:
            self._note(step, FAR if answer.proven else 0, FAR if answer.proven else 0)
            return
        self._keep(step[0], answer.plan[self.unit.id])
        deviation = count(self._from_to(step), answer.plan).deviation_stops
        weight = answer.bound_s * SECOND + (deviation if answer.proven else 0)
        self._note(step, weight, answer.bound_s)

    def found(self, step: Step) -> Answer:
        """The best plan of a group from there to there, as far as its share of the work allows.

        Where that was not enough before, there is more of it each time.
        """
        problem = self._from_to(step)
        work_s = min(self.left_s, self.unsettled.pop(step, self.each.work_s))
        budget = Budget(work_s, self.budget.ends_at)
        answer = self.solve(problem, budget, self._known(problem, step[0]))
        self.left_s -= TO_BEGIN_S + (work_s if answer.spent_s is None else answer.spent_s)
        if not answer.proven:
            self.unsettled[step] = MORE * work_s
        return answer

    def _from_to(self, step: Step) -> Problem:
        group, begin, end = step
        unit = replace(self.unit, setup=begin, final_setup=end, turns_min=None, turns_max=None)
        return replace(self.parts[group], apparatus=(unit,))

    def _known(self, problem: Problem, group: int) -> Plan | None:
        """Of the plans of a group that are known the one that weighs least from there to there."""
        plans = [{self.unit.id: turns} for turns in self.plans[group].values()]
        return min(plans, key=lambda plan: count(problem, plan).change_over_s, default=None)

    def _learn(self, known: Plan) -> None:
        """Keep the parts of a plan of all groups."""
        turns = known[self.unit.id]
        for group, ids in enumerate(self.problem.groups):
            self._keep(group, tuple(turn for turn in turns if turn.athlete in ids))

    def _keep(self, group: int, turns: Turns) -> None:
        plans, ends = self.plans[group], (turns[0].setup, turns[-1].setup)
        before = plans.get(ends)
        if before is None or self._inner(group, turns) < self._inner(group, before):
            plans[ends] = turns

    def _inner(self, group: int, turns: Turns) -> int:
        """What the turns of a group weigh, between the first and the last of them."""
        seconds = sum(self.unit.seconds(a.setup, b.setup) for a, b in pairwise(turns))
        problem = self._from_to((group, turns[0].setup, None))
        return seconds * SECOND + count(problem, {self.unit.id: turns}).deviation_stops

    def _note(self, step: Step, weight: int, seconds: int) -> None:
        """Note a length, and by the second step what it says of all others of its group."""
        group, begin, end = step
        least = self.least[group]
        if self.by_short_cuts and seconds:
            for (s, b), known in least.items():
                if end is not None and b is None:
                    continue  # nothing is said of a way that may end anywhere
                apart_s = self._seconds(begin, s) + (0 if end is None else self._seconds(b, end))
                least[s, b] = max(known, (seconds - apart_s) * SECOND)
        least[begin, end] = max(least[begin, end], weight)

    def _seconds(self, a: End, b: End) -> int:
        known = self.seconds.get((a, b))  # type: ignore[arg-type]  # None is never among them
        if known is None:
            assert a is not None and b is not None  # noqa: S101, PT018 -- see _note
            known = self.seconds[a, b] = self.unit.seconds(a, b)
        return known

    def _shortest(self) -> Way:
        """The shortest way by what is known of all lengths."""
        ways: dict[tuple[frozenset[int], Setup], Way] = {(frozenset(), self.unit.setup): (0, ())}
        for _ in self.groups[:-1]:
            grown: dict[tuple[frozenset[int], Setup], Way] = {}
            for (done, here), (length, way) in ways.items():
                for group in self._next(done):
                    least, after = self.least[group], done | {group}
                    for end in self.ends[group]:
                        longer = length + least[here, end]
                        if longer < grown.get((after, end), (FAR + 1, ()))[0]:
                            grown[after, end] = (longer, (*way, (group, here, end)))
            ways = grown
        final = self.unit.final_setup
        return min(
            (length + self.least[group][here, final], (*way, (group, here, final)))
            for (done, here), (length, way) in ways.items()
            for group in self._next(done)
        )

    def _next(self, done: frozenset[int]) -> Sequence[int]:
        if self.problem.groups_in_order:
            return (len(done),)
        return [group for group in self.groups if group not in done]

    def _best_plan(self) -> tuple[int, Plan | None]:
        """Of all plans that are known, one for each group, those that fit together best."""
        inner = [
            {ends: self._inner(group, turns) for ends, turns in self.plans[group].items()}
            for group in self.groups
        ]
        ways: Mapping[tuple[frozenset[int], Setup], tuple[int, tuple[Turns, ...]]]
        ways = {(frozenset(), self.unit.setup): (0, ())}
        for _ in self.groups:
            grown: dict[tuple[frozenset[int], Setup], tuple[int, tuple[Turns, ...]]] = {}
            for (done, here), (weight, parts) in ways.items():
                for group in self._next(done):
                    for (first, last), turns in self.plans[group].items():
                        more = inner[group][first, last] + SECOND * self._seconds(here, first)
                        place = (done | {group}, last)
                        if weight + more < grown.get(place, (FAR, ()))[0]:
                            grown[place] = (weight + more, (*parts, turns))
            ways = grown
        final = self.unit.final_setup
        found = [
            (weight + (0 if final is None else SECOND * self._seconds(here, final)), parts)
            for (_, here), (weight, parts) in ways.items()
        ]
        weight, parts = min(found, key=lambda one: one[0], default=(FAR, ()))
        if weight >= FAR:
            return FAR, None
        return weight, {self.unit.id: tuple(turn for part in parts for turn in part)}
