"""Why an order is as it is: what each wish costs, kept with the order and told everywhere."""

import json
from collections.abc import Callable
from dataclasses import replace

import pytest

from settingsdesk.desk.clock import now
from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.rotations.order_paper import order_papers
from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.rotations.refusals import CannotBePlanned
from settingsdesk.desk.rotations.view import RotationView
from settingsdesk.desk.rotations.wish_costs import Cost, ToldWish, told_with_costs, weighable
from settingsdesk.desk.terminal.as_json import order_data
from settingsdesk.desk.terminal.as_text import order_lines, why_lines
from settingsdesk.domain.base.units import Unit
from settingsdesk.planner.plan import WishCost
from settingsdesk.planner.solve import solve
from settingsdesk.store import rotations as kept_rotations
from tests.conftest import DemoClub

TONIGHT = 1


def asking(club: DemoClub, ask: Callable[[OrderRequest, list[int]], OrderRequest]) -> RotationView:
    """Tonight's rotation, planned with other wishes and weighed."""
    with club.work(writes=True) as session:
        view = desk_rotation.rotation(session, TONIGHT)
        asked = ask(view.asked, [member.id for member in view.listed])
        desk_rotation.change_wishes(session, view, asked)
        return desk_rotation.weigh(session, desk_rotation.order_anew(session, TONIGHT))


def tuva_first(asked: OrderRequest, ids: list[int]) -> OrderRequest:
    return replace(asked, first=ids[2], last=ids[0])


class TestWhatIsTold:
    def test_each_wish_says_what_the_same_order_takes_without_it(self, demo_club: DemoClub) -> None:
        """The coach drops the wish, plans anew, and has just those minutes."""
        view = asking(demo_club, tuva_first)
        assert view.ordered is not None
        costs = {wish.words: wish.cost for wish in view.wishes}

        assert list(costs) == ["Tuva F. first", "Jagna B. last"]
        for words, name in (("Tuva F. first", "first"), ("Jagna B. last", "last")):
            cost = costs[words]
            assert cost is not None
            assert cost.is_exact
            free = asking(demo_club, lambda asked, _, name=name: replace(asked, **{name: None}))
            assert free.ordered is not None
            assert cost.without_s == free.ordered.goal_s
            assert cost.at_most_s == view.ordered.goal_s - free.ordered.goal_s > 0
            asking(demo_club, tuva_first)

    @pytest.mark.parametrize(
        ("cost", "told"),
        [
            (Cost(48, 48, 1084), "+0:48 min (without it 18:04 min)"),
            (Cost(0, 0, 1084), "costs no time"),
            (Cost(0, 63, 1084), "at most +1:03 min"),
            (Cost(12, 63, 1084), "between +0:12 and +1:03 min"),
        ],
    )
    def test_what_is_not_proven_is_told_as_bounds(self, cost: Cost, told: str) -> None:
        assert cost.in_words == told
        assert ToldWish("Tuva F. first", cost).in_words == f"Tuva F. first: {told}"

    def test_an_order_that_is_not_proven_makes_no_cost_exact(self) -> None:
        """Part of what another order would save may be the search's fault and not the wish's."""
        asked = OrderRequest(first=1)
        cost = WishCost(("wishes", "first"), goal_s=500, bound_s=500)

        (wish,) = told_with_costs({("first", 0): "Tuva F. first"}, asked, 560, 520, [cost])

        assert wish.cost == Cost(20, 60, 500)

    def test_it_is_told_on_paper_in_text_and_to_programs(self, demo_club: DemoClub) -> None:
        view = asking(demo_club, tuva_first)
        told = [wish.in_words for wish in view.wishes]
        cost = view.wishes[0].cost
        assert cost is not None

        [paper] = order_papers(view, Unit.CENTIMETRE, now())
        assert paper.below[-1] == f"Why this order: {'; '.join(told)}."
        assert list(why_lines(view)) == ["Why this order:", *(f"  {words}" for words in told)]
        data = json.loads(json.dumps(order_data(view)))
        assert data["order"]["wishes"][0] == {
            "wish": "Tuva F. first",
            "costs_at_least_s": cost.at_most_s,
            "costs_at_most_s": cost.at_most_s,
            "without_s": cost.without_s,
        }


