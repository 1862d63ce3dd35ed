"""What the buttons at the apparatus confirm, by the word and number that each sends."""

import pytest

from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.runs.presses import NEW_MARKS, NEXT, PLAIN, NoSuchWord, happening
from settingsdesk.desk.runs.refusals import ConfirmedMeanwhile
from settingsdesk.domain.changeover.happenings import (
    AllDone,
    HandsNow,
    Happening,
    Rechecked,
    Reordered,
    StepDone,
)
from tests.conftest import DemoClub
from tests.desk.runs.carrying_out import ordered, turn


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
