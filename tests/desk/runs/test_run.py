"""A rotation carried out at the apparatus: what is kept of it, and the rest ordered anew."""

from dataclasses import replace

import pytest
from sqlalchemy.orm import Session

from settingsdesk.desk.checks import findings
from settingsdesk.desk.hall import apparatus, models
from settingsdesk.desk.hall.in_use import WithdrawnFromUse
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.runs import presses, run_list
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.runs.presses import Press
from settingsdesk.desk.runs.refusals import (
    ConfirmedMeanwhile,
    NoOrderToRun,
    RunUnderWay,
    ScaleChanged,
)
from settingsdesk.desk.runs.run import RunNow
from settingsdesk.desk.squad import settings
from settingsdesk.domain.changeover.changeover import Phase, PulledFirst
from settingsdesk.domain.changeover.happenings import (
    AllDone,
    NotHere,
    Rechecked,
    Repeated,
    StepDone,
    TakenBack,
    TurnOver,
)
from settingsdesk.domain.changeover.run import NotNow, Stage
from settingsdesk.domain.checks.findings import Step
from settingsdesk.domain.hall.scales import RegularScale
from settingsdesk.domain.settings.transfer import setting_of_setup
from settingsdesk.store.findings import Finding
from settingsdesk.store.work import Store
from tests.conftest import DemoClub
from tests.desk.runs.carrying_out import BY, TONIGHT, confirm, ordered, turn
from tests.desk.sample_meet import checked_before_use
from tests.moving_clock import MovingClock


def withdraw(session: Session, apparatus_id: int) -> None:
    """Take an apparatus out of use."""
    session.add(
        Finding(
            apparatus_id=apparatus_id,
            item="",
            words="A cable frays",
            withdraws=True,
            press_key="p",
            recorded_by=BY,
        )
    )


