"""A club of the same desk becomes the guest of a meet by a link that works once."""

from datetime import timedelta

import pytest

from settingsdesk.desk.accounts import clubs
from settingsdesk.desk.accounts.accounts import sign_in
from settingsdesk.desk.clock import day_after
from settingsdesk.desk.meets import (
    guest_clubs,
)
from settingsdesk.desk.meets.guest_clubs import MeetIsOver, NoSuchGuestLink, OwnMeet
from tests.conftest import DemoClub
from tests.desk.sample_meet import DAY
from tests.desk.two_clubs import SECRET, Both, two_clubs


@pytest.fixture
def both(demo_club: DemoClub) -> Both:
    return two_clubs(demo_club)


class TestTheLink:
    def test_works_once_and_for_no_club_but_a_guest(self, both: Both) -> None:
        store, code = both.host.store, both.invited()
        offer = guest_clubs.offered(store, code)
        assert (offer.host_name, offer.facts.name, offer.entered_as) == (
            "Quillmoor Gymnastics Club",
            "Lantern Cup",
            "Lakeside GC",
        )
        runa = sign_in(store, both.host.account.sign_in_name, both.host.account.password)
        assert runa is not None
        with pytest.raises(OwnMeet):
            guest_clubs.accept(store, code, runa)

        guest_clubs.accept(store, code, both.ann)
        for again in (
            lambda: guest_clubs.offered(store, code),
            lambda: guest_clubs.accept(store, code, both.ann),
            lambda: guest_clubs.offered(store, "A" * 26),
        ):
            with pytest.raises(NoSuchGuestLink):
                again()

    def test_taken_back_it_opens_nothing(self, both: Both) -> None:
        code = both.invited()
        with both.host.work(writes=True) as session:
            [guest] = guest_clubs.guest_clubs(session, SECRET, both.held.meet_id)
            assert guest.code == code
            guest_clubs.end(session, both.held.meet_id, guest.id)

        with pytest.raises(NoSuchGuestLink):
            guest_clubs.offered(both.host.store, code)

    def test_waits_two_weeks_and_no_longer_than_the_meet(
        self, both: Both, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        for days_before, waits in ((30, 14), (3, 4), (0, 1)):
            now = day_after(DAY) - timedelta(days=days_before + 1)
            monkeypatch.setattr(guest_clubs, "utc_now", lambda now=now: now)
            code = both.invited()
            with both.host.work() as session:
                guests = guest_clubs.guest_clubs(session, SECRET, both.held.meet_id)
            [until] = [guest.until for guest in guests if guest.code == code]
            assert until - now == timedelta(days=waits)

    def test_there_is_none_once_the_meet_is_over(
        self, both: Both, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        late = day_after(DAY)
        monkeypatch.setattr(guest_clubs, "utc_now", lambda: late)
        with pytest.raises(MeetIsOver, match="put its days right"):
            both.invited()

    def test_of_a_closed_host_opens_nothing(self, both: Both) -> None:
        code = both.invited()
        clubs.close(both.host.store, both.host.account.club_id)

        with pytest.raises(NoSuchGuestLink):
            guest_clubs.offered(both.host.store, code)
