"""A rotation under way that goes otherwise than it was begun: other orders, stopped, taken back."""

from collections.abc import Sequence

import pytest

from settingsdesk.domain.changeover.changeover import Frame, Phase
from settingsdesk.domain.changeover.happenings import (
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
)
from settingsdesk.domain.changeover.run import (
    Confirmed,
    NotNow,
    Run,
    Stage,
    run_of,
    to_take_back,
)
from settingsdesk.domain.hall.models import ApparatusModel
from tests.domain.changeover.confirmed import ADA, BO, CY, NOON, START, TURNS, events


class TestAnotherOrder:
    def test_who_is_not_here_waits_and_the_next_is_set_for(self, bars: ApparatusModel) -> None:
        run = run_of(bars, events(NotHere(ADA)))

        assert [turn.athlete_id for turn in run.turns] == [BO, CY]
        assert [turn.athlete_id for turn in run.away] == [ADA]

    def test_who_has_come_gets_the_turns_after_the_others(self, bars: ApparatusModel) -> None:
        run = run_of(bars, events(NotHere(ADA), Arrived(ADA)))

        assert [turn.athlete_id for turn in run.turns] == [BO, CY, ADA]
        assert run.away == ()

    def test_a_change_over_that_is_broken_off_goes_on_from_where_the_ends_stand(
        self, bars: ApparatusModel
    ) -> None:
        """One end of the low rail is up already: nobody may think that both are."""
        run = run_of(bars, events(StepDone(0), StepDone(1), NotHere(ADA), NotHere(BO)))

        told = [step.what for step in run.change.steps]
        assert run.ends[0] == (2, 0)
        assert told[0] == "Low rail height, front end: up from 3 to 5"
        assert told[1] == "Low rail height, back end: up from 1 to 5"
        assert not any(what.startswith("Slacken") for what in told)

    def test_broken_off_and_standing_right_it_is_still_tensioned(
        self, bars: ApparatusModel
    ) -> None:
        same = [Turn(ADA, (2, 0, 0)), Turn(BO, (2, 2, 0)), Turn(CY, (2, 0, 0))]
        told = [StepDone(0), StepDone(1), StepDone(2), NotHere(ADA), NotHere(BO)]
        run = run_of(bars, events(*told, turns=same))

        assert run.stands == (2, 0, 0)
        assert run.stage is Stage.SETTING
        assert any(step.what.startswith("Tension") for step in run.change.steps)

    def test_a_new_order_that_keeps_the_first_turn_keeps_what_was_done_for_it(
        self, bars: ApparatusModel
    ) -> None:
        run = run_of(bars, events(StepDone(0), Reordered((TURNS[0], TURNS[2], TURNS[1]))))

        assert run.done == {0}
        assert run.order_before == TURNS

    def test_the_order_before_somebody_went_has_them_in_their_places(
        self, bars: ApparatusModel
    ) -> None:
        """Told against a list without them, places would be said that no page ever showed."""
        went = run_of(bars, events(NotHere(BO), Reordered((TURNS[2], TURNS[0]))))
        again = Reordered((TURNS[1], TURNS[2], TURNS[0]))
        came = run_of(
            bars, events(NotHere(BO), Reordered((TURNS[2], TURNS[0])), Arrived(BO), again)
        )
        later = Reordered((TURNS[0], TURNS[2]))

        assert went.order_before == TURNS
        assert came.order_before == (TURNS[2], TURNS[0])
        assert run_of(
            bars, events(NotHere(BO), Reordered((TURNS[2], TURNS[0])), later)
        ).order_before == (TURNS[2], TURNS[0])

    def test_a_repeated_turn_comes_before_all_others(self, bars: ApparatusModel) -> None:
        on = [AllDone(), Rechecked(alone=True)]
        at_once = run_of(bars, events(*on, Repeated()))
        later = run_of(bars, events(*on, TurnOver(), TurnOver(), Repeated()))

        assert [turn.athlete_id for turn in at_once.turns] == [ADA, BO, CY]
        assert [turn.athlete_id for turn in later.turns] == [BO, CY]
        assert at_once.stage is later.stage is Stage.ON

    def test_a_turn_that_is_repeated_at_other_marks_is_set_and_checked_first(
        self, bars: ApparatusModel
    ) -> None:
        """One hole up between two tries: nobody goes up at the marks of before."""
        other = tuple(stop + 1 for stop in TURNS[0].setup or ())
        on = [AllDone(), Rechecked(alone=True)]
        at_once = run_of(bars, events(*on, Repeated(other)))
        later = run_of(bars, events(*on, TurnOver(), TurnOver(), Repeated(other)))

        for run, who, over in ((at_once, ADA, 1), (later, BO, 2)):
            assert run.turns[0] == Turn(who, other)
            assert run.stage is Stage.SETTING
            assert len(run.over) == over
        done = run_of(bars, events(*on, Repeated(other), AllDone()))
        assert (done.stage, done.stands) == (Stage.CHECKING, other)

    def test_other_marks_in_the_same_order_are_no_change_of_the_order(
        self, bars: ApparatusModel
    ) -> None:
        higher = tuple(Turn(turn.athlete_id, (2, 2, 2)) for turn in TURNS[:2])
        gone = run_of(bars, events(NotHere(CY), Reordered(higher)))

        assert gone.turns == higher
        assert gone.order_before == ()

    def test_who_is_late_goes_later_and_nobody_else_changes_places(
        self, bars: ApparatusModel
    ) -> None:
        """At two turns each only the next one is later; whoever is on keeps the turn that is on."""
        twice = (*TURNS, *TURNS)
        later = run_of(bars, events(Placed(ADA, 2)))
        last = run_of(bars, events(Placed(ADA, 5), turns=twice))
        on = run_of(bars, events(AllDone(), Rechecked(alone=True), Placed(ADA, 5), turns=twice))
        come = run_of(bars, events(NotHere(ADA), Placed(ADA, 1), turns=twice))

        assert later.turns == (TURNS[1], TURNS[2], TURNS[0])
        assert (later.stage, later.order_before) == (Stage.SETTING, TURNS)
        assert [turn.athlete_id for turn in last.turns] == [BO, CY, ADA, BO, CY, ADA]
        assert [turn.athlete_id for turn in on.turns] == [ADA, BO, CY, BO, CY, ADA]
        assert on.stage is Stage.ON
        assert [turn.athlete_id for turn in come.turns] == [BO, ADA, CY, BO, CY, ADA]
        assert come.away == ()
        for nowhere in (Placed(ADA, 3), Placed(9, 1)):
            with pytest.raises(NotNow):
                run_of(bars, events(nowhere))

    def test_an_order_that_was_worked_out_for_something_is_taken_back_with_it(
        self, bars: ApparatusModel
    ) -> None:
        """Somebody added by mistake is gone with one press, and all stand where they stood.

        What was kept before orders said so is taken back one after the other.
        """
        new = Turn(9, (0, 0, 0))
        for added, order in (
            (Joined((new,)), (new, TURNS[2], TURNS[1], TURNS[0])),
            (NotHere(BO), (TURNS[2], TURNS[0])),
        ):
            told = events(added, Reordered(order, with_before=True))
            assert to_take_back(told) == told[1]
            again = events(*(event.what for event in told[1:]), TakenBack(2))
            assert run_of(bars, again).turns == TURNS
            assert run_of(bars, again).away == ()
            assert to_take_back(again) is None
            assert to_take_back(events(added, Reordered(order))).number == 3

    def test_who_joins_comes_last(self, bars: ApparatusModel) -> None:
        run = run_of(bars, events(Joined((Turn(9, (0, 0, 0)),))))

        assert [turn.athlete_id for turn in run.turns] == [ADA, BO, CY, 9]

    def test_found_at_other_stops_it_is_set_from_there(self, bars: ApparatusModel) -> None:
        run = run_of(bars, events(AllDone(), Rechecked(alone=True), FoundAt((2, 2, 6))))

        moves = [step.move for step in run.change.steps if step.move]
        assert run.stage is Stage.SETTING
        assert {(move.axis.key, move.from_stop, move.to_stop) for move in moves} == {
            ("spread", 6, 5)
        }

    def test_more_hands_share_the_steps_anew(self, bars: ApparatusModel) -> None:
        run = run_of(bars, events(HandsNow(2)))

        assert run.hands == 2
        assert len(run.next_steps) > 1
        assert run.change.seconds < run_of(bars, events()).change.seconds


