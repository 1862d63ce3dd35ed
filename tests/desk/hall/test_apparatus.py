"""The apparatus in the hall: what stands there, who saw it, and whose scale counts."""

from datetime import date

import pytest

from settingsdesk.desk.hall import apparatus, calibrations, models
from settingsdesk.desk.hall.apparatus import (
    NameMissing,
    NotAMat,
    NotEndNames,
    NothingHeld,
    SetupUnknown,
)
from settingsdesk.desk.hall.calibrations import Taped
from settingsdesk.desk.hall.models import NameTaken
from settingsdesk.domain.hall.definition import model_from_data, model_to_data
from settingsdesk.domain.hall.scales import NoSuchStop
from settingsdesk.domain.settings.settings import RailsInWrongOrder
from settingsdesk.store.work import Store
from tests.conftest import Account
from tests.desk.sample_hall import BY, Hall, furnish


@pytest.fixture
def hall(store: Store, account: Account) -> Hall:
    return furnish(store, account.club_id)


class TestPiece:
    def test_a_new_apparatus_stands_at_no_known_setup(self, store: Store, hall: Hall) -> None:
        """Nobody is told heights that nobody has looked at."""
        with store.work(hall.club_id, writes=False) as session:
            beam = apparatus.piece(session, hall.beam)

        assert beam.setup is None
        assert not beam.lost_marks
        with pytest.raises(SetupUnknown, match="read its marks and record them"):
            beam.must_stand_somewhere()

    def test_a_name_is_given_once_and_not_left_empty(self, store: Store, hall: Hall) -> None:
        """Two bars of one name would be mixed up in the hall."""
        with store.work(hall.club_id, by=BY, writes=True) as session:
            with pytest.raises(NameTaken, match="'Bars 1'"):
                apparatus.add_piece(session, "Bars 1 ", "", hall.models["Hall frame A"], 0)
            with pytest.raises(NameMissing):
                apparatus.add_piece(session, "  ", "", hall.models["Hall frame A"], 0)

    def test_mats_of_more_than_a_metre_are_a_slip(self, store: Store, hall: Hall) -> None:
        with (
            store.work(hall.club_id, by=BY, writes=True) as session,
            pytest.raises(NotAMat, match=r"between 0 and 100\.0 cm .* 200\.0 cm was given"),
        ):
            apparatus.change_piece(session, hall.bars, "Bars 1", "", 2000)

    def test_what_is_changed_is_the_name_the_place_and_the_mat(
        self, store: Store, hall: Hall
    ) -> None:
        with store.work(hall.club_id, by=BY, writes=True) as session:
            changed = apparatus.change_piece(session, hall.bars, "Bars A", "Gallery", 100)

        assert (changed.name, changed.place, changed.mat_mm) == ("Bars A", "Gallery", 100)
        assert changed.setup == (3, 4, 20)


class TestWhatTheEndsAreCalled:
    def called(self, store: Store, hall: Hall, first: str, second: str) -> apparatus.Piece:
        with store.work(hall.club_id, by=BY, writes=True) as session:
            apparatus.call_ends(session, hall.bars, first, second)
            return apparatus.piece(session, hall.bars)

    def test_every_end_is_called_as_the_hall_calls_it(self, store: Store, hall: Hall) -> None:
        """Front and back depend on where one stands; the window does not."""
        bars = self.called(store, hall, " window", "wall ")

        assert bars.model.axis("low_rail").ends == ("window end", "wall end")
        assert bars.model.axis("spread").ends == ("window spreader", "wall spreader")
        assert (bars.seen_from, bars.ends_called) == ("window end", ("window", "wall"))

    def test_the_model_keeps_its_own_words(self, store: Store, hall: Hall) -> None:
        """It may stand in several halls."""
        bars = self.called(store, hall, "window", "wall")

        assert bars.printed.model.axis("low_rail").ends == ("front end", "back end")

    def test_both_empty_are_no_names_of_the_hall(self, store: Store, hall: Hall) -> None:
        self.called(store, hall, "window", "wall")
        bars = self.called(store, hall, "", " ")

        assert bars.end_names is None
        assert bars.model.axis("low_rail").ends == ("front end", "back end")

    @pytest.mark.parametrize(
        "names",
        [("window", ""), ("Window", "window"), ("window end", "wall"), ("window", "w" * 21)],
        ids=["one is missing", "both the same", "an end twice", "too long"],
    )
    def test_names_that_do_not_tell_them_apart_are_refused(
        self, store: Store, hall: Hall, names: tuple[str, str]
    ) -> None:
        with pytest.raises(NotEndNames, match="different ones of 20 letters at most"):
            self.called(store, hall, *names)


