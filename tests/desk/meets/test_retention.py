"""Whose time is over goes by itself; a clock that leaps takes nobody along."""

from datetime import date, timedelta

import pytest
from sqlalchemy import select

from settingsdesk.desk.meets import retention
from settingsdesk.desk.meets.retention import Clearing, DaysNotPossible, Keeping, clear
from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.squad import athletes
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.store.athletes import Athlete
from tests.conftest import DemoClub
from tests.desk.runs.carrying_out import ordered
from tests.desk.sample_meet import DAY, hold

ONE_DAY = timedelta(days=1)
OVER = DAY + timedelta(days=31)
"""The first day on which the guests' time is over, by what a new club has."""


def days_pass(club: DemoClub, *days: date) -> list[int]:
    """The desk serves on those days; how many went on each."""
    return [clear(club.store, day) for day in days]


def three_days(first: date) -> list[date]:
    return [first + number * ONE_DAY for number in range(3)]


def guests(club: DemoClub) -> list[str]:
    with club.work() as session:
        asked = select(Athlete.family_name).where(Athlete.meet_id.is_not(None))
        return sorted(session.scalars(asked))


NAMES = ["Bellaquer", "Halvardsen", "Osterkamp"]


class TestGuests:
    def test_they_go_when_their_days_are_over_and_not_before(self, demo_club: DemoClub) -> None:
        """Thirty days after the meet's last one, where the host has set nothing else."""
        hold(demo_club)
        assert guests(demo_club) == NAMES

        before = three_days(OVER - 3 * ONE_DAY)
        assert days_pass(demo_club, *before, OVER, OVER + ONE_DAY) == [0, 0, 0, 0, 0]
        assert guests(demo_club) == NAMES
        assert days_pass(demo_club, OVER + 2 * ONE_DAY) == [3]
        assert not set(NAMES) & set(guests(demo_club))

    def test_the_host_sets_for_how_long(self, demo_club: DemoClub) -> None:
        hold(demo_club)
        with demo_club.work(writes=True) as session:
            retention.keep(session, Keeping(0, None))

        assert days_pass(demo_club, *three_days(DAY + ONE_DAY))[-1] == 3

    def test_what_was_done_is_said_for_a_week(
        self, demo_club: DemoClub, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        hold(demo_club)
        days_pass(demo_club, *three_days(OVER))
        last = OVER + 2 * ONE_DAY
        for today, said in (
            (last, "3 guests erased: their time was over"),
            (last + 8 * ONE_DAY, None),
        ):
            monkeypatch.setattr(retention, "today", lambda today=today: today)
            with demo_club.work() as session:
                told = retention.last_cleared(session)
            assert (told and told.in_words) == said

    def test_whoever_is_at_the_bars_now_goes_another_day(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            retention.keep(session, Keeping(30, 0))
        ordered(demo_club, OrderRequest())
        with demo_club.work(writes=True) as session:
            for athlete_id in (1, 2):
                athletes.leave(session, athlete_id, date(2026, 1, 1))
            other = athletes.add(session, Person("Zorn", "Lova"))
            athletes.leave(session, other.id, date(2026, 1, 1))

        assert days_pass(demo_club, *three_days(DAY))[-1] == 1


class TestWhoHasLeft:
    @pytest.fixture
    def gone(self, demo_club: DemoClub) -> int:
        with demo_club.work(writes=True) as session:
            one = athletes.add(session, Person("Zorn", "Lova"))
            athletes.leave(session, one.id, date(2026, 1, 1))
        return one.id

    def test_stays_unless_the_club_says_otherwise(self, demo_club: DemoClub, gone: int) -> None:
        assert days_pass(demo_club, *three_days(date(2099, 1, 1))) == [0, 0, 0]

    def test_goes_after_the_days_that_it_says(self, demo_club: DemoClub, gone: int) -> None:
        with demo_club.work(writes=True) as session:
            retention.keep(session, Keeping(30, 365))

        assert days_pass(demo_club, *three_days(date(2027, 1, 1)), date(2027, 1, 4)) == [0, 0, 0, 1]

    @pytest.mark.parametrize("days", [(-1, None), (30, -1), (30, 4000), (4000, None)])
    def test_days_that_are_none_are_refused(self, days: tuple[int, int | None]) -> None:
        with pytest.raises(DaysNotPossible):
            Keeping(*days)


class TestAClockThatLeaps:
    def test_years_ahead_erases_nobody(self, demo_club: DemoClub) -> None:
        """A battery is empty, a time server lies: until somebody looks, nothing goes."""
        hold(demo_club)
        days_pass(demo_club, *three_days(DAY))

        leapt = date(2099, 1, 1)
        assert days_pass(demo_club, leapt, leapt, leapt + ONE_DAY) == [0, 0, 0]
        assert guests(demo_club) == NAMES

    def test_put_right_again_it_is_as_if_it_had_not_been(self, demo_club: DemoClub) -> None:
        hold(demo_club)
        days_pass(demo_club, *three_days(DAY), date(2099, 1, 1), date(2099, 1, 2))

        assert days_pass(demo_club, *three_days(DAY + 3 * ONE_DAY), date(2099, 1, 1)) == [0] * 4
        assert guests(demo_club) == NAMES

    def test_the_first_days_of_a_desk_erase_nobody(self, demo_club: DemoClub) -> None:
        """A copy of years ago that is put back tells nothing of the days in between."""
        hold(demo_club)
        assert days_pass(demo_club, date(2099, 1, 1), date(2099, 1, 2)) == [0, 0]


class TestByItself:
    def test_it_looks_at_once_and_ends_when_it_is_told(
        self, demo_club: DemoClub, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """While the desk serves; a stop must not wait an hour."""
        hold(demo_club)
        days_pass(demo_club, OVER, OVER + ONE_DAY)
        monkeypatch.setattr(retention, "today", lambda: OVER + 2 * ONE_DAY)
        done: list[bool] = []

        clearing = Clearing(demo_club.store, lambda: done.append(True))
        clearing.start()
        clearing.close()
        assert done == [True]
        assert NAMES[0] not in guests(demo_club)
