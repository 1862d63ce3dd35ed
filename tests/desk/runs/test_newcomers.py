"""Somebody who is not in the squad stands at the bars: added, with a setting, and on the list."""

import pytest

from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.runs import newcomers
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.runs.refusals import ConfirmedMeanwhile
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.desk.squad.athletes import Person
from tests.conftest import DemoClub
from tests.desk.runs.carrying_out import ordered, turn


class TestSomebodyNew:
    def test_has_turns_after_all_others_at_the_marks_that_were_typed(
        self, demo_club: DemoClub
    ) -> None:
        run_id = ordered(demo_club, OrderRequest(turns=2, rest_turns=1))
        before = turn(demo_club, run_id)
        stops = before.run.turns[3].setup
        assert stops is not None
        with demo_club.work(writes=True) as session:
            now = desk_run.loaded(session, run_id)
            after = newcomers.take(session, now, now.number, Person("Neu", "Ana"), stops)
            [member] = athletes.of_same_names(session, Person("Neu", "Ana"))
            kept = settings.latest(session, member.id, now.piece.model_id)

        assert [turn.athlete_id for turn in after.run.turns[-2:]] == [member.id] * 2
        assert [turn.setup for turn in after.run.turns[-2:]] == [stops] * 2
        assert after.run.turns[:-2] == before.run.turns
        assert kept is not None
        assert not kept.untried

    def test_who_begins_with_a_squad_mates_setting_has_not_tried_it(
        self, demo_club: DemoClub
    ) -> None:
        """The marks are another athlete's: the coach stays at the bars."""
        run_id = ordered(demo_club, OrderRequest())
        with demo_club.work(writes=True) as session:
            now = desk_run.loaded(session, run_id)
            mate = newcomers.mates(session, now)[0]
            newcomers.take(session, now, now.number, Person("Neu", "Ana"), mate)
        with demo_club.work() as session:
            view = desk_run.run(session, run_id)
        (his,) = (turn for turn in view.run.turns if turn.athlete_id == mate.id)

        assert view.run.turns[-1].setup == his.setup
        assert view.run.turns[-1].athlete_id in view.not_tried

    def test_nobody_is_added_where_the_run_has_gone_on_meanwhile(self, demo_club: DemoClub) -> None:
        run_id = ordered(demo_club, OrderRequest())
        turn(demo_club, run_id)
        with demo_club.work() as session:
            now = desk_run.loaded(session, run_id)
            mate = newcomers.mates(session, now)[0]
        with pytest.raises(ConfirmedMeanwhile), demo_club.work(writes=True) as session:
            newcomers.take(session, now, 1, Person("Neu", "Ana"), mate)
        with demo_club.work() as session:
            assert athletes.of_same_names(session, Person("Neu", "Ana")) == []
