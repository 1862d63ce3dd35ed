"""What a coach asks of a rotation: kept, checked, and kept to by the order."""

from dataclasses import replace

import pytest

from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.rotations.order_request import NumberNotPossible, OrderRequest
from settingsdesk.desk.rotations.refusals import (
    CannotBePlanned,
    FinalNotOnScale,
    WishesCannotHold,
)
from settingsdesk.desk.rotations.view import RotationView
from settingsdesk.desk.squad import settings
from settingsdesk.desk.terminal.as_json import order_data
from settingsdesk.desk.terminal.as_text import order_lines
from settingsdesk.domain.changeover.changeover import change_over_s
from settingsdesk.domain.changeover.crew import NotACrew
from tests.conftest import DemoClub

TONIGHT = 1


def ordered(club: DemoClub, asked: OrderRequest) -> RotationView:
    with club.work(writes=True) as session:
        desk_rotation.change_wishes(session, desk_rotation.rotation(session, TONIGHT), asked)
        return desk_rotation.order_anew(session, TONIGHT)


def names(view: RotationView) -> list[str]:
    assert view.ordered is not None
    return [turn.member.printed_name for turn in view.ordered.best.lanes[0].turns]


@pytest.fixture
def ids(demo_club: DemoClub) -> dict[str, int]:
    """The athletes of tonight by the name on their cards."""
    with demo_club.work() as session:
        listed = desk_rotation.rotation(session, TONIGHT).listed
    return {member.printed_name: member.id for member in listed}


