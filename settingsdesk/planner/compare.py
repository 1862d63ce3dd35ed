"""The orders a coach would otherwise take: as listed, and the rule of thumb, sorted by height."""

from collections.abc import Sequence

from settingsdesk.planner.orders import TooManyTries, first_order
from settingsdesk.planner.plain import plainly
from settingsdesk.planner.plan import Compared, Plan, Turn
from settingsdesk.planner.problem import Entrant, Problem, Unit, part_of
from settingsdesk.planner.recount import broken_rules, count


def compared(problem: Problem, plans: Sequence[Plan | None]) -> Compared:
    """The goals of ``usual_plans`` and of the plan group by group, as far as there are such."""
    listed, height, groups = (
        None if plan is None else count(problem, plan).goal_s(problem.goal) for plan in plans
    )
    return Compared(as_listed_s=listed, by_height_s=height, group_by_group_s=groups)


def usual_plans(problem: Problem) -> tuple[Plan | None, Plan | None]:
    """The plan as listed and the plan by height, everybody at exactly the wanted setup.

    Both follow the wishes as far as they go: at each turn comes the first of the order who may, in
    rounds where there are several turns each. On several apparatus the list is dealt out in equal
    consecutive parts. Groups go one after the other. None where such an order cannot keep the
    wishes, the rest or the numbers.
    """
    if problem.groups:
        return _one_after_the_other(problem)
    problem = plainly(problem).problem
    return _plan(problem, sorted_by_height=False), _plan(problem, sorted_by_height=True)


def _one_after_the_other(problem: Problem) -> tuple[Plan | None, Plan | None]:
    """Of several groups, those plans of each group, in the order of the groups."""
    (unit,) = problem.apparatus
    plans = [usual_plans(part_of(problem, group)) for group in range(len(problem.groups))]
    listed, height = (
        None
        if any(plan is None for plan in some)
        else {unit.id: tuple(turn for plan in some if plan for turn in plan[unit.id])}
        for some in zip(*plans, strict=True)
    )
    return listed, height


def by_height(unit: Unit, athletes: Sequence[Entrant]) -> list[Entrant]:
    """Sorted upwards by the high rail, then by the spread; equal ones stay as listed.

    The axes of an apparatus are listed low rail, high rail, spread: with three or more axes the
    second and third are sorted by, with fewer all in their order.
    """
    axes = (1, 2) if len(unit.axes) >= 3 else tuple(range(len(unit.axes)))
    return sorted(athletes, key=lambda entrant: [entrant.setups[unit.id][axis] for axis in axes])


def _plan(problem: Problem, *, sorted_by_height: bool) -> Plan | None:
    athletes = problem.athletes
    first = problem.apparatus[0]
    if sorted_by_height and all(first.id in entrant.setups for entrant in athletes):
        athletes = tuple(by_height(first, athletes))
    parts = _dealt_out(problem, athletes)
    if parts is None:
        return None
    plan: dict[str, tuple[Turn, ...]] = {}
    for unit, part in zip(problem.apparatus, parts, strict=True):
        order = _order(problem, by_height(unit, part) if sorted_by_height else part)
        if order is None:
            return None
        wanted = {entrant.id: entrant.setups[unit.id] for entrant in part}
        plan[unit.id] = tuple(Turn(athlete, wanted[athlete]) for athlete in order)
    return None if broken_rules(problem, plan) else plan


def _order(problem: Problem, part: Sequence[Entrant]) -> tuple[str, ...] | None:
    ids = [entrant.id for entrant in part]
    if len(problem.apparatus) > 1:
        rounds = max((problem.turns_of(entrant) for entrant in part), default=0)
        return tuple(
            entrant.id
            for number in range(rounds)
            for entrant in part
            if problem.turns_of(entrant) > number
        )
    try:
        return first_order(problem, ids, problem.wishes)
    except TooManyTries:
        return None


def _dealt_out(problem: Problem, athletes: Sequence[Entrant]) -> list[list[Entrant]] | None:
    """Consecutive parts, as equal as the setups allow; None where somebody has no room."""
    units = problem.apparatus
    share, more = divmod(len(athletes), len(units))
    room = [share + (number < more) for number in range(len(units))]
    parts: list[list[Entrant]] = [[] for _ in units]
    for athlete in athletes:
        free = [
            number
            for number, unit in enumerate(units)
            if unit.id in athlete.setups and len(parts[number]) < room[number]
        ]
        if not free:
            return None
        parts[free[0]].append(athlete)
    return parts
