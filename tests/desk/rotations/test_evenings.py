"""Several groups on one apparatus, one after the other: planned together, carried out in parts."""

from dataclasses import replace
from itertools import pairwise

import pytest

from settingsdesk.desk.clock import now, today
from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.rotations.lanes import Block
from settingsdesk.desk.rotations.order_paper import order_papers
from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.rotations.view import RotationView
from settingsdesk.desk.runs import outcome, run_list
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.runs.refusals import NoOrderToRun, RunUnderWay
from settingsdesk.desk.squad import athletes
from settingsdesk.desk.terminal.as_json import order_data
from settingsdesk.desk.terminal.as_text import order_lines
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.changeover.happenings import NotHere
from settingsdesk.planner.solve import solve
from tests.conftest import DemoClub
from tests.desk.runs.carrying_out import confirm, turn

NAMES = ("Early", "Middle", "Late")


def planned(club: DemoClub, **asked: object) -> RotationView:
    """An evening of three groups of four, of tonight's list."""
    with club.work(writes=True) as session:
        view = desk_rotation.rotation(session, 1)
        ids = [member.id for member in view.listed]
        groups = {name: ids[n::3] for n, name in enumerate(NAMES)}
        wished = replace(OrderRequest().with_groups(groups), **asked)
        made = desk_rotation.add_rotation(session, "Evening", today(), view.piece.id, ids, wished)
        return desk_rotation.order_anew(session, made.id)


def again(club: DemoClub, view: RotationView) -> RotationView:
    with club.work() as session:
        return desk_rotation.rotation(session, view.id)


def blocks(view: RotationView) -> tuple[Block, ...]:
    assert view.ordered is not None
    [lane] = view.ordered.best.lanes
    return lane.blocks


def begin(club: DemoClub, view: RotationView, group: int | None = None) -> int:
    with club.work(writes=True) as session:
        return desk_run.begin(session, view.id, view.piece.id, group=group)


def gone_through(club: DemoClub, view: RotationView, group: int | None = None) -> int:
    """A part begun and gone through as it was planned."""
    run_id = begin(club, view, group)
    with club.work() as session:
        turns = len(desk_run.run(session, run_id).run.turns)
    for _ in range(turns):
        turn(club, run_id)
    return run_id


class TestThePlan:
    def test_has_the_turns_of_each_group_in_one_go_from_where_the_one_before_ends(
        self, demo_club: DemoClub
    ) -> None:
        view = planned(demo_club)

        assert [view.called_group(block.group) for block in blocks(view)] == list(NAMES)
        for block in blocks(view):
            there = {turn.member.id for turn in block.turns}
            assert there == set(view.asked.groups[block.group])
            assert [turn.place for turn in block.turns] == [1, 2, 3, 4]
        for before, after in pairwise(blocks(view)):
            assert before.turns[-1].setup == after.turns[0].start
        assert view.ordered is not None
        assert blocks(view)[1].after_s == blocks(view)[0].seconds + 4 * view.asked.turn_s

    def test_is_proven_and_takes_no_more_than_group_by_group_which_is_shown_too(
        self, demo_club: DemoClub
    ) -> None:
        view = planned(demo_club)
        assert view.ordered is not None
        assert view.ordered.group_by_group is not None
        told = order_data(view)["order"]

        assert view.ordered.proven
        assert view.ordered.best.seconds <= view.ordered.group_by_group.seconds
        assert told["group_by_group_s"] == view.ordered.group_by_group.seconds
        assert [group["name"] for group in told["apparatus"][0]["groups"]] == list(NAMES)
        assert any(line.startswith("Middle, after ") for line in order_lines(view))

    def test_in_any_order_of_the_groups_takes_no_more_and_says_what_this_order_costs(
        self, demo_club: DemoClub
    ) -> None:
        view = planned(demo_club)
        with demo_club.work(writes=True) as session:
            view = desk_rotation.weigh(session, view)
        free = planned(demo_club, groups_free=True)
        assert view.ordered is not None
        assert free.ordered is not None
        (wish,) = view.wishes

        assert wish.words == "groups one after the other, in this order: Early, Middle, Late"
        assert wish.cost is not None
        assert wish.cost.is_exact
        assert wish.cost.without_s == free.ordered.best.seconds <= view.ordered.best.seconds
        assert not free.lacks_costs

    def test_on_paper_each_group_has_a_sheet_of_its_own(self, demo_club: DemoClub) -> None:
        """The trainer who comes at five takes along what begins at five."""
        view = planned(demo_club)
        papers = order_papers(view, Unit.CENTIMETRE, now())

        assert [paper.title for paper in papers] == [
            f"Evening, {name}, Bars by the window" for name in NAMES
        ]
        assert "from 5 / 5 / 170.0" in papers[0].above[2]
        assert "where the group before ends" in papers[1].above[2]
        assert [row.place for row in papers[1].rows] == ["1.", "2.", "3.", "4."]