class TestWishesAboutTheOrder:
    def test_first_last_before_together_and_place_are_all_kept(
        self, demo_club: DemoClub, ids: dict[str, int]
    ) -> None:
        asked = OrderRequest(
            first=ids["Viktorie H."],
            last=ids["Jagna B."],
            before=((ids["Tuva F."], ids["Inês G."]),),
            together=((ids["Khánh Vy Q."], ids["Maëlle T."]),),
            places=((ids["Frieda W."], 3),),
        )
        order = names(ordered(demo_club, asked))

        assert order[0] == "Viktorie H."
        assert order[-1] == "Jagna B."
        assert order[2] == "Frieda W."
        assert order.index("Tuva F.") < order.index("Inês G.")
        assert abs(order.index("Khánh Vy Q.") - order.index("Maëlle T.")) == 1

    def test_wishes_cost_time_but_never_more_than_the_list_that_keeps_them(
        self, demo_club: DemoClub, ids: dict[str, int]
    ) -> None:
        with demo_club.work() as session:
            free = desk_rotation.rotation(session, TONIGHT).ordered
        view = ordered(demo_club, OrderRequest(first=ids["Viktorie H."]))

        assert free is not None
        assert view.ordered is not None
        assert free.best.seconds <= view.ordered.best.seconds
        assert view.ordered.as_listed is not None
        assert view.ordered.best.seconds <= view.ordered.as_listed.seconds

    def test_wishes_that_cannot_hold_together_are_named_by_the_athletes_names(
        self, demo_club: DemoClub, ids: dict[str, int]
    ) -> None:
        one, other = ids["Tuva F."], ids["Inês G."]
        with pytest.raises(WishesCannotHold) as refused:
            ordered(
                demo_club,
                OrderRequest(last=ids["Jagna B."], before=((one, other), (other, one))),
            )

        assert str(refused.value) == (
            "These wishes cannot hold together: 'Tuva F. before Inês G.'; 'Inês G. before"
            " Tuva F.'. Change one of them"
        )
        assert list(refused.value.beside) == [("before", 0), ("before", 1)]

    @pytest.mark.parametrize("kind", ["first", "last", "together", "places"])
    def test_a_wish_of_every_kind_is_told_and_found_again(
        self, demo_club: DemoClub, ids: dict[str, int], kind: str
    ) -> None:
        """The page says it beside the fields that it comes from."""
        tuva, ines, jagna, frieda = (
            ids[name] for name in ("Tuva F.", "Inês G.", "Jagna B.", "Frieda W.")
        )
        asked, told = {
            "first": (OrderRequest(first=ines, before=((tuva, ines),)), "Inês G. first"),
            "last": (OrderRequest(last=tuva, before=((tuva, ines),)), "Tuva F. last"),
            "together": (
                OrderRequest(first=tuva, last=ines, together=((tuva, ines, jagna, frieda),)),
                "Tuva F., Inês G., Jagna B. and Frieda W. next to each other",
            ),
            "places": (
                OrderRequest(before=((tuva, ines),), places=((ines, 1),)),
                "Inês G. at turn 1",
            ),
        }[kind]
        with pytest.raises(WishesCannotHold) as refused:
            ordered(demo_club, asked)

        assert told in refused.value.wishes
        assert (kind, 0) in refused.value.beside

    def test_one_athlete_cannot_have_two_places(
        self, demo_club: DemoClub, ids: dict[str, int]
    ) -> None:
        """Neither of the two is dropped in silence."""
        tuva = ids["Tuva F."]
        with pytest.raises(CannotBePlanned) as refused:
            ordered(demo_club, OrderRequest(places=((tuva, 3), (ids["Inês G."], 4), (tuva, 5))))

        assert str(refused.value) == ("Tuva F. is given turn 3 and turn 5: leave one of the two")
        assert list(refused.value.beside) == [("places", 0), ("places", 2)]

    def test_one_place_cannot_have_two_athletes(
        self, demo_club: DemoClub, ids: dict[str, int]
    ) -> None:
        with pytest.raises(CannotBePlanned) as refused:
            ordered(demo_club, OrderRequest(places=((ids["Tuva F."], 3), (ids["Inês G."], 3))))

        assert str(refused.value) == "Turn 3 is already given to Tuva F."
        assert list(refused.value.beside) == [("places", 1)]

    @pytest.mark.parametrize("kind", ["before", "together"])
    def test_one_name_twice_in_a_wish_is_refused_by_name_and_its_row_is_told(
        self, demo_club: DemoClub, ids: dict[str, int], kind: str
    ) -> None:
        """The planner knows numbers only; a coach reads names, beside the row they filled in."""
        tuva, ines, frieda = (ids[name] for name in ("Tuva F.", "Inês G.", "Frieda W."))
        asked, told = {
            "before": (
                OrderRequest(before=((tuva, ines), (frieda, frieda))),
                "Frieda W. cannot go before Frieda W.",
            ),
            "together": (
                OrderRequest(together=((tuva, ines), (frieda, tuva, frieda))),
                "Frieda W. is already in this list",
            ),
        }[kind]
        with pytest.raises(CannotBePlanned) as refused:
            ordered(demo_club, asked)

        assert refused.value.beside == {(kind, 1): told}

    def test_more_than_three_can_be_kept_together(
        self, demo_club: DemoClub, ids: dict[str, int]
    ) -> None:
        group = ("Tuva F.", "Inês G.", "Jagna B.", "Frieda W.", "Viktorie H.")
        asked = OrderRequest(together=(tuple(ids[name] for name in group),))
        order = names(ordered(demo_club, asked))

        places = sorted(order.index(name) for name in group)
        assert places == list(range(places[0], places[0] + 5))

    def test_a_place_beyond_the_last_turn_is_refused_before_anything_is_kept(
        self, demo_club: DemoClub, ids: dict[str, int]
    ) -> None:
        with pytest.raises(CannotBePlanned) as refused:
            ordered(demo_club, OrderRequest(places=((ids["Tuva F."], 13),)))

        assert "Turn 13 is beyond the last turn, which is 12" in str(refused.value)
        with demo_club.work() as session:
            assert desk_rotation.rotation(session, TONIGHT).asked == OrderRequest()

    def test_who_leaves_the_list_takes_their_wishes_along(
        self, demo_club: DemoClub, ids: dict[str, int]
    ) -> None:
        gone = ids["Tuva F."]
        asked = OrderRequest(first=gone, last=ids["Jagna B."], before=((gone, ids["Inês G."]),))
        ordered(demo_club, asked)
        with demo_club.work(writes=True) as session:
            rest = [one for one in ids.values() if one != gone]
            view = desk_rotation.change_list(
                session, desk_rotation.rotation(session, TONIGHT), rest
            )

        assert view.asked == OrderRequest(last=ids["Jagna B."])
        assert view.ordered is None or "list of athletes was changed" in view.ordered.outdated


class TestSeveralTurns:
    def test_everybody_has_their_turns_with_the_rest_between(self, demo_club: DemoClub) -> None:
        view = ordered(demo_club, OrderRequest(turns=2, rest_turns=3))
        order = names(view)

        assert len(order) == 24
        for name in set(order):
            first, second = (place for place, one in enumerate(order) if one == name)
            assert second - first > 3

    def test_rest_that_nobody_can_keep_is_refused(self, demo_club: DemoClub) -> None:
        with pytest.raises(CannotBePlanned) as refused:
            ordered(demo_club, OrderRequest(turns=2, rest_turns=12))

        assert "12 turns of rest need at least 13 athletes" in str(refused.value)
        assert list(refused.value.beside) == [("rest_turns", 0)]


