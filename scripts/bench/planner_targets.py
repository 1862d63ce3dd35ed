"""The planner's targets, measured on seeded squads that the planner was not tuned on.

    python scripts/bench/planner_targets.py                every table
    python scripts/bench/planner_targets.py best           only how near to the best known plan
    python scripts/bench/planner_targets.py --help         what can be asked for

Times are CPU seconds of this process, and the work is what the time limit allows on a quiet
machine, so that other work on the machine does not count. Every run is paired with one of a
yardstick, one hall's order of one turn each, right before it; the ratio of the two says more than
the seconds. "Proven" counts problems whose whole answer was proven within the limit; for deviations
the least time alone is a target too, which is reached where the bound equals the goal.
"""

import argparse
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
from settingsdesk.planner.search import SHARE_OF_TIME
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
    short_s: float | None = None
    """For ``nearness``: the limit of the search that is compared with a long one."""


def squad(seed: str, athletes: int, **asked: object) -> Problem:
    return rotation(f"target {seed}", athletes, **asked)  # type: ignore[arg-type]


def heavy(seed: str, *, distinct: bool = False) -> Problem:
    return with_wishes(squad(seed, 24, distinct=distinct), seed)


def units(seed: str, number: int, goal: Goal) -> Problem:
    return with_goal(squad(seed, 24, units=number), goal)


def loose_rounds(seed: str) -> Problem:
    return with_turns(with_deviations(squad(seed, 24), seed), 3, 2)


TARGETS = [
    Target("24, one turn", lambda s: squad(s, 24), 30, 2, "100 % in 0.1 s"),
    Target("24 all different", lambda s: squad(s, 24, distinct=True), 30, 2, "100 % in 0.1 s"),
    Target("60, one turn", lambda s: squad(s, 60), 20, 2, "100 % in 0.25 s"),
    Target("60 all different", lambda s: squad(s, 60, distinct=True), 20, 2, "90 % in 2 s"),
    Target("24, heavy wishes", heavy, 30, 2, "85 % in 2 s"),
    Target("24 x 3, rest 2", lambda s: with_turns(squad(s, 24), 3, 2), 30, 2, "98 % in 2 s", 2),
    Target("24 x 3, rest 4", lambda s: with_turns(squad(s, 24), 3, 4), 10, 2, "95 % in 2 s", 2),
    Target("60 x 2, rest 3", lambda s: with_turns(squad(s, 60), 2, 3), 10, 5, "85 %, gap 0.5 %", 2),
    Target("2 apparatus, makespan", lambda s: units(s, 2, Goal.MAKESPAN), 20, 3, "98 % in 3 s"),
    Target("2 apparatus, total", lambda s: units(s, 2, Goal.TOTAL), 20, 3, "median 0.2 s"),
    Target("3 apparatus, makespan", lambda s: units(s, 3, Goal.MAKESPAN), 10, 5, "95 % in 5 s"),
    Target("4 apparatus, makespan", lambda s: units(s, 4, Goal.MAKESPAN), 5, 5, "gap 3 %"),
    Target("24, deviations", lambda s: with_deviations(squad(s, 24), s), 20, 1, "least time 100 %"),
    Target("24 x 3, rest 2, devs", loose_rounds, 10, 5, "gap 10 %", 2),
    Target("12, deviations", lambda s: with_deviations(squad(s, 12), s), 20, 0.5, "100 % in 0.5 s"),
]


def within(problem: Problem, limit_s: float) -> Solution:
    """What the limit allows on a quiet machine, however busy this one is."""
    return solve(problem, time_limit_s=20 * limit_s, work_limit_s=SHARE_OF_TIME * limit_s)


YARDSTICK = rotation("yardstick", 24, distinct=True)


