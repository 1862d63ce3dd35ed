"""Which papers of a meet say other than what counts now, and making just those anew."""

import pytest

from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.cards import remarks
from settingsdesk.desk.checks import findings
from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.meet_day import cards as desk_cards
from settingsdesk.desk.meet_day import (
    crew_sheet_words,
    crew_sheets,
    printed_papers,
    withdrawal,
)
from settingsdesk.desk.meet_day.cards import Choice
from settingsdesk.desk.meets import start_orders
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.runs.presses import next_up
from settingsdesk.desk.squad import settings
from settingsdesk.domain.changeover.happenings import (
    AllDone,
    NotHere,
    Rechecked,
    Repeated,
    StepDone,
    TurnOver,
)
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.store import rotations as kept_rotations
from settingsdesk.store.work import ClubSession
from tests.conftest import DemoClub, read_inches
from tests.desk.sample_meet import (
    CODE_KEY,
    SmallMeet,
    begun,
    had_a_turn,
    hold,
    press,
    up,
)


@pytest.fixture
def held(demo_club: DemoClub) -> SmallMeet:
    """The small meet, its crew sheet printed for four pairs of hands."""
    held = hold(demo_club)
    with demo_club.work(writes=True) as session:
        printed_papers.note_printed(
            session, [crew_sheets.crew_sheet(session, held.rotation_id, hands=4)]
        )
    return held


def want_other(session: ClubSession, held: SmallMeet) -> None:
    """The first guest's spread is another one now."""
    piece = apparatus.piece(session, held.apparatus_id)
    lengths = zip(piece.model.kind.axes, (1700, 2450, 1700), strict=True)
    wanted = {axis.key: Wanted(mm, 10) for axis, mm in lengths}
    athlete_id = held.guests[0].member.id
    settings.keep_setting(session, athlete_id, piece.model_id, Setting(piece.model.kind, wanted))


