"""Entries of a meet: guests and athletes of the squad, and their requests to raise the rails."""

from dataclasses import replace
from functools import partial

import pytest

from settingsdesk.desk.cards import issued as desk_cards
from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.meet_day import crew_sheets
from settingsdesk.desk.meets import entries, start_numbers
from settingsdesk.desk.meets.entries import ClubEntered
from settingsdesk.desk.meets.refusals import AlreadyEntered, NothingAsked
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.domain.settings.transfer import setting_of_setup
from tests.conftest import DemoClub
from tests.desk.sample_meet import DAY, hold


class TestEntries:
    def test_guests_are_not_of_the_squad(self, demo_club: DemoClub) -> None:
        """No list of the club's own training shows another club's children."""
        with demo_club.work() as session:
            before = athletes.find(session)
        held = hold(demo_club)

        with demo_club.work() as session:
            assert athletes.find(session) == before
            assert "Osterkamp" not in str(athletes.find(session, "Osterkamp"))
            entrants = entries.entrants(session, held.meet_id)
        assert [(one.from_club, one.member.listed_name) for one in entrants] == [
            ("Tarn Hollow GC", "Bellaquer, Sunniva"),
            ("Tarn Hollow GC", "Osterkamp, Almira"),
            ("Wexlow Turners", "Halvardsen, Noor"),
        ]
        assert all(one.is_guest for one in entrants)

    def test_twins_of_one_name_are_two(self, demo_club: DemoClub) -> None:
        held = hold(demo_club)
        with demo_club.work(writes=True) as session:
            for number in ("41", "42"):
                entries.enter_guest(
                    session, held.meet_id, Person("Ravn", "Liv"), "Wexlow Turners", number
                )

            entrants = entries.entrants(session, held.meet_id)
        twins = [one.start_number for one in entrants if one.member.listed_name == "Ravn, Liv"]
        assert twins == ["41", "42"]

    def test_an_athlete_of_the_squad_is_entered_once(self, demo_club: DemoClub) -> None:
        held = hold(demo_club)
        with demo_club.work(writes=True) as session:
            own = athletes.find(session)[0]
            entered = entries.enter_own(session, held.meet_id, own.id, "7")
            with pytest.raises(AlreadyEntered):
                entries.enter_own(session, held.meet_id, own.id)

        assert (entered.from_club, entered.is_guest) == ("Quillmoor Gymnastics Club", False)

    def test_several_of_the_squad_at_once_and_nobody_twice(self, demo_club: DemoClub) -> None:
        held = hold(demo_club)
        with demo_club.work(writes=True) as session:
            known = [one.id for one in athletes.find(session)[:3]]
            entries.enter_own(session, held.meet_id, known[1], "7")
            new = entries.enter_squad(session, held.meet_id, [*known, known[0]], "Juniors")
            again = entries.enter_squad(session, held.meet_id, known, "Seniors")
            found = {one.member.id: one for one in entries.entrants(session, held.meet_id)}

        assert [one.member.id for one in new] == [known[0], known[2]]
        assert again == []
        assert [found[one].division for one in known] == ["Juniors", "", "Juniors"]
        assert found[known[1]].start_number == "7"

    def test_who_does_not_come_stays_on_record_and_may_come_again(
        self, demo_club: DemoClub
    ) -> None:
        held = hold(demo_club)
        entry_id = held.guests[0].entry_id
        with demo_club.work(writes=True) as session:
            assert not entries.withdraw_entry(session, entry_id).is_in
            assert not entries.withdraw_entry(session, entry_id).is_in
            assert entries.enter_again(session, entry_id).is_in