def measure(target: Target) -> None:
    """Solve the target's squads and print one line."""
    spent, ratios, answers = [], [], []
    for seed in range(target.squads):
        problem = target.make(str(seed))
        begun = time.process_time()
        within(YARDSTICK, 2)
        paired = time.process_time()
        answers.append(within(problem, target.limit_s))
        spent.append(time.process_time() - paired)
        ratios.append(spent[-1] / (paired - begun))
    proven = sum(one.status is Status.PROVEN for one in answers) / len(answers)
    least = sum(one.bound_s == one.goal_s for one in answers) / len(answers)
    gap = max(map(gap_of, answers))
    spent.sort()
    print(
        f"{target.name:24} proven {proven:5.0%}  goal proven {least:5.0%}  median"
        f" {statistics.median(spent):6.3f} s  90 % {spent[int(0.9 * len(spent))]:6.3f} s"
        f"  most {spent[-1]:6.3f} s  median ratio {statistics.median(ratios):6.2f}"
        f"  largest gap {gap:5.1%}  wanted: {target.wanted}",
        flush=True,
    )


def gap_of(answer: Solution) -> float:
    """How far the goal may still be from the best, by what is proven."""
    return 1 - answer.bound_s / answer.goal_s if answer.goal_s else 0.0


def nearness(squads: int, long_s: float) -> None:
    """What a short search gives beside the best known, which is the best of a long and a short one.

    Each pair is one squad; the ratio is of the two goals.
    """
    for target in TARGETS:
        if target.short_s is None:
            continue
        ratios, gaps = [], []
        for seed in range(squads):
            problem = target.make(f"near {seed}")
            short = within(problem, target.short_s)
            best_s = min(short.goal_s, within(problem, long_s).goal_s)
            ratios.append(short.goal_s / best_s)
            gaps.append(gap_of(short))
        print(
            f"{target.name:24} {target.short_s:g} s beside {long_s:g} s: median ratio"
            f" {statistics.median(ratios):.4f}  most {max(ratios):.4f}"
            f"  largest gap {max(gaps):5.1%}  of {squads}",
            flush=True,
        )


def saved(squads: int = 50) -> None:
    """The median share of change-over time saved, and its quartiles."""
    seeds = [f"saved {number}" for number in range(squads)]
    one_turn = [rotation(seed, 24) for seed in seeds]
    shares: dict[str, list[float]] = {}
    for problem, seed in zip(one_turn, seeds, strict=True):
        best = within(problem, 2)
        note(shares, "24, one turn: the list as given", best.goal_s, best.compared.as_listed_s)
        note(shares, "24, one turn: by height, spread", best.goal_s, best.compared.by_height_s)
        rounds = with_turns(problem, 3, 2)
        again = within(rounds, 2)
        note(shares, "24 x 3: the list, in rounds", again.goal_s, again.compared.as_listed_s)
        note(shares, "24 x 3: by height, in rounds", again.goal_s, again.compared.by_height_s)
        note(shares, "24 x 3: best order, repeated", again.goal_s, repeated(rounds, best))
        loose = with_deviations(problem, seed)
        note(shares, "24, deviations: best without", within(loose, 2).goal_s, best.goal_s)
        two = with_goal(rotation(seed, 24, units=2), Goal.MAKESPAN)
        solution = within(two, 3)
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


def main() -> None:
    """Print the tables that were asked for."""
    parser = argparse.ArgumentParser(description="Measure the planner on invented squads.")
    tables = ("targets", "best", "weight", "saved")
    parser.add_argument("tables", nargs="*", metavar="table", help=f"of {', '.join(tables)}")
    parser.add_argument("--squads", type=int, default=6, help="squads per row of 'best'")
    parser.add_argument("--long", type=float, default=60, help="seconds of its long searches")
    asked = parser.parse_args()
    unknown = set(asked.tables) - set(tables)
    if unknown:
        parser.error(f"there is no table {', '.join(sorted(unknown))}")
    chosen = asked.tables or tables
    if "targets" in chosen:
        for target in TARGETS:
            measure(target)
    if "best" in chosen:
        nearness(asked.squads, asked.long)
    if "weight" in chosen:
        weight()
    if "saved" in chosen:
        saved()


if __name__ == "__main__":
    main()