class TestBrokenOff:
    """Nothing is moved while tensioned, and nobody goes up unchecked, whatever came between."""

    def phases(self, run: Run) -> list[Phase]:
        return [step.phase for step in run.change.steps]

    def tensioned_once(self, bars: ApparatusModel) -> list[Happening]:
        """All steps up to the first of the tensioning."""
        steps = run_of(bars, events()).change.steps
        first = next(n for n, step in enumerate(steps) if step.phase is Phase.TENSION)
        return [StepDone(place) for place in range(first + 1)]

    def test_after_a_tensioner_was_pulled_it_is_slackened_again(self, bars: ApparatusModel) -> None:
        run = run_of(bars, events(*self.tensioned_once(bars), NotHere(ADA), NotHere(BO)))

        assert self.phases(run)[0] is Phase.SLACKEN

    def test_with_some_tensioners_slackened_the_others_are_too(self, bars: ApparatusModel) -> None:
        run = run_of(bars, events(StepDone(0), NotHere(ADA), NotHere(BO), hands=2))

        assert self.phases(run)[0] is Phase.SLACKEN

    def test_one_left_half_tensioned_is_tensioned_anew_though_it_stands_right(
        self, bars: ApparatusModel
    ) -> None:
        run = run_of(bars, events(*self.tensioned_once(bars), NotHere(ADA)))

        assert self.phases(run)[0] is Phase.SLACKEN
        assert Phase.MOVE not in self.phases(run)
        assert Phase.TENSION in self.phases(run)

    @pytest.mark.parametrize("what", [NotHere(ADA), FoundAt((2, 2, 5))])
    def test_set_and_not_checked_it_is_still_to_be_checked(
        self, bars: ApparatusModel, what: Happening
    ) -> None:
        run = run_of(bars, events(AllDone(), what))

        assert run.stage is Stage.CHECKING

    def test_read_off_while_somebody_is_on_it_is_checked_again(self, bars: ApparatusModel) -> None:
        on = [AllDone(), Rechecked(alone=True)]

        assert run_of(bars, events(*on, FoundAt((2, 2, 5)))).stage is Stage.CHECKING

    def test_out_of_use_in_between_it_is_tensioned_anew(self, bars: ApparatusModel) -> None:
        on = [AllDone(), Rechecked(alone=True)]
        run = run_of(bars, events(*on, FoundAt((2, 2, 5), anew=True)))

        assert run.stage is Stage.SETTING
        assert self.phases(run)[0] is Phase.SLACKEN

    def test_begun_where_one_was_broken_off_it_is_tensioned_anew(
        self, bars: ApparatusModel
    ) -> None:
        first = Begun((Turn(ADA, (0, 0, 0)),), 1, START, unclear=True)
        run = run_of(bars, [Confirmed(1, NOON, "Runa", first)])

        assert self.phases(run)[0] is Phase.SLACKEN

    def test_ended_while_somebody_is_on_it_is_left_tensioned(self, bars: ApparatusModel) -> None:
        """The next run there has no reason to slacken it once more."""
        run = run_of(bars, events(AllDone(), Rechecked(alone=True), Ended()))

        assert run.frame_now is Frame.TENSIONED

    def test_more_hands_do_not_take_credit_for_what_fewer_set(self, bars: ApparatusModel) -> None:
        through = [AllDone(), Rechecked(alone=True), TurnOver(), TurnOver(), AllDone()]
        run = run_of(bars, events(*through, HandsNow(4), Rechecked(alone=True), TurnOver()))

        assert run.over[-1].hands == 1


