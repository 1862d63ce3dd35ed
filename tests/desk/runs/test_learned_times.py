"""Times learned from confirmed change-overs, and used once a coach accepts them."""

from dataclasses import replace

import pytest

from settingsdesk.desk.hall import apparatus, models
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.runs import learned_times
from settingsdesk.desk.runs.learned_times import OTHER_WORK, TimesMovedOn
from settingsdesk.domain.times.time_fit import TooFewTimed
from settingsdesk.domain.times.time_parts import time_parts
from tests.conftest import DemoClub
from tests.desk.runs.timed_evenings import (
    BY,
    Bars,
    carried_out,
    setups,
    true_seconds,
    window_bars,
)
from tests.made_once import made_once


@pytest.fixture
def bars(demo_club: DemoClub) -> Bars:
    return window_bars(demo_club)


@pytest.fixture
def two_evenings(demo_club: DemoClub, bars: Bars) -> Bars:
    """48 change-overs, each exactly as long as it truly takes, and two that tell nothing."""
    made_once(demo_club.store, "two evenings", lambda: carry_out_two(demo_club, bars))
    return bars


def carry_out_two(demo_club: DemoClub, bars: Bars) -> None:
    for name in ("first", "second"):
        stood = setups(24, name)
        carried_out(demo_club, bars, stood, true_seconds(bars, stood))
    carried_out(demo_club, bars, [(3, 4, 20), (4, 4, 20), (3, 4, 20)], [0, 4000])


def learned(club: DemoClub, bars: Bars) -> learned_times.Learned:
    with club.work() as session:
        return learned_times.learned(session, bars.model_id)


def accepted(club: DemoClub, bars: Bars, seen: learned_times.Learned) -> models.ModelVersion:
    with club.work(writes=True) as session:
        return learned_times.accept(session, bars.model_id, seen.version.version, seen.in_one_word)


class TestWhatIsLearned:
    def test_nothing_is_learned_before_anything_was_timed(
        self, demo_club: DemoClub, bars: Bars
    ) -> None:
        nothing = learned(demo_club, bars)

        assert nothing.timed == 0
        assert isinstance(nothing.refusal, TooFewTimed)

    def test_the_true_times_come_out_of_what_was_confirmed_at_the_apparatus(
        self, demo_club: DemoClub, two_evenings: Bars
    ) -> None:
        """From the presses on the phone to the times of the model, to the second."""
        found = learned(demo_club, two_evenings)

        assert found.used == 48
        assert found.fit is not None
        assert found.fit.fitted_error_s == 0
        assert [one.whole_s for one in found.fit.times] == [
            part.present_s(two_evenings.true) for part in time_parts(two_evenings.true)
        ]

    def test_times_of_nothing_and_of_hours_are_shown_with_who_and_when(
        self, demo_club: DemoClub, two_evenings: Bars
    ) -> None:
        left_out = learned(demo_club, two_evenings).left_out

        assert [(one.what.seconds, one.by) for one in left_out] == [(0, BY), (4000, BY)]
        assert [one.why.split(":")[0] for one in left_out] == [
            "It took no time",
            "It took over an hour",
        ]

    def test_what_was_done_on_other_scales_is_not_compared(
        self, demo_club: DemoClub, two_evenings: Bars
    ) -> None:
        """A stop of 2.5 cm is not the work that a stop of 5 cm was."""
        low = two_evenings.model.axes[0]
        finer = replace(low, scale=replace(low.scale, pitch_mm=25))
        changed = replace(two_evenings.model, axes=(finer, *two_evenings.model.axes[1:]))
        with demo_club.work(writes=True) as session:
            models.change_model(session, two_evenings.model_id, changed, "finer", 1)
        found = learned(demo_club, two_evenings)

        assert found.used == 0
        assert {one.why for one in found.left_out} == {OTHER_WORK}
        assert isinstance(found.refusal, TooFewTimed)


