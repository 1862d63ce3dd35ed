"""A meet's host and its guests on one desk: what a file would do, without the file."""

import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date, timedelta

import pytest
from sqlalchemy import select

from settingsdesk.desk.accounts import clubs
from settingsdesk.desk.accounts.accounts import add_account, sign_in
from settingsdesk.desk.accounts.sign_ins import SignedIn
from settingsdesk.desk.clock import day_after
from settingsdesk.desk.hall import apparatus, models
from settingsdesk.desk.lists import coach_lists, handing_over
from settingsdesk.desk.lists.destinations import MeetEntries, Squad
from settingsdesk.desk.lists.handing_over import (
    AtHost,
    AtTheBarsThere,
    Away,
    ChangedSince,
    CopyAtHost,
    MeetIsOver,
    NoLongerOpen,
    NoSuchGuestLink,
    OfOneName,
    OwnMeet,
)
from settingsdesk.desk.lists.way_out import export_rows
from settingsdesk.desk.meets import entries, meets, retention, unsettled_lines
from settingsdesk.desk.runs import run
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.hall.definition import model_from_data
from settingsdesk.resources import folder
from settingsdesk.sheets.columns import squad_columns
from settingsdesk.sheets.squad_writing import squad_csv
from settingsdesk.store.errors import NotInThisClub
from settingsdesk.store.meets import Entry
from settingsdesk.store.settings import Setting
from settingsdesk.store.work import ClubSession
from tests.conftest import DemoClub
from tests.desk.sample_meet import DAY, SmallMeet, hold, set_anew
from tests.made_once import made_once
from tests.moving_clock import MovingClock

SECRET = b"k" * 32
ANNS = "nine quiet otters juggling"


@dataclass
class Both:
    """The demo club as the host of a small meet, and a guest with a squad of its own."""

    host: DemoClub
    held: SmallMeet
    ann: SignedIn

    @contextmanager
    def guest(self, *, writes: bool = False) -> Iterator[ClubSession]:
        """A unit of work in the guest's club."""
        with self.host.store.work(self.ann.club_id, by="Ann Reed", writes=writes) as session:
            yield session

    def invited(self) -> str:
        with self.host.work(writes=True) as session:
            return handing_over.invite(session, SECRET, self.held.meet_id, "Lakeside GC")

    def joined(self) -> Away:
        number = handing_over.accept(self.host.store, self.invited(), self.ann)
        with self.guest() as session:
            return handing_over.away(session, number)

    def squad(self, *names: str) -> list[int]:
        """Those of the guest's squad, in that order."""
        with self.guest() as session:
            by_name = {member.listed_name: member.id for member in athletes.find(session)}
        return [by_name[name] for name in names] if names else list(by_name.values())

    def copies_of(self, athlete_id: int) -> list[CopyAtHost]:
        with self.guest() as session:
            sent = handing_over.sent_to(session, athlete_id)
        return handing_over.copies_at_hosts(self.host.store, self.ann, sent)

    def hall(self, there: Away) -> AtHost:
        return handing_over.at_host(self.host.store, self.ann, there)

    def send(self, there: Away, *athlete_ids: int) -> handing_over.Result:
        """Look at it, then do it."""
        told = (self.host.store, self.ann, there, self.hall(there), athlete_ids)
        return handing_over.hand_over(*told, handing_over.preview(*told).fingerprint)

    def changed(self, there: Away) -> set[int]:
        """Of whom the host has an older setting."""
        hall = self.hall(there)
        with self.guest() as session:
            sent = handing_over.handed(session, there.id)
            return set(handing_over.changed_since(session, there, hall, sent))

    def entered(self) -> dict[str, tuple[str, list[dict[str, int]]]]:
        """Whoever is entered as the guest's: how it was entered, and each setting's lengths."""
        with self.host.work() as session:
            return {
                entrant.member.listed_name: (
                    "comes" if entrant.is_in else "scratched",
                    [
                        {value.axis: value.wanted_mm for value in row.values}
                        for row in session.scalars(
                            select(Setting)
                            .where(Setting.athlete_id == entrant.member.id)
                            .order_by(Setting.model_id, Setting.version)
                        )
                    ],
                )
                for entrant in entries.entrants(session, self.held.meet_id)
                if entrant.from_club == "Lakeside GC"
            }


@pytest.fixture
def both(demo_club: DemoClub) -> Both:
    held, ann = made_once(demo_club.store, "a meet, and a club beside it", lambda: _made(demo_club))
    return Both(demo_club, held, ann)


def _made(host: DemoClub) -> tuple[SmallMeet, SignedIn]:
    store = host.store
    held = hold(host)
    lakeside = clubs.add_club(
        store, "Lakeside", Unit.CENTIMETRE, folder("seed") / "rulebooks.toml", "Runa"
    )
    add_account(store, lakeside, "ann", "Ann Reed", ANNS)
    ann = sign_in(store, "ann", ANNS)
    assert ann is not None
    with store.work(lakeside, by="Ann Reed", writes=True) as session:
        for data in tomllib.loads((folder("seed") / "models.toml").read_text("utf-8"))["model"]:
            models.add_model(session, model_from_data(data))
        content = (folder("seed") / "squad.csv").read_bytes()
        taker = Squad(session)
        coach_lists.take(session, taker, coach_lists.look(session, taker, content, "squad.csv"))
    return held, ann


