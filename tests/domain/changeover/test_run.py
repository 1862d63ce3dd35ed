"""A rotation under way: what was confirmed, and what is to be done now."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.domain.changeover.changeover import Phase
from settingsdesk.domain.changeover.crew import CREWS
from settingsdesk.domain.changeover.happenings import (
    AllDone,
    Arrived,
    Begun,
    Ended,
    FoundAt,
    HandsNow,
    Happening,
    LeanMeasured,
    NotHere,
    Rechecked,
    Reordered,
    Repeated,
    StepDone,
    TakenBack,
    TakenUp,
    Turn,
    TurnOver,
    from_data,
)
from settingsdesk.domain.changeover.run import (
    Confirmed,
    NotNow,
    OnPaper,
    Stage,
    run_of,
    side_by_side,
)
from settingsdesk.domain.hall.models import ApparatusModel
from tests.domain.changeover.confirmed import ADA, BO, CY, NOON, START, events


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

    def test_before_the_first_turn_it_is_checked_even_where_nothing_is_to_be_set(
        self, bars: ApparatusModel
    ) -> None:
        """Nobody knows who was at it before."""
        here = [Turn(ADA, (0, 0, 0)), Turn(BO, (0, 0, 0))]
        run = run_of(bars, events(turns=here))

        assert run.stage is Stage.CHECKING
        assert run.change.steps == ()

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

    def test_only_what_begins_right_behind_a_turn_is_timed(self, bars: ApparatusModel) -> None:
        """Before anything else somebody may have been at work already."""
        through = [AllDone(), Rechecked(alone=True), TurnOver()]
        run = run_of(bars, events(*through, TurnOver(), *through))

        assert [had.undisturbed for had in run.over] == [False, True, True]


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
            ([], TakenUp()),
            ([NotHere(ADA), Ended(), TakenUp(unknown=True)], AllDone()),
            ([AllDone(), Ended(), TakenUp(unknown=True)], Rechecked(alone=True)),
            ([], Begun((), 1, START)),
        ],
    )
    def test_it_says_so_and_nothing_happens(
        self, bars: ApparatusModel, before: list[Happening], what: Happening
    ) -> None:
        with pytest.raises(NotNow):
            run_of(bars, events(*before, what))


class TestWhatIsToBeChecked:
    """A check that names what was moved is made; eight lines of habit are not read."""

    def moved(self, bars: ApparatusModel, *told: Happening) -> list[tuple[str, tuple[str, ...]]]:
        run = run_of(bars, events(*told))
        assert run.stage is Stage.CHECKING
        return [(axis.key, ends) for axis, ends in run.moved_ends]

    def test_it_names_the_ends_that_were_moved_and_no_others(self, bars: ApparatusModel) -> None:
        told = [AllDone(), Rechecked(alone=True), TurnOver(), TurnOver(), FoundAt((4, 5, 5))]

        assert self.moved(bars, AllDone()) == [
            ("low_rail", ("front end", "back end")),
            ("high_rail", ("front end", "back end")),
            ("spread", ("front spreader", "back spreader")),
        ]
        assert [key for key, _ in self.moved(bars, *told, AllDone())] == [
            "low_rail",
            "high_rail",
            "spread",
        ]

    def test_what_was_moved_for_somebody_who_is_not_here_is_checked_for_the_next(
        self, bars: ApparatusModel
    ) -> None:
        """It stands right for the next one already: nobody has looked at its lock yet."""
        assert [key for key, _ in self.moved(bars, AllDone(), NotHere(ADA))] == [
            "low_rail",
            "high_rail",
            "spread",
        ]

    def test_where_nothing_was_moved_nothing_is_named(self, bars: ApparatusModel) -> None:
        on = [AllDone(), Rechecked(alone=True)]

        assert self.moved(bars, *on, FoundAt((2, 2, 5))) == []
        assert self.moved(bars, *on, TurnOver(), FoundAt((2, 2, 5))) == []


class TestTwoAtOnce:
    """Four pairs of hands at four ends confirm within the same second, on phones of their own."""

    def test_steps_that_need_not_wait_for_each_other_both_count(self, bars: ApparatusModel) -> None:
        run = run_of(bars, events(StepDone(1), hands=2))

        assert run_of(bars, events(hands=2)).next_steps == (0, 1)
        assert side_by_side(run, [StepDone(1)], StepDone(0))

    def test_a_step_that_had_to_wait_for_the_other_does_not_count(
        self, bars: ApparatusModel
    ) -> None:
        """No page has offered it: whoever sends it has not seen what stands there."""
        run = run_of(bars, events(StepDone(0)))

        assert run.next_steps == (1,)
        assert not side_by_side(run, [StepDone(0)], StepDone(1))

    @pytest.mark.parametrize(
        ("told", "newer", "what"),
        [
            ([StepDone(0)], [StepDone(0)], StepDone(0)),
            ([AllDone()], [AllDone()], StepDone(0)),
            ([StepDone(0), TakenBack(2)], [StepDone(0), TakenBack(2)], StepDone(1)),
            ([HandsNow(4)], [HandsNow(4)], StepDone(1)),
            ([StepDone(0)], [StepDone(0)], AllDone()),
        ],
    )
    def test_nothing_else_counts_that_was_confirmed_on_an_old_page(
        self,
        bars: ApparatusModel,
        told: list[Happening],
        newer: list[Happening],
        what: Happening,
    ) -> None:
        assert not side_by_side(run_of(bars, events(*told, hands=2)), newer, what)

    @given(
        goal=st.tuples(*(st.integers(0, 8) for _ in range(3))),
        choices=st.lists(st.integers(0, 3), min_size=1, max_size=4),
        steps=st.integers(0, 30),
        hands=st.sampled_from(CREWS),
    )
    def test_what_counts_side_by_side_could_have_been_confirmed_in_either_order(
        self,
        bars: ApparatusModel,
        goal: tuple[int, ...],
        choices: list[int],
        steps: int,
        hands: int,
    ) -> None:
        told = events(hands=hands, turns=[Turn(ADA, goal)])
        before = run_of(bars, told)
        for _ in range(steps):
            if before.stage is Stage.SETTING:
                told.append(Confirmed(len(told) + 1, NOON, "Runa", StepDone(before.next_steps[0])))
                before = run_of(bars, told)
        now, newer = before, list[Happening]()
        for choice in choices:
            if now.next_steps:
                newer.append(StepDone(now.next_steps[choice % len(now.next_steps)]))
                number = len(told) + len(newer)
                now = now.after(Confirmed(number, NOON, "Bo", newer[-1]))
        for place in range(len(before.change.steps)):
            what, either = StepDone(place), before
            if not side_by_side(now, newer, what):
                continue
            for number, one in enumerate((what, *newer), start=len(told) + 1):
                either = either.after(Confirmed(number, NOON, "Bo", one))
            after = now.after(Confirmed(len(told) + len(newer) + 1, NOON, "Bo", what))
            assert (either.done, either.ends) == (after.done, after.ends)


KEPT_BY_EARLIER_VERSIONS: list[tuple[str, dict[str, Any]]] = [
    (
        "begun",
        {
            "turns": [{"athlete_id": 1, "setup": [2, 2, 5]}, {"athlete_id": 2, "setup": [2, 2, 5]}],
            "hands": 1,
            "ends": [[0, 0], [0, 0], [0, 0]],
            "unclear": False,
        },
    ),
    ("all_done", {}),
    ("rechecked", {"alone": False}),
    ("turn_over", {}),
    ("found_at", {"setup": [2, 2, 5]}),
    ("rechecked", {"alone": True}),
    ("taken_back", {"number": 6}),
    ("rechecked", {"alone": True}),
    ("not_here", {"athlete_id": 2}),
    ("joined", {"turns": [{"athlete_id": 3, "setup": [0, 0, 0]}]}),
    ("ended", {}),
]
"""Events as they lie in databases of the first versions."""


def test_a_run_kept_by_an_earlier_version_is_what_it_was(bars: ApparatusModel) -> None:
    """A desk that is upgraded on the evening before a meet goes on with what it has."""
    told = [
        Confirmed(number, NOON, "Runa", from_data(word, data))
        for number, (word, data) in enumerate(KEPT_BY_EARLIER_VERSIONS, start=1)
    ]
    run = run_of(bars, told)

    assert run.stage is Stage.OVER
    assert (run.ended, run.unread, run.ends) == (True, False, ((2, 2), (2, 2), (5, 5)))
    assert [had.turn.athlete_id for had in run.over] == [ADA]
    assert [turn.athlete_id for turn in run.turns] == [CY]
    assert [turn.athlete_id for turn in run.away] == [BO]
    assert (run.over[0].checked_by, run.over[0].alone) == ("Runa", False)
    assert run.before_use is None


class TestTheCheckBeforeUseOnPaper:
    TOLD = (AllDone(), Rechecked(alone=True, before_use_on_paper=True))

    def test_holds_in_the_turns_that_follow_by_whoever_said_it(self, bars: ApparatusModel) -> None:
        told = events(*self.TOLD, TurnOver(), TurnOver(), AllDone(), Rechecked(alone=True))

        assert run_of(bars, told).before_use == OnPaper(told[2].by, told[2].at)

    @pytest.mark.parametrize(
        ("since", "holds"),
        [
            ((FoundAt((2, 2, 6)),), True),
            ((FoundAt((2, 2, 5), anew=True),), False),
            ((TakenBack(3),), False),
        ],
    )
    def test_is_void_once_it_is_taken_back_or_the_apparatus_was_out_of_use(
        self, bars: ApparatusModel, since: tuple[Happening, ...], holds: bool
    ) -> None:
        run = run_of(bars, events(*self.TOLD, *since))
        assert (run.before_use is not None) is holds


class TestALeanThatWasMeasured:
    """What pulls against it is tensioned first; nothing that is done already is undone by it."""

    lean = LeanMeasured(1, "window end", 12.5)

    @pytest.mark.parametrize("hands", CREWS)
    def test_changes_the_sequence_of_tensioning_and_nothing_else(
        self, bars: ApparatusModel, hands: int
    ) -> None:
        usual = run_of(bars, events(StepDone(0), hands=hands))
        run = run_of(bars, events(StepDone(0), self.lean, hands=hands))

        for was, now in zip(usual.change.steps, run.change.steps, strict=True):
            assert (was.phase, was.who, was.starts_s, was.ends_s) == (
                now.phase,
                now.who,
                now.starts_s,
                now.ends_s,
            )
            assert was.phase is Phase.TENSION or was == now
        tensioned = [step for step in run.change.steps if step.phase is Phase.TENSION]
        assert tensioned[0].what.startswith("Tension low-rail side")
        assert "the skew of 1.2 cm that was measured" in tensioned[0].how[0]
        assert "begin at the window end" in tensioned[0].how[0]
        assert tensioned[-1].what.startswith("Tension high-rail side")
        assert (run.done, run.undisturbed) == (usual.done, False)

    def test_is_refused_once_tensioning_has_begun_and_where_nothing_is_to_be_tensioned(
        self, bars: ApparatusModel
    ) -> None:
        steps = run_of(bars, events()).change.steps
        first = next(at for at, step in enumerate(steps) if step.phase is Phase.TENSION)
        until = [StepDone(at) for at in range(first)]
        assert run_of(bars, events(*until, self.lean)).lean is not None
        for before, why in (
            ([*until, StepDone(first)], "Tensioning has begun"),
            ([AllDone()], "Nothing is to be tensioned now"),
        ):
            with pytest.raises(NotNow, match=why):
                run_of(bars, events(*before, self.lean))

    def test_counts_for_this_change_over_only(self, bars: ApparatusModel) -> None:
        over = [AllDone(), Rechecked(alone=True), TurnOver(), TurnOver()]

        assert run_of(bars, events(self.lean, *over)).lean is None
        assert run_of(bars, events(self.lean, HandsNow(2))).lean is not None

    def test_can_be_taken_back_and_measured_while_others_go_on(self, bars: ApparatusModel) -> None:
        run = run_of(bars, events(StepDone(0)))

        assert run_of(bars, events(self.lean, TakenBack(2))).change == run_of(bars, events()).change
        assert side_by_side(run, [StepDone(0)], self.lean)
        assert not side_by_side(run, [HandsNow(2)], self.lean)
