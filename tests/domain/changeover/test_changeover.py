"""The change-over: every step in the safe sequence, and its time to the second."""

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.domain.changeover.changeover import (
    AGAINST_THE_LEAN,
    MAKERS_TENSION,
    SEATED_BETWEEN,
    Frame,
    NotAllEnds,
    change_over,
    change_over_s,
    ends_at,
    setup_of,
)
from settingsdesk.domain.hall.models import NotASetup, Procedure
from settingsdesk.domain.hall.scales import ContinuousScale, NoSuchStop

HERE, THERE = (6, 6, 15), (4, 7, 18)


def told(model, start, goal) -> list[str]:
    return [step.what for step in change_over(model, start, goal).steps]


def rule_s(model, start, goal) -> int:
    """The rule as it is agreed for rotations, written down once more."""
    if start == goal:
        return 0
    return model.procedure.any_move_s + sum(
        len(axis.ends)
        * (
            axis.times.handling_s
            + max(there - here, 0) * axis.times.up_s
            + max(here - there, 0) * axis.times.down_s
        )
        for axis, here, there in zip(model.axes, start, goal, strict=True)
        if here != there
    )


class TestTheSteps:
    def test_the_whole_of_one_change_over_reads_as_a_crew_works_it(self, bars):
        """Low rail two holes down, high rail one up, spread three marks out."""
        assert told(bars, HERE, THERE) == [
            "Slacken the tensioners a little, no more than needed",
            "Low rail height, front end: down from 7 to 5",
            "Low rail height, back end: down from 7 to 5",
            "High rail height, front end: up from 7 to 8",
            "High rail height, back end: up from 7 to 8",
            "Rail spread, front spreader: out from P to S",
            "Rail spread, back spreader: out from P to S",
            "Sight along the uprights: square, before anything is tensioned",
            "Tension high-rail side, each in turn: to about half",
            "Tension high-rail side, each in turn: to working tension; sight again for square",
            "Tension low-rail side, each in turn: to about half",
            "Tension low-rail side, each in turn: to working tension",
            "Walk round: every lock seated, every handle closed",
        ]

    def test_each_move_says_where_how_many_stops_which_way_and_how_far(self, bars):
        """In figures, for the large type at the apparatus."""
        first, *_, last = change_over(bars, HERE, THERE).moves
        assert (first.axis.key, first.end) == ("low_rail", "front end")
        assert (first.direction, first.stops, first.by_mm) == ("down", 2, 100)
        assert (last.axis.key, last.end) == ("spread", "back spreader")
        assert (last.direction, last.stops, last.by_mm) == ("out", 3, 60)

    def test_an_axis_that_stays_is_not_touched(self, bars):
        """Only the low rail differs."""
        moves = change_over(bars, (6, 6, 15), (5, 6, 15)).moves
        assert {move.axis.key for move in moves} == {"low_rail"}

    @given(st.data())
    def test_nothing_at_all_is_done_where_the_setups_are_the_same(self, any_model, any_setup, data):
        """Not even a walk-round: the re-check of the last change-over still stands."""
        model = data.draw(any_model)
        setup = data.draw(any_setup(model))
        assert change_over(model, setup, setup).steps == ()
        assert change_over_s(model, setup, setup) == 0

    @given(st.data())
    def test_the_sequence_is_always_the_safe_one(self, any_model, any_setup, data):
        """Slacken, then the axes in their order end by end, square, tension, walk round."""
        model = data.draw(any_model)
        start, goal = data.draw(any_setup(model)), data.draw(any_setup(model))
        steps = change_over(model, start, goal).steps
        order = ["Slacken", *(axis.kind.name for axis in model.axes), "Sight", "Tension", "Walk"]
        places = [
            next(n for n, word in enumerate(order) if step.what.startswith(word)) for step in steps
        ]
        assert places == sorted(places)
        if steps:
            assert steps[-1].what.startswith("Walk round")
            assert steps[0].what.startswith("Slacken") is (model.procedure.tensioners_per_side > 0)

    @given(st.data())
    def test_every_end_of_every_axis_that_differs_goes_all_its_way_and_no_other_is_touched(
        self, any_model, any_setup, data
    ):
        """A rail with one end forgotten hangs askew."""
        model = data.draw(any_model)
        start, goal = data.draw(any_setup(model)), data.draw(any_setup(model))
        moves = change_over(model, start, goal).moves
        for axis, here, there in zip(model.axes, start, goal, strict=True):
            for end in axis.ends:
                own = [move for move in moves if (move.axis.key, move.end) == (axis.key, end)]
                stops = [here, *(move.to_stop for move in own)]
                assert [move.from_stop for move in own] == stops[:-1]
                assert stops[-1] == there
                assert bool(own) is (here != there)
                assert len(own) == 1 or axis.ends_may_differ is not None or here == there

    @given(st.data())
    def test_what_changes_is_told_once_for_each_axis_in_however_many_legs(
        self, any_model, any_setup, data
    ):
        """A rotation's list has a line for each axis, not one for each leg."""
        model = data.draw(any_model)
        start, goal = data.draw(any_setup(model)), data.draw(any_setup(model))
        assert [
            (way.axis.key, way.end, way.from_stop, way.to_stop)
            for way in change_over(model, start, goal).ways
        ] == [
            (axis.key, axis.ends[0], here, there)
            for axis, here, there in zip(model.axes, start, goal, strict=True)
            if here != there
        ]

    @pytest.mark.parametrize("setup", [(6, 6), (6, 6, 31)])
    def test_a_setup_that_is_none_is_refused_at_either_end(self, bars, setup):
        """Before anybody is sent to a hole that is not there."""
        for start, goal in ((setup, HERE), (HERE, setup)):
            with pytest.raises((NotASetup, NoSuchStop)):
                change_over(bars, start, goal)


