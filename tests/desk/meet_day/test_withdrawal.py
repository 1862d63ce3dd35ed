"""Somebody withdraws while their start order stands, or is carried out already."""

from dataclasses import replace

import pytest
from sqlalchemy.orm import Session

from settingsdesk.desk.hall import apparatus, models
from settingsdesk.desk.meet_day import withdrawal as desk_withdrawal
from settingsdesk.desk.meets import entries, start_orders
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.squad import settings
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.desk.stations import confirming, stations
from settingsdesk.desk.stations.stations import PhoneIn
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.changeover.happenings import AllDone, Rechecked
from settingsdesk.domain.hall.scales import RegularScale
from settingsdesk.domain.settings.transfer import setting_of_setup
from settingsdesk.store.clubs import Revision
from settingsdesk.store.work import ClubSession
from tests.conftest import DemoClub
from tests.desk.sample_meet import BARS, CODE_KEY, DAY, SmallMeet, hold


@pytest.fixture
def held(demo_club: DemoClub) -> SmallMeet:
    return hold(demo_club)


@pytest.fixture
def run_id(demo_club: DemoClub, held: SmallMeet) -> int:
    with demo_club.work(writes=True) as session:
        return desk_run.begin(session, held.rotation_id, held.apparatus_id)


class TestWithdrawing:
    def test_before_the_rotation_the_order_stays_and_is_named(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        with demo_club.work(writes=True) as session:
            done = desk_withdrawal.withdraw(session, held.guests[1].entry_id)
            order = start_orders.start_order(session, held.rotation_id)
        assert done.stands_on == (f"Session 1: Juniors, rotation 1, {BARS}",)
        assert (done.not_here, done.not_noted) == ((), ())
        assert len(order.line.athlete_ids) == 3

    def test_in_a_run_under_way_she_is_not_here_from_then_on(
        self, demo_club: DemoClub, held: SmallMeet, run_id: int
    ) -> None:
        """Every phone at the apparatus goes on with whoever comes."""
        with demo_club.work(writes=True) as session:
            done = desk_withdrawal.withdraw(session, held.guests[0].entry_id)
            run = desk_run.run(session, run_id).run
        assert done.not_here == (BARS,)
        assert [turn.athlete_id for turn in run.away] == [held.guests[0].member.id]
        assert run.turns[0].athlete_id == held.guests[1].member.id

    def test_whoever_is_on_is_not_taken_off_the_bars_by_it(
        self, demo_club: DemoClub, held: SmallMeet, run_id: int
    ) -> None:
        with demo_club.work(writes=True) as session:
            for what in (AllDone(), Rechecked(alone=False)):
                number = desk_run.run(session, run_id).number
                desk_run.confirm(session, run_id, number, what)
            before = desk_run.run(session, run_id).number
            done = desk_withdrawal.withdraw(session, held.guests[0].entry_id)
            assert desk_run.run(session, run_id).number == before
        assert done.not_noted == (f"{BARS}: on now, so the turn is ended there",)

    def test_so_is_who_joined_a_run_of_the_meet_without_being_listed_there(
        self, demo_club: DemoClub, held: SmallMeet, run_id: int
    ) -> None:
        with demo_club.work(writes=True) as session:
            guest = entries.enter_guest(
                session, held.meet_id, Person("Ehlers", "Ada"), "Wexlow Turners", "20"
            )
            piece = apparatus.piece(session, held.apparatus_id)
            setting = setting_of_setup(piece.model, (4, 4, 4))
            settings.keep_setting(session, guest.member.id, piece.model_id, setting)
            now = desk_run.loaded(session, run_id)
            desk_run.join(session, now, now.number, [guest.member.id])
            done = desk_withdrawal.withdraw(session, guest.entry_id)
            away = desk_run.run(session, run_id).run.away
        assert done.not_here == (BARS,)
        assert [turn.athlete_id for turn in away] == [guest.member.id]

    def test_a_run_of_the_clubs_own_that_cannot_go_on_keeps_no_entry_in(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """Its scale was changed while it was under way: that is another matter."""
        with demo_club.work(writes=True) as session:
            desk_run.begin(session, 1, held.apparatus_id)
            change_scale(session, held.apparatus_id)
            done = desk_withdrawal.withdraw(session, held.guests[0].entry_id)
        assert (done.not_here, done.not_noted) == ((), ())
        assert not done.entrant.is_in

    def test_a_run_of_the_meet_that_cannot_go_on_is_told(
        self, demo_club: DemoClub, held: SmallMeet, run_id: int
    ) -> None:
        with demo_club.work(writes=True) as session:
            change_scale(session, held.apparatus_id)
            done = desk_withdrawal.withdraw(session, held.guests[0].entry_id)
        [told] = done.not_noted
        assert told.startswith(f"{BARS}: The scale of {BARS} was changed since this run began")
        assert not done.entrant.is_in

    def test_a_second_press_adds_nothing(
        self, demo_club: DemoClub, held: SmallMeet, run_id: int
    ) -> None:
        with demo_club.work(writes=True) as session:
            desk_withdrawal.withdraw(session, held.guests[1].entry_id)
            number = desk_run.run(session, run_id).number
            again = desk_withdrawal.withdraw(session, held.guests[1].entry_id)
            assert desk_run.run(session, run_id).number == number
        assert again.not_here == ()


class TestWithdrawnWithoutASetting:
    def test_is_not_asked_for_a_setting_and_holds_nobody_up(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        with demo_club.work(writes=True) as session:
            guest = entries.enter_guest(
                session, held.meet_id, Person("Ehlers", "Ada"), "Wexlow Turners", "20"
            )
            ids = [guest.member.id, *(one.member.id for one in held.guests)]
            place = (held.session_id, 2, held.apparatus_id)
            line = start_orders.set_new(session, start_orders.Place(*place), ids, "typed")
            first = start_orders.start_order(session, held.rotation_id).line
            start_orders.take_away(session, first.rotation_id)
            desk_withdrawal.withdraw(session, guest.entry_id)
            assert start_orders.start_order(session, line.rotation_id).without == ()
            phone = a_phone(demo_club, session, held)
            assert confirming.look(session, phone).hindrance == ""
            stands = apparatus.piece(session, held.apparatus_id).setup or ()
            view = confirming.look(
                session,
                confirming.begin(session, phone, line.rotation_id, stands, of_day=str(DAY)).phone,
            ).view
            assert view is not None
            assert view.run.turns[0].athlete_id == held.guests[0].member.id


def change_scale(session: ClubSession, apparatus_id: int) -> None:
    """The low rail of the apparatus's model has other holes from now on."""
    version = apparatus.piece(session, apparatus_id).printed
    low, *others = version.model.axes
    fewer = replace(low, scale=RegularScale(1500, 50, 5))
    changed = replace(version.model, axes=(fewer, *others))
    models.change_model(session, version.id, changed, "fewer holes", version.version)


def a_phone(club: DemoClub, session: Session, held: SmallMeet) -> PhoneIn:
    """A phone that was let in, as far as looking goes."""
    at = stations.open_station(session, CODE_KEY, held.session_id, held.apparatus_id)
    where = (held.session_id, held.apparatus_id, at.until, Unit.CENTIMETRE)
    return PhoneIn(1, at.id, club.account.club_id, *where, "Ivo", "", Revision(0, 0))
