"""What it is worth to plan several groups of one evening together, on seeded squads.

    python scripts/bench/planner_evening.py               every kind of evening
    python scripts/bench/planner_evening.py --squads 50   on so many squads each

Each evening is solved once; its order of all groups together is compared with the one in which each
group is planned by itself, in turn, from where the one before ended (the planner gives both). The
last columns say how far the groups as listed, everybody sorted by height within them, are from it.
Times are CPU seconds of this process. Read the saving as it is: group by group is already proven
best for each group alone.
"""

import argparse
import statistics
import time
from dataclasses import dataclass, replace

from planner_squads import rotation, with_deviations

from settingsdesk.planner.plan import Solution, Status
from settingsdesk.planner.problem import Problem
from settingsdesk.planner.search import SHARE_OF_TIME
from settingsdesk.planner.solve import solve


@dataclass(frozen=True)
class Evening:
    """So many groups of so many athletes; ``free``: in any order."""

    groups: int
    each: int
    turns: int = 1
    rest: int = 0
    free: bool = False
    loose: bool = False

    @property
    def name(self) -> str:
        """As a line of the table begins."""
        turns = f" x {self.turns}, rest {self.rest}" if self.turns > 1 else ""
        return (
            f"{self.groups} groups of {self.each}{turns}"
            f"{', deviations' if self.loose else ''}{', any order' if self.free else ''}"
        )

    def problem(self, seed: str) -> Problem:
        """An invented squad, shared out as it is listed."""
        squad = rotation(f"evening {seed}", self.groups * self.each)
        squad = with_deviations(squad, seed) if self.loose else squad
        ids = [one.id for one in squad.athletes]
        return replace(
            squad,
            groups=tuple(
                tuple(ids[n * self.each : (n + 1) * self.each]) for n in range(self.groups)
            ),
            groups_in_order=not self.free,
            turns=self.turns,
            rest_turns=self.rest,
        )


EVENINGS = [
    Evening(3, 6),
    Evening(3, 8),
    Evening(3, 12),
    Evening(3, 8, free=True),
    Evening(4, 8),
    Evening(4, 8, free=True),
    Evening(3, 8, turns=2, rest=2),
    Evening(3, 8, turns=3, rest=2, free=True),
    Evening(3, 8, loose=True),
]


def measure(evening: Evening, squads: int, limit_s: float) -> None:
    """Solve some squads and print one line."""
    answers, spent = [], []
    for seed in range(squads):
        begun = time.process_time()
        problem = evening.problem(str(seed))
        work_s = SHARE_OF_TIME * limit_s
        answers.append(solve(problem, time_limit_s=20 * limit_s, work_limit_s=work_s))
        spent.append(time.process_time() - begun)
    proven = sum(one.bound_s == one.goal_s for one in answers) / squads
    low, middle, high = quartiles(answers, against_groups=True)
    _, by_height, _ = quartiles(answers, against_groups=False)
    minutes = statistics.median(
        (one.compared.group_by_group_s or one.goal_s) - one.goal_s for one in answers
    )
    best = sum(one.status is Status.PROVEN for one in answers) / squads
    print(
        f"{evening.name:38} saved {middle:5.1%} [{low:5.1%} to {high:5.1%}], {minutes:4.0f} s;"
        f" against by height {by_height:5.1%}; time proven {proven:4.0%}, all {best:4.0%};"
        f" median {statistics.median(spent):5.2f} s, most {max(spent):5.2f} s",
        flush=True,
    )


def quartiles(answers: list[Solution], *, against_groups: bool) -> list[float]:
    """Of the share of change-over time that is saved."""
    shares = []
    for one in answers:
        told = one.compared
        usual_s = told.group_by_group_s if against_groups else told.by_height_s
        shares.append(1 - one.goal_s / usual_s if usual_s else 0.0)
    return statistics.quantiles(shares, n=4)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description="Measure evenings of several groups.")
    parser.add_argument("--squads", type=int, default=20, help="invented squads per line")
    parser.add_argument("--limit", type=float, default=4, help="seconds of each search")
    asked = parser.parse_args()
    for evening in EVENINGS:
        measure(evening, asked.squads, asked.limit)


if __name__ == "__main__":
    main()
