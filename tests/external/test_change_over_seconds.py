"""What a change-over takes, against sums on paper and bounds that hold for any crew.

That work shared by m pairs of hands takes at least the m-th part of it, and at least its longest
chain, is R. L. Graham 1969 (see ``test_schedule_graham.py``). The figures of a step are invented:
what is checked is that they are added as the procedure in DESIGN says, axis by axis and end by end.
"""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from settingsdesk.domain.base.datums import Section
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.domain.changeover.changeover import change_over_s
from settingsdesk.domain.changeover.crew import CREWS, crew_change_over, crew_time_s
from settingsdesk.domain.hall.geometry import Upright
from settingsdesk.domain.hall.models import ApparatusModel, Axis, AxisTimes, Procedure
from settingsdesk.domain.hall.scales import RegularScale

RAIL, SPREADER = AxisTimes(8, 5, 3), AxisTimes(6, 1, 1)
EVERY_S = 15 + 10 + 14 + 6

KIND = KINDS["uneven_bars"]
BARS = ApparatusModel(
    "Bars",
    KIND,
    tuple(
        Axis(axis, scale, times, axis.ends)
        for axis, scale, times in zip(
            KIND.axes,
            (RegularScale(1400, 50, 9), RegularScale(2200, 50, 9), RegularScale(1300, 20, 31)),
            (RAIL, RAIL, SPREADER),
            strict=True,
        )
    ),
    Procedure(15, 10, 14, 6, 2),
    Section(40, 40),
    Upright(800),
)
A_SETUP = st.tuples(st.integers(0, 8), st.integers(0, 8), st.integers(0, 30))


class TestOnePairOfHands:
    @pytest.mark.parametrize(
        ("start", "goal", "moves_s"),
        [
            ((2, 4, 10), (4, 4, 10), 2 * (8 + 2 * 5)),  # the low rail up by two, at two ends
            ((4, 4, 10), (2, 4, 10), 2 * (8 + 2 * 3)),  # down is quicker
            ((2, 4, 10), (2, 4, 7), 2 * (6 + 3 * 1)),  # the spread in by three
            ((2, 4, 10), (3, 5, 11), 2 * (8 + 5) + 2 * (8 + 5) + 2 * (6 + 1)),  # all of it
        ],
    )
    def test_take_the_sum_of_what_is_done(self, start, goal, moves_s):
        """One after the other, nothing twice: the sum stands beside each."""
        assert change_over_s(BARS, start, goal) == EVERY_S + moves_s

    @given(A_SETUP)
    def test_nothing_where_nothing_changes(self, setup):
        assert [crew_time_s(BARS, setup, setup, hands) for hands in CREWS] == [0, 0, 0]


class TestACrew:
    @pytest.mark.parametrize("hands", [2, 4])
    def test_sets_both_ends_at_once(self, hands):
        """Half of it: 18 s and 9 s instead of 36 and 18, whatever comes before and after."""
        less = crew_time_s(BARS, (2, 4, 10), (3, 4, 10), hands)
        more = crew_time_s(BARS, (2, 4, 10), (4, 4, 7), hands)
        assert more - less == (18 + 9) - 13

    @given(A_SETUP, A_SETUP)
    def test_never_beats_grahams_bound_nor_a_smaller_crew(self, start, goal):
        """Work of all, shared out; and more hands are never slower where all of it is optimal."""
        assume(start != goal)
        alone = change_over_s(BARS, start, goal)
        times = [crew_time_s(BARS, start, goal, hands) for hands in CREWS]
        assert times[0] == alone
        assert times == sorted(times, reverse=True)
        for hands, seconds in zip(CREWS, times, strict=True):
            steps = crew_change_over(BARS, start, goal, hands).steps
            assert max(step.ends_s for step in steps) == seconds
            work = sum(step.seconds * len(step.who) for step in steps)
            assert seconds * hands >= work
            for step in steps:
                at_once = [one for one in steps if one.starts_s <= step.starts_s < one.ends_s]
                busy = [who for one in at_once for who in one.who]
                assert len(busy) == len(set(busy)) <= hands
