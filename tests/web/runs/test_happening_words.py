"""What was confirmed, as the people at the apparatus read it."""

import pytest

from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.runs.run import RunView
from settingsdesk.domain.changeover.happenings import (
    WORDS,
    AllDone,
    Arrived,
    Begun,
    Ended,
    FoundAt,
    GoneOn,
    HandsNow,
    HeldUp,
    Joined,
    LeanMeasured,
    NotHere,
    PassedOver,
    Placed,
    Rechecked,
    Reordered,
    Repeated,
    StepDone,
    TakenBack,
    TakenUp,
    TurnOver,
)
from settingsdesk.web.runs.happening_words import in_words
from settingsdesk.words.languages import spoken
from tests.conftest import DemoClub
from tests.desk.runs.carrying_out import ordered


@pytest.fixture
def view(demo_club: DemoClub) -> RunView:
    run_id = ordered(demo_club, OrderRequest())
    with demo_club.work() as session:
        return desk_run.run(session, run_id)


class TestOneLine:
    def test_every_happening_has_one(self, view: RunView) -> None:
        """The record of a run is read by whoever asks later what went wrong."""
        turns = view.run.turns[:2]
        first, second = (view.name_of(turn) for turn in turns)
        marks = " / ".join(view.run.model.marks(turns[0].setup).values())
        said = {
            Begun(turns, 2, ()): "Begun with 2 turns",
            StepDone(0): "Step 1 is done",
            AllDone(): "All steps that were left are done",
            Rechecked(alone=True): "Checked alone",
            Rechecked(alone=False): "Checked",
            TurnOver(): "The turn is over",
            Repeated(): "The turn is repeated",
            NotHere(turns[0].athlete_id): f"{first} is not here",
            Arrived(turns[0].athlete_id): f"{first} is here now",
            Placed(turns[0].athlete_id, 3): f"{first} was given another place in the order",
            Joined(turns): f"Added: {first}, {second}",
            FoundAt(turns[0].setup): f"Found standing at {marks}",
            PassedOver(turns[0].athlete_id): f"{first} was passed over, without a setting",
            LeanMeasured(0, "", 12.0): "A lean of 1.2 cm was measured: high-rail side first",
            LeanMeasured(1, "back", 17.46): "A skew of 1.7 cm was measured: low-rail side first",
            Reordered(turns): "The rest was planned again",
            HandsNow(1): "1 person from here on",
            HandsNow(2): "2 people from here on",
            TakenBack(7): "Undone: number 7",
            Ended(): "The run was ended",
            TakenUp(): "Taken up again where it was ended",
            HeldUp("A lock is open"): "Stopped, something is wrong: A lock is open",
            GoneOn(): "A coach has looked, and it goes on",
        }

        assert {type(what) for what in said} == set(WORDS.values())
        assert {what: in_words(view, what) for what in said} == said

    def test_marks_in_it_are_said_one_by_one(self, view: RunView) -> None:
        """So they stand in the order of the page also where its lines run from right to left."""
        setup = view.run.turns[0].setup
        marks = " / ".join(map(spoken("ar").apart, view.run.model.marks(setup).values()))
        for what in (FoundAt(setup), Repeated(setup)):
            assert marks in spoken("ar").said(in_words(view, what))