class TestAnInterruptedChangeOver:
    HALF_WAY = ((4, 6), (6, 6), (15, 15))

    def test_only_the_ends_that_are_not_there_yet_are_moved(self, bars):
        """The front end of the low rail was done when somebody called."""
        moves = change_over(bars, self.HALF_WAY, THERE).moves
        assert [(move.axis.key, move.end) for move in moves] == [
            ("low_rail", "back end"),
            ("high_rail", "front end"),
            ("high_rail", "back end"),
            ("spread", "front spreader"),
            ("spread", "back spreader"),
        ]

    def test_an_end_that_went_too_far_for_another_goal_comes_back(self, bars):
        """The athlete is absent, and the next one needs the low rail where it was."""
        (back,) = change_over(bars, self.HALF_WAY, HERE).moves
        assert (back.end, back.direction, back.from_label, back.to_label) == (
            "front end",
            "up",
            "5",
            "7",
        )

    def test_what_was_slackened_is_not_slackened_again(self, bars):
        """All else stays: moves, square, tension, walk-round."""
        whole = change_over(bars, self.HALF_WAY, THERE).steps
        assert whole[0].what.startswith("Slacken")
        rest = change_over(bars, self.HALF_WAY, THERE, frame=Frame.SLACK).steps
        assert [step.what for step in rest] == [step.what for step in whole[1:]]

    def test_a_slack_frame_is_squared_and_tensioned_even_where_nothing_is_left_to_move(self, bars):
        """It stands right and holds nobody."""
        steps = change_over(bars, ends_at(bars, HERE), HERE, frame=Frame.SLACK).steps
        assert [step.what.split()[0] for step in steps] == [
            "Sight",
            *("Tension",) * 4,
            "Walk",
        ]

    def test_a_beam_whose_ends_were_moved_is_still_walked_round(self, model_of):
        """Nothing to tension, and the locks are looked at all the same."""
        beam = model_of("balance_beam")
        steps = change_over(beam, ((1, 1),), (1,), frame=Frame.SLACK).steps
        assert [step.what for step in steps] == [
            "Walk round: every lock seated, every handle closed"
        ]

    @given(st.data())
    def test_ends_that_all_stand_at_a_setup_are_that_setup(self, any_model, any_setup, data):
        """A run knows only its ends; whoever asks for the setup gets it."""
        model = data.draw(any_model)
        setup, goal = data.draw(any_setup(model)), data.draw(any_setup(model))
        ends = ends_at(model, setup)
        assert setup_of(ends) == setup
        assert change_over(model, ends, goal) == change_over(model, setup, goal)

    def test_a_rail_that_hangs_askew_is_no_setup(self):
        """Nobody may be sent onto it, and no plan begins there."""
        assert setup_of(self.HALF_WAY) is None

    def test_ends_as_they_come_out_of_a_file_serve_as_well(self, bars):
        """Lists instead of tuples."""
        kept = [list(stops) for stops in self.HALF_WAY]
        assert change_over(bars, kept, THERE) == change_over(bars, self.HALF_WAY, THERE)

    @pytest.mark.parametrize(
        ("ends", "refusal"),
        [
            (((4, 6), (6, 6)), NotASetup),
            (((4,), (6, 6), (15, 15)), NotAllEnds),
            (((4, 6), (6, 9), (15, 15)), NoSuchStop),
        ],
        ids=["an axis is missing", "an end is missing", "a stop that is not on the scale"],
    )
    def test_ends_that_are_none_of_this_model_are_refused(self, bars, ends, refusal):
        """Before anybody is sent anywhere."""
        with pytest.raises(refusal):
            change_over(bars, ends, THERE)

    def test_a_missing_end_is_named_with_the_others(self, bars):
        """Which ends there are."""
        with pytest.raises(NotAllEnds) as refused:
            change_over(bars, ((4,), (6, 6), (15, 15)), THERE)
        assert str(refused.value) == (
            "Low rail height must be given at 2 ends (front end, back end); stops of 1 were given"
        )


