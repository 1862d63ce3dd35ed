"""Stations: who is let in to an apparatus of a meet, for how long, and to nothing else."""

import re
from datetime import timedelta

import pytest

from settingsdesk.desk.stations import stations
from settingsdesk.desk.stations.stations import (
    HoursNotPossible,
    NoSuchStation,
    Out,
    StationClosed,
    StationIsFull,
    VolunteerUnnamed,
)
from settingsdesk.domain.base.codes import CheckCharacterDoesNotFit
from settingsdesk.store import stations as kept_stations
from tests.conftest import DemoClub
from tests.desk.sample_meet import CODE_KEY, SmallMeet, hold


@pytest.fixture
def held(demo_club: DemoClub) -> SmallMeet:
    return hold(demo_club)


@pytest.fixture
def station_id(demo_club: DemoClub, held: SmallMeet) -> int:
    with demo_club.work(writes=True) as session:
        opened = stations.open_station(session, CODE_KEY, held.session_id, held.apparatus_id)
        return opened.id


def codes(club: DemoClub, station_id: int) -> stations.StationCodes:
    with club.work() as session:
        return stations.codes(session, CODE_KEY, station_id)


def let_in(club: DemoClub, station_id: int, name: str = "Ivo") -> stations.PhoneIn:
    return stations.let_in(club.store, CODE_KEY, codes(club, station_id).short_code, name)


class TestOpening:
    def test_one_that_is_open_is_given_back(
        self, demo_club: DemoClub, held: SmallMeet, station_id: int
    ) -> None:
        with demo_club.work(writes=True) as session:
            again = stations.open_station(session, CODE_KEY, held.session_id, held.apparatus_id)
        assert again.id == station_id

    def test_after_it_was_closed_it_has_other_codes(
        self, demo_club: DemoClub, held: SmallMeet, station_id: int
    ) -> None:
        before = codes(demo_club, station_id)
        with demo_club.work(writes=True) as session:
            stations.close(session, station_id)
            again = stations.open_station(session, CODE_KEY, held.session_id, held.apparatus_id)
        assert codes(demo_club, again.id) != before
        with pytest.raises(StationClosed):
            codes(demo_club, station_id)

    def test_it_is_open_for_hours_not_for_days(self, demo_club: DemoClub, held: SmallMeet) -> None:
        with demo_club.work(writes=True) as session, pytest.raises(HoursNotPossible):
            stations.open_station(session, CODE_KEY, held.session_id, held.apparatus_id, 17)

    def test_its_codes_are_in_no_file(self, demo_club: DemoClub, station_id: int) -> None:
        """OWASP ASVS 5.0.0, 6.5.2: a copy of the database lets nobody in."""
        told = codes(demo_club, station_id)
        long_code = told.url.rpartition("/")[2]
        demo_club.store.close()
        folder = demo_club.data.database.parent
        kept_bytes = b"".join(file.read_bytes() for file in folder.iterdir() if file.is_file())

        assert re.fullmatch(r"HTTP://DESK\.EXAMPLE:8000/S/[2-9A-HJKMNP-Z]{26}", told.url)
        assert long_code.encode() not in kept_bytes
        assert told.short_code.encode() not in kept_bytes


