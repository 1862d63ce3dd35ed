"""Good plans by many small changes, where several turns come with accepted deviations.

Somebody's turns may lie at several setups: two turns with one crowd, the third one where it helps
others to their rest. So begin with some plan and change it turn by turn: somebody goes at another
place, for somebody else, or at another setup; all turns of a setup in a row go elsewhere, or are
turned round. Every change keeps to the rules. One that costs nothing is always taken, and one that
costs time the less likely, the more it costs and the later it is: so the plan leaves what only
looks good from nearby. The best plan met is kept. Each time, this is begun anew from the plan
given; what is thrown for comes from a number, so that the answer is the same every time.
"""

import contextlib
import math
import random
from collections.abc import Sequence
from itertools import pairwise

from settingsdesk.planner.matrix import costs_between
from settingsdesk.planner.plan import Plan, Turn
from settingsdesk.planner.problem import Problem, Setup
from settingsdesk.planner.search import Budget, OutOfSteps, Steps
from settingsdesk.planner.stands import Stand, stands_for

BEGINNINGS = 3
LEAST_CHANGES_PER_TURN = 300
"""Tried from one beginning; where there is work for less, there are fewer beginnings."""
MOST_CHANGES_PER_PAIR = 400
"""Of two turns; all beginnings together. Beyond, hardly anything is found."""
TURNS_PER_SECOND = 1.6e7
TURNS_LIKE_A_CHANGE = 30
"""What it takes to try one change, beside the turns that it goes through."""
CHANGES_BETWEEN_COUNTS = 256
MOST_SETUPS = 256
"""Their change-overs are kept from each to each."""
TRIES_TO_AIM = 5
"""So many throws for a place where somebody may go."""

AT_FIRST, AT_LAST = 0.4, 0.01
"""What a change may cost now and then, as parts of a usual change-over."""
EXCHANGES, SETUPS, MOVES, TURNINGS = 0.3, 0.45, 0.8, 0.9
"""Up to where of what is thrown a change is of which kind."""
SINGLE_TURNS = 0.6
LONGEST_REACH = 0.33
"""Of the turns, as a part: so far reach the rows that go elsewhere together."""

Change = tuple[int, int, list[int], list[int]]
"""What it costs, where it begins, and who then goes at which setups.

As many turns as it stands in for.
"""


