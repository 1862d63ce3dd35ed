"""Calibrations on record: used, superseded, set aside, or no longer of this scale."""

from datetime import date

import pytest

from settingsdesk.desk.hall import apparatus, calibrations, models
from settingsdesk.desk.hall.calibrations import Taped, misfits_off_mm, on_record
from settingsdesk.domain.hall.definition import model_from_data, model_to_data
from settingsdesk.domain.hall.models import TapedFarOff
from settingsdesk.domain.hall.scales import NoSuchLabel
from settingsdesk.store.work import Store
from tests.conftest import Account
from tests.desk.sample_hall import BY, Hall, furnish


@pytest.fixture
def hall(store: Store, account: Account) -> Hall:
    return furnish(store, account.club_id)


def straight(offset_mm: float) -> list[Taped]:
    """Readings of every second stop, all off by the same."""
    return [Taped(str(mark), 1450 + 50 * mark + offset_mm) for mark in (1, 3, 5, 7, 9)]


def keep(store: Store, hall: Hall, taped: list[Taped], taken_on: date) -> None:
    with store.work(hall.club_id, by=BY, writes=True) as session:
        fitted = apparatus.try_on_piece(apparatus.piece(session, hall.bars), "low_rail", taped)
        calibrations.keep_calibration(session, hall.bars, "low_rail", fitted, taken_on)


def first_mm(store: Store, hall: Hall) -> float:
    with store.work(hall.club_id, writes=False) as session:
        return apparatus.piece(session, hall.bars).model.axis("low_rail").scale.length_mm(0)


class TestInUse:
    def test_the_newest_counts_and_setting_it_aside_brings_back_the_one_before(
        self, store: Store, hall: Hall
    ) -> None:
        """A calibration gone wrong is undone without losing the good one before it."""
        keep(store, hall, straight(4), date(2026, 1, 1))
        keep(store, hall, straight(9), date(2026, 2, 1))
        assert first_mm(store, hall) == pytest.approx(1509)

        with store.work(hall.club_id, by="Bo", writes=True) as session:
            printed = models.model(session, hall.models["Hall frame A"]).model
            newest = on_record(session, hall.bars, printed)[0]
            calibrations.set_aside(session, newest.id)
            record = on_record(session, hall.bars, printed)

        assert first_mm(store, hall) == pytest.approx(1504)
        assert [one.in_use for one in record] == [False, True]
        assert record[0].set_aside_by == "Bo"
        assert record[0].set_aside_at is not None

    def test_one_that_the_present_scale_cannot_carry_is_not_used(
        self, store: Store, hall: Hall
    ) -> None:
        """A shorter scale does not break the page of the apparatus."""
        keep(store, hall, straight(4), date(2026, 1, 1))
        with store.work(hall.club_id, by=BY, writes=True) as session:
            data = model_to_data(models.model(session, hall.models["Hall frame A"]).model)
            data["axes"]["low_rail"]["scale"]["stops"] = 8
            changed = models.change_model(
                session, hall.models["Hall frame A"], model_from_data(data), "shortened", 1
            )
            record = on_record(session, hall.bars, changed.model)

        assert first_mm(store, hall) == 1500
        assert [(one.in_use, one.fitted) for one in record] == [(False, None)]


class TestReadings:
    def test_a_stop_that_does_not_fit_is_told_by_how_much_it_is_off_the_others(
        self, store: Store, hall: Hall
    ) -> None:
        """25 mm is what the coach will find when looking at the stop, not what a fit leaves."""
        taped = straight(4)
        taped[2] = Taped("5", 1704 + 25.3)
        with store.work(hall.club_id, writes=False) as session:
            fitted = apparatus.try_on_piece(apparatus.piece(session, hall.bars), "low_rail", taped)

        assert misfits_off_mm(fitted) == {4: pytest.approx(25.3)}

    def test_readings_that_all_fit_have_none(self, store: Store, hall: Hall) -> None:
        with store.work(hall.club_id, writes=False) as session:
            fitted = apparatus.try_on_piece(
                apparatus.piece(session, hall.bars), "low_rail", straight(4)
            )

        assert misfits_off_mm(fitted) == {}

    def test_a_mark_that_is_not_printed_and_a_length_no_stop_has_are_refused(
        self, store: Store, hall: Hall
    ) -> None:
        with store.work(hall.club_id, writes=False) as session:
            with pytest.raises(NoSuchLabel, match="run from 1 to 9"):
                apparatus.try_on_piece(
                    apparatus.piece(session, hall.bars), "low_rail", [Taped("10", 1950)]
                )
            with pytest.raises(TapedFarOff, match=r"250\.0 cm is not near any mark"):
                apparatus.try_on_piece(
                    apparatus.piece(session, hall.bars), "low_rail", [Taped("9", 2500)]
                )