class TestWhatHandsDo:
    def test_an_end_of_the_low_rail_is_held_before_its_lock_is_opened(self, bars):
        """A rail that nobody holds falls as soon as its lock is open."""
        _, low, *_ = change_over(bars, HERE, THERE).steps
        assert low.how == (
            "hold this end of the rail",
            "open the lock",
            "down from 7 to 5",
            "let the pin seat",
            "close the lock",
            "pull to try",
        )

    def test_the_high_rail_is_reached_from_a_stand(self, bars):
        """Nobody jumps onto a rail, and nobody pulls at one over the head."""
        high = next(step for step in change_over(bars, HERE, THERE).steps if "High" in step.what)
        assert high.how[0] == "step on a stand or the mounting steps"

    def test_on_a_ruler_there_is_no_pin_to_seat(self, bars):
        """A spindle stops at the line that hands stop it at."""
        low, high, spread = bars.axes
        ruler = replace(spread, scale=ContinuousScale(1300, 1900, 10))
        model = replace(bars, axes=(low, high, ruler))
        *_, spindle = [step for step in change_over(model, HERE, THERE).steps if step.move]
        assert spindle.how == (
            "open the lock",
            "out from 145.0 to 148.0",
            "close the lock",
            "pull to try",
        )

    def test_a_board_has_no_lock_to_open(self, model_of):
        """It is pushed, and must not slide."""
        table = model_of("vault_table")
        zeros = (0,) * len(table.axes)
        board = next(step for step in change_over(table, zeros, (0, 1, 0)).steps if step.move)
        assert board.how[-1] == "see that it lies flat and does not slide"
        assert not any("lock" in action for action in board.how)

    @given(st.data())
    def test_the_first_step_of_any_change_over_begins_with_nobody_near(
        self, any_model, any_setup, data
    ):
        """A rail comes down on whoever sits below it."""
        model = data.draw(any_model)
        start, goal = data.draw(any_setup(model)), data.draw(any_setup(model))
        steps = change_over(model, start, goal).steps
        for place, step in enumerate(steps):
            told_so = step.how[:1] == (f"see that nobody is on or under {model.kind.clear}",)
            assert told_so is (place == 0)

    def test_the_working_tension_is_told_as_the_maker_states_it(self, bars):
        """Never "as tight as it goes": a cable at more than that bends the frame."""
        stated = replace(bars.procedure, working_tension="the red mark at the spring")
        for model, said in (
            (replace(bars, procedure=stated), "the red mark at the spring"),
            (bars, MAKERS_TENSION),
        ):
            last_stages = [
                step
                for step in change_over(model, HERE, THERE).steps
                if "working tension" in step.what
            ]
            assert [step.how for step in last_stages] == [(said,), (said,)]

    def test_where_a_lean_was_measured_what_pulls_against_it_comes_first(self, bars):
        """With the reason, since it is another side than usual."""
        first = next(
            step for step in change_over(bars, HERE, THERE).steps if step.what.startswith("Tension")
        )
        assert first.how == (AGAINST_THE_LEAN,)

    def test_a_step_is_said_once(self, bars):
        """Whoever reads "slacken" twice slackens twice."""
        first, *_ = change_over(bars, HERE, THERE).steps
        assert first.what.startswith("Slacken")
        assert not any("slacken" in action for action in first.how)


class TestLegs:
    def test_the_ends_of_a_rail_take_turns_where_they_may_not_differ_far(self, bars):
        """Four holes up, two at most between the ends: two, four, the rest, the rest."""
        low, *others = bars.axes
        model = replace(bars, axes=(replace(low, ends_may_differ=2), *others))
        assert told(model, (1, 6, 15), (5, 6, 15))[1:5] == [
            "Low rail height, front end: up from 2 to 4",
            "Low rail height, back end: up from 2 to 6",
            "Low rail height, front end: up from 4 to 6",
            "Sight along the uprights: square, before anything is tensioned",
        ]
        assert change_over(model, (1, 6, 15), (5, 6, 15)).seconds == 45 + 2 * (8 + 4 * 5)

    def test_between_its_legs_an_end_is_pinned_and_left_unlocked(self, bars):
        """The lock is opened once and closed once; the pin holds the end meanwhile."""
        low, *others = bars.axes
        model = replace(bars, axes=(replace(low, ends_may_differ=2), *others))
        first, _, second = change_over(model, (1, 6, 15), (5, 6, 15)).steps[1:4]
        assert first.how[-2:] == ("let the pin seat", SEATED_BETWEEN)
        assert second.how == (
            "hold this end of the rail",
            "draw the pin",
            "up from 4 to 6",
            "let the pin seat",
            "close the lock",
            "pull to try",
        )


