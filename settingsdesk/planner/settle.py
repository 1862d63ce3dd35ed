"""The best setups along a given order of turns, within what each athlete accepts."""

from collections.abc import Sequence

from settingsdesk.planner.plan import Plan, Turn
from settingsdesk.planner.problem import Problem, Setup, Unit
from settingsdesk.planner.stands import Stand, stands_for

MOST_STANDS = 40
"""Per athlete, those of least deviation, besides those of the plan: few others ever help."""

Cost = tuple[int, int]
Way = tuple[Cost, tuple[Setup, ...]]


def settled(problem: Problem, plan: Plan) -> Plan:
    """The same turns in the same order, at setups of less time, or as much and less deviation.

    The setups of the plan always stay in the choice, so that nothing is ever made worse.
    """
    stands = stands_for(problem)
    found: dict[str, tuple[Turn, ...]] = {}
    for number, unit in enumerate(problem.apparatus):
        there = [stand for stand in stands if stand.unit_number == number]
        found[unit.id] = _along(problem, unit, there, plan[unit.id])
    return found


def _along(
    problem: Problem, unit: Unit, stands: Sequence[Stand], turns: Sequence[Turn]
) -> tuple[Turn, ...]:
    """Turn by turn, the cheapest way to each setup that the turn may have."""
    athletes = {entrant.id: entrant for entrant in problem.athletes}
    used = {turn.setup for turn in turns}
    serving: dict[str, list[tuple[int, Setup]]] = {}
    for athlete in dict.fromkeys(turn.athlete for turn in turns):
        entrant = athletes[athlete]
        near = sorted((at.deviation(entrant), at.setup) for at in stands if at.serves(entrant))
        serving[athlete] = [
            stand for place, stand in enumerate(near) if place < MOST_STANDS or stand[1] in used
        ]
    ways: dict[Setup, Way] = {unit.setup: ((0, 0), ())}
    for turn in turns:
        ways = {
            setup: min(_onwards(unit, ways, setup, deviation))
            for deviation, setup in serving[turn.athlete]
        }
    final = unit.final_setup
    ends = [
        ((cost[0] + (unit.seconds(last, final) if final else 0), cost[1]), setups)
        for last, (cost, setups) in ways.items()
    ]
    setups = min(ends)[1]
    return tuple(Turn(turn.athlete, setup) for turn, setup in zip(turns, setups, strict=True))


def _onwards(unit: Unit, ways: dict[Setup, Way], setup: Setup, deviation: int) -> list[Way]:
    return [
        ((cost[0] + unit.seconds(last, setup), cost[1] + deviation), (*setups, setup))
        for last, (cost, setups) in ways.items()
    ]
