"""The planner's targets, measured on seeded squads that the planner was not tuned on.

    python scripts/bench/planner_targets.py            every target
    python scripts/bench/planner_targets.py saved      only the share of time saved

Times are CPU seconds of this process, so that other work on the machine does not count. "Proven"
counts problems whose whole answer was proven within the limit; for deviations the least time alone
is a target too, which is reached where the bound equals the goal.
"""

import resource
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from itertools import chain

from planner_squads import rotation, with_deviations, with_goal, with_turns, with_wishes

from settingsdesk.planner.compare import usual_plans
from settingsdesk.planner.plan import Solution, Status, Turn
from settingsdesk.planner.problem import Goal, Problem
from settingsdesk.planner.recount import count
from settingsdesk.planner.solve import solve

Make = Callable[[str], Problem]


@dataclass(frozen=True)
class Target:
    """What is asked, of how many squads, within what limit, and what must come of it."""

    name: str
    make: Make
    squads: int
    limit_s: float
    wanted: str


def squad(seed: str, athletes: int, **asked: object) -> Problem:
    return rotation(f"target {seed}", athletes, **asked)  # type: ignore[arg-type]


def heavy(seed: str, *, distinct: bool = False) -> Problem:
    return with_wishes(squad(seed, 24, distinct=distinct), seed)


def units(seed: str, number: int, goal: Goal) -> Problem:
    return with_goal(squad(seed, 24, units=number), goal)


TARGETS = [
    Target("24, one turn", lambda s: squad(s, 24), 30, 2, "100 % in 0.1 s"),
    Target("24 all different", lambda s: squad(s, 24, distinct=True), 30, 2, "100 % in 0.1 s"),
    Target("60, one turn", lambda s: squad(s, 60), 20, 2, "100 % in 0.25 s"),
    Target("60 all different", lambda s: squad(s, 60, distinct=True), 20, 2, "90 % in 2 s"),
    Target("24, heavy wishes", heavy, 30, 2, "85 % in 2 s"),
    Target("24 x 3, rest 2", lambda s: with_turns(squad(s, 24), 3, 2), 30, 5, "70 %, median 0.5 s"),
    Target("24 x 3, rest 2, short", lambda s: with_turns(squad(s, 24), 3, 2), 10, 2, "gap 5 %"),
    Target("60 x 2, rest 3", lambda s: with_turns(squad(s, 60), 2, 3), 10, 5, "gap 5 % in 5 s"),
    Target("2 apparatus, makespan", lambda s: units(s, 2, Goal.MAKESPAN), 20, 3, "90 % in 3 s"),
    Target("2 apparatus, total", lambda s: units(s, 2, Goal.TOTAL), 20, 3, "median 0.2 s"),
    Target("3 apparatus, makespan", lambda s: units(s, 3, Goal.MAKESPAN), 10, 5, "(stretch) 90 %"),
    Target("24, deviations", lambda s: with_deviations(squad(s, 24), s), 20, 1, "least time 100 %"),
    Target("12, deviations", lambda s: with_deviations(squad(s, 12), s), 20, 0.5, "100 % in 0.5 s"),
]


def measure(target: Target) -> None:
    """Solve the target's squads and print one line."""
    spent, answers = [], []
    for seed in range(target.squads):
        problem = target.make(str(seed))
        begun = time.process_time()
        answers.append(solve(problem, time_limit_s=target.limit_s))
        spent.append(time.process_time() - begun)
    proven = sum(one.status is Status.PROVEN for one in answers) / len(answers)
    least = sum(one.bound_s == one.goal_s for one in answers) / len(answers)
    gap = max(map(gap_of, answers))
    spent.sort()
    print(
        f"{target.name:24} proven {proven:5.0%}  goal proven {least:5.0%}  median"
        f" {statistics.median(spent):6.3f} s  90 % {spent[int(0.9 * len(spent))]:6.3f} s"
        f"  most {spent[-1]:6.3f} s  largest gap {gap:5.1%}  wanted: {target.wanted}",
        flush=True,
    )


def gap_of(answer: Solution) -> float:
    """How far the goal may still be from the best, by what is proven."""
    return 1 - answer.bound_s / answer.goal_s if answer.goal_s else 0.0


def saved(squads: int = 50) -> None:
    """The median share of change-over time saved, and its quartiles."""
    seeds = [f"saved {number}" for number in range(squads)]
    one_turn = [rotation(seed, 24) for seed in seeds]
    shares: dict[str, list[float]] = {}
    for problem, seed in zip(one_turn, seeds, strict=True):
        best = solve(problem, time_limit_s=2)
        note(shares, "24, one turn: the list as given", best.goal_s, best.compared.as_listed_s)
        note(shares, "24, one turn: by height, spread", best.goal_s, best.compared.by_height_s)
        rounds = with_turns(problem, 3, 2)
        again = solve(rounds, time_limit_s=2)
        note(shares, "24 x 3: the list, in rounds", again.goal_s, again.compared.as_listed_s)
        note(shares, "24 x 3: by height, in rounds", again.goal_s, again.compared.by_height_s)
        note(shares, "24 x 3: best order, repeated", again.goal_s, repeated(rounds, best))
        loose = with_deviations(problem, seed)
        note(
            shares, "24, deviations: best without", solve(loose, time_limit_s=2).goal_s, best.goal_s
        )
        two = with_goal(rotation(seed, 24, units=2), Goal.MAKESPAN)
        solution = solve(two, time_limit_s=3)
        usual = usual_plans(two)[1]
        if usual is not None:
            note(
                shares,
                "2 apparatus: split by height",
                solution.goal_s,
                count(two, usual).goal_s(Goal.MAKESPAN),
            )
    for name, some in shares.items():
        low, middle, high = statistics.quantiles(some, n=4)
        print(f"{name:34} saved {middle:5.1%}  [{low:5.1%} to {high:5.1%}]  of {len(some)}")


def note(shares: dict[str, list[float]], name: str, goal_s: int, usual_s: int | None) -> None:
    if usual_s:
        shares.setdefault(name, []).append(1 - goal_s / usual_s)


def repeated(problem: Problem, best: Solution) -> int:
    """Change-over seconds of the best single order, gone through once per round."""
    plan: dict[str, tuple[Turn, ...]] = {
        unit_id: tuple(chain.from_iterable([turns] * problem.turns))
        for unit_id, turns in best.plan.items()
    }
    return count(problem, plan).change_over_s


def weight() -> None:
    """What the planner costs a process: its import, and the largest memory of all solves here."""
    for what in ("import settingsdesk.planner.solve", "pass"):
        code = f"import time; t = time.perf_counter(); {what}; print(time.perf_counter() - t)"
        runs = [
            float(
                subprocess.run([sys.executable, "-c", code], capture_output=True, check=True).stdout
            )
            for _ in range(9)
        ]
        print(f"{what}: {1000 * statistics.median(runs):.1f} ms")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"peak memory of this process with Python itself: {peak:.0f} MB")


if __name__ == "__main__":
    if "saved" not in sys.argv:
        for target in TARGETS:
            measure(target)
        weight()
    saved()
