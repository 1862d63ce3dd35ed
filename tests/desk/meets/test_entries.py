"""Entries of a meet: guests and athletes of the squad, and their requests to raise the rails."""

import pytest

from settingsdesk.desk.meets import entries
from settingsdesk.desk.meets.refusals import AlreadyEntered, NothingAsked
from settingsdesk.desk.squad import athletes
from settingsdesk.desk.squad.athletes import Person
from tests.conftest import DemoClub
from tests.desk.sample_meet import BY, DAY, hold


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
                    session, BY, held.meet_id, Person("Ravn", "Liv"), "Wexlow Turners", number
                )

            entrants = entries.entrants(session, held.meet_id)
        twins = [one.start_number for one in entrants if one.member.listed_name == "Ravn, Liv"]
        assert twins == ["41", "42"]

    def test_an_athlete_of_the_squad_is_entered_once(self, demo_club: DemoClub) -> None:
        held = hold(demo_club)
        with demo_club.work(writes=True) as session:
            own = athletes.find(session)[0]
            entered = entries.enter_own(session, BY, held.meet_id, own.id, "7")
            with pytest.raises(AlreadyEntered):
                entries.enter_own(session, BY, held.meet_id, own.id)

        assert (entered.from_club, entered.is_guest) == ("Quillmoor Gymnastics Club", False)

    def test_several_of_the_squad_at_once_and_nobody_twice(self, demo_club: DemoClub) -> None:
        held = hold(demo_club)
        with demo_club.work(writes=True) as session:
            known = [one.id for one in athletes.find(session)[:3]]
            entries.enter_own(session, BY, held.meet_id, known[1], "7")
            new = entries.enter_squad(session, BY, held.meet_id, [*known, known[0]], "Juniors")
            again = entries.enter_squad(session, BY, held.meet_id, known, "Seniors")
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
            assert not entries.withdraw_entry(session, BY, entry_id).is_in
            assert not entries.withdraw_entry(session, BY, entry_id).is_in
            assert entries.enter_again(session, entry_id).is_in


class TestRequestsToRaise:
    def test_the_latest_step_counts_and_the_length_is_that_asked_for(
        self, demo_club: DemoClub
    ) -> None:
        """Who asked, when, and what: as data on the entry; no setting is changed by it."""
        held = hold(demo_club)
        entry_id, bars = held.guests[0].entry_id, held.apparatus_id
        with demo_club.work(writes=True) as session:
            entries.tell_raise(session, BY, entry_id, bars, "asked", 50, "her coach", DAY)
            settled = entries.tell_raise(
                session, BY, entry_id, bars, "granted", 0, "chair of the jury", DAY
            )
        step = settled.raises[bars]
        assert (step.step, step.raise_mm, step.told_by) == ("granted", 50, "chair of the jury")

    def test_one_that_was_dropped_is_none(self, demo_club: DemoClub) -> None:
        held = hold(demo_club)
        entry_id, bars = held.guests[0].entry_id, held.apparatus_id
        with demo_club.work(writes=True) as session:
            entries.tell_raise(session, BY, entry_id, bars, "asked", 50, "her coach", DAY)
            settled = entries.tell_raise(
                session, BY, entry_id, bars, "dropped", 0, "her coach", DAY
            )
        assert settled.raises == {}

    def test_nothing_is_settled_that_nobody_asked_for(self, demo_club: DemoClub) -> None:
        held = hold(demo_club)
        with demo_club.work(writes=True) as session, pytest.raises(NothingAsked):
            entries.tell_raise(
                session, BY, held.guests[0].entry_id, held.apparatus_id, "granted", 0, "j", DAY
            )
