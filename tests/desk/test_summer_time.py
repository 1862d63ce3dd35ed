"""The nights in which clocks are put forward and back: a day of 23 hours, and one of 25.

Nobody puts this clock wrong: what the wall shows jumps, and no moment does.
"""

import time
from collections import Counter
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from itertools import pairwise
from pathlib import Path

import pytest

from settingsdesk.config import BackupNotes
from settingsdesk.desk.backups import daily
from settingsdesk.desk.cards import in_hand, issued
from settingsdesk.desk.cards.in_hand import CardHasEnded
from settingsdesk.desk.clock import day_after, local_date, now, today
from settingsdesk.desk.meets import guest_clubs, meets, retention
from settingsdesk.desk.meets.facts import MeetFacts
from settingsdesk.desk.meets.retention import Keeping
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.stations import stations
from settingsdesk.domain.changeover.happenings import AllDone
from settingsdesk.store.card_keys import end_cards
from tests.conftest import DemoClub
from tests.desk.runs.carrying_out import confirm, ordered, turn
from tests.desk.sample_meet import CODE_KEY, DAY, hold
from tests.moving_clock import MovingClock

# POSIX, "Environment Variables", TZ: the rules themselves, since no list of zones need be here.
BERLIN = "CET-1CEST,M3.5.0,M10.5.0/3"
HAVANA = "CST5CDT,M3.2.0/0,M11.1.0/1"
"""There it is at midnight: one day has none, another has two."""

NIGHTS = [
    (BERLIN, date(2027, 3, 28), 23),
    (BERLIN, date(2027, 10, 31), 25),
    (HAVANA, date(2027, 3, 14), 23),
    (HAVANA, date(2027, 11, 7), 25),
]
HOUR = timedelta(hours=1)


class Night:
    """Such a day of a hall, and its clock."""

    def __init__(self, clock: MovingClock, day: date, hours: int) -> None:
        self._clock, self.day, self.hours = clock, day, hours
        self.begins, self.ends = day_after(day - timedelta(days=1)), day_after(day)

    def at(self, moment: datetime) -> None:
        """It is that moment now."""
        self._clock.put(seconds=(moment - now()).total_seconds())