class TestTakenUpAgain:
    """Whoever pressed End by mistake has not ended the evening for ten athletes."""

    def test_it_goes_on_with_the_turn_at_which_it_was_ended(self, bars: ApparatusModel) -> None:
        told = [AllDone(), Rechecked(alone=True), TurnOver(), TurnOver(), Ended(), TakenUp()]
        run = run_of(bars, events(*told))

        assert [had.turn.athlete_id for had in run.over] == [ADA, BO]
        assert [turn.athlete_id for turn in run.turns] == [CY]
        assert run.stage is Stage.SETTING

    def test_whoever_was_on_goes_up_after_another_check(self, bars: ApparatusModel) -> None:
        run = run_of(bars, events(AllDone(), Rechecked(alone=True), Ended(), TakenUp()))

        assert (run.turns[0].athlete_id, run.stage) == (ADA, Stage.CHECKING)

    def test_ended_in_the_middle_of_a_change_over_it_goes_on_from_where_the_ends_stand(
        self, bars: ApparatusModel
    ) -> None:
        run = run_of(bars, events(StepDone(0), StepDone(1), Ended(), TakenUp()))

        assert run.ends[0] == (2, 0)
        assert run.change.steps[0].what == "Low rail height, back end: up from 1 to 3"

    def test_where_somebody_was_at_it_since_nothing_counts_before_the_marks_are_read(
        self, bars: ApparatusModel
    ) -> None:
        """Whoever it was may have left it untensioned, at the same marks."""
        told = [AllDone(), Rechecked(alone=True), Ended(), TakenUp(unknown=True)]
        run = run_of(bars, events(*told, FoundAt((2, 2, 5))))

        assert run_of(bars, events(*told)).unread
        assert not run.unread
        assert run.change.steps[0].phase is Phase.SLACKEN

    def test_a_run_with_no_turn_left_has_nothing_to_be_taken_up(self, bars: ApparatusModel) -> None:
        told = [AllDone(), Rechecked(alone=True), TurnOver(), Ended(), TakenUp()]

        with pytest.raises(NotNow, match="All turns of this run are done"):
            run_of(bars, events(*told, turns=TURNS[:1]))

    def test_nothing_from_before_its_end_is_taken_back(self) -> None:
        assert to_take_back(events(AllDone(), Ended(), TakenUp())) is None


