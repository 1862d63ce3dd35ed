"""Settings: typed as lengths or marks, kept version by version, carried to what stands there."""

from collections.abc import Mapping
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.desk.hall import apparatus, models
from settingsdesk.desk.squad import athletes, setting_versions, settings
from settingsdesk.desk.squad.settings import SettingChangedMeanwhile
from settingsdesk.desk.squad.typed_settings import (
    AsTyped,
    AxisNotTyped,
    AxisTypedTwice,
    Datums,
    LengthNotBelieved,
    TooFarBesideMarks,
    setting_typed,
)
from settingsdesk.domain.base.datums import (
    Edge,
    HeightDatum,
    Level,
    SpreadDatum,
    SpreadTooSmall,
)
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.hall.definition import model_from_data
from settingsdesk.domain.hall.models import ApparatusModel, Guess
from settingsdesk.domain.settings.settings import RailsInWrongOrder, Setting, Wanted
from settingsdesk.domain.settings.transfer import setting_of_setup
from tests.conftest import DemoClub
from tests.test_seed import read

MODELS = {data["name"]: model_from_data(data) for data in read("models.toml")["model"]}
HALL, LEANING, HORSE = MODELS["Hall frame A"], MODELS["Leaning frame C"], MODELS["Horse A"]
JAGNA = "jagna"


def lengths(low: int, high: int, spread: int) -> dict[str, AsTyped]:
    return {"low_rail": AsTyped(low), "high_rail": AsTyped(high), "spread": AsTyped(spread)}


def wanted_mm(setting: Setting) -> dict[str, int]:
    return {key: wanted.wanted_mm for key, wanted in setting.axes.items()}


class TestLengthsAsTheyAreTyped:
    def test_canonical_lengths_are_kept_to_the_millimetre(self) -> None:
        assert wanted_mm(setting_typed(HALL, lengths(1703, 2497, 1651))) == {
            "low_rail": 1703,
            "high_rail": 2497,
            "spread": 1651,
        }

    def test_heights_over_the_mat_to_the_underside_get_mat_and_rail_added(self) -> None:
        """By hand: 146 cm under a rail of 4 cm over 20 cm of mat is 170 cm to its upper edge."""
        datums = Datums(HeightDatum(Level.MAT, Edge.UNDERSIDE), SpreadDatum.INNER, 200)

        found = wanted_mm(setting_typed(HALL, lengths(1460, 2260, 1700), datums))

        assert (found["low_rail"], found["high_rail"]) == (1700, 2500)

    def test_a_horizontal_spread_becomes_the_inner_diagonal(self) -> None:
        """By hand: 600 across and 800 up make a diagonal of 1000, less a rail of 40."""
        datums = Datums(spread=SpreadDatum.CENTRES_HORIZONTAL)

        assert wanted_mm(setting_typed(HALL, lengths(1700, 2500, 600), datums))["spread"] == 960

    def test_deviation_and_weight_go_along(self) -> None:
        wishes = {**lengths(1700, 2500, 1600), "spread": AsTyped(1600, None, 15, 3)}

        assert setting_typed(HALL, wishes).axes["spread"] == Wanted(1600, 15, 3)


class TestMarksBesideLengths:
    def test_marks_alone_are_what_a_tape_finds_there(self) -> None:
        setup = (4, 5, 40)
        wishes = {axis.key: AsTyped(stop=stop) for axis, stop in zip(HALL.axes, setup, strict=True)}

        assert setting_typed(HALL, wishes) == setting_of_setup(HALL, setup)

    @pytest.mark.parametrize("model", [HALL, LEANING])
    @given(data=st.data())
    def test_any_mix_of_marks_and_lengths_names_the_same_place(
        self, model: ApparatusModel, data: st.DataObject
    ) -> None:
        """What the tape finds at a setup, typed back axis by axis as a mark or as that length."""
        setup = tuple(
            data.draw(st.integers(low, axis.scale.count - 1))
            for axis, low in zip(model.axes, (0, 5, 25), strict=True)
        )
        found_mm = model.measures_mm(setup)
        as_mark = data.draw(st.tuples(*[st.booleans()] * 3))
        wishes = {
            axis.key: AsTyped(stop=stop) if mark else AsTyped(round(found_mm[axis.key]))
            for axis, stop, mark in zip(model.axes, setup, as_mark, strict=True)
        }
        if found_mm["high_rail"] - found_mm["low_rail"] < 2:
            return

        wished = wanted_mm(setting_typed(model, wishes))

        for key, length_mm in found_mm.items():
            # A length was rounded to the millimetre before it went in; leaning uprights pass on
            # a little more than that to the others.
            assert wished[key] == pytest.approx(length_mm, abs=3)

    def test_a_typed_length_stays_as_typed_beside_marks(self) -> None:
        wishes = {"low_rail": AsTyped(1712), "high_rail": AsTyped(stop=4), "spread": AsTyped(1655)}

        found = wanted_mm(setting_typed(LEANING, wishes))

        assert (found["low_rail"], found["spread"]) == (1712, 1655)

    def test_axes_that_shift_nothing_mix_freely(self) -> None:
        wishes = {"body": AsTyped(stop=2), "pommels": AsTyped(431)}

        assert wanted_mm(setting_typed(HORSE, wishes)) == {"body": 1050, "pommels": 431}

    def test_a_length_far_past_the_scale_is_refused_beside_marks(self) -> None:
        wishes = {**lengths(1000, 2500, 1600), "spread": AsTyped(stop=3)}

        with pytest.raises(TooFarBesideMarks, match="give every adjustment as a length"):
            setting_typed(HALL, wishes)


