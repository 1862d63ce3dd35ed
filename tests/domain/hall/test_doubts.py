"""What of a scale that somebody typed is asked about: a slip in one figure moves every mark."""

from dataclasses import replace

import pytest

from settingsdesk.domain.base.datums import Section
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.hall.doubts import NotBelieved, SpreadMisread, doubts
from settingsdesk.domain.hall.geometry import Leaning, Upright
from settingsdesk.domain.hall.models import ApparatusModel, AxisTimes, Procedure
from settingsdesk.domain.hall.scales import ContinuousScale, RegularScale, Scale, TabulatedScale
from settingsdesk.domain.hall.starters import STARTERS

INCH = 25.4


def with_scales(key: str, **scales: Scale) -> ApparatusModel:
    starter = STARTERS[key]
    times = {axis.key: AxisTimes(1, 1, 1) for axis in starter.kind.axes}
    return starter.model("Typed", {**starter.scales, **scales}, times, Procedure(0, 0, 0, 0, 0))


def asked(model: ApparatusModel) -> str:
    return " ".join(doubt.told(Unit.CENTIMETRE) for doubt in doubts(model))


def of_bars(section: Section | None = None, **scales: Scale) -> str:
    model = with_scales("parallel_bars", **scales)
    return asked(replace(model, section=section or model.section))


def listed(*stops: tuple[str, float]) -> str:
    return of_bars(rails=TabulatedScale(stops))


class TestARuler:
    @pytest.mark.parametrize(
        ("ruler", "marks"),
        [
            (ContinuousScale(403, 600, 10), "marks would be 40.3, 41.3, 42.3 … 59.3"),
            (ContinuousScale(400, 600, 7), "read to the nearest 0.7 cm, its marks"),
            (ContinuousScale(402.5, 600, 5), "40.3, 40.8, 41.3"),
            (ContinuousScale(400, 600, 300), "one mark alone, 40.0"),
            (
                ContinuousScale(15.5 * INCH, 24 * INCH, INCH, Unit.INCH),
                (
                    "from 15\u00a01/2\u00a0in to 24\u00a0in, read to the nearest 1\u00a0in, its"
                    " marks would be 15 1/2,"
                ),
            ),
        ],
    )
    def test_that_begins_or_ends_between_its_own_steps_is_shown_by_its_marks(
        self, ruler: ContinuousScale, marks: str
    ) -> None:
        """Whoever types its end as read off the metal expects round marks."""
        assert marks in of_bars(spread=ruler)

    @pytest.mark.parametrize(
        "ruler",
        [
            ContinuousScale(400, 600, 5),
            ContinuousScale(400, 600, 2.5),
            ContinuousScale(16 * INCH, 24 * INCH, INCH / 8, Unit.INCH),
        ],
    )
    def test_on_its_own_steps_is_not_asked_about(self, ruler: ContinuousScale) -> None:
        assert of_bars(spread=ruler) == ""


class TestTheEndsOfAScale:
    @pytest.mark.parametrize(
        ("rails", "is_asked"),
        [
            (RegularScale(1_000, 50, 33), False),
            (RegularScale(1_000, 50, 34), True),
            (RegularScale(990, 50, 33), True),
        ],
    )
    def test_are_asked_about_where_one_is_not_believed_of_such_an_axis(
        self, rails: RegularScale, is_asked: bool
    ) -> None:
        """A figure too many, or one in another unit; what is just believed is not asked about."""
        model = with_scales("parallel_bars", rails=rails)
        axis = model.axes[0].kind
        ends = [model.alone_mm(model.axes[0], rails.length_mm(at)) for at in (0, rails.count - 1)]
        expected = [NotBelieved(axis, *ends)] if is_asked else []
        assert [one for one in doubts(model) if isinstance(one, NotBelieved)] == expected

    def test_are_told_as_they_were_typed(self, bars: ApparatusModel) -> None:
        """Whoever typed 1,45 metres as centimetres looks for 1.45, and never for 1.4."""
        asked = NotBelieved(bars.axes[0].kind, 14.5, 414.5)
        assert asked.told(Unit.CENTIMETRE).startswith(
            "Low rail height: from 1.45 to 41.45 cm was read, "
        )

    def test_of_a_spread_are_what_it_reads_at_whatever_heights(self, bars: ApparatusModel) -> None:
        """Printed for rails 80 cm apart: a tape finds more than 250 cm where they are farther."""
        low, high, spread = bars.axes
        farther = replace(high, scale=RegularScale(2_200, 50, 16))
        widest = replace(spread, scale=RegularScale(800, 50, 35))
        model = replace(bars, axes=(low, farther, widest))
        assert not [one for one in doubts(model) if isinstance(one, NotBelieved)]

    def test_of_a_frame_that_leans_are_what_a_tape_finds(self, bars: ApparatusModel) -> None:
        low, high, spread = bars.axes
        taller = replace(high, scale=RegularScale(2_200, 50, 20))
        leaning = replace(bars, geometry=Leaning(1300, 1500, 50), axes=(low, taller, spread))
        first, last = (leaning.measures_mm(stops) for stops in ((0, 0, 0), (8, 19, 30)))
        assert [one for one in doubts(leaning) if isinstance(one, NotBelieved)] == [
            NotBelieved(axis.kind, first[axis.key], last[axis.key]) for axis in (high, spread)
        ]