class TestHeldUp:
    """A volunteer sees a lock that does not hold, and is no coach."""

    HELD = HeldUp("The lock at the window end does not hold")

    @pytest.mark.parametrize(
        ("before", "what"),
        [
            ([], StepDone(0)),
            ([], AllDone()),
            ([AllDone()], Rechecked(alone=False)),
            ([AllDone(), Rechecked(alone=True)], TurnOver()),
            ([AllDone(), Rechecked(alone=True)], Repeated()),
        ],
    )
    def test_nothing_is_confirmed_before_a_coach_has_looked(
        self, bars: ApparatusModel, before: list[Happening], what: Happening
    ) -> None:
        with pytest.raises(NotNow, match="A coach has to look first"):
            run_of(bars, events(*before, self.HELD, what))

    def test_it_says_what_was_said_and_by_whom(self, bars: ApparatusModel) -> None:
        held = run_of(bars, events(self.HELD)).hold_up

        assert held is not None
        assert (held.words, held.by) == (self.HELD.words, events(self.HELD)[-1].by)

    def test_it_goes_on_with_the_steps_that_are_left(self, bars: ApparatusModel) -> None:
        run = run_of(bars, events(StepDone(0), self.HELD, GoneOn()))

        assert (run.hold_up, run.stage, run.done) == (None, Stage.SETTING, frozenset({0}))

    def test_whoever_was_on_goes_up_after_another_check(self, bars: ApparatusModel) -> None:
        """Hands were at the apparatus since it was checked."""
        run = run_of(bars, events(AllDone(), Rechecked(alone=True), self.HELD, GoneOn()))

        assert (run.turns[0].athlete_id, run.stage) == (ADA, Stage.CHECKING)

    def test_its_change_over_is_no_time_to_learn_from(self, bars: ApparatusModel) -> None:
        told = [StepDone(0), self.HELD, GoneOn(), AllDone(), Rechecked(alone=True), TurnOver()]

        assert not run_of(bars, events(*told)).over[0].undisturbed

    @pytest.mark.parametrize(
        "told",
        [
            [HELD, HeldUp("And a cable is frayed")],
            [GoneOn()],
            [HELD, GoneOn(), GoneOn()],
            [Ended(), HELD],
        ],
    )
    def test_there_is_one_at_a_time_and_only_while_it_is_under_way(
        self, bars: ApparatusModel, told: list[Happening]
    ) -> None:
        with pytest.raises(NotNow):
            run_of(bars, events(*told))

    def test_nothing_from_before_it_is_taken_back(self) -> None:
        assert to_take_back(events(AllDone(), self.HELD)) is None


