"""What is typed of a setting becomes lengths; a mark of an apparatus means that apparatus."""

from itertools import product

import pytest

from settingsdesk.desk.squad.typed_settings import AsTyped, setting_typed
from settingsdesk.domain.hall.models import ApparatusModel
from settingsdesk.domain.hall.scales import CalibratedScale
from settingsdesk.domain.settings.transfer import transfer
from tests.conftest import DemoClub
from tests.desk.runs.timed_evenings import window_bars


@pytest.fixture
def measured(demo_club: DemoClub) -> ApparatusModel:
    """The bars by the window with all three scales off the printed ones, and stretched."""
    model = window_bars(demo_club).model
    own = {
        axis.key: CalibratedScale(axis.scale, offset_mm, gain)
        for axis, offset_mm, gain in zip(
            model.axes, (3.7, -2.4, 6.1), (1.001, 0.998, 0.997), strict=True
        )
    }
    return model.with_scales(own)


class TestMarksOfAnApparatus:
    def test_come_back_as_the_same_marks_whichever_they_are(self, measured: ApparatusModel) -> None:
        """On a ruler the next mark is a centimetre off, and its length no whole millimetre."""
        low, high, spread = (axis.scale.count for axis in measured.axes)
        typed = product(range(0, low, 3), range(0, high, 3), range(0, spread, 11))
        for stops in typed:
            wishes = {
                axis.key: AsTyped(stop=stop)
                for axis, stop in zip(measured.axes, stops, strict=True)
            }
            best = transfer(setting_typed(measured, wishes), measured).best
            assert best.setup == stops
            assert not best.warnings