class TestWhatIsRefused:
    @pytest.mark.parametrize(
        ("wishes", "refusal", "words"),
        [
            (
                {**lengths(1700, 2500, 1600), "spread": AsTyped()},
                AxisNotTyped,
                "Enter the rail spread",
            ),
            (
                {**lengths(1700, 2500, 1600), "low_rail": AsTyped(1700, 4)},
                AxisTypedTwice,
                "Low rail height has a length and a mark",
            ),
            (lengths(1700, 4001, 1600), LengthNotBelieved, "High rail height .* at most 400.0 cm"),
            (lengths(0, 2500, 1600), LengthNotBelieved, "Low rail height must be more than 0"),
            (lengths(2500, 2500, 1600), RailsInWrongOrder, "are the two swapped"),
            (lengths(2600, 2500, 1600), RailsInWrongOrder, "must be less than high rail height"),
            (lengths(500, 2500, 1600), SpreadTooSmall, "200.0 cm apart in height"),
        ],
    )
    def test_it_is_named_with_what_to_do(
        self, wishes: Mapping[str, AsTyped], refusal: type[Exception], words: str
    ) -> None:
        with pytest.raises(refusal, match=words):
            setting_typed(HALL, wishes)


class TestVersions:
    def keep(self, club: DemoClub, high_mm: int, instead_of: int | None = None) -> int:
        with club.work(writes=True) as session:
            athlete = athletes.find(session, JAGNA)[0]
            model = next(
                one for one in models.all_models(session) if one.model.name == "Hall frame A"
            )
            kept = settings.keep_setting(
                session,
                athlete.id,
                model.id,
                setting_typed(model.model, lengths(1700, high_mm, 1700)),
                " grown ",
                {"high_rail": "mark 6"},
                instead_of=instead_of,
            )
            return kept.version

    def test_a_change_is_a_further_version_and_the_one_before_stays(
        self, demo_club: DemoClub
    ) -> None:
        assert self.keep(demo_club, 2550) == 2

        with demo_club.work() as session:
            athlete = athletes.find(session, JAGNA)[0]
            newest, first, *_ = setting_versions.steps(session, athlete.id, Unit.CENTIMETRE)
        assert (newest.version.recorded_by, newest.version.reason) == ("Runa", "grown")
        assert newest.version.as_read["high_rail"] == "mark 6"
        assert newest.changes == (
            "Low rail height: 170.0 cm ± 1.0 cm becomes 170.0 cm",
            "High rail height: 250.0 cm ± 1.0 cm becomes 255.0 cm",
            "Rail spread: 170.0 cm ± 1.5 cm becomes 170.0 cm",
        )
        assert first.changes[0] == "Low rail height: 170.0 cm ± 1.0 cm"

    def test_what_differs_in_nothing_is_no_new_version(self, demo_club: DemoClub) -> None:
        """A second press, or the same sheet again."""
        assert self.keep(demo_club, 2550, instead_of=1) == 2
        assert self.keep(demo_club, 2550, instead_of=1) == 2

    def test_what_another_coach_kept_meanwhile_is_not_written_over(
        self, demo_club: DemoClub
    ) -> None:
        self.keep(demo_club, 2550)

        with pytest.raises(SettingChangedMeanwhile, match="Runa has saved version 2"):
            self.keep(demo_club, 2560, instead_of=1)


class TestOnWhatStandsInTheHall:
    def test_every_apparatus_of_the_kind_has_it_in_its_own_marks(self, demo_club: DemoClub) -> None:
        with demo_club.work() as session:
            athlete = athletes.find(session, JAGNA)[0]
            carried = settings.on_every_piece(session, settings.current(session, athlete.id))

        assert {one.piece.name: one.of_another_model for one in carried} == {
            "Bars by the window": False,
            "Bars by the door": True,
            "Bars at the autumn meet": False,
        }
        assert {one.piece.name: one.unmeasured for one in carried} == {
            "Bars by the window": "",
            "Bars by the door": "Worked out from Leaning frame C, not measured here",
            "Bars at the autumn meet": "",
        }
        guessing = replace(carried[0].piece.model, guessed=frozenset({Guess.DROP}))
        guessed = replace(carried[0], piece=replace(carried[0].piece, model=guessing))
        assert ("guessed drop" in guessed.unmeasured) == guessing.guesses_drop

    def test_the_setting_of_a_setup_is_what_a_tape_finds_on_that_apparatus(
        self, demo_club: DemoClub
    ) -> None:
        """The window bars have a calibration of their own: mark 5 is not the model's 170.0."""
        with demo_club.work() as session:
            piece = next(
                one for one in apparatus.all_pieces(session) if one.name == "Bars by the window"
            )
        taken = setting_of_setup(piece.model, piece.must_stand_somewhere())

        assert wanted_mm(taken)["low_rail"] == 1704
