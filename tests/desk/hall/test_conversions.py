"""Converting between marks, datums and apparatus, checked against sums on paper."""

import tomllib
from dataclasses import replace

import pytest

from settingsdesk.desk.hall.conversions import (
    LengthAbsent,
    MarkAbsent,
    canonical_setting,
    in_datums,
    in_every_datum,
    setup_of_labels,
)
from settingsdesk.domain.base.datums import (
    Edge,
    HeightDatum,
    Level,
    SpreadDatum,
    SpreadTooSmall,
)
from settingsdesk.domain.hall.definition import model_from_data
from settingsdesk.domain.hall.models import ApparatusModel, Guess, SectionUnknown
from settingsdesk.domain.settings.settings import RailsInWrongOrder
from settingsdesk.domain.settings.transfer import setting_of_setup, transfer
from settingsdesk.resources import folder


def model(name: str) -> ApparatusModel:
    told = tomllib.loads((folder("seed") / "models.toml").read_text(encoding="utf-8"))
    return next(model_from_data(data) for data in told["model"] if data["name"] == name)


FRAME_A, FRAME_B, BEAM = model("Hall frame A"), model("Travel frame B"), model("Beam A")
LENGTHS = {"low_rail": 1650, "high_rail": 2450, "spread": 1500}


def lengths_of(setting_axes: object) -> dict[str, int]:
    return {key: want.wanted_mm for key, want in setting_axes.items()}  # type: ignore[attr-defined]


class TestMarks:
    def test_a_setup_is_read_mark_by_mark(self) -> None:
        marks = {"low_rail": "4", "high_rail": "5", "spread": "150"}
        assert setup_of_labels(FRAME_A, marks) == (3, 4, 20)

    def test_a_mark_left_out_is_asked_for(self) -> None:
        with pytest.raises(MarkAbsent, match="Enter the mark of the rail spread"):
            setup_of_labels(FRAME_A, {"low_rail": "4", "high_rail": "5"})

    def test_marks_are_a_setting_with_an_accepted_deviation(self) -> None:
        setting = setting_of_setup(FRAME_A, (3, 3, 20), accepts_mm=5)
        assert lengths_of(setting.axes) == LENGTHS
        assert {want.accepts_mm for want in setting.axes.values()} == {5}


class TestARailThatNobodyMeasured:
    GUESSED = replace(FRAME_A, guessed=frozenset({Guess.SECTION}))

    @pytest.mark.parametrize(
        ("height", "spread"),
        [
            (HeightDatum(edge=Edge.CENTRE), SpreadDatum.INNER),
            (HeightDatum(), SpreadDatum.CENTRES_HORIZONTAL),
        ],
    )
    def test_is_asked_for_before_a_length_is_worked_out_with_it(
        self, height: HeightDatum, spread: SpreadDatum
    ) -> None:
        """Half of a guessed rail would be lost in the height, without a word."""
        with pytest.raises(SectionUnknown, match="Hall frame A is not entered yet"):
            canonical_setting(self.GUESSED, LENGTHS, height, spread, 0)

    def test_is_told_in_no_datum_that_hangs_on_it(self) -> None:
        setting = setting_of_setup(FRAME_A, (3, 3, 20))
        told = [one.datum for one in in_every_datum(self.GUESSED, setting, 0)]
        assert not [datum for datum in told if "centre" in datum or "underside" in datum]
        assert len(told) == 3


