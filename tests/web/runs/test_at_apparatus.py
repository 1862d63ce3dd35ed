"""What the coach's page and the station's share: the press that is sent, and the picture."""

from dataclasses import replace

import pytest
from flask import Flask

from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.web.frame.fields import number_carried
from settingsdesk.web.runs.at_apparatus import (
    Press,
    ToCheck,
    clock_ms,
    picture,
    press,
    to_check,
)
from tests.conftest import DemoClub
from tests.desk.runs.carrying_out import ordered, turn


class TestThePress:
    @pytest.mark.parametrize(
        ("sent", "read"),
        [
            ({"do": "step.4", "seen": "7"}, Press("step", 4, 7)),
            ({"do": "not_here", "who": "12", "seen": "7"}, Press("not_here", 12, 7)),
            ({"do": "here.3", "who": "12", "seen": "7"}, Press("here", 3, 7)),
            ({"do": "over"}, Press("over", -1, -1)),
            ({}, Press("", -1, -1)),
        ],
    )
    def test_its_word_and_number_are_read(
        self, demo_app: Flask, sent: dict[str, str], read: Press
    ) -> None:
        """The number stands behind the word, or is the athlete who was chosen in the list."""
        with demo_app.test_request_context(method="POST", data=sent):
            assert press() == read

    @pytest.mark.parametrize(
        ("pressed", "late"),
        [("", False), (0, False), (-9_000, False), (-11_000, True), (11_000, True), ("x", True)],
    )
    def test_how_long_ago_it_was_pressed_is_told_by_the_desks_clock(
        self, demo_app: Flask, pressed: int | str, late: bool
    ) -> None:
        """A check counts only at once; without script there is no stamp, and it is sent at once."""
        sent = str(clock_ms() + pressed) if isinstance(pressed, int) else pressed
        with demo_app.test_request_context(method="POST", data={"do": "alone", "pressed": sent}):
            assert press().late is late

    @pytest.mark.parametrize("sent", [None, "", "-1", "1.5", "٣", "1e3", "9" * 10])
    def test_what_no_row_could_have_is_no_number(self, sent: str | None) -> None:
        assert number_carried(sent) == -1


class TestWhatIsShown:
    def test_what_is_to_be_looked_at_is_loaded_only_where_it_is_due(
        self, demo_club: DemoClub
    ) -> None:
        run_id = ordered(demo_club, OrderRequest())
        with demo_club.work() as session:
            view = desk_run.run(session, run_id)
            due = view.run.stage.value == "checking"
            assert bool(to_check(session, view).items) is due
            assert to_check(session, None) == ToCheck()

    def test_there_is_a_picture_until_no_turn_is_left(self, demo_club: DemoClub) -> None:
        """After an early end it would be of a turn that nobody has."""
        run_id = ordered(demo_club, OrderRequest())
        turn(demo_club, run_id)
        with demo_club.work(writes=True) as session:
            view = desk_run.run(session, run_id)
            assert picture(view, str) is not None
            assert picture(replace(view, run=replace(view.run, turns=())), str) is None
            desk_run.end(session, run_id)
            assert picture(desk_run.run(session, run_id), str) is None