class TestAPart:
    def test_has_the_turns_of_its_group_and_its_name(self, demo_club: DemoClub) -> None:
        view = planned(demo_club)
        run_id = begin(demo_club, view)
        with demo_club.work() as session:
            run = desk_run.run(session, run_id)

        assert run.name == "Evening, Early"
        assert [one.athlete_id for one in run.run.turns] == [
            one.member.id for one in blocks(view)[0].turns
        ]

    def test_pressed_twice_is_one_run_and_another_group_has_to_wait(
        self, demo_club: DemoClub
    ) -> None:
        view = planned(demo_club)
        run_id = begin(demo_club, view, 0)

        assert begin(demo_club, view, 0) == run_id
        assert begin(demo_club, view) == run_id
        with pytest.raises(RunUnderWay, match="Evening, Early"):
            begin(demo_club, view, 1)
        with demo_club.work() as session:
            assert [one.name for one in run_list.under_way(session)] == ["Evening, Early"]

    def test_that_went_as_planned_leaves_the_plan_for_the_others(self, demo_club: DemoClub) -> None:
        """Nobody plans anew between two groups when nothing was otherwise."""
        view = planned(demo_club)
        for name, left in (("Early", [1, 2]), ("Middle", [2])):
            run_id = gone_through(demo_club, view)
            between = again(demo_club, view)
            assert between.ordered is not None
            assert between.ordered.outdated == ""
            assert [block.group for block in between.blocks_to_come] == left
            with demo_club.work() as session:
                (latest, *_) = outcome.of_rotations(session, [view.id])[view.id]
            assert (latest.line.id, latest.part) == (run_id, name)
        assert len(order_papers(again(demo_club, view), Unit.CENTIMETRE, now())) == 1

        gone_through(demo_club, view)
        over = again(demo_club, view)
        assert over.groups_to_come == (0, 1, 2)
        assert over.ordered is not None
        assert over.ordered.outdated

    def test_that_went_otherwise_has_the_rest_planned_from_what_stands_there(
        self, demo_club: DemoClub
    ) -> None:
        """Somebody was absent, and the others were re-planned at the bars."""
        view = planned(demo_club)
        run_id = begin(demo_club, view)
        last = blocks(view)[0].turns[-1].member.id
        confirm(demo_club, run_id, NotHere(last))
        for _ in range(3):
            turn(demo_club, run_id)
        with demo_club.work(writes=True) as session:
            desk_run.end(session, run_id)
        then = again(demo_club, view)
        assert then.ordered is not None
        assert "marks on the apparatus are different" in then.ordered.outdated

        with demo_club.work(writes=True) as session:
            anew = desk_rotation.order_anew(session, view.id)

        assert anew.ordered is not None
        assert anew.ordered.outdated == ""
        assert [block.group for block in blocks(anew)] == [1, 2]
        assert blocks(anew)[0].turns[0].start == then.piece.setup
        gone_through(demo_club, anew)
        after = again(demo_club, anew)
        assert after.ordered is not None
        assert after.ordered.outdated == ""
        assert [block.group for block in after.blocks_to_come] == [2]

    def test_that_others_follow_leaves_alone_where_it_shall_stand_afterwards(
        self, demo_club: DemoClub
    ) -> None:
        """Or the crew would set the bars for nobody, twice."""
        view = planned(demo_club, finals=((1, (4, 4, 40)),))
        asked = []
        for _ in NAMES:
            run_id = gone_through(demo_club, view)
            with demo_club.work() as session:
                asked.append(desk_run.run(session, run_id).asked.finals)

        assert asked == [(), (), view.asked.finals]

    def test_out_of_turn_asks_for_another_plan(self, demo_club: DemoClub) -> None:
        view = planned(demo_club)
        gone_through(demo_club, view, 2)
        then = again(demo_club, view)

        assert then.ordered is not None
        assert then.ordered.outdated == "The groups went in another order than planned."
        with pytest.raises(NoOrderToRun):
            begin(demo_club, view)
        with demo_club.work(writes=True) as session:
            anew = desk_rotation.order_anew(session, view.id)
        assert [block.group for block in blocks(anew)] == [0, 1]

    def test_planned_anew_while_a_group_is_at_the_bars_begins_from_where_that_one_ends(
        self, demo_club: DemoClub
    ) -> None:
        """Else it is out of date with the next turn that is set, and again with each after it."""
        view = planned(demo_club)
        run_id = begin(demo_club, view)
        turn(demo_club, run_id)
        with demo_club.work(writes=True) as session:
            ends = desk_run.run(session, run_id).run.turns[-1].setup
            other = replace(view.asked, groups_free=True)
            asked = desk_rotation.change_wishes(session, again(demo_club, view), other)
            left = desk_run.as_left(session, asked)
            kept = desk_rotation.keep_order(session, left, solve(left.problem))
        for _ in range(3):
            turn(demo_club, run_id)
        then = again(demo_club, view)

        assert blocks(kept)[0].turns[0].start == ends != view.piece.setup
        assert then.ordered is not None
        assert then.ordered.outdated == ""
        with demo_club.work() as session:
            assert desk_run.as_left(session, then) is then

    def test_what_stands_there_otherwise_asks_for_another_plan(self, demo_club: DemoClub) -> None:
        view = planned(demo_club)
        gone_through(demo_club, view)
        with demo_club.work(writes=True) as session:
            apparatus.record_setup(session, view.piece.id, (0, 0, 0), "read off the marks")
        then = again(demo_club, view)

        assert then.ordered is not None
        assert "are different now" in then.ordered.outdated
        assert not then.lacks_costs


