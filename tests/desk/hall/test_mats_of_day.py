"""A landing mat more for a day: what counts it, what stays, and that it is over by itself."""

from datetime import date, timedelta

import pytest
from sqlalchemy import select

from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import apparatus, mats_of_day
from settingsdesk.desk.hall.apparatus import NotTheseMats, Piece
from settingsdesk.desk.hall.mats_of_day import KEPT_AFTERWARDS, NotADayForMats
from settingsdesk.desk.meet_day import crew_sheet_words, crew_sheets, printed_papers
from settingsdesk.desk.meet_day.cards import Choice
from settingsdesk.desk.meet_day.cards import issue as issue_for_meet
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.rotations.order_paper import order_papers
from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.runs import presses
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.runs.presses import Press
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.changeover.happenings import Rechecked
from settingsdesk.store import apparatus as kept_apparatus
from settingsdesk.store import cards as kept_cards
from settingsdesk.store.base import utc_now
from tests.conftest import DemoClub
from tests.desk.cards.scanning import scanned
from tests.desk.cards.test_issued import CODE_KEY, code_of, issue
from tests.desk.runs.carrying_out import TONIGHT, ordered
from tests.desk.sample_meet import DAY, begun, hold
from tests.moving_clock import MovingClock

BARS = 1


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> MovingClock:
    return MovingClock(monkeypatch)


def lie(club: DemoClub, more_mm: int, day: date | None = None, apparatus_id: int = BARS) -> Piece:
    with club.work(writes=True) as session:
        return mats_of_day.lie_on(session, apparatus_id, day or today(), more_mm)


def bars(club: DemoClub) -> Piece:
    with club.work() as session:
        return apparatus.piece(session, BARS)


class TestAMatMore:
    def test_is_over_with_the_day_and_changes_no_setting_and_no_mark(
        self, demo_club: DemoClub, clock: MovingClock
    ) -> None:
        before = bars(demo_club)
        there = lie(demo_club, 100)
        assert (there.mat_mm, there.mats.on_record_mm) == (300, 200)
        assert (there.setup, there.model) == (before.setup, before.model)

        clock.put(days=1)
        assert bars(demo_club).mat_mm == 200

    def test_may_be_said_before_its_day_and_be_less(self, demo_club: DemoClub) -> None:
        tomorrow = today() + timedelta(days=1)
        there = lie(demo_club, -50, tomorrow)
        assert there.mat_mm == 200
        assert there.as_on(tomorrow).mat_mm == 150
        assert mats_of_day.to_come(there) == [(tomorrow, -50)]

    def test_is_said_otherwise_and_taken_back(self, demo_club: DemoClub) -> None:
        lie(demo_club, 100)
        assert lie(demo_club, 50).mat_mm == 250
        assert lie(demo_club, 0).mats.more_by_day == {}

    @pytest.mark.parametrize("days", [-1, 367])
    def test_of_a_day_that_is_over_or_far_ahead_is_refused(
        self, demo_club: DemoClub, days: int
    ) -> None:
        with pytest.raises(NotADayForMats):
            lie(demo_club, 100, today() + timedelta(days=days))

    @pytest.mark.parametrize("more_mm", [-201, 801])
    def test_that_cannot_lie_there_is_refused(self, demo_club: DemoClub, more_mm: int) -> None:
        with pytest.raises(NotTheseMats):
            lie(demo_club, more_mm)

    def test_holds_where_the_mats_on_record_become_others(self, demo_club: DemoClub) -> None:
        """And what could not lie there then is refused, and not made something else."""
        lie(demo_club, -150)
        with demo_club.work(writes=True) as session, session.or_nothing():
            with pytest.raises(NotTheseMats):
                apparatus.change_piece(session, BARS, "Bars by the window", "", 100)
            assert apparatus.change_piece(session, BARS, "Bars", "", 300).mat_mm == 150

    def test_is_forgotten_some_time_after_its_day(
        self, demo_club: DemoClub, clock: MovingClock
    ) -> None:
        """Last week's rotation still says it; next year nobody asks."""
        lie(demo_club, 100)
        clock.put(days=KEPT_AFTERWARDS.days + 1)
        lie(demo_club, 50)
        with demo_club.work() as session:
            assert len(kept_apparatus.mats_of_days(session, BARS)) == 1