class TestBeginning:
    def test_a_rotation_without_an_order_that_counts_is_not_begun(
        self, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            piece = desk_rotation.rotation(session, TONIGHT).piece
            apparatus.record_setup(session, piece.id, (0, 0, 0), "read off")
        with pytest.raises(NoOrderToRun), demo_club.work(writes=True) as session:
            desk_run.begin(session, TONIGHT, piece.id)

    def test_several_apparatus_have_a_run_each(self, demo_club: DemoClub) -> None:
        with demo_club.work() as session:
            view = desk_rotation.rotation(session, TONIGHT)
            other = next(
                piece
                for piece in apparatus.pieces_of_kind(session, view.piece.model.kind.key)
                if piece.id != view.piece.id and piece.setup
            )
        first = ordered(demo_club, OrderRequest(apparatus=(other.id,)))
        with demo_club.work(writes=True) as session:
            second = desk_run.begin(session, TONIGHT, other.id)
            turns = [desk_run.run(session, number).run.turns for number in (first, second)]
            assert len(run_list.under_way(session)) == 2

        assert sum(len(one) for one in turns) == 12
        assert all(turns)

    def test_none_is_begun_where_the_order_has_no_turn(self, demo_club: DemoClub) -> None:
        """Of a rotation of one on two apparatus, or of one held elsewhere: it would block it."""
        with demo_club.work(writes=True) as session:
            view = desk_rotation.rotation(session, TONIGHT)
            bars, other, *_ = (
                piece
                for piece in apparatus.pieces_of_kind(session, view.piece.model.kind.key)
                if piece.setup
            )
            asked = OrderRequest(apparatus=(other.id,))
            listed = [view.listed[0].id]
            made = desk_rotation.add_rotation(session, "One", view.held_on, bars.id, listed, asked)
            order = desk_rotation.order_anew(session, made.id).ordered
            assert order is not None
            [empty] = [lane.piece for lane in order.best.lanes if not lane.turns]
            assert {empty.id} < {bars.id, other.id}
            elsewhere = apparatus.pieces_of_kind(session, "balance_beam")[0]
            for piece in (empty, elsewhere):
                with pytest.raises(NoOrderToRun, match=f"no turn on {piece.name}"):
                    desk_run.begin(session, made.id, piece.id)
            assert run_list.under_way(session) == []


class TestWithdrawnOrChanged:
    def test_nothing_is_confirmed_on_an_apparatus_withdrawn_a_second_ago(
        self, demo_club: DemoClub
    ) -> None:
        run_id = ordered(demo_club, OrderRequest())
        with demo_club.work(writes=True) as session:
            view = desk_run.run(session, run_id)
            withdraw(session, view.piece.id)
        for what in (Rechecked(alone=True), AllDone(), NotHere(view.run.turns[0].athlete_id)):
            with pytest.raises(WithdrawnFromUse), demo_club.work(writes=True) as session:
                desk_run.confirm(session, run_id, view.number, what)
        with demo_club.work(writes=True) as session:
            assert desk_run.run(session, run_id).number == view.number
            assert desk_run.end(session, run_id) == TONIGHT

    def was_out_of_use(self, club: DemoClub) -> RunNow:
        """A run whose apparatus was withdrawn and released after its last event."""
        run_id = ordered(club, OrderRequest())
        turn(club, run_id)
        with club.work(writes=True) as session:
            piece_id = desk_run.loaded(session, run_id).piece.id
            fault = findings.add_finding(
                session, piece_id, "A cable frays", withdraws=True, press_key="p"
            )
            findings.take_step(session, fault.id, Step.RELEASED, "A new cable, tried")
            return desk_run.loaded(session, run_id)

    def test_that_something_is_wrong_counts_before_the_marks_are_read(
        self, demo_club: DemoClub
    ) -> None:
        """Whoever sees it says so at once; the marks are to be read after it all the same."""
        before = self.was_out_of_use(demo_club)
        assert before.must_be_read_off
        with demo_club.work(writes=True) as session:
            held = desk_run.hold_up(session, before, "It creaks")
            gone_on = desk_run.after_a_look(session, before.id)
        with demo_club.work() as session:
            kept = desk_run.loaded(session, before.id)

        assert held.run.hold_up is not None
        for now in (held, gone_on, kept):
            assert now.must_be_read_off
        with pytest.raises(NotNow, match="Read the marks"):
            confirm(demo_club, before.id, AllDone())

    def test_the_marks_are_to_be_read_after_it_was_ended_and_taken_up(
        self, demo_club: DemoClub
    ) -> None:
        """Whoever repaired it may have left it anywhere, and an end tells nothing of that."""
        before = self.was_out_of_use(demo_club)
        with demo_club.work(writes=True) as session:
            desk_run.end(session, before.id)
        with demo_club.work(writes=True) as session:
            assert desk_run.take_up(session, before.id).must_be_read_off
        with pytest.raises(NotNow, match="Read the marks"):
            confirm(demo_club, before.id, AllDone())

    def test_marks_of_a_scale_that_was_changed_are_shown_to_nobody(
        self, demo_club: DemoClub
    ) -> None:
        """An old mark shown as a present one could hurt somebody."""
        run_id = ordered(demo_club, OrderRequest())
        with demo_club.work(writes=True) as session:
            piece = desk_run.run(session, run_id).piece
            version = models.model(session, piece.model_id)
            low, *others = version.model.axes
            fewer = replace(low, scale=RegularScale(1500, 50, 5))
            changed = replace(version.model, axes=(fewer, *others))
            models.change_model(session, piece.model_id, changed, "fewer holes", version.version)
        with pytest.raises(ScaleChanged), demo_club.work() as session:
            desk_run.run(session, run_id)
        with demo_club.work(writes=True) as session:
            desk_run.end(session, run_id)
            assert run_list.under_way(session) == []

    def test_other_times_of_the_model_do_not_shift_the_steps_of_a_run(
        self, demo_club: DemoClub
    ) -> None:
        run_id = ordered(demo_club, OrderRequest())
        turn(demo_club, run_id)
        with demo_club.work(writes=True) as session:
            view = desk_run.run(session, run_id)
            version = models.model(session, view.piece.model_id)
            quicker = replace(version.model.procedure, square_s=0)
            changed = replace(version.model, procedure=quicker)
            models.change_model(session, view.piece.model_id, changed, "measured", version.version)
            assert desk_run.run(session, run_id).run.change == view.run.change


class TestASettingThatWasChanged:
    """In a run that was ordered within what each athlete accepts."""

    def begun(self, club: DemoClub) -> int:
        """Such a run, in its first change-over."""
        run_id = ordered(club, OrderRequest(leeway=True))
        while turn(club, run_id).run.stage is not Stage.SETTING:
            pass
        return run_id

    def given(self, club: DemoClub, run_id: int, by_mm: int, accepts_mm: int) -> RunNow:
        """Whoever is first wants what stands in the order, give or take, and accepts so much."""
        with club.work(writes=True) as session:
            now = desk_run.loaded(session, run_id)
            first = now.run.turns[0]
            there = setting_of_setup(now.piece.model, first.setup, accepts_mm)
            rails = ("low_rail", "high_rail")
            axes = {
                key: replace(one, wanted_mm=one.wanted_mm + by_mm) if key in rails else one
                for key, one in there.axes.items()
            }
            setting = replace(there, axes=axes)
            settings.keep_setting(session, first.athlete_id, now.piece.model_id, setting)
        return now

    def changed(self, club: DemoClub, run_id: int) -> frozenset[int]:
        with club.work() as session:
            return frozenset(desk_run.run(session, run_id).wanted)

    def test_is_told_as_soon_as_the_turn_is_outside_what_is_accepted(
        self, demo_club: DemoClub
    ) -> None:
        """Both rails 15 cm higher than the order has them: nobody may go up at the old marks."""
        run_id = self.begun(demo_club)
        assert self.changed(demo_club, run_id) == frozenset()
        first = self.given(demo_club, run_id, 150, 10).run.turns[0]

        assert self.changed(demo_club, run_id) == {first.athlete_id}
        for word in ("step", "steps"):
            with demo_club.work(writes=True) as session:
                now = desk_run.loaded(session, run_id)
                press = Press(word, now.run.next_steps[0], now.number)
                with pytest.raises(NotNow, match="other marks"):
                    presses.confirm(session, now, press)

    def test_is_not_told_while_the_turn_is_within_it(self, demo_club: DemoClub) -> None:
        run_id = self.begun(demo_club)
        self.given(demo_club, run_id, 50, 60)
        with demo_club.work() as session:
            now = desk_run.loaded(session, run_id)
            own = settings.on_piece(session, [now.run.turns[0].athlete_id], now.piece)

        assert all(one.transfer.best.setup != now.run.turns[0].setup for one in own.values())
        assert self.changed(demo_club, run_id) == frozenset()

    @pytest.mark.parametrize("told", [False, True])
    def test_lets_nobody_up_before_the_new_marks_are_set(
        self, demo_club: DemoClub, told: bool
    ) -> None:
        """Also where the page says so and a check at the old ones is confirmed all the same."""
        run_id = self.begun(demo_club)
        checked_before_use(demo_club, confirm(demo_club, run_id, AllDone()).piece.id)
        self.given(demo_club, run_id, 150, 10)

        def press(word: str) -> RunNow:
            with demo_club.work(writes=True) as session:
                now = desk_run.loaded(session, run_id)
                return presses.confirm(
                    session, now, Press(word, 0, now.number, told_of_change=told)
                )[1]

        why = "take the new marks first, then set them" if told else "other marks"
        for word in ("alone", "second"):
            with pytest.raises(NotNow, match=why):
                press(word)
        assert press(presses.NEW_MARKS).run.stage is Stage.SETTING
        press("steps")
        assert press("alone").run.stage is Stage.ON

    def test_gets_its_new_marks_and_nobody_else_does(self, demo_club: DemoClub) -> None:
        """Who was set within what they accept stays so: that was what the order was for."""
        run_id = self.begun(demo_club)
        before = self.given(demo_club, run_id, 150, 10)
        with demo_club.work(writes=True) as session:
            now = desk_run.loaded(session, run_id)
            _what, after = presses.confirm(session, now, Press(presses.NEW_MARKS, 0, now.number))

        assert after.run.turns[0].setup != before.run.turns[0].setup
        assert after.run.turns[1:] == before.run.turns[1:]
        assert self.changed(demo_club, run_id) == frozenset()


class TestKept:
    def test_it_goes_on_after_a_restart_in_the_middle_of_a_step(self, demo_club: DemoClub) -> None:
        run_id = ordered(demo_club, OrderRequest())
        turn(demo_club, run_id)
        turn(demo_club, run_id)
        before = confirm(demo_club, run_id, StepDone(0), StepDone(1))
        demo_club.store.close()
        again = Store(demo_club.data.where)
        with again.work(demo_club.account.club_id, writes=False) as session:
            after = desk_run.loaded(session, run_id)
        again.close()

        assert after == before

    def test_what_stands_there_is_on_record_as_soon_as_the_ends_are_level(
        self, demo_club: DemoClub
    ) -> None:
        run_id = ordered(demo_club, OrderRequest())
        turn(demo_club, run_id)
        turn(demo_club, run_id)
        view = confirm(demo_club, run_id, AllDone())

        assert view.piece.setup == view.run.stands == view.run.turns[0].setup
        assert view.recorded is None

    def test_the_same_press_twice_is_kept_once(self, demo_club: DemoClub) -> None:
        run_id = ordered(demo_club, OrderRequest())
        with demo_club.work(by="Edda", writes=True) as session:
            seen, what = desk_run.run(session, run_id).number, Rechecked(alone=True)
            first = desk_run.confirm(session, run_id, seen, what)
            second = desk_run.confirm(session, run_id, seen, what)
        with pytest.raises(ConfirmedMeanwhile), demo_club.work(by="Cy", writes=True) as session:
            desk_run.confirm(session, run_id, seen, what)

        assert first.number == second.number

    def test_after_its_end_nothing_is_confirmed(self, demo_club: DemoClub) -> None:
        run_id = ordered(demo_club, OrderRequest())
        with demo_club.work(writes=True) as session:
            desk_run.end(session, run_id)

        with pytest.raises(NotNow):
            confirm(demo_club, run_id, TurnOver())

    def test_two_phones_at_two_ends_in_the_same_moment_both_count(
        self, demo_club: DemoClub
    ) -> None:
        """Neither end has to wait for the other, so nobody is told to do it once more."""
        run_id = ordered(demo_club, OrderRequest(hands=2))
        turn(demo_club, run_id)
        turn(demo_club, run_id)
        with demo_club.work(by="Edda", writes=True) as session:
            now = desk_run.run(session, run_id)
            one, other = now.run.next_steps
            desk_run.confirm(session, run_id, now.number, StepDone(one))
        with demo_club.work(by="Bo", writes=True) as session:
            both = desk_run.confirm(session, run_id, now.number, StepDone(other))
            again = desk_run.confirm(session, run_id, now.number, StepDone(other))
        with demo_club.work(by="Cy", writes=True) as session:
            with pytest.raises(ConfirmedMeanwhile):
                desk_run.confirm(session, run_id, now.number, StepDone(other))
            later = both.run.next_steps[0]
            with pytest.raises(ConfirmedMeanwhile):
                desk_run.confirm(session, run_id, now.number, StepDone(later))

        assert both.run.done == again.run.done == {one, other}
        assert [event.by for event in again.events[-2:]] == ["Edda", "Bo"]


class TestTakenUpAgain:
    """A volunteer ended it after two turns of twelve; the coach goes on with it."""

    def ended(self, club: DemoClub) -> RunNow:
        run_id = ordered(club, OrderRequest())
        turn(club, run_id)
        before = turn(club, run_id)
        with club.work(by="a volunteer", writes=True) as session:
            desk_run.end(session, run_id)
        return before

    def taken_up(self, club: DemoClub, run_id: int) -> RunNow:
        with club.work(writes=True) as session:
            return desk_run.take_up(session, run_id)

    def test_it_is_under_way_again_with_everybody_who_was_left(self, demo_club: DemoClub) -> None:
        before = self.ended(demo_club)
        now = self.taken_up(demo_club, before.id)

        assert now.run.turns == before.run.turns
        assert not now.must_be_read_off
        with demo_club.work() as session:
            assert [line.id for line in run_list.under_way(session)] == [before.id]
        turn(demo_club, before.id)

    def test_pressed_twice_it_is_taken_up_once(self, demo_club: DemoClub) -> None:
        run_id = self.ended(demo_club).id

        assert self.taken_up(demo_club, run_id).number == self.taken_up(demo_club, run_id).number

    def test_where_something_was_recorded_since_the_marks_are_read_first(
        self, demo_club: DemoClub
    ) -> None:
        before = self.ended(demo_club)
        assert before.run.stands is not None
        with demo_club.work(writes=True) as session:
            apparatus.read_off(session, before.piece.id, before.run.stands, "")
        now = self.taken_up(demo_club, before.id)

        assert now.must_be_read_off
        with pytest.raises(NotNow, match="Read the marks"):
            confirm(demo_club, before.id, AllDone())
        with demo_club.work(writes=True) as session:
            present = desk_run.loaded(session, before.id)
            read = desk_run.read_off(session, present, now.number, before.run.stands)
        assert not read.must_be_read_off
        assert read.run.change.steps[0].phase is Phase.SLACKEN

    def test_a_clock_that_was_put_back_before_its_end_makes_nobody_read_them(
        self, demo_club: DemoClub, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """What stands there was recorded at a later hour than the end, and not after it."""
        clock = MovingClock(monkeypatch)
        run_id = ordered(demo_club, OrderRequest())
        turn(demo_club, run_id)
        clock.put(hours=-1)
        with demo_club.work(by="a volunteer", writes=True) as session:
            desk_run.end(session, run_id)

        assert not self.taken_up(demo_club, run_id).must_be_read_off

    def test_not_beside_another_that_is_under_way_there(self, demo_club: DemoClub) -> None:
        before = self.ended(demo_club)
        with demo_club.work(writes=True) as session:
            desk_rotation.order_anew(session, TONIGHT)
            desk_run.begin(session, TONIGHT, before.piece.id)

        with pytest.raises(RunUnderWay):
            self.taken_up(demo_club, before.id)

    def test_not_on_an_apparatus_that_is_out_of_use(self, demo_club: DemoClub) -> None:
        before = self.ended(demo_club)
        with demo_club.work(writes=True) as session:
            withdraw(session, before.piece.id)

        with pytest.raises(WithdrawnFromUse):
            self.taken_up(demo_club, before.id)


class TestBrokenOff:
    """What is left in the middle is known to nobody but who left it."""

    def in_the_middle(self, club: DemoClub) -> int:
        run_id = ordered(club, OrderRequest())
        turn(club, run_id)
        turn(club, run_id)
        confirm(club, run_id, StepDone(0), StepDone(1))
        return run_id

    def test_while_a_change_over_is_under_way_nobody_is_told_what_stands_there(
        self, demo_club: DemoClub
    ) -> None:
        run_id = self.in_the_middle(demo_club)
        with demo_club.work() as session:
            assert desk_run.run(session, run_id).piece.setup is None
        confirm(demo_club, run_id, AllDone())
        with demo_club.work() as session:
            view = desk_run.run(session, run_id)
            assert view.piece.setup == view.run.stands

    def test_what_was_taken_back_is_not_on_record_as_set(self, demo_club: DemoClub) -> None:
        run_id = self.in_the_middle(demo_club)
        view = confirm(demo_club, run_id, AllDone())
        view = confirm(demo_club, run_id, TakenBack(view.number))

        assert view.run.stands is None
        assert view.piece.setup is None

    def test_the_next_run_there_begins_by_slackening(self, demo_club: DemoClub) -> None:
        run_id = self.in_the_middle(demo_club)
        with demo_club.work(writes=True) as session:
            view = desk_run.run(session, run_id)
            desk_run.end(session, run_id)
            goal = view.run.turns[0].setup
            apparatus.read_off(session, view.piece.id, goal, "")
            desk_rotation.change_list(
                session, desk_rotation.rotation(session, TONIGHT), [view.run.turns[0].athlete_id]
            )
            desk_rotation.order_anew(session, TONIGHT)
            again = desk_run.run(session, desk_run.begin(session, TONIGHT, view.piece.id))

        assert again.run.change.steps[0].phase is Phase.SLACKEN

    def test_a_run_that_is_over_does_not_come_alive_beside_another(
        self, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            two = [one.id for one in desk_rotation.rotation(session, TONIGHT).listed[:2]]
            desk_rotation.change_list(session, desk_rotation.rotation(session, TONIGHT), two)
        run_id = ordered(demo_club, OrderRequest())
        turn(demo_club, run_id)
        over = turn(demo_club, run_id)
        with demo_club.work(writes=True) as session:
            desk_rotation.order_anew(session, TONIGHT)
            desk_run.begin(session, TONIGHT, over.piece.id)

        for what in (Repeated(), TakenBack(over.number)):
            with pytest.raises(RunUnderWay):
                confirm(demo_club, run_id, what)


class TestALeanThatWasMeasured:
    def test_is_kept_with_the_end_as_the_hall_calls_it_and_counts_once(
        self, demo_club: DemoClub
    ) -> None:
        """Steps go on while somebody holds the tape."""
        run_id = ordered(demo_club, OrderRequest())
        seen = turn(demo_club, run_id).number
        confirm(demo_club, run_id, StepDone(0))
        with demo_club.work(writes=True) as session:
            for _ in range(2):
                now = desk_run.lean_measured(session, run_id, seen, 1, 0, 12.5)
            with pytest.raises(ConfirmedMeanwhile):
                desk_run.lean_measured(session, run_id, seen, 1, 1, 4.0)
        assert now.run.lean == PulledFirst(1, f"{now.piece.ends_called[0]} end", 12.5)