class TestTension:
    @pytest.mark.parametrize("per_side", [1, 2, 3, 4])
    def test_nothing_goes_to_working_tension_before_its_partners_have_a_first_stage(
        self, bars, per_side
    ):
        """One cable at working tension against a slack one pulls the frame out of square."""
        model = replace(bars, procedure=Procedure(15, 10, 14, 6, per_side))
        stages = [what for what in told(model, HERE, THERE) if what.startswith("Tension")]
        for side in model.kind.sides:
            of_side = [stage for stage in stages if f"Tension {side}" in stage]
            assert len(of_side) == 2
            assert "to about half" in of_side[0]
            assert "to working tension" in of_side[1]
        if per_side == 1:
            assert ["half" in stage for stage in stages] == [True, True, False, False]

    @pytest.mark.parametrize("per_side", [1, 2, 3, 4])
    def test_the_high_rail_side_comes_first_and_square_is_sighted_between(self, bars, per_side):
        """Before the last stages, while the frame can still be moved by hand."""
        model = replace(bars, procedure=Procedure(15, 10, 14, 6, per_side))
        stages = [what for what in told(model, HERE, THERE) if what.startswith("Tension")]
        assert stages[0].startswith("Tension high-rail side")
        assert "sight again for square" in stages[1]
        assert stages[-1].startswith("Tension low-rail side")

    @pytest.mark.parametrize("kind", [key for key in KINDS if key != "uneven_bars"])
    def test_an_apparatus_without_a_high_rail_has_no_high_rail_side(self, model_of, kind):
        """A crew at a horizontal bar would look for it in vain."""
        model = model_of(kind, procedure=Procedure(5, 5, 5, 5, 2))
        zeros = (0,) * len(model.axes)
        steps = told(model, zeros, (1, *zeros[1:]))
        assert not any("high-rail" in what or "low-rail" in what for what in steps)
        assert any(what.startswith("Tension one side") for what in steps)
        assert any(what.startswith("Tension the other side") for what in steps)

    def test_without_tensioners_nothing_is_slackened_or_tensioned(self, model_of):
        """Parallel bars: moved, sighted if that is counted, walked round."""
        plain = model_of("parallel_bars", procedure=Procedure(0, 0, 0, 5, 0))
        assert [what.split(":")[0] for what in told(plain, (0, 0), (0, 1))] == [
            "Rail spread, front pair",
            "Rail spread, back pair",
            "Walk round",
        ]
        sighted = model_of("parallel_bars", procedure=Procedure(0, 4, 0, 5, 0))
        assert "Sight along the apparatus: level and square" in told(sighted, (0, 0), (0, 1))


class TestTheTime:
    def test_one_change_over_on_paper(self, bars):
        """45 s for any move, 2·(8+2·3) low, 2·(8+5) high, 2·(6+3·1) spread: 117 s."""
        assert change_over_s(bars, HERE, THERE) == 45 + 28 + 26 + 18 == 117

    def test_up_costs_what_up_costs_and_down_what_down_costs(self, bars):
        """Lifting a rail takes longer than letting it down."""
        assert change_over_s(bars, (4, 6, 15), (6, 6, 15)) == 45 + 2 * (8 + 2 * 5)
        assert change_over_s(bars, (6, 6, 15), (4, 6, 15)) == 45 + 2 * (8 + 2 * 3)

    @given(st.data())
    def test_it_is_that_of_the_agreed_rule_and_the_sum_of_the_steps(
        self, any_model, any_setup, data
    ):
        """What the plan promises is what the crew's list adds up to, on any apparatus."""
        model = data.draw(any_model)
        start, goal = data.draw(any_setup(model)), data.draw(any_setup(model))
        seconds = change_over_s(model, start, goal)
        assert seconds == rule_s(model, start, goal)
        assert seconds == change_over(model, start, goal).seconds

    @given(st.integers(0, 3600), st.integers(1, 4))
    def test_the_stages_of_tension_share_their_time_without_loss(self, bars, tension_s, per_side):
        """Whole seconds that add up, none of them negative or far from its share."""
        model = replace(bars, procedure=Procedure(15, 10, tension_s, 6, per_side))
        steps = change_over(model, HERE, THERE).steps
        shares = [step.seconds for step in steps if step.what.startswith("Tension")]
        look_s = min(10, tension_s // 2)
        shares[1] -= look_s
        assert sum(shares) == tension_s - look_s
        assert all(abs(one - other) <= 1 for one, other in pairwise(shares))
