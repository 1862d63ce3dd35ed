"""What a phone at a station works on: its own rotations and runs, and no others."""

import pytest

from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.stations import confirming, stations
from settingsdesk.desk.stations.at_station import NotThisStation, at_station, waiting
from settingsdesk.desk.stations.stations import PhoneIn
from tests.conftest import DemoClub
from tests.desk.runs.carrying_out import turn
from tests.desk.sample_meet import CODE_KEY, SmallMeet, hold


@pytest.fixture
def held(demo_club: DemoClub) -> SmallMeet:
    return hold(demo_club)


@pytest.fixture
def phone(demo_club: DemoClub, held: SmallMeet) -> PhoneIn:
    with demo_club.work(writes=True) as session:
        opened = stations.open_station(session, CODE_KEY, held.session_id, held.apparatus_id)
        code = stations.codes(session, CODE_KEY, opened.id).short_code
    return stations.let_in(demo_club.store, CODE_KEY, code, "Ivo")


class TestWhatAPhoneMayCarryOut:
    def test_its_rotations_in_their_order(
        self, demo_club: DemoClub, held: SmallMeet, phone: PhoneIn
    ) -> None:
        with demo_club.work(writes=True) as session:
            here = at_station(session, phone)
            assert here.present is None
            first = waiting(session, here)
            assert first is not None
            assert first.rotation_id == here.waiting_rotation == held.rotation_id
            run_id = desk_run.begin(session, first.rotation_id, held.apparatus_id)
            here = at_station(session, phone)
            assert here.present is not None
            assert here.present.id == here.row(run_id).id == run_id
            assert here.waiting_rotation is None
            assert waiting(session, here) is None

    def test_the_check_before_use_is_asked_for_until_it_is_made(
        self, demo_club: DemoClub, held: SmallMeet, phone: PhoneIn
    ) -> None:
        """A volunteer sees it before the rotation begins, and goes on seeing it meanwhile."""
        with demo_club.work(writes=True) as session:
            before = confirming.look(session, phone)
            assert before.first is not None
            assert before.first.is_due
            run_id = desk_run.begin(session, held.rotation_id, held.apparatus_id)
            assert confirming.look(session, phone).first == before.first
        turn(demo_club, run_id)
        with demo_club.work() as session:
            after = confirming.look(session, phone).first
            assert after is not None
            assert (after.is_due, after.is_on) == (True, False)

    def test_no_other_run_of_the_club(
        self, demo_club: DemoClub, held: SmallMeet, phone: PhoneIn
    ) -> None:
        with demo_club.work(writes=True) as session:
            other = next(
                line
                for line in desk_rotation.recent(session)
                if held.apparatus_id not in line.apparatus_ids
                and apparatus.piece(session, line.apparatus_ids[0]).setup is not None
            )
            run_id = desk_run.begin(session, other.id, other.apparatus_ids[0])
            with pytest.raises(NotThisStation):
                at_station(session, phone).row(run_id)
            with pytest.raises(NotThisStation):
                at_station(session, phone).row(run_id + 1)