class TestCountedByClub:
    def test_who_was_withdrawn_neither_comes_nor_wants_a_number(self, demo_club: DemoClub) -> None:
        """The meet's page says how many come of each club, and whether numbers are to be given."""
        held = hold(demo_club)
        with demo_club.work(writes=True) as session:
            enter = partial(entries.enter_guest, session, held.meet_id)
            enter(Person("Ravn", "Liv"), "", "B 7")
            enter(Person("Ravn", "Ask"), "", "")
            gone = enter(Person("Ravn", "Ida"), "", "b 7")
            entries.withdraw_entry(session, gone.entry_id)

        with demo_club.work() as session:
            clubs = entries.clubs(session, held.meet_id)

        assert [club.from_club for club in clubs] == ["", "Tarn Hollow GC", "Wexlow Turners"]
        assert clubs[0] == ClubEntered("", 3, 2, ["B 7"], [gone.member.id])
        assert [club.withdrawn for club in clubs[1:]] == [[], []]
        assert clubs[0].without_number == 1
        assert start_numbers.given_twice(clubs) == []

    def test_a_number_is_given_twice_however_it_is_written(self, demo_club: DemoClub) -> None:
        held = hold(demo_club)
        with demo_club.work(writes=True) as session:
            for given, number in (("Liv", "B 7"), ("Ask", "b 7")):
                entries.enter_guest(session, held.meet_id, Person("Ravn", given), "", number)

            clubs = entries.clubs(session, held.meet_id)

        assert start_numbers.given_twice(clubs) == ["B 7"]


