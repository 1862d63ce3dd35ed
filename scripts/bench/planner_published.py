"""The planner's core on the larger published matrices: how near to the best that is known.

    python scripts/bench/planner_published.py DIRECTORY    with the instance files of TSPLIB95

Source of the instances and of the optima: TSPLIB95 (G. Reinelt, University of Heidelberg) and its
list of best solutions. The smaller ones are tests: tests/external/test_planner_published.py. Work
decides and not the clock; each run is paired with one of the yardstick of planner_targets.py right
before it, and the ratio of their CPU seconds says more than the seconds. A cost or a bound on the
wrong side of the optimum ends the run.
"""

import argparse
import time
from itertools import pairwise
from pathlib import Path

from planner_targets import YARDSTICK, within

from settingsdesk.planner.matrix import order_matrix

OPTIMA = {
    "ftv33.atsp": 1286,
    "p43.atsp": 5620,
    "ry48p.atsp": 14422,
    "ESC25.sop": 1681,
    "ESC47.sop": 1288,
}


def read(file: Path) -> list[list[int]]:
    """The full matrix of an instance file, as it stands there."""
    head, _, rest = file.read_text().partition("EDGE_WEIGHT_SECTION")
    size = next(int(line.split(":")[1]) for line in head.splitlines() if "DIMENSION" in line)
    numbers = [int(word) for word in rest.replace("EOF", "").split()][-size * size :]
    return [numbers[row * size : (row + 1) * size] for row in range(size)]


def measure(file: Path, optimum: int, work_s: float) -> None:
    """Solve one instance and print one line."""
    table = read(file)
    before = [(j, i) for i, row in enumerate(table) for j, cost in enumerate(row) if cost == -1]
    costs = [
        [None if i == j or cost == -1 else cost for j, cost in enumerate(row)]
        for i, row in enumerate(table)
    ]
    closed = file.suffix == ".atsp"
    begun = time.process_time()
    within(YARDSTICK, 2)
    paired = time.process_time()
    found = order_matrix(
        costs,
        closed=closed,
        start=0,
        before=before,
        time_limit_s=40 * work_s,
        work_limit_s=work_s,
    )
    spent = time.process_time() - paired
    steps = [*pairwise(found.order), *([(found.order[-1], 0)] if closed else [])]
    place = {row: turn for turn, row in enumerate(found.order)}
    counted = sum(table[a][b] for a, b in steps)
    if counted != found.cost or not found.bound <= optimum <= found.cost:
        raise SystemExit(f"{file.name}: {found} counts {counted}, the optimum is {optimum}")
    if any(place[a] > place[b] for a, b in before):
        raise SystemExit(f"{file.name}: {found} breaks a precedence")
    print(
        f"{file.name:12} {found.status.value:10}  cost {found.cost / optimum:.4f} of the optimum"
        f"  bound {found.bound / optimum:.4f}  {spent:6.2f} s"
        f"  ratio {spent / (paired - begun):6.1f}",
        flush=True,
    )


def main() -> None:
    """Measure every instance of the list."""
    parser = argparse.ArgumentParser(description="Measure the planner on published matrices.")
    parser.add_argument("directory", type=Path, help="where the instance files are")
    parser.add_argument("--work", type=float, default=8, help="seconds of work for each")
    asked = parser.parse_args()
    for name, optimum in OPTIMA.items():
        measure(asked.directory / name, optimum, asked.work)


if __name__ == "__main__":
    main()
