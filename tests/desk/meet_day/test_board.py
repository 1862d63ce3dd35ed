"""The day of a meet at a glance: what is on at each apparatus, and whether phones are let in."""

from dataclasses import replace
from datetime import timedelta

from sqlalchemy.orm import Session

from settingsdesk.desk.meet_day import board as desk_board
from settingsdesk.desk.meets import meets, start_orders
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.stations import stations
from settingsdesk.domain.changeover.happenings import Ended
from tests.conftest import DemoClub
from tests.desk.sample_meet import CODE_KEY, DAY, hold


class TestTheDayOfAMeet:
    def test_it_shows_what_is_next_then_what_is_under_way_then_that_all_is_over(
        self, demo_club: DemoClub
    ) -> None:
        held = hold(demo_club)
        ids = [guest.member.id for guest in held.guests]
        with demo_club.work(writes=True) as session:
            second = start_orders.set_new(
                session, start_orders.Place(held.session_id, 2, held.apparatus_id), ids, "typed"
            )
            told = []
            for rotation_id in (held.rotation_id, second.rotation_id):
                told.append(_at(session))
                run_id = desk_run.begin(session, rotation_id, held.apparatus_id)
                told.append(_at(session))
                desk_run.confirm(session, run_id, desk_run.run(session, run_id).number, Ended())
            told.append(_at(session))

        assert told == [(1, False), (1, True), (2, False), (2, True), (None, False)]

    def test_an_open_station_is_told(self, demo_club: DemoClub) -> None:
        held = hold(demo_club)
        with demo_club.work(writes=True) as session:
            [day] = desk_board.of_day(session, DAY, meets.from_day(session, DAY))
            assert day.lines[0].station_id is None
            at = stations.open_station(session, CODE_KEY, held.session_id, held.apparatus_id)
            [day] = desk_board.of_day(session, DAY, meets.from_day(session, DAY))
            assert day.lines[0].station_id == at.id
            stations.close(session, at.id)
            [day] = desk_board.of_day(session, DAY, meets.from_day(session, DAY))
            assert day.lines[0].station_id is None

    def test_of_a_meet_of_two_days_each_has_its_own_sessions(self, demo_club: DemoClub) -> None:
        held = hold(demo_club)
        with demo_club.work(writes=True) as session:
            facts = meets.meet(session, held.meet_id).facts
            longer = replace(facts, ends_on=facts.ends_on + timedelta(days=1))
            meets.change_meet(session, held.meet_id, longer)
            dates = [DAY + timedelta(days=n) for n in (-1, 0, 1, 2)]
            days = [desk_board.of_day(session, day, meets.from_day(session, day)) for day in dates]

        assert [[len(one.lines) for one in found] for found in days] == [[], [1], [0], []]


def _at(session: Session) -> tuple[int | None, bool]:
    [day] = desk_board.of_day(session, DAY, meets.from_day(session, DAY))
    [line] = day.lines
    return (line.order.number if line.order else None, line.is_under_way)
