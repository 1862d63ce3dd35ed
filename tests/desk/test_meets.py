"""A meet as its host keeps it: days, sessions, apparatus, entries, and requests to raise."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from settingsdesk.desk import apparatus, athletes, meets
from settingsdesk.desk.athletes import Person
from settingsdesk.desk.meet_facts import MeetFacts
from settingsdesk.desk.meet_refusals import (
    AlreadyEntered,
    ApparatusHasOrders,
    CardsEndTooEarlyOrLate,
    DaysOutOfOrder,
    MeetUnnamed,
    NoSuchRuleBook,
    NothingAsked,
    NotOfThisMeet,
    NotOnADayOfTheMeet,
)
from tests.conftest import DemoClub
from tests.desk.meet_hall import BY, DAY, hold

FACTS = MeetFacts("Cup", "Hall", DAY, DAY + timedelta(days=1), DAY + timedelta(days=31))


class TestTheFactsOfAMeet:
    def test_cards_end_thirty_days_after_it_unless_the_host_says_otherwise(self) -> None:
        assert MeetFacts.usual_end_of_cards(date(2026, 12, 6)) == date(2027, 1, 5)

    @pytest.mark.parametrize(
        ("changed", "refusal"),
        [
            ({"name": "  "}, MeetUnnamed),
            ({"ends_on": DAY - timedelta(days=1)}, DaysOutOfOrder),
            ({"ends_on": DAY + timedelta(days=40)}, DaysOutOfOrder),
            ({"cards_until": DAY}, CardsEndTooEarlyOrLate),
            ({"cards_until": DAY + timedelta(days=500)}, CardsEndTooEarlyOrLate),
        ],
    )
    def test_what_cannot_be_is_refused(self, changed, refusal) -> None:
        with pytest.raises(refusal):
            replace(FACTS, **changed)

    def test_one_day_is_told_once(self) -> None:
        assert FACTS.days_in_words == "5 December 2026 to 6 December 2026"
        assert replace(FACTS, ends_on=DAY).days_in_words == "5 December 2026"

    def test_they_are_kept_and_changed(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            meet = meets.add_meet(session, BY, FACTS)
            meets.change_meet(session, meet.id, replace(FACTS, hall="Other hall"))

        with demo_club.work() as session:
            assert [one.facts.hall for one in meets.all_meets(session)] == ["Other hall"]


class TestSessionsAndApparatus:
    def test_sessions_are_numbered_as_they_are_added(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            meet = meets.add_meet(session, BY, FACTS)
            meets.add_session(session, meet.id, "Juniors", DAY, "09:30")
            second = meets.add_session(session, meet.id, "", DAY)
            meets.change_session(session, second.id, "Seniors", DAY + timedelta(days=1))

        with demo_club.work() as session:
            told = [one.in_words for one in meets.meet(session, meet.id).sessions]
        assert told == ["Session 1: Juniors", "Session 2: Seniors"]

    def test_a_session_is_on_a_day_of_the_meet(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            meet = meets.add_meet(session, BY, FACTS)
            with pytest.raises(NotOnADayOfTheMeet):
                meets.add_session(session, meet.id, "", DAY - timedelta(days=1))

    def test_an_apparatus_stands_there_once_and_goes_by_a_rule_book_that_is_kept(
        self, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            meet = meets.add_meet(session, BY, FACTS)
            piece = apparatus.all_pieces(session)[0]
            book = "International, as quoted"
            meets.put_apparatus(session, meet.id, piece.id)
            meet = meets.put_apparatus(session, meet.id, piece.id, book, "senior")
            with pytest.raises(NoSuchRuleBook):
                meets.put_apparatus(session, meet.id, piece.id, "No such book")

        assert [(one.piece.id, one.rule_book, one.level) for one in meet.pieces] == [
            (piece.id, book, "senior")
        ]

    def test_it_stays_while_it_has_start_orders(self, demo_club: DemoClub) -> None:
        held = hold(demo_club)
        with demo_club.work(writes=True) as session:
            with pytest.raises(ApparatusHasOrders):
                meets.take_apparatus_away(session, held.meet_id, held.apparatus_id)
            other = next(
                one for one in apparatus.all_pieces(session) if one.id != held.apparatus_id
            )
            meets.put_apparatus(session, held.meet_id, other.id)
            meet = meets.take_apparatus_away(session, held.meet_id, other.id)
            with pytest.raises(NotOfThisMeet):
                meet.piece(other.id)


class TestEntries:
    def test_guests_are_not_of_the_squad(self, demo_club: DemoClub) -> None:
        """No list of the club's own training shows another club's children."""
        with demo_club.work() as session:
            before = athletes.find(session)
        held = hold(demo_club)

        with demo_club.work() as session:
            assert athletes.find(session) == before
            assert "Osterkamp" not in str(athletes.find(session, "Osterkamp"))
            entrants = meets.entrants(session, held.meet_id)
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
                meets.enter_guest(
                    session, BY, held.meet_id, Person("Ravn", "Liv"), "Wexlow Turners", number
                )

            entrants = meets.entrants(session, held.meet_id)
        twins = [one.start_number for one in entrants if one.member.listed_name == "Ravn, Liv"]
        assert twins == ["41", "42"]

    def test_an_athlete_of_the_squad_is_entered_once(self, demo_club: DemoClub) -> None:
        held = hold(demo_club)
        with demo_club.work(writes=True) as session:
            own = athletes.find(session)[0]
            entered = meets.enter_own(session, BY, held.meet_id, own.id, "7")
            with pytest.raises(AlreadyEntered):
                meets.enter_own(session, BY, held.meet_id, own.id)

        assert (entered.from_club, entered.is_guest) == ("Quillmoor Gymnastics Club", False)

    def test_who_does_not_come_stays_on_record_and_may_come_again(
        self, demo_club: DemoClub
    ) -> None:
        held = hold(demo_club)
        entry_id = held.guests[0].entry_id
        with demo_club.work(writes=True) as session:
            assert not meets.withdraw_entry(session, BY, entry_id).is_in
            assert not meets.withdraw_entry(session, BY, entry_id).is_in
            assert meets.enter_again(session, entry_id).is_in


class TestRequestsToRaise:
    def test_the_latest_step_counts_and_the_length_is_that_asked_for(
        self, demo_club: DemoClub
    ) -> None:
        """Who asked, when, and what: as data on the entry; no setting is changed by it."""
        held = hold(demo_club)
        entry_id, bars = held.guests[0].entry_id, held.apparatus_id
        with demo_club.work(writes=True) as session:
            meets.tell_raise(session, BY, entry_id, bars, "asked", 50, "her coach", DAY)
            settled = meets.tell_raise(
                session, BY, entry_id, bars, "granted", 0, "chair of the jury", DAY
            )
        step = settled.raises[bars]
        assert (step.step, step.raise_mm, step.told_by) == ("granted", 50, "chair of the jury")

    def test_one_that_was_dropped_is_none(self, demo_club: DemoClub) -> None:
        held = hold(demo_club)
        entry_id, bars = held.guests[0].entry_id, held.apparatus_id
        with demo_club.work(writes=True) as session:
            meets.tell_raise(session, BY, entry_id, bars, "asked", 50, "her coach", DAY)
            settled = meets.tell_raise(session, BY, entry_id, bars, "dropped", 0, "her coach", DAY)
        assert settled.raises == {}

    def test_nothing_is_settled_that_nobody_asked_for(self, demo_club: DemoClub) -> None:
        held = hold(demo_club)
        with demo_club.work(writes=True) as session, pytest.raises(NothingAsked):
            meets.tell_raise(
                session, BY, held.guests[0].entry_id, held.apparatus_id, "granted", 0, "j", DAY
            )
