"""What a club usually accepts: kept by axis, told by warnings alone, read with no further query."""

import pytest

from settingsdesk.desk.hall import apparatus, usual_deviations
from settingsdesk.domain.base.kinds import NoSuchAxis
from settingsdesk.domain.settings.settings import NotADeviation
from tests.conftest import DemoClub


def usually(club: DemoClub, accepts_mm: dict[tuple[str, str], int]) -> None:
    with club.work(writes=True) as session:
        usual_deviations.keep(session, accepts_mm)


class TestWhatIsUsuallyAccepted:
    def test_stands_on_every_apparatus_of_the_kind_and_on_no_other(
        self, demo_club: DemoClub
    ) -> None:
        """A spread of uneven bars is not one of parallel bars."""
        usually(demo_club, {("uneven_bars", "spread"): 15})
        with demo_club.work() as session:
            found = {
                (piece.model.kind.key, axis.key): axis.usually_accepts_mm
                for piece in apparatus.all_pieces(session)
                for axis in piece.model.axes
            }
        assert found["uneven_bars", "spread"] == 15
        assert not any(mm for of, mm in found.items() if of != ("uneven_bars", "spread"))

    def test_is_changed_and_taken_back(self, demo_club: DemoClub) -> None:
        low, high = ("uneven_bars", "low_rail"), ("uneven_bars", "high_rail")
        usually(demo_club, {low: 15, high: 5})
        usually(demo_club, {low: 20, high: 0})
        with demo_club.work() as session:
            assert usual_deviations.usual(session) == {low: 20}

    def test_of_no_such_axis_or_no_such_deviation_is_refused(self, demo_club: DemoClub) -> None:
        with pytest.raises(NoSuchAxis):
            usually(demo_club, {("uneven_bars", "table"): 5})
        with pytest.raises(NotADeviation):
            usually(demo_club, {("uneven_bars", "spread"): 501})