class TestWhatIsKept:
    def test_it_stands_with_the_order_it_is_of_and_earlier_ones_read_as_before(
        self, demo_club: DemoClub
    ) -> None:
        view = asking(demo_club, tuva_first)
        with demo_club.work() as session:
            again = desk_rotation.rotation(session, TONIGHT)
            plan = kept_rotations.latest_plan(session, TONIGHT)
        assert plan is not None

        assert again.wishes == view.wishes
        assert not again.lacks_costs
        assert [wish.cost for wish in again.wishes] != [None, None]
        with demo_club.work(writes=True) as session:
            before = {name: told for name, told in plan.result.items() if name != "costs"}
            session.add(
                kept_rotations.RotationPlan(rotation_id=TONIGHT, made_by="Runa", result=before)
            )
        with demo_club.work() as session:
            old = desk_rotation.rotation(session, TONIGHT)
        assert [wish.cost for wish in old.wishes] == [None, None]
        assert [wish.words for wish in old.wishes] == [wish.words for wish in view.wishes]
        assert old.lacks_costs

    def test_another_order_made_meanwhile_does_not_get_it(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            view = desk_rotation.rotation(session, TONIGHT)
            asked = tuva_first(view.asked, [member.id for member in view.listed])
            desk_rotation.change_wishes(session, view, asked)
            first = desk_rotation.order_anew(session, TONIGHT)
            other = desk_rotation.order_anew(session, TONIGHT)
            cost = WishCost(("wishes", "first"), 1, 1)
            desk_rotation.keep_costs(session, first, [cost])
            plan = kept_rotations.latest_plan(session, TONIGHT)

        assert plan is not None
        assert other.plan is not None
        assert plan.id == other.plan.id

    def test_an_order_that_is_out_of_date_says_nothing_of_costs(self, demo_club: DemoClub) -> None:
        asking(demo_club, tuva_first)
        with demo_club.work(writes=True) as session:
            piece = desk_rotation.rotation(session, TONIGHT).piece
            apparatus.record_setup(session, piece.id, (0, 0, 0), "read off the marks")
            view = desk_rotation.rotation(session, TONIGHT)

        assert [wish.cost for wish in view.wishes] == [None, None]
        assert not view.lacks_costs


class TestWeighable:
    def test_is_what_an_order_keeps_to_and_not_what_it_is_asked_for(self) -> None:
        asked = OrderRequest(turns=2, rest_turns=1, leeway=True, first=1)
        told = dict.fromkeys([("turns", 0), ("rest_turns", 0), ("first", 0), ("leeway", 0)], "")

        assert list(weighable(told, asked)) == [("rest_turns", 0), ("first", 0)]
        assert list(weighable(told, replace(asked, turns=1))) == [("first", 0)]


class TestWhatIsAskedOfAllTurnsAlike:
    """As exact and as costly as any other wish."""

    @pytest.mark.parametrize(
        ("name", "rest"), [("longest_rest", 11), ("in_rounds", None), ("rest_turns", 2)]
    )
    def test_is_kept_and_weighed(self, demo_club: DemoClub, name: str, rest: int | None) -> None:
        asked = {name: 2 if name == "rest_turns" else True}
        view = asking(demo_club, lambda before, _: replace(before, turns=2, **asked))
        free = asking(demo_club, lambda before, _: replace(OrderRequest(), turns=2))
        assert view.ordered is not None
        assert free.ordered is not None
        (cost,) = [wish.cost for wish in view.wishes if wish.cost is not None]
        turns = [turn.member.id for turn in view.ordered.best.lanes[0].turns]

        assert view.ordered.proven
        assert cost == Cost(
            view.ordered.goal_s - free.ordered.goal_s,
            view.ordered.goal_s - free.ordered.goal_s,
            free.ordered.goal_s,
        )
        if rest is not None:
            assert view.ordered.best.lanes[0].least_rest_turns == rest
        if name == "in_rounds":
            assert set(turns[:12]) == set(turns[12:])

    def test_one_setup_each_is_kept_where_the_marks_may_differ(self, demo_club: DemoClub) -> None:
        def ask(before: OrderRequest, _: list[int]) -> OrderRequest:
            return replace(before, turns=2, rest_turns=2, leeway=True, one_setup=True)

        with demo_club.work(writes=True) as session:
            view = desk_rotation.rotation(session, TONIGHT)
            desk_rotation.change_wishes(session, view, ask(view.asked, []))
            problem = desk_rotation.rotation(session, TONIGHT).problem
        solution = solve(problem, work_limit_s=0.3)
        setups = {
            (turn.athlete, turn.setup) for (turns) in solution.plan.values() for turn in turns
        }

        assert len(setups) == 12

    def test_equal_numbers_on_two_apparatus(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            view = desk_rotation.rotation(session, TONIGHT)
            door = next(
                piece
                for piece in apparatus.pieces_of_kind(session, "uneven_bars")
                if piece.name == "Bars by the door"
            )
            asked = replace(view.asked, apparatus=(door.id,), soonest=True, equal_numbers=True)
            desk_rotation.change_wishes(session, view, asked)
            view = desk_rotation.weigh(session, desk_rotation.order_anew(session, TONIGHT))
        assert view.ordered is not None

        assert [len(lane.turns) for lane in view.ordered.best.lanes] == [6, 6]
        assert [wish.words for wish in view.wishes if wish.cost is not None] == [
            "as many athletes on each apparatus, one more at most"
        ]

    def test_what_needs_one_apparatus_is_refused_on_two(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            view = desk_rotation.rotation(session, TONIGHT)
            door = next(
                piece
                for piece in apparatus.pieces_of_kind(session, "uneven_bars")
                if piece.name == "Bars by the door"
            )
            asked = replace(view.asked, apparatus=(door.id,), turns=2, in_rounds=True)
            with pytest.raises(CannotBePlanned) as refused:
                desk_rotation.change_wishes(session, view, asked)
            session.rollback()

        assert ("in_rounds", 0) in refused.value.beside


class TestWhomAChangeOverServes:
    def test_is_everybody_who_goes_before_the_next_one(self, demo_club: DemoClub) -> None:
        """Whoever asks why the rails are moved now reads for whom."""
        with demo_club.work() as session:
            view = desk_rotation.rotation(session, TONIGHT)
        assert view.ordered is not None
        [lane] = view.ordered.best.lanes
        served = [member for turn in lane.turns for member in lane.served_by(turn)]
        still = [turn.member for turn in lane.turns[:1] if not turn.moves_something]

        assert [*still, *served] == [turn.member for turn in lane.turns]
        several = next(turn for turn in lane.turns if len(lane.served_by(turn)) > 1)
        names = [str(view.called[member.id]) for member in lane.served_by(several)]
        [row] = [
            row
            for row in order_papers(view, Unit.CENTIMETRE, now())[0].rows
            if row.name == names[0]
        ]
        assert row.notes[0] == f"Stays for {' and '.join(names[1:])}"
        assert any(f"stays for {', '.join(names[1:])}" in line for line in order_lines(view))
        [told] = order_data(view)["order"]["apparatus"]
        assert told["turns"][several.place - 1]["serves"] == names
