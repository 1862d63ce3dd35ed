"""Facts of the trade about changing the rails over: common practice, no source.

None of these has a published source that was at hand; each is marked so beside its check. The
maker's instructions come first.
"""

import pytest

from settingsdesk.domain.base.datums import Section
from settingsdesk.domain.base.kinds import kind_of
from settingsdesk.domain.changeover.changeover import change_over
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
    procedure=Procedure(15, 10, 14, 6, 2),
    section=Section(40, 40),
)


CHANGE = change_over(BARS, (4, 4, 4), (5, 3, 6))


@pytest.fixture(scope="module")
def steps() -> list[str]:
    return [step.what for step in CHANGE.steps]


def first(steps: list[str], word: str) -> int:
    return next(place for place, what in enumerate(steps) if word in what)


def last(steps: list[str], word: str) -> int:
    return max(place for place, what in enumerate(steps) if word in what)


class TestTheSequence:
    def test_cables_are_slackened_before_anything_is_moved(self, steps):
        """common practice, no source: a rail under tension jumps when it is unlocked."""
        assert first(steps, "Slacken") == 0

    def test_the_low_rail_comes_before_the_high_rail(self, steps):
        """common practice, no source."""
        assert last(steps, "Low rail height") < first(steps, "High rail height")

    def test_one_rail_is_moved_at_both_ends_before_another_is_touched(self):
        """common practice, no source: a rail that hangs askew for long strains its ends."""
        assert [step.what.partition(",")[0] for step in CHANGE.steps if step.move] == [
            *("Low rail height", "Low rail height"),
            *("High rail height", "High rail height"),
            *("Rail spread", "Rail spread"),
        ]

    def test_heights_are_set_before_the_spread(self, steps):
        """common practice, no source."""
        assert last(steps, "rail height") < first(steps, "Rail spread")

    def test_every_move_ends_with_its_lock(self):
        """common practice, no source: never two unlocked ends at a time."""
        moves = [step for step in CHANGE.steps if step.move]
        assert len(moves) == 6
        assert all("open the lock" in step.how for step in moves)
        assert all(step.how[-2:] == ("close the lock", "pull to try") for step in moves)

    def test_the_frame_is_sighted_square_before_it_is_tensioned(self, steps):
        """common practice, no source: tension holds a crooked frame crooked."""
        assert last(steps, "Rail spread") < first(steps, "square, before") < first(steps, "Tension")

    def test_tension_begins_at_the_high_rail_side(self, steps):
        """common practice, no source."""
        assert last(steps, "Tension high-rail side") < first(steps, "Tension low-rail side")

    def test_half_comes_before_working_tension_on_each_side(self, steps):
        """common practice, no source: one tight cable against a slack one pulls the frame over."""
        sides = [what for what in steps if what.startswith("Tension")]
        assert ["half" in what for what in sides] == [True, False, True, False]

    def test_a_walk_round_comes_last(self, steps):
        """common practice, no source; checks after every change: DGUV Information 202-044, 1."""
        assert first(steps, "Walk round") == len(steps) - 1

    def test_without_a_change_nothing_is_done(self):
        """common practice, no source."""
        assert change_over(BARS, (4, 4, 4), (4, 4, 4)).steps == ()
