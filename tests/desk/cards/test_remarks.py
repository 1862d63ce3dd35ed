"""Something is wrong, whoever holds a card says: it reaches the coach and changes nothing."""

import pytest

from settingsdesk.desk.cards import in_hand, remarks
from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.cards.in_hand import NoSuchCard
from settingsdesk.desk.cards.remarks import (
    LONGEST_REMARK,
    MOST_A_DAY,
    NothingSaid,
    RemarkTooLong,
    TooManyRemarks,
)
from settingsdesk.desk.meet_day import cards as desk_cards
from settingsdesk.desk.meet_day.cards import Choice
from settingsdesk.desk.squad import settings
from tests.conftest import DemoClub
from tests.desk.sample_meet import BY, CODE_KEY, SmallMeet, hold


@pytest.fixture
def held(demo_club: DemoClub) -> SmallMeet:
    return hold(demo_club)


@pytest.fixture
def code(demo_club: DemoClub, held: SmallMeet) -> str:
    with demo_club.work(writes=True) as session:
        made = desk_cards.issue(session, CODE_KEY, held.meet_id, Choice())
    return made.groups[0][1][0].url.rpartition("/")[2]


class TestReceiving:
    def test_it_reaches_the_coach_and_changes_no_setting(
        self, demo_club: DemoClub, held: SmallMeet, code: str
    ) -> None:
        with demo_club.work() as session:
            before = settings.current(session, held.guests[0].member.id)
        remarks.receive(demo_club.store, code, "  The high rail\tfelt low.\n\x00Since spring ")
        with demo_club.work() as session:
            [told] = remarks.unanswered(session)
            assert settings.current(session, held.guests[0].member.id) == before
        assert told.said == "The high rail felt low.\nSince spring"
        assert (told.member.id, told.card_version) == (held.guests[0].member.id, 1)

    def test_a_second_press_says_nothing_twice(self, demo_club: DemoClub, code: str) -> None:
        for _ in range(3):
            remarks.receive(demo_club.store, code, "Too low")
        with demo_club.work() as session:
            assert len(remarks.unanswered(session)) == 1

    def test_so_many_a_day_and_no_more(self, demo_club: DemoClub, code: str) -> None:
        for number in range(MOST_A_DAY):
            remarks.receive(demo_club.store, code, f"Remark {number}")
        with pytest.raises(TooManyRemarks):
            remarks.receive(demo_club.store, code, "One more")

    @pytest.mark.parametrize(
        ("said", "refusal"),
        [("", NothingSaid), (" \n\x07", NothingSaid), ("x" * (LONGEST_REMARK + 1), RemarkTooLong)],
    )
    def test_what_cannot_be_read_is_refused(
        self, demo_club: DemoClub, code: str, said: str, refusal: type[Exception]
    ) -> None:
        with pytest.raises(refusal):
            remarks.receive(demo_club.store, code, said)

    def test_without_a_card_that_counts_nothing_is_taken(
        self, demo_club: DemoClub, held: SmallMeet, code: str
    ) -> None:
        with demo_club.work(writes=True) as session:
            [kept] = desk_issued.of_athlete(session, held.guests[0].member.id)
            desk_issued.revoke(session, kept.id)
        for tried in (code, "A" * 26):
            with pytest.raises(NoSuchCard):
                remarks.receive(demo_club.store, tried, "Too low")


class TestAnswering:
    def test_the_answer_stands_on_the_card(self, demo_club: DemoClub, code: str) -> None:
        remarks.receive(demo_club.store, code, "Too low")
        with demo_club.work(writes=True) as session:
            [told] = remarks.unanswered(session)
            remarks.answer(session, told.id, "Raised; take the new card")
        with demo_club.work() as session:
            assert remarks.unanswered(session) == []
            holder = in_hand.holder_of(demo_club.store, code)
            [shown] = remarks.told_on_card(session, holder.card_id)
        assert (shown.answer, shown.answered_by) == ("Raised; take the new card", BY)

    def test_the_first_answer_stays(self, demo_club: DemoClub, code: str) -> None:
        remarks.receive(demo_club.store, code, "Too low")
        with demo_club.work(writes=True) as session:
            [told] = remarks.unanswered(session)
            remarks.answer(session, told.id, "First")
            assert remarks.answer(session, told.id, "Second").answer == "First"
