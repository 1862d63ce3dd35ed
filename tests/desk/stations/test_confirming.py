"""What phones at a station confirm: each press counts once, however often it arrives."""

from dataclasses import dataclass
from datetime import date

import pytest

from settingsdesk.desk.hall import apparatus, calibrations
from settingsdesk.desk.hall.calibrations import Taped
from settingsdesk.desk.meets import start_orders
from settingsdesk.desk.meets.start_orders import Place
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.runs.presses import NoSuchWord, Press
from settingsdesk.desk.runs.refusals import ConfirmedMeanwhile
from settingsdesk.desk.runs.run import RunView
from settingsdesk.desk.runs.state import state_of
from settingsdesk.desk.squad import settings
from settingsdesk.desk.stations import confirming, stations
from settingsdesk.desk.stations.at_station import NotThisStation, at_station
from settingsdesk.desk.stations.stations import PhoneIn
from settingsdesk.domain.changeover.happenings import Reordered, TurnOver
from settingsdesk.domain.changeover.run import NotNow, Stage
from settingsdesk.domain.settings.settings import Setting, Wanted
from tests.conftest import DemoClub
from tests.desk.sample_meet import CODE_KEY, DAY, SmallMeet, checked_before_use, hold, set_anew
from tests.made_once import made_once


@dataclass(frozen=True)
class Station:
    """The small meet's station with two phones in."""

    club: DemoClub
    meet: SmallMeet
    ivo: PhoneIn
    ana: PhoneIn

    def begin(self) -> int:
        with self.club.work(writes=True) as session:
            stands = apparatus.piece(session, self.meet.apparatus_id).setup or ()
            here = confirming.begin(
                session, self.ivo, self.meet.rotation_id, stands, of_day=str(DAY)
            )
        assert here.present is not None
        return here.present.id

    def send(self, phone: PhoneIn, seen: int, word: str, number: int = 0) -> RunView:
        with self.club.work(by=phone.by, writes=True) as session:
            now = confirming.confirm(session, phone, 1, Press(word, number, seen)).now
            assert now is not None
            return desk_run.viewed(session, now)

    def now(self) -> RunView:
        with self.club.work() as session:
            return desk_run.run(session, 1)

    def read_off(self, seen: int, stops: list[int]) -> None:
        with self.club.work(by=self.ivo.by, writes=True) as session:
            here = at_station(session, self.ivo)
            confirming.read_off(session, here, confirming.to_read_off(session, here), seen, stops)

    def until_on(self) -> RunView:
        view = self.now()
        while view.run.stage is not Stage.ON:
            word = "steps" if view.run.stage is Stage.SETTING else "second"
            view = self.send(self.ivo, view.number, word)
        return view

    def give(self, place: int, high_mm: int) -> None:
        """Another setting for one of the guests."""
        with self.club.work(writes=True) as session:
            piece = apparatus.piece(session, self.meet.apparatus_id)
            lengths_mm = (1700, high_mm, 1650)
            wanted = {
                axis.key: Wanted(mm, 10)
                for axis, mm in zip(piece.model.kind.axes, lengths_mm, strict=True)
            }
            setting = Setting(piece.model.kind, wanted)
            guest = self.meet.guests[place].member.id
            settings.keep_setting(session, guest, piece.model_id, setting)


@pytest.fixture
def station(demo_club: DemoClub) -> Station:
    told = made_once(demo_club.store, "two phones in", lambda: _opened(demo_club))
    return Station(demo_club, *told)


def _opened(club: DemoClub) -> tuple[SmallMeet, PhoneIn, PhoneIn]:
    meet = hold(club)
    checked_before_use(club, meet.apparatus_id)
    with club.work(writes=True) as session:
        one = stations.open_station(session, CODE_KEY, meet.session_id, meet.apparatus_id)
        code = stations.codes(session, CODE_KEY, one.id).short_code
    ivo, ana = (stations.let_in(club.store, CODE_KEY, code, name) for name in ("Ivo", "Ana"))
    return meet, ivo, ana


