"""Least deviation and the shortest day, against results that are known without any search.

That the median makes the sum of absolute deviations least is R. J. Boscovich (1757) and P. S.
Laplace. Graham's seven jobs on three machines (see ``test_schedule_graham.py``) end at 9 at best;
that no way of sharing them out ends sooner is shown here by trying all.
"""

from itertools import product
from statistics import median_low

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from settingsdesk.planner.plan import Status
from settingsdesk.planner.problem import AxisTimes, Entrant, Goal, Problem, Unit
from settingsdesk.planner.solve import solve

FREE_AXIS = AxisTimes("height", 40, 1, 10, 0, 0)
"""It costs the same wherever it goes, so that the deviation alone decides where."""


def unit(name: str, setup: int) -> Unit:
    return Unit(name, (FREE_AXIS,), 30, (setup,))


class TestTheLeastDeviation:
    @settings(max_examples=25)
    @given(st.lists(st.integers(15, 24), min_size=2, max_size=7))
    def test_of_one_setup_for_all_is_that_of_the_median(self, wanted):
        """One change-over serves everybody; Boscovich says where to."""
        athletes = tuple(
            Entrant(f"athlete {n}", {"bars": (stop,)}, 60, {"bars": (10,)})
            for n, stop in enumerate(wanted)
        )
        found = solve(Problem((unit("bars", 0),), athletes))
        least = sum(abs(stop - median_low(wanted)) for stop in wanted)
        assert (found.status, found.change_overs) == (Status.PROVEN, 1)
        assert found.deviation_stops == least


class TestTheShortestDay:
    @pytest.mark.parametrize(
        ("seconds", "machines", "best"), [((5, 5, 4, 4, 3, 3, 3), 3, 9), ((3, 3, 2, 2, 2), 2, 6)]
    )
    def test_of_grahams_jobs_is_the_published_one(self, seconds, machines, best):
        """An athlete's turn for a job, an apparatus for a machine, and nothing to change."""
        shared = product(range(machines), repeat=len(seconds))
        ends = (
            max(
                sum(s for s, at in zip(seconds, by, strict=True) if at == m)
                for m in range(machines)
            )
            for by in shared
        )
        assert min(ends) == best
        units = tuple(unit(f"bars {m}", 5) for m in range(machines))
        athletes = tuple(
            Entrant(f"athlete {n}", {one.id: (5,) for one in units}, 60 * length)
            for n, length in enumerate(seconds)
        )
        found = solve(Problem(units, athletes, goal=Goal.MAKESPAN))
        assert found.makespan_s == 60 * best
        assert found.status is Status.PROVEN
