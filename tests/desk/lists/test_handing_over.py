"""What is handed over to a host on the same desk: what a file would do, without the file."""

from dataclasses import replace
from datetime import date

import pytest
from sqlalchemy import select

from settingsdesk.desk.accounts import clubs
from settingsdesk.desk.accounts.accounts import add_account, sign_in
from settingsdesk.desk.hall import apparatus, models
from settingsdesk.desk.lists import coach_lists, handing_over
from settingsdesk.desk.lists.destinations import MeetEntries
from settingsdesk.desk.lists.handing_over import ChangedSince, NoLongerOpen, OfOneName
from settingsdesk.desk.lists.way_out import export_rows
from settingsdesk.desk.meets import (
    entries,
    guest_clubs,
    meets,
    retention,
    unsettled_lines,
)
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.settings.purposes import USUAL, Purpose
from settingsdesk.sheets.columns import squad_columns
from settingsdesk.sheets.squad_writing import squad_csv
from settingsdesk.store.errors import NotInThisClub
from settingsdesk.store.meets import Entry
from tests.conftest import DemoClub
from tests.desk.sample_meet import DAY
from tests.desk.two_clubs import ANNS, RULES, SECRET, Both, two_clubs
from tests.moving_clock import MovingClock


@pytest.fixture
def both(demo_club: DemoClub) -> Both:
    return two_clubs(demo_club)


