"""Which papers of a meet say other than what counts now, and making just those anew."""

import pytest

from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.meet_day import crew_sheets, printed_papers, withdrawal
from settingsdesk.desk.meets import start_orders
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.squad import settings
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.store.work import ClubSession
from tests.conftest import DemoClub
from tests.desk.sample_meet import CODE_KEY, SmallMeet, hold


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