class TestDatums:
    def test_underside_above_the_mat_is_read_up_to_the_canonical_edge(self) -> None:
        """200 mm of mat and 40 mm of rail: 1410 is 1650, 2210 is 2450."""
        given = {"low_rail": 1410, "high_rail": 2210, "spread": 1500}
        setting = canonical_setting(
            FRAME_A, given, HeightDatum(Level.MAT, Edge.UNDERSIDE), SpreadDatum.INNER, 200
        )
        assert lengths_of(setting.axes) == LENGTHS

    def test_a_horizontal_spread_is_turned_into_the_inner_one(self) -> None:
        """Drop 800, horizontal 1320: the diagonal is the root of 2 382 400, less 40 of rail."""
        given = LENGTHS | {"spread": 1320}
        setting = canonical_setting(
            FRAME_A, given, HeightDatum(), SpreadDatum.CENTRES_HORIZONTAL, 0
        )
        assert setting.axes["spread"].wanted_mm == 1504

    def test_every_datum_comes_back_to_where_it_began(self) -> None:
        """Whoever tapes the centre of the rail above the mat reads the same rail."""
        setting = setting_of_setup(FRAME_A, (3, 3, 20))
        told = {
            (one.axis.key, one.datum): one.length_mm
            for one in in_every_datum(FRAME_A, setting, 200)
        }
        assert told["low_rail", "centre of the rail, above the mat"] == 1430
        assert told["high_rail", "underside of the rail, above the floor"] == 2410
        assert told["spread", "straight distance of the rails' centres"] == pytest.approx(1540)
        assert len(told) == 6 + 6 + 3

    def test_an_answer_is_told_as_the_question_was_taped_over_the_mats_that_lie_there(self) -> None:
        """1650 above the floor is 1610 to the underside, and 1410 above 200 mm of mat."""
        measures_mm = {"low_rail": 1650.0, "high_rail": 2450.0, "spread": 1500.0}
        asked = HeightDatum(Level.MAT, Edge.UNDERSIDE), SpreadDatum.CENTRES_DIAGONAL
        told = in_datums(FRAME_A, measures_mm, *asked, 200)
        assert (told["low_rail"].length_mm, told["high_rail"].length_mm) == (1410, 2210)
        assert told["low_rail"].datum == "underside of the rail, above the mat"
        assert told["spread"].length_mm == pytest.approx(1540)
        bare = in_datums(FRAME_A, measures_mm, *asked, 0)["low_rail"]
        assert (bare.length_mm, bare.datum) == (1610, "underside of the rail, above the floor")

    def test_what_was_asked_as_it_is_kept_is_not_told_twice(self) -> None:
        measures_mm = {"low_rail": 1650.0, "high_rail": 2450.0, "spread": 1500.0}
        assert in_datums(FRAME_A, measures_mm, HeightDatum(), SpreadDatum.INNER, 200) == {}

    @pytest.mark.parametrize("name", ["Horse A", "Table A", "Beam A", "Ring frame A"])
    def test_every_axis_of_every_kind_is_told(self, name: str) -> None:
        """A pommel spacing has one way to be taped, and it is told too."""
        some = model(name)
        told = in_every_datum(some, setting_of_setup(some, tuple(0 for _ in some.axes)), 0)
        assert [one.axis.key for one in told] == [axis.key for axis in some.axes]

    def test_swapped_rails_a_missing_length_and_a_spread_below_the_drop_are_refused(self) -> None:
        upper, inner = HeightDatum(), SpreadDatum.INNER
        with pytest.raises(RailsInWrongOrder):
            canonical_setting(
                FRAME_A, {"low_rail": 2450, "high_rail": 1650, "spread": 1500}, upper, inner, 0
            )
        with pytest.raises(LengthAbsent, match="Enter the rail spread"):
            canonical_setting(FRAME_A, {"low_rail": 1650, "high_rail": 2450}, upper, inner, 0)
        with pytest.raises(SpreadTooSmall, match=r"80\.0 cm apart in height alone"):
            canonical_setting(FRAME_A, LENGTHS | {"spread": 700}, upper, inner, 0)


class TestHalfWay:
    def test_it_holds_where_another_edge_is_printed(self) -> None:
        """Frame B's marks are at the underside, 2.5 cm apart: 1487.5 + 40 less half a stop."""
        setting = canonical_setting(
            FRAME_B,
            {"low_rail": 1475 + 25 + 13, "high_rail": 2450, "spread": 1500},
            HeightDatum(),
            SpreadDatum.INNER,
            0,
        )
        best = transfer(setting, FRAME_B).best
        assert (best.axes[0].mark, best.axes[0].as_near) == ("C", "")