class TestBeginning:
    def test_a_rotation_that_was_begun_is_not_begun_again(self, station: Station) -> None:
        """Not even when it is over: a late press begins nothing."""
        assert station.begin() == station.begin() == 1
        with station.club.work(writes=True) as session:
            confirming.end(session, station.ivo, 1)
        assert station.begin() == 1

    def test_only_the_stations_own(self, station: Station) -> None:
        with station.club.work(writes=True) as session:
            other = desk_rotation.recent(session)
            number = next(one.id for one in other if one.id != station.meet.rotation_id)
            with pytest.raises(NotThisStation):
                confirming.begin(session, station.ivo, number, (0, 0, 0))

    def test_however_late_it_counts_only_while_the_same_marks_stand_there(
        self, station: Station
    ) -> None:
        """Kept on a phone without network, while somebody read other marks off."""
        with station.club.work(writes=True) as session:
            seen = apparatus.piece(session, station.meet.apparatus_id).setup
            assert seen is not None
            apparatus.record_setup(session, station.meet.apparatus_id, (1, 1, 1), "read off")
        with (
            station.club.work(writes=True) as session,
            pytest.raises(NotNow, match="present marks"),
        ):
            confirming.begin(session, station.ivo, station.meet.rotation_id, seen, of_day=str(DAY))
        assert station.begin() == 1


class TestConfirming:
    @pytest.mark.parametrize("word", ["steps", "second", "over", "repeat", "not_here", "next"])
    def test_what_is_sent_again_because_no_answer_came_counts_once(
        self, station: Station, word: str
    ) -> None:
        """At once, and also after another phone went on."""
        station.begin()
        view = station.now()
        if word == "second":
            view = station.send(station.ivo, view.number, "steps")
        elif word in ("over", "repeat", "next"):
            view = station.until_on()
        number = station.meet.guests[2].member.id
        once = station.send(station.ivo, view.number, word, number)
        assert station.send(station.ivo, view.number, word, number).events == once.events

        absent = station.meet.guests[1].member.id
        later = station.send(station.ana, once.number, "not_here", absent)
        assert station.send(station.ivo, view.number, word, number).events == later.events

    def test_the_slower_of_two_is_told_and_nothing_is_taken(self, station: Station) -> None:
        station.begin()
        view = station.until_on()
        station.send(station.ivo, view.number, "over")
        with pytest.raises(ConfirmedMeanwhile):
            station.send(station.ana, view.number, "over")

        assert [type(one.what) for one in station.now().events].count(TurnOver) == 1

    def test_a_word_that_no_page_sends_is_refused(self, station: Station) -> None:
        station.begin()
        with pytest.raises(NoSuchWord):
            station.send(station.ivo, 1, "ended")

    def test_marks_that_were_read_some_time_ago_do_not_overwrite_what_stands_there(
        self, station: Station
    ) -> None:
        """The same form sent once more after the apparatus was set to something else."""
        station.begin()
        view = station.now()
        before = list(view.run.stands or ())
        for _ in range(2):
            station.read_off(view.number, before)
        stands = station.until_on().run.stands
        station.read_off(view.number, before)
        with station.club.work() as session:
            assert apparatus.piece(session, station.meet.apparatus_id).setup == stands != before


class TestTheJurysOrder:
    def test_who_is_on_stays_and_the_one_named_comes_next(self, station: Station) -> None:
        station.begin()
        view = station.until_on()
        ids = [guest.member.id for guest in station.meet.guests]
        view = station.send(station.ivo, view.number, "next", ids[2])

        assert [turn.athlete_id for turn in view.run.turns] == [ids[0], ids[2], ids[1]]
        with pytest.raises(NotNow):
            station.send(station.ivo, view.number, "next", ids[2])
        with pytest.raises(NotNow):
            station.send(station.ivo, view.number, "next", ids[0])

    def test_while_nothing_was_done_the_one_named_comes_first(self, station: Station) -> None:
        station.begin()
        ids = [guest.member.id for guest in station.meet.guests]
        view = station.send(station.ivo, 1, "next", ids[1])

        assert [turn.athlete_id for turn in view.run.turns] == [ids[1], ids[0], ids[2]]


