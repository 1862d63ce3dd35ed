"""A meet as its host keeps it: days, sessions and apparatus."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.meets import meets
from settingsdesk.desk.meets.facts import MeetFacts
from settingsdesk.desk.meets.refusals import (
    ApparatusHasOrders,
    CardsEndTooEarlyOrLate,
    DaysOutOfOrder,
    MeetUnnamed,
    NoSuchRuleBook,
    NotATimeOfDay,
    NotOfThisMeet,
    NotOnADayOfTheMeet,
)
from tests.conftest import DemoClub
from tests.desk.sample_meet import DAY, hold

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
            meet = meets.add_meet(session, FACTS)
            meets.change_meet(session, meet.id, replace(FACTS, hall="Other hall"))

        with demo_club.work() as session:
            assert [one.facts.hall for one in meets.all_meets(session)] == ["Other hall"]


class TestSessionsAndApparatus:
    def test_sessions_are_numbered_as_they_are_added(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            meet = meets.add_meet(session, FACTS)
            meets.add_session(session, meet.id, "Juniors", DAY, "09:30")
            second = meets.add_session(session, meet.id, "", DAY)
            meets.change_session(session, second.id, "Seniors", DAY + timedelta(days=1))

        with demo_club.work() as session:
            told = [one.in_words for one in meets.meet(session, meet.id).sessions]
        assert told == ["Session 1: Juniors", "Session 2: Seniors"]

    def test_a_session_is_on_a_day_of_the_meet(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            meet = meets.add_meet(session, FACTS)
            with pytest.raises(NotOnADayOfTheMeet):
                meets.add_session(session, meet.id, "", DAY - timedelta(days=1))

    @pytest.mark.parametrize("typed", ["25:99", "24:00", "9.60"])
    def test_a_session_begins_at_an_hour_that_a_day_has(
        self, demo_club: DemoClub, typed: str
    ) -> None:
        with demo_club.work(writes=True) as session:
            meet = meets.add_meet(session, FACTS)
            with pytest.raises(NotATimeOfDay, match="enter hours and minutes"):
                meets.add_session(session, meet.id, "", DAY, typed)
            for announced in ("9.30", "09:30 or after the juniors"):
                meets.add_session(session, meet.id, "", DAY, announced)

    def test_of_a_meet_of_one_day_that_day_alone_is_named(self) -> None:
        assert str(NotOnADayOfTheMeet(date(2026, 12, 5), date(2026, 12, 5))) == (
            "The session must be on the day of the meet, 5 December 2026"
        )

    def test_an_apparatus_stands_there_once_and_goes_by_a_rule_book_that_is_kept(
        self, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            meet = meets.add_meet(session, FACTS)
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
