"""The mats of a day: the rail stays, and what is taken from the mat's top reads otherwise."""

from datetime import date

from hypothesis import given
from hypothesis import strategies as some

from settingsdesk.domain.base.datums import HeightDatum, Level
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.hall.mats import Mats

TODAY, TOMORROW = date(2026, 11, 30), date(2026, 12, 1)
BARS = KINDS["uneven_bars"]
HEIGHTS_MM = {"low_rail": 1704.0, "high_rail": 2497.0, "spread": 1697.0}
MATS = Mats(200, TODAY, {TODAY: 100, date(2026, 12, 5): -50})


class TestMatsOfADay:
    def test_count_on_that_day_and_on_no_other(self) -> None:
        assert MATS.lie_mm == 300
        assert MATS.on(TOMORROW).lie_mm == 200
        assert MATS.on(date(2026, 12, 5)).lie_mm == 150

    def test_are_said_as_today_on_a_page_and_with_the_day_on_paper(self) -> None:
        """Paper is read on another day, too."""
        assert MATS.in_words(Unit.CENTIMETRE, TODAY) == "with 10.0 cm more mat than usual today"
        assert (
            MATS.in_words(Unit.CENTIMETRE) == "with 10.0 cm more mat than usual on 30 November 2026"
        )
        less = MATS.on(date(2026, 12, 5))
        assert (
            less.in_words(Unit.CENTIMETRE, TODAY)
            == "with 5.0 cm less mat than usual on 5 December 2026"
        )

    def test_are_not_mentioned_where_they_are_those_on_record(self) -> None:
        usual = MATS.on(TOMORROW)
        assert usual.in_words(Unit.CENTIMETRE) == ""
        assert usual.of_all_in_words(Unit.CENTIMETRE) == ""
        assert usual.heights_in_words(BARS, HEIGHTS_MM, Unit.CENTIMETRE) == ""

    def test_each_height_is_said_as_a_tape_on_the_mat_finds_it(self) -> None:
        """Checked on paper: 170.4 and 249.7 less the 30 that lie there; the spread has no mat."""
        told = MATS.heights_in_words(BARS, HEIGHTS_MM, Unit.CENTIMETRE, TODAY)
        assert told == "Above the mat, with 10.0 cm more mat than usual today: 140.4 cm / 219.7 cm"
        one = MATS.heights_in_words(KINDS["balance_beam"], {"beam": 1250.0}, Unit.CENTIMETRE, TODAY)
        assert one == "Above the mat, with 10.0 cm more mat than usual today: 95.0 cm"

    def test_a_list_says_once_what_holds_for_every_height_of_it(self) -> None:
        assert MATS.of_all_in_words(Unit.CENTIMETRE, TODAY) == (
            "The mats are 30.0 cm thick, with 10.0 cm more mat than usual today: above the mat"
            " every height is 30.0 cm less than above the floor"
        )

    @given(some.integers(0, 1000), some.integers(-500, 500), some.integers(1000, 3000))
    def test_agree_with_the_datum_above_the_mat(
        self, on_record_mm: int, more_mm: int, height_mm: int
    ) -> None:
        """One thickness for pages and for whoever converts."""
        lie = Mats(on_record_mm, TODAY, {TODAY: more_mm})
        above = HeightDatum(level=Level.MAT).from_canonical_mm(height_mm, None, lie.lie_mm)
        assert above == height_mm - on_record_mm - more_mm
