"""What happens in a run, kept as plain data and read back."""

from typing import get_args

import pytest

from settingsdesk.domain.changeover.happenings import (
    WORDS,
    AllDone,
    Arrived,
    Begun,
    Ended,
    FoundAt,
    GoneOn,
    HandsNow,
    Happening,
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
    Turn,
    TurnOver,
    from_data,
    to_data,
    word_of,
)

START = ((0, 0), (0, 0), (0, 0))
TURNS = (Turn(1, (2, 2, 5)), Turn(2, (4, 5, 9)))


class TestKept:
    @pytest.mark.parametrize(
        "what",
        [
            Begun(TURNS, 2, START),
            StepDone(3),
            AllDone(),
            Rechecked(alone=True),
            Rechecked(alone=False, second="Ana"),
            TurnOver(),
            Repeated(),
            Repeated((1, 2, 3)),
            NotHere(4),
            Arrived(4),
            Placed(4, 2),
            Joined(TURNS),
            FoundAt((1, 2, 3)),
            Reordered(TURNS),
            Reordered(TURNS, with_before=True),
            PassedOver(4),
            LeanMeasured(1, "window end", 12.5),
            HandsNow(4),
            TakenBack(7),
            Ended(),
            TakenUp(unknown=True),
            HeldUp("The lock at the window end does not hold"),
            GoneOn(),
        ],
    )
    def test_it_reads_back_as_it_was(self, what: Happening) -> None:
        assert from_data(word_of(what), to_data(what)) == what

    def test_a_check_keeps_the_mats_that_were_shown_and_is_told_from_no_other_by_them(self) -> None:
        """A press that is sent once more after the mats were changed is the same press."""
        checked = Rechecked(alone=True, more_mat_mm=100)
        kept = from_data("rechecked", to_data(checked))
        assert kept == Rechecked(alone=True)
        assert kept.more_mat_mm == 100
        assert from_data("rechecked", {"alone": True, "second": ""}).more_mat_mm == 0

    def test_a_check_keeps_that_the_one_before_use_was_said_to_be_on_paper(self) -> None:
        kept = from_data("rechecked", to_data(Rechecked(alone=True, before_use_on_paper=True)))
        assert kept == Rechecked(alone=True)
        assert kept.before_use_on_paper
        assert not from_data("rechecked", {"alone": True, "second": ""}).before_use_on_paper

    def test_a_repeat_that_was_kept_before_it_could_be_at_other_marks_is_one(self) -> None:
        assert from_data("repeated", {}) == Repeated()

    def test_an_order_that_was_kept_before_it_could_go_with_another_is_one_by_itself(self) -> None:
        assert from_data("reordered", {"turns": []}) == Reordered((), with_before=False)

    def test_every_happening_has_a_word(self) -> None:
        assert set(WORDS.values()) == set(get_args(Happening))
