"""A phone that whoever is at the desk lets in."""

from datetime import timedelta

import pytest
from sqlalchemy import update

from settingsdesk.desk.cards.code_address import CodeKey
from settingsdesk.desk.stations import by_hand, stations
from settingsdesk.desk.stations.by_hand import NotLetInYet
from settingsdesk.desk.stations.stations import StationClosed, StationIsFull, VolunteerUnnamed
from settingsdesk.domain.base.codes import CheckCharacterDoesNotFit
from settingsdesk.store.base import utc_now
from settingsdesk.store.stations import StationLetIn
from tests.conftest import DemoClub
from tests.desk.sample_meet import SmallMeet, hold

KEY = CodeKey(b"k" * 32, "http://127.0.0.1:5000")


@pytest.fixture
def meet(demo_club: DemoClub) -> SmallMeet:
    return hold(demo_club)


@pytest.fixture
def station_id(demo_club: DemoClub, meet: SmallMeet) -> int:
    """A station that is open."""
    with demo_club.work(writes=True) as session:
        return stations.open_station(session, KEY, meet.session_id, meet.apparatus_id).id


def admit(club: DemoClub, station_id: int, code: str) -> None:
    """The desk types what a phone shows."""
    with club.work(writes=True) as session:
        by_hand.admit(session, KEY, station_id, code)


class TestAPhoneThatWaits:
    def test_joins_once_the_desk_has_spoken_for_it(
        self, demo_club: DemoClub, station_id: int
    ) -> None:
        wait = by_hand.new_wait()
        with pytest.raises(NotLetInYet):
            by_hand.join(demo_club.store, KEY, wait, "Nell")
        admit(demo_club, station_id, by_hand.shown_code(KEY, wait))

        phone = by_hand.join(demo_club.store, KEY, wait, "Nell")

        assert (phone.station_id, phone.shown_name) == (station_id, "Nell")
        assert stations.still_in(demo_club.store, phone.stamp) == phone

    def test_joins_once(self, demo_club: DemoClub, station_id: int) -> None:
        """Put out again, it is not let in by the same word."""
        wait = by_hand.new_wait()
        admit(demo_club, station_id, by_hand.shown_code(KEY, wait))
        by_hand.join(demo_club.store, KEY, wait, "Nell")

        with pytest.raises(NotLetInYet):
            by_hand.join(demo_club.store, KEY, wait, "Nell")

    def test_may_be_refused_for_its_name_and_try_again(
        self, demo_club: DemoClub, station_id: int
    ) -> None:
        wait = by_hand.new_wait()
        admit(demo_club, station_id, by_hand.shown_code(KEY, wait))
        with pytest.raises(VolunteerUnnamed):
            by_hand.join(demo_club.store, KEY, wait, " ")

        assert by_hand.join(demo_club.store, KEY, wait, "Nell").shown_name == "Nell"

    def test_is_not_let_in_by_the_word_for_another(
        self, demo_club: DemoClub, station_id: int
    ) -> None:
        admit(demo_club, station_id, by_hand.shown_code(KEY, by_hand.new_wait()))

        with pytest.raises(NotLetInYet):
            by_hand.join(demo_club.store, KEY, by_hand.new_wait(), "Nell")

    def test_waits_a_quarter_of_an_hour_at_most(self, demo_club: DemoClub, station_id: int) -> None:
        wait = by_hand.new_wait()
        admit(demo_club, station_id, by_hand.shown_code(KEY, wait))
        with demo_club.work(writes=True) as session:
            session.execute(update(StationLetIn).values(until=utc_now() - timedelta(seconds=1)))

        with pytest.raises(NotLetInYet):
            by_hand.join(demo_club.store, KEY, wait, "Nell")
        admit(demo_club, station_id, by_hand.shown_code(KEY, wait))
        assert by_hand.join(demo_club.store, KEY, wait, "Nell")

    def test_is_told_where_the_station_is_full(
        self, demo_club: DemoClub, station_id: int, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        wait = by_hand.new_wait()
        admit(demo_club, station_id, by_hand.shown_code(KEY, wait))
        monkeypatch.setattr(stations, "MOST_PHONES", 0)

        with pytest.raises(StationIsFull):
            by_hand.join(demo_club.store, KEY, wait, "Nell")


class TestTheDesk:
    def test_reads_what_is_mistyped(self, demo_club: DemoClub, station_id: int) -> None:
        code = by_hand.shown_code(KEY, "a wait")
        slip = ("3" if code[0] == "2" else "2") + code[1:]

        with pytest.raises(CheckCharacterDoesNotFit):
            admit(demo_club, station_id, slip)

    def test_speaks_for_nobody_at_a_closed_station(
        self, demo_club: DemoClub, station_id: int
    ) -> None:
        with demo_club.work(writes=True) as session:
            stations.close(session, station_id)

        with pytest.raises(StationClosed):
            admit(demo_club, station_id, by_hand.shown_code(KEY, "a wait"))