class TestTakingBack:
    def test_the_last_confirmation_is_taken_back_and_stays_on_record(
        self, bars: ApparatusModel
    ) -> None:
        told = events(AllDone(), Rechecked(alone=True), TakenBack(3))

        assert run_of(bars, told).stage is Stage.CHECKING
        assert len(told) == 4

    def test_one_after_the_other_can_be_taken_back(self, bars: ApparatusModel) -> None:
        told = events(StepDone(0), StepDone(1), TakenBack(3))
        latest = to_take_back(told)

        assert latest is not None
        assert latest.what == StepDone(0)

    def test_nothing_is_taken_back_from_under_a_new_order(self) -> None:
        """The new order was made from what stood there then: it is taken back first itself."""
        told = [StepDone(0), NotHere(ADA)]
        latest = to_take_back(events(*told))
        assert latest is not None
        assert latest.what == NotHere(ADA)
        before = to_take_back(events(*told, TakenBack(latest.number)))
        assert before is not None
        assert before.what == StepDone(0)
        assert to_take_back(events(*told, HandsNow(2))) is None
        assert to_take_back(events()) is None

    @pytest.mark.parametrize(
        "changes", [[NotHere(ADA)], [Reordered(TURNS[::-1])], [NotHere(BO), Arrived(BO)]]
    )
    def test_who_comes_and_in_which_order_is_as_before(
        self, bars: ApparatusModel, changes: list[Happening]
    ) -> None:
        """Somebody pressed the wrong name: the old order is one press away."""
        before = run_of(bars, events(StepDone(0)))
        taken = [TakenBack(number) for number in range(len(changes) + 2, 2, -1)]
        after = run_of(bars, events(StepDone(0), *changes, *taken))
        assert (after.turns, after.away, after.done) == (before.turns, before.away, before.done)

    def test_a_change_over_with_a_slip_in_it_is_not_timed(self, bars: ApparatusModel) -> None:
        told = [StepDone(0), TakenBack(2), AllDone(), Rechecked(alone=True), TurnOver()]

        assert not run_of(bars, events(*told)).over[0].undisturbed


class TestATurnWithoutASetting:
    """Whoever is next and has no setting holds nobody else up."""

    turns = (Turn(ADA, None), *TURNS[1:])

    def test_nothing_is_set_or_confirmed_for_it(self, bars: ApparatusModel) -> None:
        run = run_of(bars, events(turns=self.turns))

        assert (run.stage, run.next_steps) == (Stage.NO_SETTING, ())
        for what in (AllDone(), Rechecked(alone=True), TurnOver()):
            with pytest.raises(NotNow):
                run_of(bars, events(what, turns=self.turns))

    def test_passed_over_it_is_asked_for_again_at_the_end(self, bars: ApparatusModel) -> None:
        run = run_of(bars, events(PassedOver(ADA), turns=self.turns))

        assert run.turns == (*TURNS[1:], Turn(ADA, None))
        assert run.stage is Stage.SETTING
        left = events(PassedOver(ADA), NotHere(BO), NotHere(CY), turns=self.turns)
        assert run_of(bars, left).stage is Stage.NO_SETTING

    def test_a_setting_that_is_entered_is_set_from_where_the_apparatus_stands(
        self, bars: ApparatusModel
    ) -> None:
        with_marks = Reordered((Turn(ADA, (2, 2, 5)), *TURNS[1:]))
        run = run_of(bars, events(with_marks, turns=self.turns))

        assert run.change == run_of(bars, events()).change

    def test_it_can_be_taken_back(self, bars: ApparatusModel) -> None:
        run = run_of(bars, events(PassedOver(ADA), TakenBack(2), turns=self.turns))

        assert run.turns == self.turns

    @pytest.mark.parametrize(
        ("turns", "who"), [(TURNS, ADA), (turns, BO), ((Turn(ADA, None),), ADA)]
    )
    def test_nobody_else_is_passed_over(
        self, bars: ApparatusModel, turns: Sequence[Turn], who: int
    ) -> None:
        """Nor the last one who is left: nobody could go first."""
        with pytest.raises(NotNow):
            run_of(bars, events(PassedOver(who), turns=turns))

    def test_it_is_read_back_as_it_was_kept(self) -> None:
        begun = Begun(self.turns, 1, START)

        assert from_data("begun", to_data(begun)) == begun