class TestCards:
    ABOVE = "Above the mat, with 10.0 cm more mat than usual on"

    def test_printed_that_day_say_heights_above_the_mat_with_the_day(
        self, demo_club: DemoClub
    ) -> None:
        [plain] = issue(demo_club)
        lie(demo_club, 100)
        [card] = issue(demo_club)

        [told] = card.above_mat
        assert told.startswith(self.ABOVE)
        assert told.endswith(": 140.4 cm / 219.7 cm")
        assert told in card.heeds
        assert (card.lines, card.version) == (plain.lines, plain.version + 1)

    def test_printed_when_the_words_were_others_still_say_the_same(
        self, demo_club: DemoClub
    ) -> None:
        lie(demo_club, 100)
        [card] = issue(demo_club)
        with demo_club.work(writes=True) as session:
            [row] = session.scalars(select(kept_cards.Card))
            [told] = row.content["above_mat"]
            assert " than usual on " in told
            row.content = {**row.content, "above_mat": [told.replace(" than usual on ", " on ")]}
        [again] = issue(demo_club)
        assert (again.version, again.above_mat) == (card.version, card.above_mat)

    def test_printed_before_or_on_that_day_still_count(
        self, demo_club: DemoClub, clock: MovingClock
    ) -> None:
        """Their marks are the marks; only a page that is looked at says the mats of today."""
        [before] = issue(demo_club)
        lie(demo_club, 100)
        [then] = issue(demo_club)
        for card in (before, then):
            seen = scanned(demo_club, code_of(card))
            assert seen.current
            assert len(seen.now.above_mat) == 1
            assert "more mat than usual today" in seen.now.above_mat[0]
        clock.put(days=1)
        again = scanned(demo_club, code_of(then))
        assert again.current
        assert again.now.above_mat == ()

    def test_are_printed_again_as_they_were(self, demo_club: DemoClub) -> None:
        lie(demo_club, 100)
        [card] = issue(demo_club)
        lie(demo_club, 0)
        with demo_club.work() as session:
            view = desk_rotation.rotation(session, TONIGHT)
            first = [view.listed[0].id]
            [again] = desk_issued.printed(session, CODE_KEY, view.piece.id, first)
        assert again.above_mat == card.above_mat

    def test_of_a_meet_say_those_of_its_days(self, demo_club: DemoClub, clock: MovingClock) -> None:
        """Printed the evening before, for the mats of the day."""
        held = hold(demo_club)
        clock.put(days=(DAY - today()).days - 1)
        lie(demo_club, 100, DAY, held.apparatus_id)
        with demo_club.work(writes=True) as session:
            made = issue_for_meet(session, CODE_KEY, held.meet_id, Choice())
        cards = [card for _, some in made.groups for card in some if card.above_mat]
        assert cards
        assert all(len(card.above_mat) == 1 for card in cards)
        assert all("today" not in card.above_mat[0] for card in cards)


class TestPapersAtTheApparatus:
    def test_an_evenings_order_says_it_of_its_day(self, demo_club: DemoClub) -> None:
        lie(demo_club, 100)
        with demo_club.work() as session:
            view = desk_rotation.rotation(session, TONIGHT)
            [paper] = order_papers(view, Unit.CENTIMETRE, utc_now())
        assert "above the mat every height is 30.0 cm less" in " ".join(paper.above)

    @pytest.mark.parametrize("is_begun", [False, True])
    def test_a_crew_sheet_says_it_and_one_that_says_otherwise_is_out_of_date(
        self, demo_club: DemoClub, clock: MovingClock, is_begun: bool
    ) -> None:
        """Whoever reads heights from the mat's top by an old paper would find other ones.

        Where the version says that two papers differ, the list of old ones has it.
        """
        held = hold(demo_club)
        clock.put(days=(DAY - today()).days - 1)
        if is_begun:
            begun(demo_club, held)
        versions: list[str] = []
        for more_mm in (0, 100, 150, -50, 0):
            lie(demo_club, more_mm, DAY, held.apparatus_id)
            with demo_club.work(writes=True) as session:
                now = crew_sheets.crew_sheet(session, held.rotation_id)
                told = " ".join(crew_sheet_words.facts(now))
                assert ("above the mat every height is" in told) == bool(more_mm)
                old = printed_papers.outdated(session, held.meet_id).sheets
                assert bool(old) == bool(versions), more_mm
                assert printed_papers.still_holds(session, now) is (False if versions else None)
                printed_papers.note_printed(session, [now])
                assert printed_papers.still_holds(session, now)
                assert crew_sheet_words.version(now) not in versions[-1:]
                versions.append(crew_sheet_words.version(now))
        assert versions[0] == versions[-1]

    def test_mats_of_another_day_and_those_on_record_make_no_crew_sheet_old(
        self, demo_club: DemoClub, clock: MovingClock
    ) -> None:
        """It says nothing of them."""
        held = hold(demo_club)
        clock.put(days=(DAY - today()).days - 1)
        with demo_club.work(writes=True) as session:
            sheet = crew_sheets.crew_sheet(session, held.rotation_id)
            printed_papers.note_printed(session, [sheet])
        lie(demo_club, 100, today(), held.apparatus_id)
        with demo_club.work(writes=True) as session:
            kept_apparatus.by_id(session, held.apparatus_id).mat_mm += 10
        with demo_club.work() as session:
            assert printed_papers.outdated(session, held.meet_id).sheets == ()


class TestARun:
    def test_keeps_what_was_shown_when_it_was_checked(self, demo_club: DemoClub) -> None:
        """The mats of the day may be said otherwise later: what was confirmed stays."""
        run_id = ordered(demo_club, OrderRequest())
        lie(demo_club, 100)
        with demo_club.work(writes=True) as session:
            now = desk_run.loaded(session, run_id)
            presses.confirm(session, now, Press("alone", -1, now.number, before_use_on_paper=True))
        lie(demo_club, 0)
        with demo_club.work() as session:
            checked = desk_run.loaded(session, run_id).events[-1].what
        assert isinstance(checked, Rechecked)
        assert checked.more_mat_mm == 100
