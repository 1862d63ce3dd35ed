"""Which marks another setting moves, also those of adjustments that it leaves alone."""

from dataclasses import replace

import pytest

from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.squad.moved_marks import marks_there
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.domain.settings.transfer import setting_of_setup
from tests.conftest import DemoClub


@pytest.fixture
def window(demo_club: DemoClub) -> Piece:
    with demo_club.work() as session:
        return apparatus.piece(session, 1)


def with_length(setting: Setting, axis: str, wanted_mm: int) -> Setting:
    return Setting(setting.kind, {**setting.axes, axis: Wanted(wanted_mm)})


class TestMarksThere:
    def test_a_higher_rail_moves_the_spread_that_nobody_asked_for(self, window: Piece) -> None:
        """The rails are farther apart along the slanting line, so the spreader goes in."""
        before = setting_of_setup(window.model, (4, 4, 40))
        higher_mm = round(window.model.measures_mm((4, 5, 40))["high_rail"])
        (there,) = marks_there(before, with_length(before, "high_rail", higher_mm), [window])

        high, spread = there.marks["high_rail"], there.marks["spread"]
        assert (high.before, high.now, high.asked) == (4, 5, True)
        assert spread.moves
        assert not spread.asked
        assert spread.now < 40
        assert there.unasked == (spread,)
        assert (spread.before_label, spread.now_label) == (
            window.model.axes[2].scale.label(40),
            window.model.axes[2].scale.label(spread.now),
        )

    def test_nothing_moves_where_there_was_nothing(self, window: Piece) -> None:
        (there,) = marks_there(None, setting_of_setup(window.model, (4, 4, 40)), [window])
        assert not any(one.moves for one in there.marks.values())
        assert there.unasked == ()
        assert there.marks["spread"].before_label == ""

    def test_what_is_accepted_moves_nothing(self, window: Piece) -> None:
        before = setting_of_setup(window.model, (4, 4, 40))
        wider = Setting(
            before.kind, {key: replace(one, accepts_mm=20) for key, one in before.axes.items()}
        )
        (there,) = marks_there(before, wider, [window])
        assert not any(one.moves or one.asked for one in there.marks.values())
