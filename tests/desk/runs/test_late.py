"""Somebody is not here or comes late: what each way to go on costs, and what it does not keep."""

from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.runs import late as desk_late
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.runs.late import Late
from settingsdesk.domain.changeover.happenings import NotHere, Placed
from settingsdesk.planner.solve import solve
from tests.conftest import DemoClub
from tests.desk.runs.carrying_out import TONIGHT, confirm, ordered, turn
from tests.desk.runs.test_rest import left_s


def late(club: DemoClub, run_id: int, athlete_id: int) -> Late:
    with club.work() as session:
        return desk_late.late(desk_run.run(session, run_id), athlete_id)


class TestWhatItCosts:
    def test_a_way_takes_what_is_left_once_it_is_taken(self, demo_club: DemoClub) -> None:
        """Else the coach has chosen by a number that was not so."""
        run_id = ordered(demo_club, OrderRequest())
        before = turn(demo_club, run_id).run
        one = before.turns[0].athlete_id
        ways = late(demo_club, run_id, one)

        assert ways.as_it_is.seconds == left_s(before)
        assert list(ways.places) == list(range(1, len(before.turns)))
        last = confirm(demo_club, run_id, Placed(one, len(before.turns) - 1)).run
        assert ways.places[len(before.turns) - 1].turns == last.turns
        assert ways.places[len(before.turns) - 1].seconds == left_s(last)
        cheapest = min(way.seconds for way in ways.places.values())
        assert ways.least is not None
        assert ways.places[ways.least].seconds == cheapest

    def test_planning_again_is_told_beside_it_and_nothing_is_confirmed(
        self, demo_club: DemoClub
    ) -> None:
        run_id = ordered(demo_club, OrderRequest())
        one = turn(demo_club, run_id).run.turns[2].athlete_id
        with demo_club.work() as session:
            view = desk_run.run(session, run_id)
            rest = desk_late.rest_after(session, view, one)
            assert rest is not None
            planned = desk_late.planned_again(view, one, rest, solve(rest.problem))
        ways = late(demo_club, run_id, one)

        assert ways.waits is not None
        assert planned.is_least
        assert planned.seconds <= ways.waits.seconds

    def test_who_has_come_may_go_next_or_anywhere_behind(self, demo_club: DemoClub) -> None:
        run_id = ordered(demo_club, OrderRequest())
        before = turn(demo_club, run_id).run
        one = before.turns[0].athlete_id
        without = confirm(demo_club, run_id, NotHere(one)).run
        ways = late(demo_club, run_id, one)

        assert ways.waits is None
        assert list(ways.places) == list(range(len(without.turns) + 1))
        assert ways.places[0].turns == before.turns
        assert ways.places[0].seconds == left_s(before)


class TestWhatIsNotKept:
    def test_a_rest_that_it_breaks_is_told_with_whose_it_is(self, demo_club: DemoClub) -> None:
        """The coach may still do so, and knows."""
        run_id = ordered(demo_club, OrderRequest(turns=2, rest_turns=2))
        run = turn(demo_club, run_id).run
        one = run.turns[0].athlete_id
        second = [n for n, other in enumerate(run.turns) if other.athlete_id == one][1]
        ways = late(demo_club, run_id, one)
        beside = ways.places[second - 1]
        assert len(beside.unkept) == 1
        assert beside.unkept[0].startswith("only 0 turns of rest for ")

    def test_a_wish_that_it_breaks_is_told_and_no_such_place_suggests_itself(
        self, demo_club: DemoClub
    ) -> None:
        with demo_club.work() as session:
            listed = desk_rotation.rotation(session, TONIGHT).listed
        run_id = ordered(demo_club, OrderRequest(last=listed[0].id))
        run = turn(demo_club, run_id).run
        ways = late(demo_club, run_id, run.turns[0].athlete_id)
        (told,) = ways.places[len(run.turns) - 1].unkept
        assert told.endswith(" last")
        assert ways.places[1].unkept == ()
        assert ways.least != len(run.turns) - 1
