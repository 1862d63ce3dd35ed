"""Plain models to begin with: of every kind one that stands, within what is believed."""

import pytest

from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.hall.doubts import doubts
from settingsdesk.domain.hall.models import AxisTimes, Procedure
from settingsdesk.domain.hall.scales import RegularScale
from settingsdesk.domain.hall.starters import STARTERS, in_words

NO_TIMES = Procedure(0, 0, 0, 0, 0)


def plain(key: str):
    starter = STARTERS[key]
    times = {axis.key: AxisTimes(1, 1, 1) for axis in starter.kind.axes}
    return starter.model("Plain", starter.scales, times, NO_TIMES)


class TestStarters:
    def test_there_is_one_of_every_kind(self) -> None:
        """An empty desk offers something for whatever stands in the hall."""
        assert STARTERS.keys() == KINDS.keys()

    @pytest.mark.parametrize("key", STARTERS)
    def test_nothing_of_it_has_to_be_asked_about(self, key: str) -> None:
        """Its lengths are believed of such an axis, and its spread is true at its drop."""
        model = plain(key)
        assert [doubt.told(Unit.CENTIMETRE) for doubt in doubts(model)] == []
        assert not model.lacks_drop

    def test_a_ruler_of_slanting_rails_is_true_in_the_middle_of_the_corrected_heights(
        self,
    ) -> None:
        """Whoever corrects the holes of the high rail moves the drop with them."""
        starter = STARTERS["uneven_bars"]
        times = {axis.key: AxisTimes(1, 1, 1) for axis in starter.kind.axes}
        higher = {**starter.scales, "high_rail": RegularScale(2350, 50, 12)}
        model = starter.model("Plain", higher, times, NO_TIMES)

        assert model.geometry.reference_drop_mm == 900
        measured = model.measures_mm((5, 5, 20))
        assert measured["high_rail"] - measured["low_rail"] == 900
        assert measured["spread"] == pytest.approx(1500)

    def test_it_is_round_in_the_unit_that_the_hall_reads(self) -> None:
        """57 inches and every 2, and not 57.087 every 1.969."""
        starter = STARTERS["uneven_bars"].printed_in(Unit.INCH)
        told = {key: in_words(scale, Unit.INCH) for key, scale in starter.scales.items()}

        assert told["low_rail"] == "12 holes every 2\u00a0in, the first at 57\u00a0in"
        assert told["spread"] == "a ruler from 51\u00a0in to 75\u00a0in"
        assert STARTERS["uneven_bars"].printed_in(Unit.CENTIMETRE) == STARTERS["uneven_bars"]

    def test_it_is_told_in_words(self) -> None:
        starter = STARTERS["uneven_bars"]
        told = in_words(starter.scales["low_rail"], Unit.CENTIMETRE)
        assert told == "12 holes every 5.0 cm, the first at 145.0 cm"
        told = in_words(starter.scales["spread"], Unit.CENTIMETRE)
        assert told == "a ruler from 130.0 cm to 190.0 cm"
