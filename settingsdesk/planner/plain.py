"""What is asked of all turns alike, told as the plain numbers that the searches keep to."""

from dataclasses import dataclass, replace

from settingsdesk.planner.errors import inside
from settingsdesk.planner.orders import TooManyTries, first_order
from settingsdesk.planner.problem import Problem, Unit


@dataclass(frozen=True, slots=True)
class Plain:
    """A problem whose plans are those of another one, without its longest rest or equal numbers.

    ``is_certain``: no plan has a longer rest; else only a shorter one was shown to be possible.
    """

    problem: Problem
    is_certain: bool = True


def plainly(problem: Problem) -> Plain:
    """The same asked by a number of turns of rest, and by numbers of turns on each apparatus.

    What can make no difference is left out: one setup where nobody accepts two, or has two turns;
    rounds where everybody has one turn. Where the rest leaves nothing but rounds, they are asked
    only of searches that know more of a plan by that: those for accepted deviations. Of several
    groups each is told by itself, and not here.
    """
    if problem.groups:
        return Plain(problem)
    several = problem.most_turns > 1
    certain = True
    if problem.longest_rest and (several or problem.just_had):
        rest_turns, certain = longest_rest(problem)
        problem = replace(problem, rest_turns=rest_turns)
    if problem.equal_numbers:
        problem = replace(problem, apparatus=_shared_out(problem))
    accepting = any(any(one.accepted(unit)) for one in problem.athletes for unit in one.setups)
    all_rest = problem.rest_turns >= len(problem.athletes) - 1 and _turns_are_equal(problem)
    rounds = problem.in_rounds or (all_rest and len(problem.apparatus) == 1)
    return Plain(
        replace(
            problem,
            longest_rest=False,
            one_setup=problem.one_setup and several and accepting,
            in_rounds=rounds and several and (accepting or not all_rest),
        ),
        certain,
    )


def longest_rest(problem: Problem) -> tuple[int, bool]:
    """The longest rest that some order on the one apparatus keeps, and whether that is certain.

    An order that keeps a rest keeps every shorter one. Where somebody has several turns, no rest is
    longer than all others are many: as many turns in a row as there are athletes, after a turn of
    one of them, would be of the others, so of one of them twice. Else only the rest since the turns
    before the plan counts, and none is longer than these and all others are many together.
    """
    possible, certain = problem.rest_turns, True
    most = len(problem.athletes) - 1
    if problem.most_turns == 1:
        most += len(problem.just_had)
    impossible = max(most, possible) + 1
    while impossible - possible > 1:
        tried = (possible + impossible) // 2
        keeps = _some_order_rests(problem, tried)
        certain = certain and keeps is not None
        if keeps:
            possible = tried
        else:
            impossible = tried
    return possible, certain


def _some_order_rests(problem: Problem, rest_turns: int) -> bool | None:
    """None where it was neither found nor shown to be impossible."""
    resting = replace(problem, rest_turns=rest_turns)
    try:
        order = first_order(resting, [one.id for one in problem.athletes], problem.wishes)
    except TooManyTries:
        return None
    return order is not None


def _turns_are_equal(problem: Problem) -> bool:
    return len(set(map(problem.turns_of, problem.athletes))) == 1


def _shared_out(problem: Problem) -> tuple[Unit, ...]:
    """Each apparatus with as many turns as its equal share, or one athlete's more."""
    share, more = divmod(len(problem.athletes), len(problem.apparatus))
    least, most = share * problem.turns, (share + bool(more)) * problem.turns
    units = []
    for number, unit in enumerate(problem.apparatus):
        with inside("apparatus", number):
            turns_min = max(least, unit.turns_min or 0)
            turns_max = most if unit.turns_max is None else min(most, unit.turns_max)
            units.append(replace(unit, turns_min=turns_min, turns_max=turns_max))
    return tuple(units)
