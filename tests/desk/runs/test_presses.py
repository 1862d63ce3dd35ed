"""What the buttons at the apparatus confirm, by the word and number that each sends."""

from typing import Any

import pytest

from settingsdesk.desk.checks import findings
from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.runs.presses import (
    NEW_MARKS,
    NEXT,
    PLAIN,
    NoSuchWord,
    Press,
    confirm,
    happening,
)
from settingsdesk.desk.runs.refusals import ConfirmedMeanwhile
from settingsdesk.desk.runs.run import RunNow
from settingsdesk.domain.changeover.happenings import (
    AllDone,
    HandsNow,
    Happening,
    Rechecked,
    Reordered,
    StepDone,
)
from settingsdesk.domain.changeover.run import NotNow, OnPaper, Stage
from settingsdesk.domain.checks.findings import Step
from tests.conftest import DemoClub
from tests.desk.runs.carrying_out import BY, ordered, turn
from tests.desk.sample_meet import checked_before_use
from tests.moving_clock import MovingClock


def pressed(club: DemoClub, run_id: int, seen: int, word: str, number: int = 0) -> Happening:
    with club.work() as session:
        return happening(session, desk_run.loaded(session, run_id), seen, word, number)


class TestWhatAButtonConfirms:
    @pytest.mark.parametrize(
        ("word", "number", "what"),
        [
            ("step", 3, StepDone(3)),
            ("steps", 0, AllDone()),
            ("second", 0, Rechecked(alone=False)),
            ("alone", 0, Rechecked(alone=True)),
            ("hands", 2, HandsNow(2)),
        ],
    )
    def test_a_plain_word_means_the_same_whatever_the_list_is(
        self, demo_club: DemoClub, word: str, number: int, what: Happening
    ) -> None:
        assert pressed(demo_club, ordered(demo_club, OrderRequest()), 1, word, number) == what

    def test_who_goes_next_is_read_from_the_list_that_was_seen(self, demo_club: DemoClub) -> None:
        """The same press sent once more after others went on is the same order."""
        run_id = ordered(demo_club, OrderRequest())
        with demo_club.work() as session:
            seen = desk_run.run(session, run_id)
        third = seen.run.turns[2].athlete_id
        before = pressed(demo_club, run_id, seen.number, NEXT, third)
        turn(demo_club, run_id)

        assert isinstance(before, Reordered)
        assert pressed(demo_club, run_id, seen.number, NEXT, third) == before

    def test_new_marks_are_those_that_count_now(self, demo_club: DemoClub) -> None:
        run_id = ordered(demo_club, OrderRequest())
        with demo_club.work() as session:
            turns = desk_run.run(session, run_id).run.turns

        assert pressed(demo_club, run_id, 1, NEW_MARKS) == Reordered(turns)

    def test_an_event_that_never_was_cannot_have_been_seen(self, demo_club: DemoClub) -> None:
        run_id = ordered(demo_club, OrderRequest())
        for seen in (-1, 0, 2):
            with pytest.raises(ConfirmedMeanwhile):
                pressed(demo_club, run_id, seen, NEXT, 1)

    def test_a_word_that_no_button_has_is_refused(self, demo_club: DemoClub) -> None:
        """Ending a run has a page of its own that asks once more."""
        run_id = ordered(demo_club, OrderRequest())
        assert "ended" not in PLAIN
        with pytest.raises(NoSuchWord):
            pressed(demo_club, run_id, 1, "ended")


class TestNobodyGoesUp:
    """A check lets somebody up: only where the check before use is known to be made."""

    def checked(self, club: DemoClub, run_id: int, word: str = "alone", **told: Any) -> RunNow:
        """The run after that press by somebody who sees it as it is."""
        with club.work(writes=True) as session:
            now = desk_run.loaded(session, run_id)
            return confirm(session, now, Press(word, 0, now.number, **told))[1]

    def to_be_checked_again(self, club: DemoClub, run_id: int) -> None:
        """The marks were read off, and are those that stood there."""
        with club.work(writes=True) as session:
            now = desk_run.loaded(session, run_id)
            desk_run.read_off(session, now, now.number, now.run.stands or ())

    @pytest.mark.parametrize(("word", "name"), [("alone", ""), ("checked_by_name", "Signe")])
    def test_before_it_is_made_in_the_desk(self, demo_club: DemoClub, word: str, name: str) -> None:
        run_id = ordered(demo_club, OrderRequest())
        with pytest.raises(NotNow, match="under Checks, or you tick that it was made on paper"):
            self.checked(demo_club, run_id, word, name=name)
        with demo_club.work() as session:
            now = desk_run.loaded(session, run_id)
            assert (now.run.stage, now.number) == (Stage.CHECKING, 1)
        checked_before_use(demo_club, now.piece.id)

        assert self.checked(demo_club, run_id, word, name=name).run.stage is Stage.ON

    def test_unless_somebody_says_that_it_was_made_on_paper_once_in_a_run_and_day(
        self, demo_club: DemoClub, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Sent once more because no answer came it is the same press; tomorrow it is asked anew."""
        clock = MovingClock(monkeypatch)
        run_id = ordered(demo_club, OrderRequest())
        on = self.checked(demo_club, run_id, before_use_on_paper=True)
        with demo_club.work(writes=True) as session:
            for told in (True, False):
                press = Press("alone", 0, 1, late=True, before_use_on_paper=told)
                assert confirm(session, on, press)[1].number == on.number
        assert on.run.before_use == OnPaper(BY, on.events[-1].at)
        self.to_be_checked_again(demo_club, run_id)
        assert self.checked(demo_club, run_id).run.stage is Stage.ON
        clock.put(days=1)
        self.to_be_checked_again(demo_club, run_id)

        with pytest.raises(NotNow, match="first comes the check before use"):
            self.checked(demo_club, run_id)
        assert self.checked(demo_club, run_id, before_use_on_paper=True).run.stage is Stage.ON

    def test_after_it_was_out_of_use_by_what_was_said_before(self, demo_club: DemoClub) -> None:
        run_id = ordered(demo_club, OrderRequest())
        piece = self.checked(demo_club, run_id, before_use_on_paper=True).piece
        with demo_club.work(writes=True) as session:
            fault = findings.add_finding(
                session, piece.id, "A cable frays", withdraws=True, press_key="p"
            )
            findings.take_step(session, fault.id, Step.RELEASED, "A new cable, tried")
        self.to_be_checked_again(demo_club, run_id)
        self.checked(demo_club, run_id, "steps")

        with pytest.raises(NotNow, match="first comes the check before use"):
            self.checked(demo_club, run_id)