@pytest.fixture(params=NIGHTS, ids=["Berlin 23", "Berlin 25", "Havana 23", "Havana 25"])
def night(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Iterator[Night]:
    """Each of those."""
    zone, day, hours = request.param
    with monkeypatch.context() as patch:
        patch.setenv("TZ", zone)
        time.tzset()
        yield Night(MovingClock(patch), day, hours)
    time.tzset()


class TestTheDay:
    def test_is_as_long_as_it_is_and_no_moment_of_it_is_another_days(self, night: Night) -> None:
        assert night.ends - night.begins == night.hours * HOUR
        before, step = night.begins - 3 * HOUR, timedelta(minutes=10)
        days = [local_date(before + number * step) for number in range(6 * (night.hours + 6))]
        assert all(earlier <= later for earlier, later in pairwise(days))
        assert Counter(days)[night.day] == 6 * night.hours

    def test_has_the_rotations_that_are_planned_in_it_and_no_others(
        self, night: Night, demo_club: DemoClub
    ) -> None:
        made = {}
        for moment in _around(night):
            night.at(moment)
            with demo_club.work(writes=True) as session:
                view = desk_rotation.rotation(session, 1)
                told = (f"At {moment}", today(), view.piece.id, [view.listed[0].id])
                made[moment] = desk_rotation.add_rotation(session, *told).id
        of_the_day = [made[moment] for moment in made if night.begins <= moment < night.ends]
        with demo_club.work() as session:
            listed = {line.id for line in desk_rotation.on_day(session, night.day)}
        assert len(of_the_day) == 3
        assert listed == set(of_the_day)

    def test_has_one_backup(self, night: Night, demo_club: DemoClub, tmp_path: Path) -> None:
        (tmp_path / "stick").mkdir()
        demo_club.data.remember_backups(BackupNotes(tmp_path / "stick"))
        made = []
        for moment in _around(night):
            night.at(moment)
            made.append(daily.keep(demo_club.data) is not None)
        assert made == [True, True, False, False, True]


class TestWhatHappensInIt:
    def test_stays_in_its_order_and_takes_as_long_as_it_took(
        self, night: Night, demo_club: DemoClub
    ) -> None:
        """A club trains through the night: nothing takes an hour more, or less than nothing."""
        run_id = ordered(demo_club, OrderRequest())
        jump = _jump(night)
        turn(demo_club, run_id)
        night.at(jump - timedelta(minutes=10))
        with demo_club.work(writes=True) as session:
            view = desk_run.loaded(session, run_id)
            desk_run.read_off(session, view, view.number, view.run.mostly_at)
        night.at(jump + timedelta(minutes=5))
        confirm(demo_club, run_id, AllDone())
        with demo_club.work() as session:
            events = desk_run.loaded(session, run_id).events
        assert [event.number for event in events] == list(range(1, len(events) + 1))
        read, done = events[-2:]
        assert timedelta(minutes=14) < done.at - read.at < timedelta(minutes=17)
        assert {local_date(event.at) for event in (read, done)} <= {
            night.day,
            night.day - timedelta(days=1),
        }

    def test_a_station_closes_after_so_many_hours(self, night: Night, demo_club: DemoClub) -> None:
        held = hold(demo_club)
        opened_at = _jump(night) - 2 * HOUR
        night.at(opened_at)
        with demo_club.work(writes=True) as session:
            opened = stations.open_station(
                session, CODE_KEY, held.session_id, held.apparatus_id, hours=4
            )

        def is_open(after: timedelta) -> bool:
            night.at(opened_at + after)
            with demo_club.work() as session:
                return stations.station(session, opened.id).is_open

        assert is_open(4 * HOUR - timedelta(minutes=2))
        assert not is_open(4 * HOUR + timedelta(minutes=1))


class TestWhatEndsWithIt:
    def test_the_last_day_of_a_card_is_whole(self, night: Night, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            view = desk_rotation.rotation(session, 1)
            told = (session, CODE_KEY, view.piece.id, [view.listed[0].id])
            code = issued.issue(*told)[0].url.rpartition("/")[2]
        with demo_club.store.installation(writes=True) as session:
            end_cards(session, night.day)

        night.at(night.ends - timedelta(minutes=2))
        assert in_hand.holder_of(demo_club.store, code)
        night.at(night.ends + timedelta(minutes=1))
        with pytest.raises(CardHasEnded):
            in_hand.holder_of(demo_club.store, code)

    def test_an_invitation_to_a_meet_of_that_day_is_open_to_its_end(
        self, night: Night, demo_club: DemoClub
    ) -> None:
        night.at(night.begins - HOUR)
        with demo_club.work(writes=True) as session:
            facts = MeetFacts("Lantern Cup", "", *[night.day] * 3)
            held = meets.add_meet(session, facts)
            guest_clubs.invite(session, b"k" * 32, held.id, "Lakeside GC")
            [guest] = guest_clubs.guest_clubs(session, b"k" * 32, held.id)
        assert guest.until == night.ends

    def test_guests_go_when_their_days_are_over_and_not_an_hour_before(
        self, night: Night, demo_club: DemoClub
    ) -> None:
        """Looked at every few hours; on the third day after the last, as on any other day."""
        hold(demo_club)
        with demo_club.work(writes=True) as session:
            retention.keep(session, Keeping((night.day - DAY).days, None))
        went_on = []
        for hours in range(-30, 5 * 24, 5):
            night.at(night.begins + hours * HOUR)
            if retention.clear(demo_club.store, today()):
                went_on.append(today())
        assert went_on == [night.day + timedelta(days=3)]


def _around(night: Night) -> list[datetime]:
    """Before it, when it begins, in its middle, before its end, after it."""
    minute = timedelta(minutes=1)
    inside = (night.begins + minute, night.begins + 12 * HOUR, night.ends - 2 * minute)
    return [night.begins - 2 * minute, *inside, night.ends + minute]


def _jump(night: Night) -> datetime:
    """The moment at which what the wall shows is another."""
    minutes = (night.begins + timedelta(minutes=number) for number in range(6 * 60))
    return next(
        later
        for earlier, later in pairwise([night.begins - timedelta(minutes=1), *minutes])
        if earlier.astimezone().utcoffset() != later.astimezone().utcoffset()
    )