class TestNewMarks:
    def test_a_setting_that_was_changed_is_taken_without_another_order(
        self, station: Station
    ) -> None:
        station.begin()
        before = station.now().run.turns
        station.give(1, 2450)
        assert station.now().wanted.keys() == {before[1].athlete_id}
        for _ in range(2):
            view = station.send(station.ivo, 1, "new_marks")

        assert not view.wanted
        assert [one.athlete_id for one in view.run.turns] == [one.athlete_id for one in before]
        assert view.run.turns[1].setup != before[1].setup
        assert [type(one.what) for one in view.events].count(Reordered) == 1

    def test_whoever_is_on_has_the_turn_as_it_was_set(self, station: Station) -> None:
        station.begin()
        view = station.until_on()
        station.give(0, 2350)
        after = station.send(station.ivo, view.number, "new_marks")

        assert after.run.stage is Stage.ON
        assert after.run.turns[0] == view.run.turns[0]
        assert after.changed_to_come == frozenset()

    def test_whoever_is_on_comes_down_where_they_are_set_for_that_turn_too(
        self, station: Station
    ) -> None:
        station.begin()
        view = station.until_on()
        station.give(0, 2350)
        after = station.send(station.ivo, view.number, "new_marks_on")

        assert after.run.stage is Stage.SETTING
        assert (after.run.over, after.wanted) == ((), {})
        assert after.run.turns[0].setup != view.run.turns[0].setup

    def test_the_same_athlete_again_is_set_and_checked_at_what_counts_now(
        self, station: Station
    ) -> None:
        """Nobody goes up at the marks of before, also where the turn was said to be over first."""
        station.begin()
        view = station.until_on()
        station.give(0, 2350)
        again = station.send(station.ivo, view.number, "repeat")
        assert (again.run.stage, len(again.run.over)) == (Stage.SETTING, 1)
        assert not again.wanted
        back = station.send(station.ivo, again.number, "back", again.number)
        over = station.send(station.ivo, back.number, "over")
        later = station.send(station.ivo, over.number, "repeat")
        assert later.run.stage is Stage.SETTING
        assert later.run.turns[0] == again.run.turns[0]

    def test_at_the_same_marks_whoever_repeats_is_on_at_once(self, station: Station) -> None:
        station.begin()
        view = station.until_on()
        again = station.send(station.ivo, view.number, "repeat")
        assert (again.run.stage, len(again.run.over)) == (Stage.ON, 1)


class TestWhoChecks:
    def test_whoever_set_it_is_no_second_person_by_whatever_name(self, station: Station) -> None:
        station.begin()
        view = station.send(station.ivo, 1, "steps")
        [mine] = [one.number for one in view.events if one.by == station.ivo.by][-1:]
        for word, number, name in (
            ("checked_by", mine, ""),
            ("checked_by_name", 0, "ivo"),
            ("checked_by_name", 0, "Ivo (station)"),
        ):
            with station.club.work(by=station.ana.by, writes=True) as session:
                press = Press(word, number, view.number, name=name)
                with pytest.raises(NotNow, match="has set it"):
                    confirming.confirm(session, station.ana, 1, press)
        after = station.send(station.ana, view.number, "second")
        assert (after.run.checked_by, after.run.check_told_by) == (station.ana.by,) * 2

    def test_nobody_chosen_is_told_and_changes_nothing(self, station: Station) -> None:
        station.begin()
        for word in ("next", "not_here"):
            with pytest.raises(NotNow, match="Choose who"):
                station.send(station.ivo, 1, word, -1)


class TestTheState:
    def test_it_is_another_one_after_everything_that_a_page_would_show(
        self, station: Station
    ) -> None:
        def state() -> str:
            with station.club.work() as session:
                return state_of(confirming.look(session, station.ana))

        states = [state()]
        station.begin()
        states.append(state())
        station.send(station.ivo, 1, "steps")
        states.append(state())
        station.give(1, 2400)
        states.append(state())
        ids = [guest.member.id for guest in station.meet.guests[:2]]
        with station.club.work(writes=True) as session:
            place = Place(station.meet.session_id, 2, station.meet.apparatus_id)
            second = start_orders.set_new(session, place, ids, "typed")
        states.append(state())
        with station.club.work(writes=True) as session:
            set_anew(session, second.rotation_id, ids[::-1])
        states.append(state())
        with station.club.work(writes=True) as session:
            low_rail = (station.meet.apparatus_id, "low_rail")
            model = apparatus.piece(session, station.meet.apparatus_id).model
            scale = model.axis("low_rail").scale
            taped = [
                Taped(scale.label(stop), model.measures_mm((stop, 4, 4))["low_rail"] + 4)
                for stop in (0, 2, 4, 6)
            ]
            fitted = apparatus.try_on_piece(
                apparatus.piece(session, low_rail[0]), low_rail[1], taped
            )
            calibrations.keep_calibration(session, *low_rail, fitted, date(2026, 12, 1))
        states.append(state())

        assert len(set(states)) == len(states)
        assert state() == states[-1]