class TestLeeway:
    def test_it_saves_time_and_nobody_is_set_outside_what_they_accept(
        self, demo_club: DemoClub
    ) -> None:
        with demo_club.work() as session:
            exact = desk_rotation.rotation(session, TONIGHT).ordered
        loose = ordered(demo_club, OrderRequest(leeway=True)).ordered

        assert exact is not None
        assert loose is not None
        assert exact.best.differing == ()
        assert loose.best.seconds < exact.best.seconds
        assert loose.best.differing
        for turn in loose.best.differing:
            assert all(fit.within_accepted for fit in turn.differs)

    @pytest.mark.parametrize("accepts_mm", [0, 60])
    def test_it_counts_no_longer_once_somebody_accepts_less_or_more(
        self, demo_club: DemoClub, accepts_mm: int
    ) -> None:
        """Their own stops are the same; less may be outside it now, with more less may be best."""
        loose = ordered(demo_club, OrderRequest(leeway=True))
        assert loose.ordered is not None
        one = loose.ordered.best.differing[0].member
        own = loose.carried[loose.piece.id][one.id]
        axes = {
            key: replace(wanted, accepts_mm=accepts_mm)
            for key, wanted in own.version.setting.axes.items()
        }
        with demo_club.work(writes=True) as session:
            assert desk_rotation.rotation(session, TONIGHT).ordered.outdated == ""
            setting = replace(own.version.setting, axes=axes)
            settings.keep_setting(session, one.id, own.version.model_id, setting)
            after = desk_rotation.rotation(session, TONIGHT).ordered

        assert after is not None
        assert "Settings" in after.outdated
        assert after.changed == {one.id}

    def test_who_accepts_less_changes_nothing_where_it_was_not_asked_for(
        self, demo_club: DemoClub
    ) -> None:
        exact = ordered(demo_club, OrderRequest())
        own = next(iter(exact.carried[exact.piece.id].values())).version
        axes = {key: replace(wanted, accepts_mm=0) for key, wanted in own.setting.axes.items()}
        with demo_club.work(writes=True) as session:
            setting = replace(own.setting, axes=axes)
            settings.keep_setting(session, exact.listed[0].id, own.model_id, setting)
            after = desk_rotation.rotation(session, TONIGHT).ordered

        assert after is not None
        assert (after.outdated, after.changed) == ("", frozenset())


class TestHands:
    def test_more_hands_take_less_time(self, demo_club: DemoClub) -> None:
        times = []
        for hands in (1, 2, 4):
            found = ordered(demo_club, OrderRequest(hands=hands)).ordered
            assert found is not None
            times.append(found.best.seconds)

        assert times[0] > times[1] >= times[2]

    def test_three_pairs_of_hands_are_no_crew(self) -> None:
        with pytest.raises(NotACrew):
            OrderRequest(hands=3)


class TestSeveralApparatus:
    def test_who_goes_where_is_chosen_too(self, demo_club: DemoClub) -> None:
        with demo_club.work() as session:
            bars = apparatus.pieces_of_kind(session, "uneven_bars")
        door = next(piece.id for piece in bars if piece.name == "Bars by the door")
        view = ordered(demo_club, OrderRequest(apparatus=(door,), soonest=True))

        assert view.ordered is not None
        best = view.ordered.best
        assert [lane.piece.name for lane in best.lanes] == [
            "Bars by the window",
            "Bars by the door",
        ]
        assert all(lane.turns for lane in best.lanes)
        placed = [turn.member.id for lane in best.lanes for turn in lane.turns]
        assert sorted(placed) == sorted(member.id for member in view.listed)
        assert best.ends_s == view.ordered.goal_s

    def test_an_apparatus_of_another_kind_is_refused(self, demo_club: DemoClub) -> None:
        with demo_club.work() as session:
            [beam] = apparatus.pieces_of_kind(session, "balance_beam")
        with pytest.raises(desk_rotation.KindsMixed) as refused:
            ordered(demo_club, OrderRequest(apparatus=(beam.id,)))

        assert "balance beam and uneven bars" in str(refused.value)