class TestTheLink:
    def test_works_once_and_for_no_club_but_a_guest(self, both: Both) -> None:
        store, code = both.host.store, both.invited()
        offer = handing_over.offered(store, code)
        assert (offer.host_name, offer.facts.name, offer.entered_as) == (
            "Quillmoor Gymnastics Club",
            "Lantern Cup",
            "Lakeside GC",
        )
        runa = sign_in(store, both.host.account.sign_in_name, both.host.account.password)
        assert runa is not None
        with pytest.raises(OwnMeet):
            handing_over.accept(store, code, runa)

        handing_over.accept(store, code, both.ann)
        for again in (
            lambda: handing_over.offered(store, code),
            lambda: handing_over.accept(store, code, both.ann),
            lambda: handing_over.offered(store, "A" * 26),
        ):
            with pytest.raises(NoSuchGuestLink):
                again()

    def test_taken_back_it_opens_nothing(self, both: Both) -> None:
        code = both.invited()
        with both.host.work(writes=True) as session:
            [guest] = handing_over.guest_clubs(session, SECRET, both.held.meet_id)
            assert guest.code == code
            handing_over.end(session, both.held.meet_id, guest.id)

        with pytest.raises(NoSuchGuestLink):
            handing_over.offered(both.host.store, code)

    def test_waits_two_weeks_and_no_longer_than_the_meet(
        self, both: Both, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        for days_before, waits in ((30, 14), (3, 4), (0, 1)):
            now = day_after(DAY) - timedelta(days=days_before + 1)
            monkeypatch.setattr(handing_over, "utc_now", lambda now=now: now)
            code = both.invited()
            with both.host.work() as session:
                guests = handing_over.guest_clubs(session, SECRET, both.held.meet_id)
            [until] = [guest.until for guest in guests if guest.code == code]
            assert until - now == timedelta(days=waits)

    def test_there_is_none_once_the_meet_is_over(
        self, both: Both, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        late = day_after(DAY)
        monkeypatch.setattr(handing_over, "utc_now", lambda: late)
        with pytest.raises(MeetIsOver, match="put its days right"):
            both.invited()

    def test_of_a_closed_host_opens_nothing(self, both: Both) -> None:
        code = both.invited()
        clubs.close(both.host.store, both.host.account.club_id)

        with pytest.raises(NoSuchGuestLink):
            handing_over.offered(both.host.store, code)


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
            [guest] = handing_over.guest_clubs(session, SECRET, both.held.meet_id)
            by = session.scalars(select(Entry.entered_by).order_by(Entry.id.desc())).first()
        assert guest.code == ""
        assert [came.in_words for came in guest.deliveries] == ["1 new athlete, 1 setting"]
        assert by == "Ann Reed, Lakeside"

    def test_ended_by_the_host_nothing_more_comes(self, both: Both) -> None:
        there = both.joined()
        hall, one = both.hall(there), both.squad()[0]
        both.send(there, one)
        with both.host.work(writes=True) as session:
            handing_over.end(session, both.held.meet_id, there.guest)

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
            handing_over.away(session, there.id)

    def test_the_copies_at_the_host_go_with_the_meets_other_guests(self, both: Both) -> None:
        there = both.joined()
        both.send(there, *both.squad()[:2])
        assert len(both.entered()) == 2

        over = [date(DAY.year + 1, 2, day) for day in (1, 2, 3)]
        assert [retention.clear(both.host.store, day) for day in over][-1] == 5
        assert both.entered() == {}
        assert both.squad(), "the guest's own stay"


class TestErasing:
    """A family is promised that everything goes, and one desk has both clubs' tables."""

    def test_the_copies_that_hosts_of_this_desk_have_are_named_and_go(self, both: Both) -> None:
        there = both.joined()
        gone, stays = both.squad()[:2]
        both.send(there, gone, stays)
        with both.host.work(writes=True) as session:
            handing_over.end(session, both.held.meet_id, there.guest)

        [copy] = both.copies_of(gone)
        assert (copy.meet_name, copy.host_name) == (there.meet_name, there.host_name)
        handing_over.erase_copies(both.host.store, both.ann, [copy])
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
            handing_over.erase_copies(both.host.store, both.ann, [copy])
        assert len(both.entered()) == 1

    def test_no_third_club_is_told_of_a_copy(self, both: Both) -> None:
        there = both.joined()
        one = both.squad()[0]
        both.send(there, one)
        third = replace(both.ann, club_id=both.host.account.club_id)
        with both.guest() as session:
            sent = handing_over.sent_to(session, one)
        assert handing_over.copies_at_hosts(both.host.store, third, sent) == []


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


RULES = folder("seed") / "rulebooks.toml"


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
