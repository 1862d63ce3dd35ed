"""A withdrawn apparatus is out of use for every order, whoever asks for it."""

from collections.abc import Callable
from datetime import date

import pytest
from sqlalchemy.orm import Session

from settingsdesk.desk.checks import findings
from settingsdesk.desk.hall import apparatus, in_use
from settingsdesk.desk.hall.in_use import WithdrawnFromUse
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.domain.checks.findings import Step
from settingsdesk.planner.solve import solve
from tests.conftest import DemoClub


def withdraw(session: Session, apparatus_id: int, key: str = "press", words: str = "Rail split"):
    return findings.add_finding(
        session, apparatus_id, words, withdraws=True, press_key=key, remark="left third"
    )


def new_rotation(session: Session) -> object:
    view = desk_rotation.rotation(session, 1)
    ids = [member.id for member in view.listed]
    return desk_rotation.add_rotation(session, "Again", date(2026, 3, 1), view.piece.id, ids)


def same_rotation_again(session: Session) -> object:
    view = desk_rotation.rotation(session, 1)
    ids = [member.id for member in view.listed]
    return desk_rotation.add_rotation(session, view.name, view.held_on, view.piece.id, ids)


def order_anew(session: Session) -> object:
    return desk_rotation.order_anew(session, 1)


def problem(session: Session) -> object:
    return desk_rotation.rotation(session, 1).problem


def change_list(session: Session) -> object:
    view = desk_rotation.rotation(session, 1)
    return desk_rotation.change_list(session, view, [member.id for member in view.listed[:3]])


def change_wishes(session: Session) -> object:
    view = desk_rotation.rotation(session, 1)
    return desk_rotation.change_wishes(session, view, view.asked)


def go_on(session: Session) -> object:
    return desk_rotation.go_on_after(session, desk_rotation.rotation(session, 1), 1)


def keep_places(session: Session) -> object:
    return desk_rotation.keep_places(session, desk_rotation.rotation(session, 1), {1})


def ask(session: Session) -> object:
    return in_use.must_be_in_use(session, 1)


class TestWithdrawnFromUse:
    @pytest.mark.parametrize(
        "begin",
        [
            new_rotation,
            same_rotation_again,
            order_anew,
            problem,
            change_list,
            change_wishes,
            go_on,
            keep_places,
            ask,
        ],
        ids=lambda begin: begin.__name__,
    )
    def test_no_order_begins_on_it(self, demo_club: DemoClub, begin: Callable[[Session], object]):
        """A broken rail must not come back by another door."""
        with demo_club.work(writes=True) as session:
            withdraw(session, 1)
        with pytest.raises(WithdrawnFromUse), demo_club.work(writes=True) as session:
            begin(session)

    def test_an_order_that_was_searched_for_meanwhile_is_not_kept(self, demo_club: DemoClub):
        """A search takes its time; a fault does not wait for it."""
        with demo_club.work() as session:
            view = desk_rotation.rotation(session, 1)
            found = solve(view.problem)
        with demo_club.work(writes=True) as session:
            withdraw(session, 1)
        with pytest.raises(WithdrawnFromUse), demo_club.work(writes=True) as session:
            desk_rotation.keep_order(session, view, found)

    def test_who_when_why_and_what_to_do_is_said(self, demo_club: DemoClub):
        with demo_club.work(writes=True) as session:
            withdraw(session, 1)
            withdraw(session, 1, "another", "Pin missing")
            with pytest.raises(WithdrawnFromUse) as refused:
                in_use.must_be_in_use(session, 1)
        told = str(refused.value)
        assert "Bars by the window has been out of use since" in told
        assert "by Runa: Rail split (1 more finding besides)" in told
        assert "a coach releases it, with a reason" in told

    def test_the_others_stay_in_use(self, demo_club: DemoClub):
        with demo_club.work(writes=True) as session:
            withdraw(session, 1)
            in_use.must_be_in_use(session, 2)
            assert list(in_use.withdrawals(session)) == [1]

    def test_looking_at_it_and_recording_what_stands_stay_possible(self, demo_club: DemoClub):
        """Whoever repairs it must know where it stood."""
        with demo_club.work(writes=True) as session:
            withdraw(session, 1)
            piece = apparatus.piece(session, 1)
            assert piece.withdrawal is not None
            assert desk_rotation.rotation(session, 1).ordered is not None
            apparatus.record_setup(session, 1, piece.must_stand_somewhere(), "read off")

    def test_it_is_in_use_again_only_when_the_last_finding_is_released(self, demo_club: DemoClub):
        with demo_club.work(writes=True) as session:
            first, second = withdraw(session, 1), withdraw(session, 1, "another")
            findings.take_step(session, first.id, Step.RELEASED, "rail changed, tried")
            with pytest.raises(WithdrawnFromUse):
                in_use.must_be_in_use(session, 1)
            findings.take_step(session, second.id, Step.REPAIRED, "pin put in")
            with pytest.raises(WithdrawnFromUse):
                in_use.must_be_in_use(session, 1)
            findings.take_step(session, second.id, Step.RELEASED, "pin home, tried")
            in_use.must_be_in_use(session, 1)
            desk_rotation.order_anew(session, 1)

    def test_a_note_withdraws_nothing(self, demo_club: DemoClub):
        with demo_club.work(writes=True) as session:
            findings.add_finding(session, 1, "Dusty", withdraws=False, press_key="p")
            in_use.must_be_in_use(session, 1)