class TestUnderWay:
    def test_the_first_turns_are_kept_and_the_others_may_move(
        self, demo_club: DemoClub, ids: dict[str, int]
    ) -> None:
        with demo_club.work(writes=True) as session:
            before = names(desk_rotation.rotation(session, TONIGHT))
            desk_rotation.keep_places(
                session, desk_rotation.rotation(session, TONIGHT), [1, 2, 3, 4]
            )
            after = names(desk_rotation.order_anew(session, TONIGHT))

        assert after[:4] == before[:4]

    def test_any_places_are_kept_and_given_up_again(
        self, demo_club: DemoClub, ids: dict[str, int]
    ) -> None:
        """Two in the middle stay, while somebody else has to go last."""
        with demo_club.work(writes=True) as session:
            before = names(desk_rotation.rotation(session, TONIGHT))
            kept = desk_rotation.keep_places(
                session, desk_rotation.rotation(session, TONIGHT), [4, 7]
            )
            desk_rotation.change_wishes(
                session,
                desk_rotation.rotation(session, TONIGHT),
                replace(kept.asked, last=ids[before[0]]),
            )
            after = names(desk_rotation.order_anew(session, TONIGHT))
            freed = desk_rotation.keep_places(session, desk_rotation.rotation(session, TONIGHT), [])

        assert (after[3], after[6], after[-1]) == (before[3], before[6], before[0])
        assert freed.asked.places == ()

    def test_when_turns_are_over_the_rest_is_ordered_from_the_marks_of_the_last(
        self, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            before = desk_rotation.rotation(session, TONIGHT)
            assert before.ordered is not None
            fifth = before.ordered.best.lanes[0].turns[4]
            desk_rotation.go_on_after(session, desk_rotation.rotation(session, TONIGHT), 5)
            after = desk_rotation.order_anew(session, TONIGHT)

        assert len(after.listed) == 7
        assert after.piece.setup == fifth.setup
        assert set(names(after)) == set(names(before)[5:])

    def test_of_several_turns_each_has_what_is_left_and_the_rest_goes_on(
        self, demo_club: DemoClub
    ) -> None:
        before = names(ordered(demo_club, OrderRequest(turns=2, rest_turns=3)))
        with demo_club.work(writes=True) as session:
            desk_rotation.go_on_after(session, desk_rotation.rotation(session, TONIGHT), 7)
            after = names(desk_rotation.order_anew(session, TONIGHT))

        assert sorted(before[:7] + after) == sorted(before)
        for place, name in enumerate(after[:3]):
            assert name not in before[4 + place : 7]

    @pytest.mark.parametrize("turns", [0, 12, -1])
    def test_turns_that_are_not_there_cannot_be_over(self, demo_club: DemoClub, turns: int) -> None:
        with demo_club.work(writes=True) as session, pytest.raises(NumberNotPossible):
            desk_rotation.go_on_after(session, desk_rotation.rotation(session, TONIGHT), turns)

    def test_several_apparatus_have_no_one_order_to_count_in(self, demo_club: DemoClub) -> None:
        with demo_club.work() as session:
            door = apparatus.pieces_of_kind(session, "uneven_bars")[1]
        ordered(demo_club, OrderRequest(apparatus=(door.id,)))
        with demo_club.work(writes=True) as session, pytest.raises(desk_rotation.NotOneOrder):
            desk_rotation.keep_places(session, desk_rotation.rotation(session, TONIGHT), [1, 2])


class TestWhereItStandsAfterwards:
    FINAL = (0, 0, 0)

    def test_the_change_over_to_it_counts_in_every_order(self, demo_club: DemoClub) -> None:
        """The next group finds the bars as they need them, and the time for it is told."""
        view = ordered(demo_club, OrderRequest(finals=((1, self.FINAL),)))

        assert view.ordered is not None
        for order in (view.ordered.best, view.ordered.as_listed, view.ordered.by_height):
            assert order is not None
            [lane] = order.lanes
            assert lane.closing is not None
            last = lane.turns[-1].setup
            taken_s = change_over_s(view.piece.model, last, self.FINAL)
            assert (lane.closing.setup, lane.closing.seconds) == (self.FINAL, taken_s)
            assert lane.seconds == sum(turn.seconds for turn in lane.turns) + taken_s
        assert view.ordered.best.seconds == view.ordered.goal_s
        assert view.ordered.proven

    def test_the_terminal_says_it_too(self, demo_club: DemoClub) -> None:
        view = ordered(demo_club, OrderRequest(finals=((1, self.FINAL),)))

        assert any(line.startswith("     Afterwards") for line in order_lines(view))
        [lane] = order_data(view)["order"]["apparatus"]
        assert lane["ends_at"] == view.piece.model.marks(self.FINAL)

    def test_marks_that_the_scale_no_longer_has_are_refused_with_the_apparatus(
        self, demo_club: DemoClub
    ) -> None:
        with pytest.raises(FinalNotOnScale) as refused:
            ordered(demo_club, OrderRequest(finals=((1, (900, 0, 0)),)))

        assert "The scale of Bars by the window was changed" in str(refused.value)


class TestNumbers:
    @pytest.mark.parametrize(
        "numbers", [{"turns": 0}, {"turns": 10}, {"rest_turns": 21}, {"turn_s": 601}]
    )
    def test_one_outside_its_bounds_says_which_they_are(self, numbers: dict[str, int]) -> None:
        with pytest.raises(NumberNotPossible) as refused:
            OrderRequest(**numbers)

        assert "must be between" in str(refused.value)

    def test_what_is_kept_comes_back_the_same(self) -> None:
        asked = OrderRequest(
            turns=3,
            before=((1, 2),),
            together=((3, 4, 5),),
            places=((6, 7),),
            hands=2,
            finals=((1, (2, 3)),),
        )

        assert OrderRequest.from_data(asked.to_data()) == asked