def annealed(problem: Problem, budget: Budget, begin: Plan, least_s: int = 0) -> Plan:
    """The plan of least change-over time that was met from ``begin``, on the one apparatus.

    No plan takes less than ``least_s``: one that takes no more is given at once.
    """
    steps = Steps(budget, TURNS_PER_SECOND)
    search = _Annealing(problem, begin)
    changes = min(
        int(budget.work_s * TURNS_PER_SECOND / search.per_change),
        MOST_CHANGES_PER_PAIR * problem.turn_count**2,
    )
    beginnings = changes // (LEAST_CHANGES_PER_TURN * problem.turn_count)
    beginnings = max(1, min(BEGINNINGS, beginnings))
    with contextlib.suppress(OutOfSteps):
        for number in range(beginnings):
            search.run(number, changes // beginnings, steps, least_s)
    return search.plan()


def _shared_most(problem: Problem) -> list[Setup]:
    """Setups worth considering, those first that most athletes accept; so many as are looked at."""

    def served(stand: Stand) -> int:
        return sum(map(stand.serves, problem.athletes))

    stands = sorted(stands_for(problem, for_time_alone=True), key=served, reverse=True)
    return [stand.setup for stand in stands[:MOST_SETUPS]]


class _Annealing:
    """Turns by number: ``who`` goes, and ``at`` which setup, from turn ``first`` on.

    Before it come those who just had a turn, or numbers of nobody, at setup 0, which stands at
    first; setup 0 after the last turn is the one that must stand at the end.
    """

    def __init__(self, problem: Problem, begin: Plan):
        (unit,) = problem.apparatus
        turns = begin[unit.id]
        athletes = {entrant.id: n for n, entrant in enumerate(problem.athletes)}
        self.setups = list(dict.fromkeys([*(turn.setup for turn in turns), *_shared_most(problem)]))
        node = {setup: n for n, setup in enumerate(self.setups, start=1)}
        stands = [Stand(0, unit, setup) for setup in self.setups]
        self.problem, self.unit, self.rest = problem, unit, problem.rest_turns
        self.costs = costs_between(unit, self.setups)
        self.accepted = [
            [n for n, stand in enumerate(stands, start=1) if stand.serves(entrant)]
            for entrant in problem.athletes
        ]
        self.accepts = [frozenset(some) for some in self.accepted]
        self.wished = {athlete: athletes[athlete] for athlete in problem.wishes.named()}
        # by athlete, the round of the turns to come; none where turns need not go in rounds
        most = problem.most_turns
        self.rounds = [most - problem.turns_of(one) for one in problem.athletes]
        self.rounds = self.rounds if problem.in_rounds else []
        self.first = max(1, self.rest)
        had = [*[""] * self.first, *problem.just_had][-self.first :]
        before = [athletes.get(athlete, -1 - n) for n, athlete in enumerate(had)]
        self.who = [*before, *(athletes[turn.athlete] for turn in turns)]
        self.at = [*[0] * self.first, *(node[turn.setup] for turn in turns), 0]
        self.begin = self.best = (self.who[:], self.at[:])
        self.best_s = self._seconds(self.at)
        self.per_change = len(self.at) + TURNS_LIKE_A_CHANGE

    def run(self, number: int, changes: int, steps: Steps, least_s: int) -> None:
        """Try so many changes of the first plan; raises OutOfSteps where the steps end sooner."""
        self.throw = random.Random(number)  # noqa: S311  # nothing secret
        self.who, self.at = (some[:] for some in self.begin)
        self.now_s, usual_s = self._seconds(self.at), self._usual_s()
        for tried in range(changes):
            if tried % CHANGES_BETWEEN_COUNTS == 0:
                steps.spend(CHANGES_BETWEEN_COUNTS * self.per_change)
                if self.best_s <= least_s:
                    return
                part = AT_FIRST * (AT_LAST / AT_FIRST) ** (tried / changes)
            change = self._thrown()
            if change is not None:
                self._try(change, part * usual_s)

    def plan(self) -> Plan:
        """The best one met."""
        who, at = (some[self.first :] for some in self.best)
        turns = (
            Turn(self.problem.athletes[athlete].id, self.setups[node - 1])
            for athlete, node in zip(who, at, strict=False)
        )
        return {self.unit.id: tuple(turns)}

    def _usual_s(self) -> float:
        """The mean change-over between setups in use at first."""
        used = sorted({*self.at} - {0})
        seconds = [self.costs[a][b] for a in used for b in used if a != b]
        return sum(seconds) / max(1, len(seconds))

    def _seconds(self, at: Sequence[int]) -> int:
        costs = self.costs
        return sum([costs[a][b] for a, b in pairwise(at)])

    def _try(self, change: Change, worth_s: float) -> None:
        """Make the change if it keeps to the rules and costs no more than is thrown for."""
        more_s, begin, who, at = change
        if more_s > 0 and more_s > -worth_s * math.log(1 - self.throw.random()):
            return
        end = begin + len(who)
        around = [*self.who[begin - self.rest : begin], *who, *self.who[end : end + self.rest]]
        if not self._rested(around) or not self._wished(begin, who):
            return
        self.who[begin:end], self.at[begin:end] = who, at
        self.now_s += more_s
        if self.now_s < self.best_s:
            self.best_s, self.best = self.now_s, (self.who[:], self.at[:])

    def _rested(self, who: Sequence[int]) -> bool:
        """Whether everybody has the rest within these turns in a row."""
        rest = self.rest
        for n, athlete in enumerate(who, start=1):  # noqa: SIM110  # what goes on most of the time
            if athlete in who[n : n + rest]:
                return False
        return True

    def _wished(self, begin: int, who: Sequence[int]) -> bool:
        """Whether the wishes hold if these go from there on, and the rounds."""
        if not self.wished and not self.rounds:
            return True
        wishes, order = self.problem.wishes, self.who[:]
        order[begin : begin + len(who)] = who
        order = order[self.first :]
        if not self._goes_in_rounds(order):
            return False
        turn = {athlete: order.index(number) for athlete, number in self.wished.items()}
        return (
            (wishes.first is None or turn[wishes.first] == 0)
            and (wishes.last is None or order[-1] == self.wished[wishes.last])
            and all(turn[a] < turn[b] for a, b in wishes.before)
            and all(turn[athlete] == place - 1 for athlete, place in wishes.place.items())
            and all(
                max(turn[athlete] for athlete in some) - min(turn[athlete] for athlete in some)
                == len(some) - 1
                for some in wishes.together
            )
        )

    def _goes_in_rounds(self, order: Sequence[int]) -> bool:
        """Whether nobody in this order has the next turn before all others had one."""
        if not self.rounds:
            return True
        rounds, now = self.rounds[:], 0
        for athlete in order:
            if rounds[athlete] < now:
                return False
            now = rounds[athlete]
            rounds[athlete] += 1
        return True

    def _thrown(self) -> Change | None:
        """A change of some kind, or None where the throw led to none."""
        kind = self.throw.random()
        if kind < EXCHANGES:
            self._exchange()
            return None
        if kind < SETUPS:
            return self._at_another_setup()
        if kind < MOVES:
            return self._moved()
        return self._row_turned_round() if kind < TURNINGS else self._row_moved()

    def _turn(self, beyond: int = 0) -> int:
        """Any turn; with ``beyond``, one of so many more or fewer."""
        return self.first + int(self.throw.random() * (len(self.at) - 1 - self.first + beyond))

    def _exchange(self) -> None:
        """Two athletes take each other's turn; that costs nothing, and is done at once."""
        who, at, accepts, near = self.who, self.at, self.accepts, self.rest
        first, turns, throw = self.first, len(at) - 1 - self.first, self.throw.random
        here = first + int(throw() * turns)
        a = who[here]
        for _ in range(TRIES_TO_AIM):
            there = first + int(throw() * turns)
            b = who[there]
            if at[there] in accepts[a] and a != b and at[here] in accepts[b]:
                break
        else:
            return
        who[here], who[there] = b, a
        rested = all(self._rested(who[turn - near : turn + near + 1]) for turn in (here, there))
        if not rested or not self._wished(here, [b]):
            who[here], who[there] = a, b

    def _row(self, turn: int) -> tuple[int, int]:
        """From where to before where the turns around this one are at its setup."""
        at, begin, end = self.at, turn, turn + 1
        while begin > self.first and at[begin - 1] == at[turn]:
            begin -= 1
        while at[end] == at[turn]:
            end += 1
        return begin, end

    def _at_another_setup(self) -> Change | None:
        """A row of turns, or a part of it, goes at the setup before or after it, or at any."""
        turn = self._turn()
        begin, end = self._row(turn)
        begin, end = self.throw.choice([(begin, end), (begin, turn + 1), (turn, end)])
        who = self.who[begin:end]
        node = self.throw.choice(
            [self.at[begin - 1], self.at[end], self.throw.choice(self.accepted[who[0]])]
        )
        if node == self.at[turn] or not self._all_accept(node, who):
            return None
        more_s = self._instead_s(begin, end, [node])
        return more_s, begin, who, [node] * len(who)

    def _all_accept(self, node: int, who: Sequence[int]) -> bool:
        accepts = self.accepts
        for athlete in who:  # noqa: SIM110  # as in _rested
            if node not in accepts[athlete]:
                return False
        return True

    def _moved(self) -> Change | None:
        """One turn, or some in a row, go elsewhere, at the setup that stands there."""
        throw, now, first = self.throw.random, self.at, self.first
        turns = len(now) - 1 - first
        most = 1 if throw() < SINGLE_TURNS else min(turns, self.rest + 2)
        count = 1 + int(throw() * most)
        begin = self._turn(beyond=1 - count)
        end = begin + count
        who = self.who[begin:end]
        accepts = self.accepts[who[0]]
        for _ in range(TRIES_TO_AIM):
            to = first + int(throw() * (turns + 1))
            node = now[to - (throw() < 0.5)]
            if node in accepts and not begin <= to <= end:
                break
        else:
            to, node = self._turn(beyond=1), self.throw.choice(self.accepted[who[0]])
        if begin <= to <= end or not self._all_accept(node, who):
            return None
        return self._shifted(begin, to, who, [node] * count)

    def _shifted(self, begin: int, to: int, who: list[int], at: list[int]) -> Change:
        """The turns from ``begin`` on, as they are given, before turn ``to``."""
        end, costs = begin + len(who), self.costs
        before, after = self.at[to - 1], self.at[to]
        more_s = self._instead_s(begin, end, []) - costs[before][after]
        more_s += costs[before][at[0]] + self._seconds(at) + costs[at[-1]][after]
        if to < begin:
            return more_s, to, who + self.who[to:begin], at + self.at[to:begin]
        return more_s, begin, self.who[end:to] + who, self.at[end:to] + at

    def _instead_s(self, begin: int, end: int, at: Sequence[int]) -> int:
        """What it costs to go at these setups there, more than it costs now."""
        was = self.at[begin - 1 : end + 1]
        return self._seconds([was[0], *at, was[-1]]) - self._seconds(was)

    def _rows(self) -> tuple[int, int]:
        """Some rows one after the other, from where to before where."""
        turn = self._turn()
        begin, end = self._row(turn)
        reach = (len(self.at) - self.first) * LONGEST_REACH
        last = min(len(self.at) - 2, turn + int(self.throw.random() * reach))
        return begin, max(end, self._row(last)[1])

    def _row_turned_round(self) -> Change:
        begin, end = self._rows()
        who, at = self.who[begin:end][::-1], self.at[begin:end][::-1]
        return self._instead_s(begin, end, at), begin, who, at

    def _row_moved(self) -> Change | None:
        """Some rows go elsewhere between two rows, perhaps turned round."""
        begin, end = self._rows()
        to = self._turn(beyond=1)
        if to < len(self.at) - 1:
            to, _ = self._row(to)
        if begin <= to <= end:
            return None
        onwards = self.throw.choice((1, -1))
        return self._shifted(
            begin, to, self.who[begin:end][::onwards], self.at[begin:end][::onwards]
        )
