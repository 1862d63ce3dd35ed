"""The rest of a run, ordered anew from what stands there now."""

from itertools import pairwise

import pytest

from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.runs import rest as desk_rest
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.runs.refusals import ConfirmedMeanwhile
from settingsdesk.desk.runs.run import RunNow
from settingsdesk.domain.changeover.changeover import change_over_s
from settingsdesk.domain.changeover.happenings import (
    AllDone,
    NotHere,
    Rechecked,
    Repeated,
    StepDone,
    TurnOver,
)
from settingsdesk.domain.changeover.run import Run, Stage
from settingsdesk.planner.solve import solve
from tests.conftest import DemoClub
from tests.desk.runs.carrying_out import TONIGHT, confirm, ordered, turn


def rest_ordered(club: DemoClub, run_id: int) -> RunNow:
    with club.work(writes=True) as session:
        rest = desk_rest.rest(session, desk_run.loaded(session, run_id))
        assert rest is not None
        return desk_rest.keep(session, rest, solve(rest.problem))


def left_s(run: Run) -> int:
    """The change-overs that are left, each by one pair of hands."""
    assert run.stands is not None
    setups = [run.stands, *(turn.setup for turn in run.turns)]
    return sum(change_over_s(run.model, *pair) for pair in pairwise(setups))


class TestTheRest:
    def test_it_is_the_best_from_what_stands_there_now(self, demo_club: DemoClub) -> None:
        run_id = ordered(demo_club, OrderRequest())
        for _ in range(3):
            turn(demo_club, run_id)
        before = confirm(
            demo_club, run_id, NotHere(turn(demo_club, run_id).run.turns[2].athlete_id)
        )
        after = rest_ordered(demo_club, run_id)

        assert left_s(after.run) <= left_s(before.run)
        assert len(after.run.turns) == len(before.run.turns)

    def test_the_turn_that_is_being_set_for_stays_the_first(self, demo_club: DemoClub) -> None:
        run_id = ordered(demo_club, OrderRequest())
        turn(demo_club, run_id)
        turn(demo_club, run_id)
        before = confirm(demo_club, run_id, StepDone(0), StepDone(1))
        after = rest_ordered(demo_club, run_id)

        assert after.run.turns[0] == before.run.turns[0]
        assert after.run.done == {0, 1}

    def test_rest_between_turns_is_kept_across_what_is_over(self, demo_club: DemoClub) -> None:
        """Who has just been on does not come again at once because the list was ordered anew."""
        run_id = ordered(demo_club, OrderRequest(turns=2, rest_turns=2))
        for _ in range(7):
            turn(demo_club, run_id)
        view = rest_ordered(demo_club, run_id)
        had = [one.turn.athlete_id for one in view.run.over]
        everybody = [*had, *(one.athlete_id for one in view.run.turns)]

        assert len(everybody) == 24
        for place, athlete_id in enumerate(everybody):
            assert athlete_id not in everybody[max(place - 2, 0) : place]

    def test_who_shall_be_last_stays_last(self, demo_club: DemoClub) -> None:
        with demo_club.work() as session:
            last = desk_rotation.rotation(session, TONIGHT).listed[0].id
        run_id = ordered(demo_club, OrderRequest(last=last))
        turn(demo_club, run_id)
        view = rest_ordered(demo_club, run_id)

        assert view.run.turns[-1].athlete_id == last

    def test_a_repeated_turn_does_not_upset_the_count(self, demo_club: DemoClub) -> None:
        run_id = ordered(demo_club, OrderRequest(turns=2, rest_turns=0))
        turn(demo_club, run_id)
        with demo_club.work() as session:
            stage = desk_run.run(session, run_id).run.stage
        if stage is not Stage.ON:
            confirm(demo_club, run_id, AllDone(), Rechecked(alone=True))
        confirm(demo_club, run_id, Repeated(), TurnOver())
        view = rest_ordered(demo_club, run_id)

        assert len(view.run.over) + len(view.run.turns) == 25

    def test_what_happened_meanwhile_is_not_overwritten(self, demo_club: DemoClub) -> None:
        """The order was worked out for a run that has gone on since."""
        run_id = ordered(demo_club, OrderRequest())
        with demo_club.work() as session:
            rest = desk_rest.rest(session, desk_run.loaded(session, run_id))
        assert rest is not None
        turn(demo_club, run_id)

        with pytest.raises(ConfirmedMeanwhile), demo_club.work(writes=True) as session:
            desk_rest.keep(session, rest, solve(rest.problem))


class TestWishesOfTheRest:
    def test_a_fixed_place_behind_the_last_is_the_last(self, demo_club: DemoClub) -> None:
        """Of twelve the twelfth; of eleven, with one absent, the eleventh."""
        with demo_club.work() as session:
            listed = desk_rotation.rotation(session, TONIGHT).listed
        run_id = ordered(demo_club, OrderRequest(places=((listed[0].id, 12),)))
        with demo_club.work() as session:
            first = desk_run.run(session, run_id).run.turns[0].athlete_id
        confirm(demo_club, run_id, NotHere(first))
        view = rest_ordered(demo_club, run_id)

        assert view.run.turns[-1].athlete_id == listed[0].id

    def test_those_of_a_group_who_are_here_stay_together(self, demo_club: DemoClub) -> None:
        with demo_club.work() as session:
            group = [one.id for one in desk_rotation.rotation(session, TONIGHT).listed[:3]]
        run_id = ordered(demo_club, OrderRequest(together=(tuple(group),)))
        confirm(demo_club, run_id, NotHere(group[2]))
        view = rest_ordered(demo_club, run_id)

        places = [n for n, one in enumerate(view.run.turns) if one.athlete_id in group[:2]]
        assert places[1] - places[0] == 1