class TestTheCrewSheets:
    def test_one_that_says_what_counts_is_none_of_them_for_whatever_hands(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        with demo_club.work() as session:
            assert printed_papers.outdated(session, held.meet_id).sheets == ()

    def test_one_in_inches_is_none_of_them_that_said_them_with_usual_blanks(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """What was kept of it as it was printed, before inches were kept on one line."""
        kept = "078ea661b248d889 641b0543 1cd0a2f4 6313e8ff c515f757"
        with demo_club.work(writes=True) as session:
            read_inches(session)
            sheet = crew_sheets.crew_sheet(session, held.rotation_id)
            assert "63\u00a01/8\u00a0in" in {mark.length for mark in sheet.lines[1].marks}
            assert crew_sheet_words.still_holds(kept, sheet)

    def test_one_in_the_unit_that_the_club_had_before_is_none_of_them(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        with demo_club.work(writes=True) as session:
            read_inches(session)
        with demo_club.work() as session:
            assert printed_papers.outdated(session, held.meet_id).sheets == ()

    def test_a_message_from_a_card_makes_it_old_until_it_is_answered(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """Who sets by the paper would not ask the coach first."""
        with demo_club.work(writes=True) as session:
            [group, *_] = desk_cards.issue(session, CODE_KEY, held.meet_id, Choice()).groups
        remarks.receive(demo_club.store, group[1][0].url[-26:], "Feels two fingers low")
        with demo_club.work() as session:
            sheet = crew_sheets.crew_sheet(session, held.rotation_id)
            assert sheet.lines[0].notes == ("Message not answered: ask the coach first",)
            assert not printed_papers.still_holds(session, sheet)
        with demo_club.work(writes=True) as session:
            [told] = remarks.unanswered(session)
            remarks.answer(session, told.id, "It is right as it is")
        with demo_club.work() as session:
            sheet = crew_sheets.crew_sheet(session, held.rotation_id)
            assert printed_papers.still_holds(session, sheet)

    def test_other_marks_another_order_and_somebody_withdrawn_make_it_old(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """A paper that says other than the phones is worse than none."""

        def is_old() -> bool:
            old = printed_papers.outdated(session, held.meet_id).sheets
            printed_papers.note_printed(session, old)
            return bool(old)

        with demo_club.work(writes=True) as session:
            want_other(session, held)
            assert is_old()
            line = start_orders.start_order(session, held.rotation_id).line
            start_orders.move(session, held.rotation_id, held.guests[0].member.id, 2, line.seen)
            assert is_old()
            withdrawal.withdraw(session, held.guests[1].entry_id)
            assert is_old()
            assert not is_old()

    def test_one_that_was_never_printed_or_is_over_is_not_asked_for(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        with demo_club.work(writes=True) as session:
            run_id = desk_run.begin(session, held.rotation_id, held.apparatus_id)
            want_other(session, held)
            assert printed_papers.outdated(session, held.meet_id).sheets
            desk_run.end(session, run_id)
            assert printed_papers.outdated(session, held.meet_id).sheets == ()


class TestOnceItsRotationWasBegun:
    def olds(self, club: DemoClub, held: SmallMeet) -> int:
        with club.work() as session:
            return len(printed_papers.outdated(session, held.meet_id).sheets)

    def test_nothing_that_goes_as_it_says_makes_it_old(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """What cries wolf at every press is not looked at when the jury changes the order."""
        going = begun(demo_club, held)
        assert self.olds(demo_club, held) == 0
        for _ in held.guests:
            press(demo_club, going, lambda _: StepDone(0))
            assert self.olds(demo_club, held) == 0
            press(demo_club, going, lambda _: AllDone())
            assert self.olds(demo_club, held) == 0
            press(demo_club, going, lambda _: Rechecked(alone=True))
            press(demo_club, going, lambda _: Repeated())
            assert self.olds(demo_club, held) == 0
            press(demo_club, going, lambda _: TurnOver())
            assert self.olds(demo_club, held) == 0

    def test_another_order_at_the_apparatus_does(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        going = begun(demo_club, held)
        up(demo_club, going)
        third = held.guests[2].member.id
        press(demo_club, going, lambda now: next_up(now.run, third))
        assert self.olds(demo_club, held) == 1
        with demo_club.work(writes=True) as session:
            now = crew_sheets.crew_sheet(session, held.rotation_id)
            assert printed_papers.still_holds(session, now) is False
            printed_papers.note_printed(session, [now])
        press(demo_club, going, lambda _: TurnOver())
        assert self.olds(demo_club, held) == 0
        press(demo_club, going, lambda _: NotHere(third))
        assert self.olds(demo_club, held) == 1

    def test_other_marks_of_a_turn_to_come_do_and_of_one_that_is_over_do_not(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        going = begun(demo_club, held)
        with demo_club.work(writes=True) as session:
            want_other(session, held)
            assert printed_papers.outdated(session, held.meet_id).sheets
            old = held.guests[0].member.id, apparatus.piece(session, held.apparatus_id).model_id
            settings.keep_setting(session, *old, settings.history(session, old[0])[-1].setting)
        assert self.olds(demo_club, held) == 0
        had_a_turn(demo_club, going)
        with demo_club.work(writes=True) as session:
            want_other(session, held)
        assert self.olds(demo_club, held) == 0

    def test_a_paper_of_before_that_was_kept_in_one_word_is_judged_by_what_it_said(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        with demo_club.work(writes=True) as session:
            [row] = kept_rotations.start_orders_of(session, [held.rotation_id])
            row.printed_version = row.printed_version.split()[0]
        assert self.olds(demo_club, held) == 0
        going = begun(demo_club, held)
        had_a_turn(demo_club, going)
        assert self.olds(demo_club, held) == 0
        press(demo_club, going, lambda _: NotHere(held.guests[1].member.id))
        assert self.olds(demo_club, held) == 1


class TestOfAnApparatusOutOfUse:
    def test_sheet_and_cards_are_told_while_turns_are_left_and_made_anew_by_nobody(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        going = begun(demo_club, held)
        had_a_turn(demo_club, going)
        ids = [guest.member.id for guest in held.guests[:2]]
        with demo_club.work(writes=True) as session:
            desk_issued.issue(session, CODE_KEY, held.apparatus_id, ids)
            findings.add_finding(
                session, held.apparatus_id, "cable frayed", withdraws=True, press_key="a"
            )
            desk_run.end(session, going)
        with demo_club.work(writes=True) as session:
            old = printed_papers.outdated(session, held.meet_id)
            [one] = old.out_of_use
            renewed = printed_papers.renew(session, CODE_KEY, held.meet_id)
        assert one.is_printed
        assert len(one.sheet.to_come) == 2
        assert [entrant.member.id for entrant in one.with_cards] == ids[1:]
        assert (old.sheets, renewed.rotation_ids) == ((), ())


class TestMadeAnew:
    def test_one_press_makes_cards_and_crew_sheets_anew_and_nothing_else(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        ids = [guest.member.id for guest in held.guests]
        with demo_club.work(writes=True) as session:
            desk_issued.issue(session, CODE_KEY, held.apparatus_id, ids)
            papers = printed_papers.renew(session, CODE_KEY, held.meet_id)
            before = len(printed_papers.outdated(session, held.meet_id).cards)
            want_other(session, held)
            papers = printed_papers.renew(session, CODE_KEY, held.meet_id)
            left = printed_papers.outdated(session, held.meet_id)
        assert before == 0
        assert papers.rotation_ids == (held.rotation_id,)
        assert papers.cards is not None
        assert papers.cards.cards == ((held.apparatus_id, held.guests[0].entry_id),)
        assert (left.cards, left.sheets) == ((), ())