class TestLettingIn:
    def test_the_scanned_and_the_typed_code_lead_to_the_same_station(
        self, demo_club: DemoClub, station_id: int
    ) -> None:
        told = codes(demo_club, station_id)
        for code in (told.url.rpartition("/")[2], told.short_code, told.short_code.lower()):
            phone = stations.let_in(demo_club.store, CODE_KEY, code, " Ivo  B ")
            assert (phone.station_id, phone.shown_name, phone.by) == (
                station_id,
                "Ivo B",
                "Ivo B (station)",
            )
            assert stations.still_in(demo_club.store, phone.stamp) == phone
            with demo_club.work(writes=True) as session:
                stations.put_out(session, phone.phone_id)

    def test_two_of_one_name_are_told_apart_by_a_number(
        self, demo_club: DemoClub, station_id: int
    ) -> None:
        """On record they would be one person, and neither could check what the other has set."""
        typed = ("Vera", "vera", "Vera", "V" * 40, "V" * 40)
        names = [let_in(demo_club, station_id, name).shown_name for name in typed]
        assert names == ["Vera", "vera 2", "Vera 3", "V" * 40, "V" * 37 + " 2"]

    def test_a_mistyped_code_is_said_to_be_one(self, demo_club: DemoClub, station_id: int) -> None:
        code = codes(demo_club, station_id).short_code
        other = "3" if code[2] != "3" else "4"
        with pytest.raises(CheckCharacterDoesNotFit):
            stations.let_in(demo_club.store, CODE_KEY, code[:2] + other + code[3:], "Ivo")

    def test_closed_and_unknown_are_the_same_to_whoever_is_outside(
        self, demo_club: DemoClub, station_id: int
    ) -> None:
        code = codes(demo_club, station_id).short_code
        with demo_club.work(writes=True) as session:
            stations.close(session, station_id)
        for tried in (code, "A" * 26):
            with pytest.raises(NoSuchStation):
                stations.let_in(demo_club.store, CODE_KEY, tried, "Ivo")

    @pytest.mark.parametrize("name", ["", "  ", "x" * 41])
    def test_nobody_confirms_namelessly(
        self, demo_club: DemoClub, station_id: int, name: str
    ) -> None:
        with pytest.raises(VolunteerUnnamed):
            let_in(demo_club, station_id, name)

    def test_no_more_phones_than_an_apparatus_needs(
        self, demo_club: DemoClub, station_id: int, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(stations, "MOST_PHONES", 2)
        let_in(demo_club, station_id, "Ivo")
        let_in(demo_club, station_id, "Ana")
        with pytest.raises(StationIsFull):
            let_in(demo_club, station_id, "Jo")

    def test_a_phone_that_is_in_comes_in_anew_at_its_own_full_station(
        self, demo_club: DemoClub, station_id: int, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Handed on to the next volunteer, who types the code and another name."""
        monkeypatch.setattr(stations, "MOST_PHONES", 2)
        let_in(demo_club, station_id, "Ana")
        before = let_in(demo_club, station_id, "Ivo")
        code = codes(demo_club, station_id).short_code
        phone = stations.let_in(demo_club.store, CODE_KEY, code, "Jo", before)

        assert stations.still_in(demo_club.store, before.stamp) is None
        assert stations.still_in(demo_club.store, phone.stamp) == phone


class TestPuttingOut:
    def test_closing_ends_every_phone_at_once(self, demo_club: DemoClub, station_id: int) -> None:
        phone = let_in(demo_club, station_id)
        with demo_club.work(writes=True) as session:
            assert not stations.close(session, station_id).is_open
        assert stations.still_in(demo_club.store, phone.stamp) is None
        assert stations.why_out(demo_club.store, phone.stamp) is Out.CLOSED

    def test_one_phone_can_be_put_out_alone(self, demo_club: DemoClub, station_id: int) -> None:
        lost, kept_one = let_in(demo_club, station_id), let_in(demo_club, station_id, "Ana")
        with demo_club.work(writes=True) as session:
            assert stations.put_out(session, lost.phone_id) == station_id
        assert stations.still_in(demo_club.store, lost.stamp) is None
        assert stations.why_out(demo_club.store, lost.stamp) is Out.TAKEN_OFF
        assert stations.still_in(demo_club.store, kept_one.stamp) is not None

    def test_it_ends_by_itself_when_its_time_is_over(
        self, demo_club: DemoClub, station_id: int
    ) -> None:
        phone = let_in(demo_club, station_id)
        with demo_club.work(writes=True) as session:
            row = kept_stations.by_id(session, station_id)
            row.until = row.opened_at - timedelta(seconds=1)
        assert stations.still_in(demo_club.store, phone.stamp) is None
        assert stations.why_out(demo_club.store, phone.stamp) is Out.OVER
        with demo_club.work() as session:
            assert not stations.station(session, station_id).is_open