class TestPaperBetweenTwoGroups:
    def test_of_the_group_that_comes_now_begins_from_the_present_marks(
        self, demo_club: DemoClub
    ) -> None:
        view = planned(demo_club)
        gone_through(demo_club, view)
        second, third = order_papers(again(demo_club, view), Unit.CENTIMETRE, now())

        assert any("the present marks on record" in line for line in second.above)
        assert any("where the group before ends" in line for line in third.above)


class TestTheList:
    def test_who_comes_is_in_the_group_of_that_name_and_stands_with_it(
        self, demo_club: DemoClub
    ) -> None:
        view = planned(demo_club)
        with demo_club.work(writes=True) as session:
            others = [one for one in athletes.find(session) if one.person.group_name == "Girls 2"]
            early, stranger = others[0], others[1]
            person = replace(early.person, group_name="Early")
            athletes.change(session, early.id, person)
            listed = [*(one.id for one in view.listed), early.id, stranger.id]
            changed = desk_rotation.change_list(session, view, listed)

        assert changed.asked.groups[0][-1] == early.id
        assert changed.asked.groups[2][-1] == stranger.id
        numbers = [changed.asked.group_of(member.id) for member in changed.listed]
        assert numbers == sorted(numbers)

    def test_a_group_that_nobody_is_left_of_is_none(self, demo_club: DemoClub) -> None:
        view = planned(demo_club)
        with demo_club.work(writes=True) as session:
            two = desk_rotation.change_list(
                session, view, [*view.asked.groups[0], *view.asked.groups[2]]
            )
            one = desk_rotation.change_list(session, two, list(view.asked.groups[2]))

        assert two.asked.group_names == ("Early", "Late")
        assert (one.asked.groups, one.asked.group_names) == ((), ())

    def test_once_more_it_has_the_same_groups(self, demo_club: DemoClub) -> None:
        view = planned(demo_club)
        gone_through(demo_club, view)
        with demo_club.work(writes=True) as session:
            made = desk_rotation.once_more(session, again(demo_club, view), today())

        assert made.asked.groups == view.asked.groups
        assert made.groups_to_come == (0, 1, 2)


class TestWhatIsAsked:
    def test_of_before_has_no_groups(self) -> None:
        told = OrderRequest(turns=2).to_data()
        for name in ("groups", "group_names", "groups_free", "in_rounds"):
            del told[name]

        assert OrderRequest.from_data(told) == OrderRequest(turns=2)

    def test_is_read_back_as_it_was(self) -> None:
        asked = OrderRequest().with_groups({"A": [1, 2], "B": [3]})

        assert OrderRequest.from_data(asked.to_data()) == asked
        assert asked.nameless.groups == asked.groups
        assert asked.nameless.group_names == ()

    def test_goes_along_when_one_stands_for_another(self) -> None:
        asked = OrderRequest().with_groups({"A": [1, 2], "B": [3]})

        assert asked.with_one_for(2, 9).groups == ((1, 9), (3,))
        assert asked.for_groups([1]) == OrderRequest()
