"""A run confirmed on two phones that are seldom up to date, and whatever else happens there."""

from dataclasses import replace

import pytest
from hypothesis import strategies as st
from hypothesis.stateful import invariant, precondition, rule

from settingsdesk.desk.checks import findings
from settingsdesk.desk.hall.in_use import WithdrawnFromUse
from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.runs import run_list
from settingsdesk.desk.runs.refusals import ConfirmedMeanwhile
from settingsdesk.domain.changeover.happenings import (
    AllDone,
    Ended,
    FoundAt,
    GoneOn,
    HandsNow,
    Happening,
    HeldUp,
    NotHere,
    Rechecked,
    Repeated,
    StepDone,
    TakenBack,
    TakenUp,
    TurnOver,
)
from settingsdesk.domain.changeover.run import NotNow, Run, Stage, to_take_back
from settingsdesk.domain.checks.findings import Step
from settingsdesk.store.work import ClubSession
from tests.conftest import DemoClub
from tests.desk.at_random import PEOPLE, AtRandom, work_at_random
from tests.desk.runs.carrying_out import ordered
from tests.moving_clock import MovingClock

people = st.sampled_from(PEOPLE[:2])


class RunAtRandom(AtRandom):
    """One run, and what each of two people saw of it last.

    ``told`` is every event that counts with whose it is, in its order: the plain model. ``ups``
    are the runs as they stood after each of them, to which undoing leads back.
    """

    def __init__(self, club: DemoClub, run_id: int, clock: MovingClock) -> None:
        super().__init__(club)
        self.run_id, self.clock = run_id, clock
        self.withdrawn: int | None = None
        self.faults, self.must_be_read_off = 0, False
        with club.work() as session:
            now = desk_run.loaded(session, run_id)
            self.piece_id = now.piece.id
        self.told: list[tuple[Happening, str]] = [(now.events[0].what, now.events[0].by)]
        self.stood: list[Run] = [now.run]
        self.seen = dict.fromkeys(PEOPLE, 1)

    @property
    def run(self) -> Run:
        """As it stands by the model."""
        return self.stood[-1]

    def _confirm(self, by: str, what: Happening, seen: int) -> None:
        """What the desk makes of a press is what the plain list of events makes of it."""

        def confirms(session: ClubSession) -> object:
            return desk_run.confirm(session, self.run_id, seen, what)

        newer = self.told[seen:]
        if self._counts_already(by, what, newer):
            with self.writing(by) as session:
                assert desk_run.confirm(session, self.run_id, seen, what).number == len(self.told)
            return
        if self.withdrawn is not None:
            self.refused(by, confirms, WithdrawnFromUse)
            return
        if newer and not all(isinstance(one, StepDone) for one, _ in (*newer, (what, by))):
            self.refused(by, confirms, ConfirmedMeanwhile)
            return
        try:
            with self.writing(by) as session:
                now = desk_run.confirm(session, self.run_id, seen, what)
        except (NotNow, ConfirmedMeanwhile):
            return  # whether it can happen now is the domain's, and tried there
        self._was(what, by, now.run)
        assert now.number == len(self.told)

    @staticmethod
    def _counts_already(by: str, what: Happening, newer: list[tuple[Happening, str]]) -> bool:
        for one, who in newer:
            if (one, who) == (what, by):
                return True
            if not isinstance(one, StepDone):
                return False
        return False

    @rule(by=people)
    def somebody_looks(self, by: str) -> None:
        self.seen[by] = len(self.told)

    @rule(by=people, data=st.data(), is_fresh=st.booleans())
    def somebody_confirms_what_comes_next(
        self, by: str, data: st.DataObject, is_fresh: bool
    ) -> None:
        if is_fresh:
            self.seen[by] = len(self.told)
        as_seen = self.stood[self.seen[by] - 1]
        what = data.draw(st.sampled_from(_usual(as_seen)))
        self._confirm(by, what, self.seen[by])

    @rule(by=people, again=st.integers(1, 3))
    def a_press_is_sent_again(self, by: str, again: int) -> None:
        """The answer to it got lost, and the phone has seen nothing newer."""
        place = len(self.told) - again
        if place >= 1:
            what, who = self.told[place]
            if not isinstance(what, Ended | TakenUp | HeldUp | GoneOn | FoundAt):
                self._confirm(who, what, place)

    @rule(by=people)
    def somebody_undoes(self, by: str) -> None:
        with self.club.work() as session:
            latest = to_take_back(desk_run.loaded(session, self.run_id).events)
        if latest is None or self.withdrawn is not None:
            return
        before = self.stood[latest.number - 2]
        count = len(self.told)
        self._confirm(by, TakenBack(latest.number), count)
        if len(self.told) > count:
            self.seen[by] = len(self.told)
            as_before = replace(before, undisturbed=self.run.undisturbed)
            assert self.run == as_before

    @rule(by=people)
    def it_is_stopped_and_a_coach_looks(self, by: str) -> None:
        if self.run.stage is Stage.OVER or self.run.hold_up or self.withdrawn is not None:
            return
        with self.writing(by) as session:
            held = desk_run.hold_up(session, desk_run.loaded(session, self.run_id), "It creaks")
        self._was(HeldUp("It creaks"), by, held.run)
        self._confirm(by, AllDone(), len(self.told))
        assert isinstance(self.told[-1][0], HeldUp)
        with self.writing("Runa") as session:
            gone_on = desk_run.after_a_look(session, self.run_id)
        self._was(GoneOn(), "Runa", gone_on.run)

    @rule(by=people)
    def it_is_ended_and_taken_up(self, by: str) -> None:
        if self.run.ended or self.withdrawn is not None:
            return
        with self.writing(by) as session:
            is_unknown = desk_run.loaded(session, self.run_id).was_withdrawn
            desk_run.end(session, self.run_id)
            desk_run.end(session, self.run_id)
            ended = desk_run.loaded(session, self.run_id)
        self._was(Ended(), by, ended.run)
        if not (self.run.turns or self.run.away):
            return
        with self.writing(by) as session:
            taken_up = desk_run.take_up(session, self.run_id)
            assert desk_run.take_up(session, self.run_id).number == taken_up.number
        self._was(taken_up.events[-1].what, by, taken_up.run)
        assert taken_up.run.unread is is_unknown

    def _was(self, what: Happening, by: str, now: Run) -> None:
        if isinstance(what, FoundAt):
            self.must_be_read_off = False
        assert not self.must_be_read_off or isinstance(what, HeldUp | GoneOn | Ended | TakenUp)
        self.told.append((what, by))
        self.stood.append(now)

    @precondition(lambda self: self.withdrawn is None)
    @rule(by=people)
    def a_fault_withdraws_the_apparatus(self, by: str) -> None:
        self.faults += 1
        with self.writing(by) as session:
            self.withdrawn = findings.add_finding(
                session,
                self.piece_id,
                "A rail is split",
                withdraws=True,
                press_key=f"at random {self.faults}",
            ).id

    @precondition(lambda self: self.withdrawn is not None)
    @rule()
    def it_is_released(self) -> None:
        assert self.withdrawn is not None
        with self.writing() as session:
            findings.take_step(session, self.withdrawn, Step.RELEASED, "A new rail, tried")
        self.withdrawn, self.must_be_read_off = None, True

    @rule(seconds=st.sampled_from((-3600.0, -30.0, 5.0, 86_400.0)))
    def the_clock_is_put_right(self, seconds: float) -> None:
        self.clock.put(seconds=seconds)

    @invariant()
    def it_is_what_was_confirmed(self) -> None:
        with self.club.work() as session:
            now = desk_run.loaded(session, self.run_id)
            under_way = [line.id for line in run_list.under_way(session)]
        assert [(event.what, event.by) for event in now.events] == self.told
        assert [event.number for event in now.events] == list(range(1, len(self.told) + 1))
        assert now.run == self.run
        over = now.run.stage is Stage.OVER and not (now.run.away and not now.run.ended)
        assert (self.run_id in under_way) is not over
        if self.must_be_read_off:
            assert now.run.stage is Stage.OVER or now.must_be_read_off
        if not (now.run.ended or now.run.unread):
            known = None if now.run.under_way else now.run.stands
            assert now.piece.setup in (None, known)


def _usual(run: Run) -> list[Happening]:
    """What somebody confirms who saw the run so."""
    first = run.turns[:1]
    absent = [NotHere(turn.athlete_id) for turn in first]
    marks: list[Happening] = [FoundAt(run.mostly_at), FoundAt(run.mostly_at, anew=True)]
    steps = [StepDone(step) for step in run.next_steps]
    by_stage: dict[Stage, list[Happening]] = {
        Stage.SETTING: [*steps, *steps, AllDone(), HandsNow(1), HandsNow(2)],
        Stage.CHECKING: [Rechecked(alone=True), Rechecked(alone=False, second="Signe")],
        Stage.ON: [TurnOver(), TurnOver(), Repeated()],
    }
    return [*by_stage.get(run.stage, []), *absent, *marks, AllDone(), TurnOver()]


def test_a_run_is_what_was_confirmed_of_it(
    demo_club: DemoClub, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By two phones of which each sends again and knows old things, over stops and clocks."""
    clock = MovingClock(monkeypatch)
    run_id = ordered(demo_club, OrderRequest())
    work_at_random(demo_club, lambda club: RunAtRandom(club, run_id, clock))
