"""``settingsdesk order``: a problem file in, an answer as JSON out, and an exit status."""

import json
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.planner.errors import NotARotationProblem, place_of
from settingsdesk.planner.plan import Solution, WishCost
from settingsdesk.planner.reading import problem_from_json
from settingsdesk.planner.solve import solve
from settingsdesk.planner.wish_costs import wish_costs

Say = Callable[[str], None]

SOLVED, NO_PLAN, NOT_A_PROBLEM = 0, 1, 2


def order_problem(path: Path, *, as_json: bool, say: Say, complain: Say) -> int:
    """Solve the problem in a file and say the answer; whatever is wrong goes to ``complain``.

    Returns the exit status: 0 with an answer, 1 where there is no plan (the wishes that cannot
    hold together are named) and 2 where the file is not a problem (the place is named).
    """
    try:
        problem = problem_from_json(_text(path))
        solution = solve(problem)
        found = wish_costs(problem, solution.plan, problem.time_limit_s)
        costs = list({cost.where: cost for cost in found}.values())
    except NotARotationProblem as refused:
        complain(str(refused))
        return NOT_A_PROBLEM
    except SettingsDeskError as none:
        complain(str(none))
        return NO_PLAN
    if as_json:
        told = solution.to_json() | {"wish_costs": [_cost(solution, cost) for cost in costs]}
        say(json.dumps(told, ensure_ascii=False))
    else:
        say(in_words(solution, costs))
    return SOLVED


def _cost(solution: Solution, cost: WishCost) -> dict[str, Any]:
    return {
        "wish": place_of(cost.where),
        "at_least_s": cost.at_least_s(solution.bound_s),
        "at_most_s": cost.at_most_s(solution.goal_s),
        "without_s": cost.goal_s,
        "without_bound_s": cost.bound_s,
    }


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")  # some editors begin a file with a mark
    except UnicodeDecodeError:
        raise NotARotationProblem((str(path),), "this is not a text file in UTF-8") from None
    except OSError as unreadable:
        raise NotARotationProblem(
            (str(path),), f"this file cannot be read ({unreadable.strerror})"
        ) from None


def in_words(solution: Solution, costs: Sequence[WishCost] = ()) -> str:
    """The answer for a person at a terminal."""
    lines = []
    for unit_id, turns in solution.plan.items():
        lines.append(unit_id)
        lines += [
            f"{number:4}  {turn.athlete}  {' '.join(map(str, turn.setup))}"
            for number, turn in enumerate(turns, start=1)
        ]
    lines.append(
        f"{solution.goal_s} s, {solution.status}, no plan takes less than {solution.bound_s} s;"
        f" {solution.change_overs} change-overs, {solution.deviation_stops} stops of deviation"
    )
    compared = {
        "as listed": solution.compared.as_listed_s,
        "by height": solution.compared.by_height_s,
    }
    lines += [f"{name}: {seconds} s" for name, seconds in compared.items() if seconds is not None]
    for cost in costs:
        least_s, most_s = cost.at_least_s(solution.bound_s), cost.at_most_s(solution.goal_s)
        costing = f"{most_s} s" if least_s == most_s else f"between {least_s} and {most_s} s"
        lines.append(f"{place_of(cost.where)} costs {costing}; without it {cost.goal_s} s")
    return "\n".join(lines)
