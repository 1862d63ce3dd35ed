"""What the hosts of a desk keep of a guest's athletes goes when the guest erases them."""

from dataclasses import replace

import pytest

from settingsdesk.desk.meets import (
    copies_at_hosts,
    guest_clubs,
)
from settingsdesk.desk.meets.copies_at_hosts import AtTheBarsThere
from settingsdesk.desk.runs import run
from settingsdesk.desk.squad import athletes
from tests.conftest import DemoClub
from tests.desk.sample_meet import set_anew
from tests.desk.two_clubs import Both, two_clubs


@pytest.fixture
def both(demo_club: DemoClub) -> Both:
    return two_clubs(demo_club)


class TestErasing:
    """A family is promised that everything goes, and one desk has both clubs' tables."""

    def test_the_copies_that_hosts_of_this_desk_have_are_named_and_go(self, both: Both) -> None:
        there = both.joined()
        gone, stays = both.squad()[:2]
        both.send(there, gone, stays)
        with both.host.work(writes=True) as session:
            guest_clubs.end(session, both.held.meet_id, there.guest)

        [copy] = both.copies_of(gone)
        assert (copy.meet_name, copy.host_name) == (there.meet_name, there.host_name)
        copies_at_hosts.erase_copies(both.host.store, both.ann, [copy])
        with both.guest() as session:
            kept = athletes.member(session, stays).listed_name
        assert list(both.entered()) == [kept], "the other's stays"
        assert both.copies_of(gone) == []

    def test_whoever_is_listed_at_the_hosts_bars_waits(self, both: Both) -> None:
        there = both.joined()
        one = both.squad()[0]
        both.send(there, one)
        [copy] = both.copies_of(one)
        with both.host.work(writes=True) as session:
            turns = [*(guest.member.id for guest in both.held.guests), copy.athlete_id]
            set_anew(session, both.held.rotation_id, turns)
            run.begin(session, both.held.rotation_id, both.held.apparatus_id)

        [copy] = both.copies_of(one)
        assert copy.at_the_bars
        with pytest.raises(AtTheBarsThere, match="under way at"):
            copies_at_hosts.erase_copies(both.host.store, both.ann, [copy])
        assert len(both.entered()) == 1

    def test_no_third_club_is_told_of_a_copy(self, both: Both) -> None:
        there = both.joined()
        one = both.squad()[0]
        both.send(there, one)
        third = replace(both.ann, club_id=both.host.account.club_id)
        with both.guest() as session:
            sent = copies_at_hosts.sent_to(session, one)
        assert copies_at_hosts.copies_at_hosts(both.host.store, third, sent) == []