class TestAListOfStops:
    def test_with_gaps_or_numbered_downwards_is_not_asked_about(self) -> None:
        assert listed(("1", 1600), ("2", 1650), ("4", 1750), ("5", 1800)) == ""
        assert listed(("9", 1600), ("7", 1700), ("6", 1750), ("5", 1800)) == ""
        assert listed(("A", 1600), ("B", 1650), ("top", 1700), ("½", 1750)) == ""

    def test_whose_labels_are_one_number_is_asked_about_by_its_places(self) -> None:
        """Four labels that differ as text, and not as numbers."""
        same = ("1", "01", "001", "0001")
        assert listed(*zip(same, (1600, 1650, 1700, 1750), strict=True)) == ""
        assert "172.0 cm, where all the others would put it at 170.0 cm" in listed(
            *zip(same, (1600, 1650, 1720, 1750), strict=True)
        )

    def test_uneven_altogether_is_nobodys_slip(self) -> None:
        assert listed(("1", 1600), ("2", 1640), ("3", 1700), ("4", 1810), ("5", 1850)) == ""

    def test_with_one_stop_off_the_line_of_the_others_names_it(self) -> None:
        told = listed(("1", 1600), ("2", 1650), ("3", 1730), ("4", 1750), ("5", 1800))
        assert "mark 3 is at 173.0 cm, where all the others would put it at 170.0 cm" in told
        told = listed(("A", 1500), ("B", 1650), ("C", 1700), ("D", 1750))
        assert "mark A is at 150.0 cm, where all the others would put it at 160.0 cm" in told

    def test_with_a_mark_left_out_and_no_room_for_it_is_asked(self) -> None:
        told = listed(("1", 1600), ("2", 1650), ("4", 1700), ("5", 1750), ("6", 1800))
        assert "equally far apart, but go from 2 to 4" in told


class TestHoles:
    def test_numbered_from_their_own_count_are_asked_whether_they_fall(self) -> None:
        told = of_bars(rails=RegularScale(1600, 50, 10, first_label=10))
        assert "from 10, the lowest, up to 19" in told
        assert of_bars(rails=RegularScale(1600, 50, 10, first_label=3)) == ""

    def test_that_would_run_into_one_another_are_asked_about(self) -> None:
        """A quarter of an inch is a ratchet's; half a centimetre is a digit that got lost."""
        assert "0.5 cm apart" in of_bars(rails=RegularScale(1600, 5, 10))
        assert of_bars(rails=RegularScale(1600, 10, 10)) == ""

    def test_a_single_one_is_asked_about(self) -> None:
        assert "one mark alone, 1" in of_bars(rails=RegularScale(1600, 50, 1))


class TestTheSpread:
    def test_whose_marks_hold_at_another_drop_than_the_rails_have_is_asked_about(
        self, bars: ApparatusModel
    ) -> None:
        """In the middle of the scales the rails are 80 cm apart in height; a step is nothing."""
        assert asked(replace(bars, geometry=Upright(800))) == ""
        assert asked(replace(bars, geometry=Upright(790))) == ""
        [doubt] = doubts(replace(bars, geometry=Upright(600)))
        assert isinstance(doubt, SpreadMisread)


class TestTheRail:
    @pytest.mark.parametrize(("height_mm", "width_mm"), [(4, 40), (40, 140), (120, 40)])
    def test_thinner_or_thicker_than_hands_hold_is_asked_about(
        self, height_mm: float, width_mm: float
    ) -> None:
        assert "2.0 to 8.0 cm is usual" in of_bars(Section(height_mm, width_mm))
