"""A rotation under way: what was confirmed, and what is to be done now."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.domain.crew import CREWS
from settingsdesk.domain.happenings import (
    WORDS,
    AllDone,
    Arrived,
    Begun,
    Ended,
    FoundAt,
    HandsNow,
    Happening,
    Joined,
    NotHere,
    Rechecked,
    Reordered,
    Repeated,
    StepDone,
    TakenBack,
    Turn,
    TurnOver,
    from_data,
    to_data,
    word_of,
)
from settingsdesk.domain.models import ApparatusModel
from settingsdesk.domain.run import Confirmed, NotNow, Run, Stage, run_of, to_take_back

NOON = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)
ADA, BO, CY = 1, 2, 3
START = ((0, 0), (0, 0), (0, 0))
TURNS = (Turn(ADA, (2, 2, 5)), Turn(BO, (2, 2, 5)), Turn(CY, (4, 5, 9)))


def events(*told: Happening, hands: int = 1, turns: Sequence[Turn] = TURNS) -> list[Confirmed]:
    """What happens, one thing every ten seconds from noon."""
    first = Begun(tuple(turns), hands, START)
    return [
        Confirmed(place, NOON + timedelta(seconds=10 * (place - 1)), "Runa", what)
        for place, what in enumerate((first, *told), start=1)
    ]


class TestOneTurnAfterTheOther:
    def test_it_begins_with_the_change_over_to_the_first_turn(self, bars: ApparatusModel) -> None:
        run = run_of(bars, events())

        assert run.stage is Stage.SETTING
        assert run.next_steps == (0,)
        assert run.change.steps[0].what.startswith("Slacken")

    def test_each_step_moves_its_end_and_no_other(self, bars: ApparatusModel) -> None:
        run = run_of(bars, events(StepDone(0), StepDone(1)))

        assert run.ends == ((2, 0), (0, 0), (0, 0))
        assert run.stands is None
        assert run.next_steps == (2,)

    def test_after_the_last_step_comes_the_check_and_then_the_athlete(
        self, bars: ApparatusModel
    ) -> None:
        """Checking twice is not lost time, least of all alone."""
        done = run_of(bars, events(AllDone()))
        checked = run_of(bars, events(AllDone(), Rechecked(alone=True)))

        assert (done.stage, done.stands) == (Stage.CHECKING, (2, 2, 5))
        assert checked.stage is Stage.ON

    def test_where_nothing_moves_the_next_athlete_is_on_at_once(self, bars: ApparatusModel) -> None:
        run = run_of(bars, events(AllDone(), Rechecked(alone=True), TurnOver()))

        assert run.turns[0].athlete_id == BO
        assert run.stage is Stage.ON

    def test_when_no_turn_is_left_it_is_over(self, bars: ApparatusModel) -> None:
        through = [AllDone(), Rechecked(alone=False), TurnOver(), TurnOver()]
        run = run_of(bars, events(*through, AllDone(), Rechecked(alone=False), TurnOver()))

        assert run.stage is Stage.OVER
        assert [had.turn.athlete_id for had in run.over] == [ADA, BO, CY]

    def test_a_turn_keeps_who_set_it_how_long_that_took_and_who_checked(
        self, bars: ApparatusModel
    ) -> None:
        run = run_of(bars, events(AllDone(), Rechecked(alone=False), TurnOver()))
        had = run.over[0]

        assert (had.set_by, had.took_s, had.checked_by, had.alone) == ("Runa", 10, "Runa", False)
        assert had.start == (0, 0, 0)
        assert had.undisturbed


class TestWhatCannotBeConfirmed:
    @pytest.mark.parametrize(
        ("before", "what"),
        [
            ([], StepDone(1)),
            ([], StepDone(99)),
            ([StepDone(0)], StepDone(0)),
            ([], TurnOver()),
            ([], Rechecked(alone=True)),
            ([AllDone()], AllDone()),
            ([AllDone()], StepDone(3)),
            ([AllDone()], TurnOver()),
            ([AllDone(), Rechecked(alone=True)], Rechecked(alone=False)),
            ([], Repeated()),
            ([], NotHere(99)),
            ([], Arrived(ADA)),
            ([], Reordered((Turn(ADA, (0, 0, 0)),))),
            ([StepDone(0)], HandsNow(2)),
            ([Ended()], AllDone()),
            ([], Begun((), 1, START)),
        ],
    )
    def test_it_says_so_and_nothing_happens(
        self, bars: ApparatusModel, before: list[Happening], what: Happening
    ) -> None:
        with pytest.raises(NotNow):
            run_of(bars, events(*before, what))


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
        assert told[0] == "Low rail height, front end: up from 3 to 5, and lock"
        assert told[1] == "Low rail height, back end: up from 1 to 5, and lock"
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

    def test_a_repeated_turn_comes_before_all_others(self, bars: ApparatusModel) -> None:
        on = [AllDone(), Rechecked(alone=True)]
        at_once = run_of(bars, events(*on, Repeated()))
        later = run_of(bars, events(*on, TurnOver(), TurnOver(), Repeated()))

        assert [turn.athlete_id for turn in at_once.turns] == [ADA, BO, CY]
        assert [turn.athlete_id for turn in later.turns] == [BO, CY]
        assert at_once.stage is later.stage is Stage.ON

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
        """The new order was made from what stood there then."""
        assert to_take_back(events(StepDone(0), NotHere(ADA))) is None
        assert to_take_back(events()) is None

    def test_a_change_over_with_a_slip_in_it_is_not_timed(self, bars: ApparatusModel) -> None:
        told = [StepDone(0), TakenBack(2), AllDone(), Rechecked(alone=True), TurnOver()]

        assert not run_of(bars, events(*told)).over[0].undisturbed


class TestKept:
    @pytest.mark.parametrize(
        "what",
        [
            Begun(TURNS, 2, START),
            StepDone(3),
            AllDone(),
            Rechecked(alone=True),
            TurnOver(),
            Repeated(),
            NotHere(4),
            Arrived(4),
            Joined(TURNS),
            FoundAt((1, 2, 3)),
            Reordered(TURNS),
            HandsNow(4),
            TakenBack(7),
            Ended(),
        ],
    )
    def test_it_reads_back_as_it_was(self, what: Happening) -> None:
        assert from_data(word_of(what), to_data(what)) == what

    def test_every_happening_has_a_word(self) -> None:
        assert len(WORDS) == len(set(WORDS.values())) == 14


def step_or_all(run: Run, choice: int) -> Happening:
    """One of the things that can be confirmed as the run stands."""
    if run.stage is Stage.SETTING:
        steps = run.next_steps
        return [StepDone(steps[choice % len(steps)]), AllDone()][choice % 5 == 0]
    return Rechecked(alone=True) if run.stage is Stage.CHECKING else TurnOver()


SETUPS = st.tuples(*(st.integers(0, 8) for _ in range(3)))


@given(
    setups=st.lists(SETUPS, min_size=1, max_size=4),
    choices=st.lists(st.integers(0, 40), max_size=60),
    hands=st.sampled_from(CREWS),
)
def test_a_run_can_always_go_on_and_stands_where_the_athlete_wants_it(
    bars: ApparatusModel, setups: list[tuple[int, ...]], choices: list[int], hands: int
) -> None:
    """Whatever is confirmed, taken back or changed: nobody is on at another setup than theirs."""
    turns = tuple(Turn(place, setup) for place, setup in enumerate(setups))
    told = events(hands=hands, turns=turns)
    run = run_of(bars, told)
    for choice in choices:
        if run.stage is Stage.OVER:
            break
        latest = to_take_back(told)
        what = TakenBack(latest.number) if choice == 1 and latest else step_or_all(run, choice)
        if choice == 2:
            what = NotHere(run.turns[0].athlete_id)
        told.append(Confirmed(len(told) + 1, NOON, "Runa", what))
        run = run_of(bars, told)
        assert run.stage is not Stage.SETTING or run.next_steps
        assert run.stage is not Stage.ON or run.stands == run.turns[0].setup