class TestHandingOver:
    def test_keeps_what_the_same_list_as_a_file_would_keep(self, both: Both) -> None:
        """No second way: settings for the hall's model, exactly as read, converted and kept."""
        there = both.joined()
        done = both.send(there, *both.squad())
        handed = both.entered()
        with both.host.work() as session:
            [piece] = [one.piece for one in meets.meet(session, both.held.meet_id).pieces]
        with both.guest() as session:
            rows = [row for row in export_rows(session) if row.model == piece.model.name]
            content = squad_csv(rows, squad_columns().axes)
        with both.host.work(writes=True) as session:
            facts = meets.announced(session, both.held.meet_id)
            other = meets.add_meet(session, replace(facts, name="The same by files"))
            meets.put_apparatus(session, other.id, both.held.apparatus_id)
            taker = MeetEntries(session, other.id)
            seen = coach_lists.look(session, taker, content, "list.csv", "Lakeside GC")
            coach_lists.take(session, taker, seen)

        as_file = replace(both, held=replace(both.held, meet_id=other.id)).entered()
        assert done.entered == len(handed) == len(both.squad())
        assert as_file
        assert {name: handed[name] for name in as_file} == as_file
        assert sum(len(told[1]) for told in handed.values()) == done.settings > 0

    def test_what_the_athlete_has_not_tried_is_not_tried_at_the_host_either(
        self, both: Both
    ) -> None:
        """The crew there reads it above the marks; a setting for training stays at home."""
        there = both.joined()
        mate = both.squad()[0]
        with both.guest(writes=True) as session:
            theirs = settings.current(session, mate)[0]
            new = athletes.add(session, Person("Neu", "Ana")).id
            settings.begin_with(session, new, theirs.model_id, mate)
            settings.keep_setting(
                session, mate, theirs.model_id, theirs.setting, purpose=Purpose.TRAINING
            )
        both.send(there, new, mate)
        with both.host.work() as session:
            entrants = entries.entrants(session, both.held.meet_id)
            kept = {
                entrant.member.person.family_name: settings.current(session, entrant.member.id)
                for entrant in entrants
                if entrant.is_guest
            }
        assert [one.untried for one in kept["Neu"]] == [True]
        with both.guest() as session:
            family_name = athletes.member(session, mate).person.family_name
        assert [(one.purpose, one.untried) for one in kept[family_name]] == [(USUAL, False)]

    def test_only_those_who_were_chosen_are_seen_by_the_host(self, both: Both) -> None:
        there = both.joined()
        chosen = both.squad()[:2]
        both.send(there, *chosen)

        with both.guest() as session:
            assert [one.member.id for one in handing_over.handed(session, there.id)] == chosen
        assert len(both.entered()) == 2

    def test_sent_again_it_brings_what_has_changed_and_nobody_twice(self, both: Both) -> None:
        there = both.joined()
        one, other = both.squad()[:2]
        both.send(there, one)
        before = both.entered()
        with both.guest() as session:
            name = athletes.member(session, one).listed_name
        _raise(both, one)

        done = both.send(there, other)

        assert done.entered == 1
        after = both.entered()
        assert len(after) == 2
        assert after[name][1][:-1] == before[name][1]
        assert len(after[name][1]) == len(before[name][1]) + 1

    def test_until_then_the_guest_sees_whose_settings_the_host_has_in_an_older_version(
        self, both: Both, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """The card that the host prints would say the numbers of before, whatever a clock says."""
        there = both.joined()
        one, other = both.squad()[:2]
        both.send(there, one, other)
        MovingClock(monkeypatch).put(hours=-1)
        assert both.changed(there) == set()
        elsewhere = _with_settings_for(both, "Frame of our own")
        both.send(there, elsewhere)
        for athlete_id in (one, elsewhere):
            _raise(both, athlete_id)

        assert both.changed(there) == {one}
        both.send(there, other)
        assert both.changed(there) == set()
        _raise(both, one)
        handing_over.withdraw(both.host.store, both.ann, there, one)
        assert both.changed(there) == set(), "nobody waits for it"

    def test_what_has_changed_since_it_was_shown_is_not_sent(self, both: Both) -> None:
        there = both.joined()
        one = both.squad()[0]
        told = (both.host.store, both.ann, there, both.hall(there), [one])
        shown = handing_over.preview(*told)
        _raise(both, one)

        with pytest.raises(ChangedSince):
            handing_over.hand_over(*told, shown.fingerprint)
        assert both.entered() == {}

    def test_two_of_one_name_are_refused_since_nobody_could_tell_whose_is_what(
        self, both: Both
    ) -> None:
        there = both.joined()
        with both.guest(writes=True) as session:
            twins = [athletes.add(session, Person("Twin", "Ea")).id for _ in range(2)]

        with pytest.raises(OfOneName, match="Several of these are called Twin, Ea"):
            both.send(there, *twins)
        assert both.send(there, twins[0]).entered == 1

    def test_what_is_in_doubt_stays_a_line_for_the_host_and_the_others_come(
        self, both: Both
    ) -> None:
        """Two of that name are entered at the host: it is said and kept as of every list."""
        there = both.joined()
        one, other = both.squad()[:2]
        both.send(there, one)
        with both.host.work(writes=True) as session:
            [sent] = [
                entrant.member.person
                for entrant in entries.entrants(session, both.held.meet_id)
                if entrant.from_club == "Lakeside GC"
            ]
            entries.enter_guest(session, both.held.meet_id, sent, "Lakeside GC")

        done = both.send(there, other)

        assert (done.entered, len(done.left)) == (1, 1)
        assert "tell them apart" in done.left[0].why
        with both.host.work() as session:
            [line] = unsettled_lines.still_open(session, both.held.meet_id)
        assert line.sent_by == "Lakeside GC"

    def test_who_does_not_come_is_scratched_and_comes_after_all(self, both: Both) -> None:
        there = both.joined()
        one = both.squad()[0]
        both.send(there, one)

        name = handing_over.withdraw(both.host.store, both.ann, there, one)
        assert both.entered()[name][0] == "scratched"
        both.send(there, one)
        assert both.entered()[name][0] == "comes"

    def test_the_host_sees_what_came_when(self, both: Both) -> None:
        there = both.joined()
        both.send(there, both.squad()[0])

        with both.host.work() as session:
            [guest] = guest_clubs.guest_clubs(session, SECRET, both.held.meet_id)
            by = session.scalars(select(Entry.entered_by).order_by(Entry.id.desc())).first()
        assert guest.code == ""
        assert [came.in_words for came in guest.deliveries] == ["1 new athlete, 1 setting"]
        assert by == "Ann Reed, Lakeside"

    def test_ended_by_the_host_nothing_more_comes(self, both: Both) -> None:
        there = both.joined()
        hall, one = both.hall(there), both.squad()[0]
        both.send(there, one)
        with both.host.work(writes=True) as session:
            guest_clubs.end(session, both.held.meet_id, there.guest)

        for late in (
            lambda: both.hall(there),
            lambda: handing_over.preview(both.host.store, both.ann, there, hall, [one]),
            lambda: handing_over.hand_over(both.host.store, both.ann, there, hall, [one], ""),
            lambda: handing_over.withdraw(both.host.store, both.ann, there, one),
        ):
            with pytest.raises(NoLongerOpen):
                late()
        assert len(both.entered()) == 1

    def test_a_third_club_is_no_guest_by_knowing_the_numbers(self, both: Both) -> None:
        there = both.joined()
        store = both.host.store
        third = clubs.add_club(store, "Third", Unit.CENTIMETRE, RULES, "Runa")
        add_account(store, third, "tom", "Tom", ANNS)
        tom = sign_in(store, "tom", ANNS)
        assert tom is not None

        with pytest.raises(NoLongerOpen):
            handing_over.at_host(store, tom, there)
        with store.work(third, writes=False) as session, pytest.raises(NotInThisClub):
            guest_clubs.away(session, there.id)

    def test_the_copies_at_the_host_go_with_the_meets_other_guests(self, both: Both) -> None:
        there = both.joined()
        both.send(there, *both.squad()[:2])
        assert len(both.entered()) == 2

        over = [date(DAY.year + 1, 2, day) for day in (1, 2, 3)]
        assert [retention.clear(both.host.store, day) for day in over][-1] == 5
        assert both.entered() == {}
        assert both.squad(), "the guest's own stay"


class TestAModelThatDoesNotStandThere:
    """The guest's own hall has other bars: the host is not asked what only the guest can do."""

    def test_is_told_to_the_guest_who_is_entered_by_name_and_sees_no_other_model_of_the_host(
        self, both: Both
    ) -> None:
        there = both.joined()
        one = _with_settings_for(both, "Frame of our own")
        told = (both.host.store, both.ann, there, both.hall(there), [one])
        shown = handing_over.preview(*told)

        [person] = shown.look.people
        assert shown.not_sent(person.person) == ["Frame of our own"]
        assert (shown.to_add, shown.left, person.settings) == (("Hall frame A",), (), ())
        done = both.send(there, one)
        assert (done.entered, done.settings, done.left) == (1, 0, ())
        assert [settings for _, settings in both.entered().values()] == [[]]
        with both.host.work() as session:
            assert unsettled_lines.still_open(session, both.held.meet_id) == []

    def test_whoever_has_a_setting_for_what_stands_there_is_told_nothing(self, both: Both) -> None:
        there = both.joined()
        one = _with_settings_for(both, "Hall frame A", "Frame of our own")
        told = (both.host.store, both.ann, there, both.hall(there), [one])
        shown = handing_over.preview(*told)

        [person] = shown.look.people
        assert (shown.not_sent(person.person), shown.to_add) == ([], ())
        assert [listed.model_name for listed in person.settings] == ["Hall frame A"]

    def test_is_the_hosts_where_it_came_by_its_sheet_under_a_longer_name(self, both: Both) -> None:
        """The plain name means another one at the guest: a setting for that is not sent."""
        there = both.joined()
        hall = both.hall(there)
        named = f"Hall frame A ({hall.facts.hall or hall.facts.name})"
        one = _with_settings_for(both, "Hall frame A", named)
        with both.guest() as session:
            [wanted] = [
                row.setting for row in settings.current(session, one) if row.model_name == named
            ]
        told = (both.host.store, both.ann, there, hall, [one])
        [person] = handing_over.preview(*told).look.people

        assert [(one.model_name, one.setting) for one in person.settings] == [
            ("Hall frame A", wanted)
        ]

    def test_settings_for_each_of_several_there_are_sent(self, both: Both) -> None:
        there = both.joined()
        with both.host.work(writes=True) as session:
            number = models.id_of(session, "Leaning frame C")
            piece = apparatus.add_piece(session, "Bars at the back", "", number, 0)
            meets.put_apparatus(session, both.held.meet_id, piece.id)
        one = _with_settings_for(both, "Hall frame A", "Leaning frame C", "Travel frame B")
        told = (both.host.store, both.ann, there, both.hall(there), [one])
        [person] = handing_over.preview(*told).look.people

        assert {one.model_name for one in person.settings} == {"Hall frame A", "Leaning frame C"}


def _with_settings_for(both: Both, *names: str) -> int:
    """Somebody new at the guest with a setting for each of those models, each one higher."""
    with both.guest(writes=True) as session:
        like = models.model(session, models.id_of(session, "Hall frame A")).model
        known = {version.model.name: version.id for version in models.all_models(session)}
        one = athletes.add(session, Person("Nyqvist", "Ea")).id
        jagna = next(member.id for member in athletes.find(session))
        first = settings.current(session, jagna)[0].setting
        for higher, name in enumerate(names):
            number = known.get(name) or models.add_model(session, replace(like, name=name)).id
            axes = {
                key: replace(wanted, wanted_mm=wanted.wanted_mm + 10 * higher)
                for key, wanted in first.axes.items()
            }
            settings.keep_setting(session, one, number, replace(first, axes=axes))
        return one


def _raise(both: Both, athlete_id: int) -> None:
    """Each of an athlete's settings wants one centimetre more."""
    with both.guest(writes=True) as session:
        for present in settings.current(session, athlete_id):
            axes = {
                key: replace(wanted, wanted_mm=wanted.wanted_mm + 10)
                for key, wanted in present.setting.axes.items()
            }
            changed = replace(present.setting, axes=axes)
            settings.keep_setting(session, athlete_id, present.model_id, changed)