class TestRequestsToRaise:
    def test_the_latest_step_counts_and_the_length_is_that_asked_for(
        self, demo_club: DemoClub
    ) -> None:
        """Who asked, when, and what: as data on the entry; no setting is changed by it."""
        held = hold(demo_club)
        entry_id, bars = held.guests[0].entry_id, held.apparatus_id
        with demo_club.work(writes=True) as session:
            entries.tell_raise(session, entry_id, bars, "asked", 50, "her coach", DAY)
            settled = entries.tell_raise(
                session, entry_id, bars, "granted", 0, "chair of the jury", DAY
            )
        step = settled.raises[bars]
        assert (step.step, step.raise_mm, step.told_by) == ("granted", 50, "chair of the jury")

    def test_granted_it_says_whether_the_marks_include_it_wherever_they_are_set(
        self, demo_club: DemoClub
    ) -> None:
        """Raised by nobody, or raised twice: both are found out by the child on the rail."""
        held = hold(demo_club)
        entry_id, athlete_id = held.guests[0].entry_id, held.guests[0].member.id
        bars = held.apparatus_id

        def told() -> tuple[str, str, str]:
            """At the station, on the card, on the crew sheet."""
            with demo_club.work(writes=True) as session:
                run_id = desk_run.begin(session, held.rotation_id, bars)
                view = desk_run.run(session, run_id)
                card = desk_cards.raises_told(session, [athlete_id], view.piece)[athlete_id]
                sheet = crew_sheets.crew_sheet(session, held.rotation_id)
                return view.raises[athlete_id], card, sheet.lines[0].notes[-1]

        with demo_club.work(writes=True) as session:
            entries.tell_raise(session, entry_id, bars, "asked", 50, "her coach", DAY)
            entries.tell_raise(session, entry_id, bars, "granted", 0, "the jury", DAY)
        granted = "Rails raised by 5.0 cm: granted, 5 December 2026"
        at_station, on_card, on_sheet = told()
        without = "These marks are without it: do not set them"
        assert at_station == on_card == f"{granted}. {without}"
        assert on_sheet.endswith(f"granted by the jury, 5 December 2026. {without}")

        with demo_club.work(writes=True) as session:
            piece = apparatus.piece(session, bars)
            own = settings.on_piece(session, [athlete_id], piece)[athlete_id].version.setting
            higher = {
                key: replace(wanted, wanted_mm=wanted.wanted_mm + 50)
                for key, wanted in own.axes.items()
                if key != "spread"
            }
            setting = Setting(own.kind, {**own.axes, **higher})
            settings.keep_setting(session, athlete_id, piece.model_id, setting)
        assert told()[:2] == (f"{granted}. These marks include it",) * 2

    def test_it_is_told_at_the_apparatus_of_whoever_joined_there_too(
        self, demo_club: DemoClub
    ) -> None:
        """A guest who was added at the bars stands on no start order of theirs."""
        held = hold(demo_club)
        bars = held.apparatus_id
        with demo_club.work(writes=True) as session:
            guest = entries.enter_guest(
                session, held.meet_id, Person("Ehlers", "Ada"), "Wexlow Turners", "20"
            )
            piece = apparatus.piece(session, bars)
            setting = setting_of_setup(piece.model, (4, 4, 4))
            settings.keep_setting(session, guest.member.id, piece.model_id, setting)
            entries.tell_raise(session, guest.entry_id, bars, "asked", 50, "her coach", DAY)
            now = desk_run.loaded(session, desk_run.begin(session, held.rotation_id, bars))
            desk_run.join(session, now, now.number, [guest.member.id])
            view = desk_run.run(session, now.id)

        assert view.raises[guest.member.id].startswith("Not settled yet: a request of ")

    def test_what_somebody_said_of_the_marks_holds_until_they_are_others(
        self, demo_club: DemoClub
    ) -> None:
        """Known when it is granted: nobody needs to guess it from what was changed when."""
        held = hold(demo_club)
        guest, bars = held.guests[0], held.apparatus_id
        with demo_club.work(writes=True) as session:
            piece = apparatus.piece(session, bars)
            for include, said in ((True, "include it"), (False, "are without it: do not set them")):
                entries.tell_raise(session, guest.entry_id, bars, "asked", 50, "coach", DAY)
                entries.tell_raise(
                    session, guest.entry_id, bars, "granted", 0, "j", DAY, marks_include=include
                )
                told = desk_cards.raises_told(session, [guest.member.id], piece)[guest.member.id]
                assert told.endswith(f"These marks {said}")
            own = settings.on_piece(session, [guest.member.id], piece)[guest.member.id].version
            other = {**own.setting.axes, "spread": Wanted(1700, 10)}
            setting = Setting(own.setting.kind, other)
            settings.keep_setting(session, guest.member.id, piece.model_id, setting)
            told = desk_cards.raises_told(session, [guest.member.id], piece)[guest.member.id]
        assert told.endswith("Ask the coach whether these marks include it")

    def test_marks_that_were_said_to_be_without_it_include_it_once_they_are_raised(
        self, demo_club: DemoClub
    ) -> None:
        """The coach enters the raised setting after it was granted, and nothing more."""
        held = hold(demo_club)
        guest, bars = held.guests[0], held.apparatus_id
        with demo_club.work(writes=True) as session:
            piece = apparatus.piece(session, bars)
            entries.tell_raise(session, guest.entry_id, bars, "asked", 50, "coach", DAY)
            entries.tell_raise(
                session, guest.entry_id, bars, "granted", 0, "j", DAY, marks_include=False
            )
            own = settings.on_piece(session, [guest.member.id], piece)[guest.member.id].version
            higher = {
                key: replace(wanted, wanted_mm=wanted.wanted_mm + 50)
                for key, wanted in own.setting.axes.items()
                if key != "spread"
            }
            setting = Setting(own.setting.kind, {**own.setting.axes, **higher})
            settings.keep_setting(session, guest.member.id, piece.model_id, setting)
            told = desk_cards.raises_told(session, [guest.member.id], piece)[guest.member.id]
        assert told.endswith("These marks include it")

    def test_one_that_was_dropped_is_none(self, demo_club: DemoClub) -> None:
        held = hold(demo_club)
        entry_id, bars = held.guests[0].entry_id, held.apparatus_id
        with demo_club.work(writes=True) as session:
            entries.tell_raise(session, entry_id, bars, "asked", 50, "her coach", DAY)
            settled = entries.tell_raise(session, entry_id, bars, "dropped", 0, "her coach", DAY)
        assert settled.raises == {}

    def test_nothing_is_settled_that_nobody_asked_for(self, demo_club: DemoClub) -> None:
        held = hold(demo_club)
        with demo_club.work(writes=True) as session, pytest.raises(NothingAsked):
            entries.tell_raise(
                session, held.guests[0].entry_id, held.apparatus_id, "granted", 0, "j", DAY
            )
