"""Checks and faults on two apparatus, by several people in any order."""

from dataclasses import dataclass, field

import pytest
from hypothesis import strategies as st
from hypothesis.stateful import invariant, rule

from settingsdesk.desk.checks import checks, findings
from settingsdesk.desk.checks.check_lists import check_list
from settingsdesk.desk.checks.checks import Circumstances, ListChanged
from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import apparatus, in_use
from settingsdesk.desk.hall.in_use import WithdrawnFromUse
from settingsdesk.domain.checks.checks import Answer, Occasion, Reply
from settingsdesk.domain.checks.findings import ReasonMissing, Step, StepIsOver
from settingsdesk.store.checks import answers_recheck
from settingsdesk.store.work import ClubSession
from tests.conftest import DemoClub
from tests.desk.at_random import PEOPLE, AtRandom, work_at_random
from tests.moving_clock import MovingClock

MANY = 10_000

people = st.sampled_from(PEOPLE[:2])
pieces = st.integers(0, 1)
steps = st.sampled_from(list(Step)[1:])


@dataclass
class Fault:
    """What the model knows of a finding."""

    piece: int
    item: str
    withdraws: bool
    taken: list[tuple[Step, str, str]]

    @property
    def is_over(self) -> bool:
        return self.taken[-1][0] is Step.RELEASED

    @property
    def is_repaired(self) -> bool:
        return any(step is Step.REPAIRED for step, _, _ in self.taken)


@dataclass
class Left:
    """What a check left to be looked at again, and which check it was."""

    piece: int
    words: str
    check_id: int
    is_open: bool = True


@dataclass
class Hall:
    """The plain model: faults by number, and what is to be looked at again."""

    faults: dict[int, Fault] = field(default_factory=dict)
    left: list[Left] = field(default_factory=list)

    def withdrawn(self, piece: int) -> list[int]:
        """The findings that keep an apparatus out of use."""
        return [
            number
            for number, fault in self.faults.items()
            if fault.piece == piece and fault.withdraws and not fault.is_over
        ]