class TestAccepting:
    def test_a_further_version_has_the_times_and_says_why(
        self, demo_club: DemoClub, two_evenings: Bars
    ) -> None:
        """Orders use them from then on; whoever asks finds the old ones on record."""
        now = accepted(demo_club, two_evenings, learned(demo_club, two_evenings))
        with demo_club.work() as session:
            history = models.history(session, two_evenings.model_id)

        assert (now.version, now.reason) == (2, "times fitted from 48 change-overs")
        assert now.model.axes == two_evenings.true.axes
        assert not now.model.procedure.estimated
        assert history[1].model == two_evenings.model

    def test_every_apparatus_of_the_model_is_planned_by_them(
        self, demo_club: DemoClub, two_evenings: Bars
    ) -> None:
        """Its own calibrated scales stay."""
        accepted(demo_club, two_evenings, learned(demo_club, two_evenings))
        with demo_club.work() as session:
            on_floor = apparatus.piece(session, two_evenings.id).model

        assert [axis.times for axis in on_floor.axes] == [
            axis.times for axis in two_evenings.true.axes
        ]
        assert on_floor.axes[0].scale != two_evenings.model.axes[0].scale

    def test_an_order_made_before_no_longer_counts_as_proven(
        self, demo_club: DemoClub, two_evenings: Bars
    ) -> None:
        """It was best by the old times; by the new ones nobody has looked for a better one."""
        with demo_club.work() as session:
            before = desk_rotation.rotation(session, 1).ordered
        accepted(demo_club, two_evenings, learned(demo_club, two_evenings))
        with demo_club.work() as session:
            after = desk_rotation.rotation(session, 1).ordered

        assert before is not None
        assert before.outdated == ""
        assert after is not None
        assert after.outdated == (
            "The times of the apparatus's model have changed since this order was planned."
        )

    def test_what_stays_an_estimate_is_named_on_record(
        self, demo_club: DemoClub, bars: Bars
    ) -> None:
        stood = [(3, high, spread) for _, high, spread in setups(40)]
        kept = [stood[0]]
        for setup in stood:
            kept += [] if kept[-1] == setup else [setup]
        carried_out(demo_club, bars, kept, true_seconds(bars, kept))
        now = accepted(demo_club, bars, learned(demo_club, bars))

        assert now.model.procedure.estimated
        assert now.reason.endswith(
            "; still estimates: Low rail height, unlock and lock; Low rail height, one mark up;"
            " Low rail height, one mark down"
        )

    def test_a_second_press_changes_nothing(self, demo_club: DemoClub, two_evenings: Bars) -> None:
        seen = learned(demo_club, two_evenings)
        first, second = (accepted(demo_club, two_evenings, seen) for _ in range(2))

        assert first == second
        assert learned(demo_club, two_evenings).changes_nothing

    def test_a_model_that_was_changed_meanwhile_is_not_overwritten(
        self, demo_club: DemoClub, two_evenings: Bars
    ) -> None:
        seen = learned(demo_club, two_evenings)
        other = replace(
            two_evenings.model, procedure=replace(two_evenings.model.procedure, square_s=30)
        )
        with demo_club.work(by="Bo Lark", writes=True) as session:
            models.change_model(session, two_evenings.model_id, other, "", 1)

        with pytest.raises(TimesMovedOn, match=r"version 2, by Bo Lark.*Nothing was changed"):
            accepted(demo_club, two_evenings, seen)

    def test_times_that_nobody_has_seen_are_not_accepted(
        self, demo_club: DemoClub, two_evenings: Bars
    ) -> None:
        """A further evening was confirmed while the page was open."""
        seen = learned(demo_club, two_evenings)
        stood = setups(30, "slow")
        slow = [2 * seconds for seconds in true_seconds(two_evenings, stood)]
        carried_out(demo_club, two_evenings, stood, slow)

        with pytest.raises(TimesMovedOn):
            accepted(demo_club, two_evenings, seen)