class TestWhatStandsThere:
    def test_the_record_is_kept_and_the_newest_comes_first(self, store: Store, hall: Hall) -> None:
        """A coach can look up what stood there last week."""
        with store.work(hall.club_id, by="Bo", writes=True) as session:
            apparatus.read_off(session, hall.bars, (0, 0, 0), "")
            stood = apparatus.setups(session, hall.bars)

        assert [one.recorded_by for one in stood] == ["Bo", BY]
        assert stood[0].marks == {"low_rail": "1", "high_rail": "1", "spread": "130.0"}
        assert stood[0].how == "read off the marks"

    def test_a_stop_beyond_the_scale_is_refused(self, store: Store, hall: Hall) -> None:
        with store.work(hall.club_id, by=BY, writes=True) as session, pytest.raises(NoSuchStop):
            apparatus.record_setup(session, hall.bars, (9, 4, 20), "")

    def test_a_low_rail_above_the_high_rail_was_misread(self, store: Store, hall: Hall) -> None:
        """Marks read in the wrong order are caught before anybody trusts them."""
        with store.work(hall.club_id, by=BY, writes=True) as session:
            data = model_to_data(models.model(session, hall.models["Hall frame A"]).model)
            data["axes"]["low_rail"]["scale"]["stops"] = 30
            data["axes"]["high_rail"]["scale"]["stops"] = 30
            data["name"] = "Tall frame"
            tall = models.add_model(session, model_from_data(data))
            bars = apparatus.add_piece(session, "Tall bars", "", tall.id, 0)
            with pytest.raises(RailsInWrongOrder, match="are the two swapped"):
                apparatus.read_off(session, bars.id, (29, 4, 20), "")
            assert apparatus.setups(session, bars.id) == []

    def test_a_setup_that_the_scale_no_longer_has_is_not_known_any_more(
        self, store: Store, hall: Hall
    ) -> None:
        """After a shorter scale is recorded, nobody reads a mark that is not there."""
        with store.work(hall.club_id, by=BY, writes=True) as session:
            present = models.model(session, hall.models["Hall frame A"]).model
            data = model_to_data(present)
            data["axes"]["low_rail"]["scale"]["stops"] = 3
            models.change_model(
                session, hall.models["Hall frame A"], model_from_data(data), "miscounted", 1
            )
            assert apparatus.piece(session, hall.bars).setup is None
            assert apparatus.piece(session, hall.bars).lost_marks
            assert [one.marks for one in apparatus.setups(session, hall.bars)] == [None]


class TestScaleUsed:
    def test_it_says_whose_scale_counts_and_since_when(self, store: Store, hall: Hall) -> None:
        """A card can say whether its marks were measured on this very apparatus."""
        taped = [Taped("1", 1505), Taped("5", 1706), Taped("9", 1905)]
        with store.work(hall.club_id, by=BY, writes=True) as session:
            before = apparatus.piece(session, hall.bars)
            fitted = apparatus.try_on_piece(apparatus.piece(session, hall.bars), "low_rail", taped)
            calibrations.keep_calibration(session, hall.bars, "low_rail", fitted, date(2026, 3, 1))
            after = apparatus.piece(session, hall.bars)

        assert before.scale_used == "scale of the model, not measured on this apparatus"
        assert after.scale_used == "taped here in part, 1 March 2026"
        assert after.model.axis("low_rail").scale.length_mm(0) == pytest.approx(1505.3, abs=0.1)

    def test_of_several_days_it_claims_none_for_all(self, store: Store, hall: Hall) -> None:
        """A spread taped tonight makes no height younger; papers of before name only the newest."""
        with store.work(hall.club_id, by=BY, writes=True) as session:
            for axis, first_mm, day in (("low_rail", 1505, 1), ("high_rail", 2305, 8)):
                taped = [Taped(str(mark), first_mm + 50 * (mark - 1)) for mark in (1, 5, 9)]
                fitted = apparatus.try_on_piece(apparatus.piece(session, hall.bars), axis, taped)
                calibrations.keep_calibration(session, hall.bars, axis, fitted, date(2026, 3, day))
            used = apparatus.piece(session, hall.bars).scale_used

        assert used == "taped here in part, 1 March 2026 to 8 March 2026"
        assert apparatus.as_first_said(used) == "own calibration (some axes) of 8 March 2026"

    def test_bars_that_stand_nobody_knows_how_cannot_be_calibrated(
        self, store: Store, hall: Hall
    ) -> None:
        """Where other axes stand shifts what the tape finds on leaning uprights."""
        with store.work(hall.club_id, by=BY, writes=True) as session:
            bars = apparatus.add_piece(session, "Bars 2", "", hall.models["Leaning frame C"], 0)
            with pytest.raises(NothingHeld, match="Record the present marks of Bars 2 first"):
                apparatus.try_on_piece(
                    apparatus.piece(session, bars.id), "low_rail", [Taped("10", 1500)]
                )