class ChecksAtRandom(AtRandom):
    """Two apparatus that are well at first; presses are numbered."""

    def __init__(self, club: DemoClub, clock: MovingClock) -> None:
        super().__init__(club)
        self.clock, self.hall, self.presses = clock, Hall(), 0
        with club.work() as session:
            found = apparatus.pieces_of_kind(session, "uneven_bars")[:2]
            self.pieces = [piece.id for piece in found]
            asked = check_list(session, "uneven_bars", Occasion.BEFORE_USE)
            self.version, self.items = asked.version, [item.key for item in asked.items]
            known = findings.recent(session)
        for one in known:
            taken = [(step.step, step.by, step.remark) for step in one.steps]
            piece = self.pieces.index(one.apparatus_id) if one.apparatus_id in self.pieces else -1
            self.hall.faults[one.id] = Fault(piece, one.item, one.withdraws, taken)
        with club.work() as session:
            for place, number in enumerate(self.pieces):
                for again in checks.open_rechecks(session, number):
                    self.hall.left.append(Left(place, again.what, again.check_id))

    def _press(self) -> str:
        self.presses += 1
        return f"at random {self.presses}"

    @rule(piece=pieces, by=people, withdraws=st.booleans(), twice=st.booleans())
    def somebody_sees_a_fault(self, piece: int, by: str, withdraws: bool, twice: bool) -> None:
        press = self._press()
        for _ in range(1 + twice):
            with self.writing(by) as session:
                found = findings.add_finding(
                    session,
                    self.pieces[piece],
                    "A pin is bent",
                    withdraws=withdraws,
                    press_key=press,
                )
            opened = Fault(piece, "", withdraws, [(Step.OPEN, by, "")])
            assert self.hall.faults.setdefault(found.id, opened) == opened

    @rule(
        piece=pieces,
        by=people,
        answers=st.dictionaries(st.integers(0, 3), st.sampled_from(list(Answer)), max_size=2),
        leaves=st.booleans(),
        looks_again=st.booleans(),
        twice=st.booleans(),
    )
    def somebody_checks(
        self,
        piece: int,
        by: str,
        answers: dict[int, Answer],
        leaves: bool,
        looks_again: bool,
        twice: bool,
    ) -> None:
        press = self._press()
        open_before = [one for one in self.hall.left if self._is_here(one, piece)]
        replies = {
            self.items[place]: Reply(answer, "" if answer is Answer.IN_ORDER else "Loose")
            for place, answer in answers.items()
        }
        answered = open_before[:1] if looks_again else []
        replies |= {answers_recheck(one.check_id): Reply(Answer.IN_ORDER, "") for one in answered}
        told = Circumstances(today(), "Hall", by, recheck=f"The pin, {press}" if leaves else "")
        for _ in range(1 + twice):
            with self.writing(by) as session:
                made = checks.make_check(
                    session,
                    self.pieces[piece],
                    Occasion.BEFORE_USE,
                    self.version,
                    replies,
                    told,
                    press,
                    rest_in_order=True,
                )
        for one in answered:
            one.is_open = False
        if leaves:
            self.hall.left.append(Left(piece, told.recheck, made.id))
        for answer in made.answers:
            if answer.finding_id is not None:
                self._met(piece, by, answer.finding_id, answer.answer)

    @staticmethod
    def _is_here(one: Left, piece: int) -> bool:
        return one.is_open and one.piece == piece

    def _met(self, piece: int, by: str, number: int, answer: Answer) -> None:
        """A fault on record that is not repaired is no second one, unless this one withdraws."""
        withdraws = answer is Answer.WITHDRAW
        known = self.hall.faults.get(number)
        if known is None:
            taken = [(Step.OPEN, by, "Loose")]
            with self.club.work() as session:
                item = findings.finding(session, number).item
            twins = [
                one
                for one in self.hall.faults.values()
                if (one.piece, one.item) == (piece, item)
                if not one.is_over and not one.is_repaired and (one.withdraws or not withdraws)
            ]
            assert twins == []
            self.hall.faults[number] = Fault(piece, item, withdraws, taken)
            return
        assert known.piece == piece
        assert not known.is_over
        assert known.withdraws or not withdraws

    @rule(by=people, which=st.integers(0, 30), step=steps, remark=st.sampled_from(("", "Tried")))
    def a_step_is_taken(self, by: str, which: int, step: Step, remark: str) -> None:
        if not self.hall.faults:
            return
        number = sorted(self.hall.faults)[which % len(self.hall.faults)]
        fault = self.hall.faults[number]

        def takes(session: ClubSession) -> object:
            return findings.take_step(session, number, step, remark)

        order = list(Step)
        if fault.taken[-1] == (step, by, remark):
            with self.writing(by) as session:
                takes(session)
        elif order.index(step) <= max(order.index(taken) for taken, _, _ in fault.taken):
            self.refused(by, takes, StepIsOver)
        elif step is Step.RELEASED and not remark:
            self.refused(by, takes, ReasonMissing)
        else:
            with self.writing(by) as session:
                takes(session)
            fault.taken.append((step, by, remark))

    @rule(by=people, piece=pieces)
    def a_check_of_an_old_page_is_refused(self, by: str, piece: int) -> None:
        """Somebody else has looked again meanwhile, or the list is another one."""
        answered = [one for one in self.hall.left if not one.is_open and one.piece == piece]
        old = {answers_recheck(one.check_id): Reply(Answer.IN_ORDER, "") for one in answered[-1:]}
        version = self.version if old else self.version + 1
        told = Circumstances(today(), "Hall", by)

        def checks_it(session: ClubSession) -> object:
            return checks.make_check(
                session,
                self.pieces[piece],
                Occasion.BEFORE_USE,
                version,
                old,
                told,
                self._press(),
                rest_in_order=True,
            )

        self.refused(by, checks_it, ListChanged)

    @rule(seconds=st.sampled_from((-30.0, 1.0, 60.0)))
    def the_clock_is_put_right(self, seconds: float) -> None:
        self.clock.put(seconds=seconds)

    @invariant()
    def every_fault_is_where_its_steps_have_brought_it(self) -> None:
        with self.club.work() as session:
            found = {one.id: one for one in findings.recent(session, MANY)}
            open_ones = [one.id for one in findings.unreleased(session)]
        assert found.keys() == self.hall.faults.keys()
        for number, fault in self.hall.faults.items():
            taken = [(step.step, step.by, step.remark) for step in found[number].steps]
            assert taken == fault.taken
            assert (found[number].item, found[number].withdraws) == (fault.item, fault.withdraws)
        by_weight = sorted(
            (number for number, fault in self.hall.faults.items() if not fault.is_over),
            key=lambda number: (not self.hall.faults[number].withdraws, number),
        )
        assert open_ones == by_weight

    @invariant()
    def what_is_withdrawn_is_out_of_use_until_the_last_is_released(self) -> None:
        with self.club.work() as session:
            withdrawals = in_use.withdrawals(session)
            for place, number in enumerate(self.pieces):
                keep_out = self.hall.withdrawn(place)
                assert (number in withdrawals) is bool(keep_out)
                if keep_out:
                    assert sorted(withdrawals[number].findings) == sorted(keep_out)
                    with pytest.raises(WithdrawnFromUse):
                        in_use.must_be_in_use(session, number)
                else:
                    in_use.must_be_in_use(session, number)

    @invariant()
    def what_was_left_stays_until_somebody_looks_again(self) -> None:
        with self.club.work() as session:
            for place, number in enumerate(self.pieces):
                again = checks.open_rechecks(session, number)
                left = [one for one in self.hall.left if self._is_here(one, place)]
                assert [one.check_id for one in again] == [one.check_id for one in left]


def test_checks_and_faults_are_what_was_said_of_them(
    demo_club: DemoClub, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whoever looks, sends again, or comes with an old page."""
    clock = MovingClock(monkeypatch)
    work_at_random(demo_club, lambda club: ChecksAtRandom(club, clock))
