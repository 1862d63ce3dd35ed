"""Facts of the trade about several people at one change-over: common practice, no source.

None of these has a published source that was at hand; each is marked so beside its check. The
maker's instructions come first.
"""

import pytest

from settingsdesk.domain.base.datums import Section
from settingsdesk.domain.base.kinds import kind_of
from settingsdesk.domain.changeover.crew import CrewChangeOver, CrewStep, crew_change_over
from settingsdesk.domain.hall.models import ApparatusModel, Axis, AxisTimes, Procedure
from settingsdesk.domain.hall.scales import RegularScale

KIND = kind_of("uneven_bars")
TIMES = AxisTimes(8, 5, 3)
FIRST_MM = {"low_rail": 1400, "high_rail": 2200, "spread": 1300}
BARS = ApparatusModel(
    name="Bars",
    kind=KIND,
    axes=tuple(
        Axis(axis, RegularScale(FIRST_MM[axis.key], 50, 9), TIMES, axis.ends) for axis in KIND.axes
    ),
    procedure=Procedure(16, 10, 16, 6, 2),
    section=Section(40, 40),
)


@pytest.fixture(scope="module", params=[2, 4])
def change(request) -> CrewChangeOver:
    return crew_change_over(BARS, (4, 4, 4), (5, 3, 6), request.param)


def about(change: CrewChangeOver, word: str) -> list[CrewStep]:
    found = [step for step in change.steps if word in step.what]
    assert found
    return found


def first_begin_s(change: CrewChangeOver, word: str) -> int:
    return min(step.starts_s for step in about(change, word))


def last_end_s(change: CrewChangeOver, word: str) -> int:
    return max(step.ends_s for step in about(change, word))


class TestSeveralAtTheBars:
    def test_the_two_ends_of_a_rail_are_moved_at_once_by_two(self, change):
        """common practice, no source: one at each end keeps the rail level."""
        front, back = about(change, "Low rail height")
        assert front.starts_s == back.starts_s
        assert front.who != back.who

    def test_the_low_rail_is_locked_before_the_high_rail_is_touched(self, change):
        """common practice, no source: however many stand by."""
        assert last_end_s(change, "Low rail") <= first_begin_s(change, "High rail")

    def test_both_heights_are_locked_before_the_spread_is_touched(self, change):
        """common practice, no source."""
        assert last_end_s(change, "rail height") <= first_begin_s(change, "Rail spread")

    def test_all_cables_are_slack_before_anybody_moves_anything(self, change):
        """common practice, no source: a rail under tension jumps when it is unlocked."""
        assert last_end_s(change, "Slacken") <= first_begin_s(change, "Low rail")

    def test_tensioners_that_pull_against_each_other_are_pulled_together_on_a_count(self, change):
        """common practice, no source: alone, one would pull the frame out of square."""
        assert all(
            len(step.who) == 2 and "on a count" in step.what for step in about(change, "Tension ")
        )

    def test_the_high_rail_side_is_tensioned_first_and_square_sighted_before_the_other(
        self, change
    ):
        """common practice, no source."""
        assert last_end_s(change, "Tension high-rail") <= first_begin_s(change, "Sight again")
        assert last_end_s(change, "Sight again") <= first_begin_s(change, "Tension low-rail")

    def test_nobody_works_at_anything_during_the_walk_round(self, change):
        """common practice, no source; checks after every change: DGUV Information 202-044, 1."""
        walk = change.steps[-1]
        assert walk.what.startswith("Walk round")
        assert all(step.ends_s <= walk.starts_s for step in change.steps[:-1])
