"""Ordering a rotation from what stands on the apparatus, and saying when that is out of date."""

from dataclasses import replace
from datetime import date, timedelta
from itertools import permutations

import pytest

from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.hall.apparatus import SetupUnknown
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.rotations.rotation import (
    ListedTwice,
    NobodyListed,
    NotOneOrder,
    WithoutSetting,
)
from settingsdesk.desk.rotations.view import HaveLeft, RotationView
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.domain.changeover.changeover import change_over_s
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.planner.solve import solve
from tests.conftest import DemoClub

TONIGHT, PARALLEL_TONIGHT = 1, 2


@pytest.fixture
def tonight(demo_club: DemoClub) -> RotationView:
    with demo_club.work() as session:
        return desk_rotation.rotation(session, TONIGHT)


class TestTheBestOrder:
    def test_it_is_proven_and_beats_the_list_and_the_rule_of_thumb(
        self, tonight: RotationView
    ) -> None:
        """The coach reads how many minutes the order saves, and that nothing can save more."""
        ordered = tonight.ordered

        assert ordered is not None
        assert ordered.proven
        assert ordered.best.seconds == ordered.bound_s
        assert ordered.best.seconds < ordered.by_height.seconds < ordered.as_listed.seconds

    def test_its_time_is_the_sum_of_the_change_overs_from_what_stood_there(
        self, tonight: RotationView
    ) -> None:
        assert tonight.ordered is not None
        for order in (
            tonight.ordered.best,
            tonight.ordered.as_listed,
            tonight.ordered.by_height,
        ):
            assert order is not None
            [lane] = order.lanes
            here, seconds = lane.start, 0
            for turn in lane.turns:
                seconds += change_over_s(tonight.piece.model, here, turn.setup)
                here = turn.setup
            assert seconds == order.seconds

    def test_everybody_has_one_turn_at_their_own_setup(self, tonight: RotationView) -> None:
        assert tonight.ordered is not None
        turns = tonight.ordered.best.lanes[0].turns

        assert sorted(turn.member.id for turn in turns) == sorted(
            member.id for member in tonight.listed
        )
        for turn in turns:
            assert (
                turn.setup == tonight.carried[tonight.piece.id][turn.member.id].transfer.best.setup
            )

    def test_no_order_of_five_athletes_takes_less(self, demo_club: DemoClub) -> None:
        """All 120 orders are tried by hand."""
        with demo_club.work(writes=True) as session:
            ids = [member.id for member in desk_rotation.rotation(session, TONIGHT).listed[:5]]
            desk_rotation.change_list(session, desk_rotation.rotation(session, TONIGHT), ids)
            view = desk_rotation.order_anew(session, TONIGHT)

        assert view.ordered is not None
        start = view.ordered.best.lanes[0].start
        own = view.carried[view.piece.id]
        setups = {one: own[one].transfer.best.setup for one in ids}
        least = min(
            sum(
                change_over_s(view.piece.model, before, after)
                for before, after in zip(
                    [start, *(setups[one] for one in order)],
                    [setups[one] for one in order],
                    strict=False,
                )
            )
            for order in permutations(ids)
        )
        assert view.ordered.best.seconds == least

    def test_the_list_keeps_the_coachs_order(self, tonight: RotationView) -> None:
        assert tonight.ordered is not None
        assert tonight.ordered.as_listed is not None
        turns = tonight.ordered.as_listed.lanes[0].turns
        assert [turn.member for turn in turns] == list(tonight.listed)

    def test_an_apparatus_with_one_adjustable_is_ordered_by_the_same_means(
        self, demo_club: DemoClub
    ) -> None:
        """A beam has neither spread nor tensioners."""
        with demo_club.work(writes=True) as session:
            beam = next(p for p in apparatus.all_pieces(session) if p.name == "Beam by the stage")
            ids = [member.id for member in athletes.find(session)[:4]]
            for height_mm, athlete_id in zip((1250, 1000, 1250, 1100), ids, strict=True):
                wanted = Setting(beam.model.kind, {"beam": Wanted(height_mm)})
                settings.keep_setting(session, athlete_id, beam.model_id, wanted)
            made = desk_rotation.add_rotation(session, "", date(2026, 3, 1), beam.id, ids)
            view = desk_rotation.order_anew(session, made.id)

        assert view.ordered is not None
        assert view.ordered.proven
        assert view.name == "Beam by the stage, 1 March 2026"


class TestOutOfDate:
    def test_fresh_from_the_desk_it_is_not(self, tonight: RotationView) -> None:
        assert tonight.ordered is not None
        assert tonight.ordered.outdated == ""

    def test_another_setup_on_the_apparatus_makes_it_so(self, demo_club: DemoClub) -> None:
        """Somebody has used the bars since."""
        with demo_club.work(writes=True) as session:
            piece = desk_rotation.rotation(session, TONIGHT).piece
            apparatus.record_setup(session, piece.id, (0, 0, 0), "read off the marks")
            view = desk_rotation.rotation(session, TONIGHT)

        assert view.ordered is not None
        assert "are different now" in view.ordered.outdated

    def test_a_changed_setting_makes_it_so_and_ordering_anew_mends_it(
        self, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            view = desk_rotation.rotation(session, TONIGHT)
            first = view.carried[view.piece.id][view.listed[0].id].version
            axes = {**first.setting.axes, "spread": Wanted(1500)}
            changed = Setting(first.setting.kind, axes)
            settings.keep_setting(session, first.athlete_id, first.model_id, changed)
            before = desk_rotation.rotation(session, TONIGHT).ordered
            after = desk_rotation.order_anew(session, TONIGHT).ordered

        assert before is not None
        assert "have changed since" in before.outdated
        assert after is not None
        assert after.outdated == ""


class TestNames:
    def test_a_second_one_without_a_name_is_numbered(self, demo_club: DemoClub) -> None:
        """Two rotations on one apparatus, one after the other, can be told apart."""
        with demo_club.work(writes=True) as session:
            ids = [member.id for member in desk_rotation.rotation(session, TONIGHT).listed]
            made = [
                desk_rotation.add_rotation(session, "", date(2026, 3, 1), 1, some).name
                for some in (ids[:3], ids[3:6], ids[6:9])
            ]

        assert made == [
            "Bars by the window, 1 March 2026",
            "Bars by the window, 1 March 2026 (2)",
            "Bars by the window, 1 March 2026 (3)",
        ]

    def test_the_very_same_one_a_second_time_is_the_first(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            ids = [member.id for member in desk_rotation.rotation(session, TONIGHT).listed]
            made = []
            for some in (ids[:3], ids[3:6], ids[3:6]):
                view = desk_rotation.add_rotation(session, "", date(2026, 3, 1), 1, some)
                made.append(desk_rotation.order_anew(session, view.id).id)

        assert made[0] != made[1] == made[2]


class TestWhoHasLeft:
    @pytest.fixture
    def gone(self, demo_club: DemoClub) -> RotationView:
        with demo_club.work(writes=True) as session:
            for member in desk_rotation.rotation(session, TONIGHT).listed[:2]:
                athletes.leave(session, member.id, date(2026, 3, 1))
            return desk_rotation.rotation(session, TONIGHT)

    def test_the_order_is_out_of_date_and_says_who_it_is(self, gone: RotationView) -> None:
        assert gone.ordered is not None
        assert gone.ordered.outdated == (
            "Bąkiewicz, Jagna and Çelikbaş, Defne have left since this order was planned."
        )

    def test_it_cannot_be_ordered_with_them(self, gone: RotationView, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session, pytest.raises(HaveLeft) as refused:
            desk_rotation.order_anew(session, TONIGHT)

        assert str(refused.value) == (
            "Bąkiewicz, Jagna and Çelikbaş, Defne have left the club: take whoever has left off"
            " the list first"
        )

    def test_they_are_taken_off_and_the_others_are_ordered(
        self, gone: RotationView, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            desk_rotation.take_off_who_left(session, desk_rotation.rotation(session, TONIGHT))
            view = desk_rotation.order_anew(session, TONIGHT)

        assert view.listed == gone.listed[2:]
        assert view.ordered is not None
        assert view.ordered.outdated == ""

    def test_where_all_have_left_nobody_stays(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            for member in desk_rotation.rotation(session, TONIGHT).listed:
                athletes.leave(session, member.id, date(2026, 3, 1))
            with pytest.raises(NobodyListed):
                desk_rotation.take_off_who_left(session, desk_rotation.rotation(session, TONIGHT))


class TestRefusals:
    def test_nobody_listed(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session, pytest.raises(NobodyListed):
            desk_rotation.add_rotation(session, "", date(2026, 3, 1), 1, [])

    def test_one_athlete_twice_is_named(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            one = desk_rotation.rotation(session, TONIGHT).listed[0]
            with pytest.raises(ListedTwice) as refused:
                desk_rotation.change_list(
                    session, desk_rotation.rotation(session, TONIGHT), [one.id, one.id]
                )

        assert str(refused.value) == f"{one.listed_name} is on the list twice: leave one of the two"

    def test_who_has_no_setting_for_the_kind_is_named(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            boys = [
                member.id for member in desk_rotation.rotation(session, PARALLEL_TONIGHT).listed
            ]
            with pytest.raises(WithoutSetting) as refused:
                desk_rotation.change_list(session, desk_rotation.rotation(session, TONIGHT), boys)

        assert "No setting for uneven bars is recorded for Benhaddou, Ilyas;" in str(refused.value)

    def test_where_nobody_knows_what_stands_there_nothing_is_ordered(
        self, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            view = desk_rotation.rotation(session, TONIGHT)
            new = apparatus.add_piece(session, "New bars", "", view.piece.model_id, 200)
            ids = [member.id for member in view.listed]
            with pytest.raises(SetupUnknown) as refused:
                desk_rotation.add_rotation(session, "", date(2026, 3, 1), new.id, ids)

        assert "read its marks" in str(refused.value)


class TestOnceMore:
    """Last week's evening again: nobody types twelve names every Monday."""

    TODAY = date(2027, 3, 8)

    def test_it_has_the_same_apparatus_list_wishes_and_name(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            view = desk_rotation.rotation(session, TONIGHT)
            first, last = view.listed[3].id, view.listed[1].id
            asked = replace(view.asked, first=first, last=last, turns=2, rest_turns=1)
            before = desk_rotation.change_wishes(session, view, asked)
            again = desk_rotation.once_more(session, before, self.TODAY)

        assert (again.name, again.held_on) == ("Tonight, bars, girls 1", self.TODAY)
        assert again.id != before.id
        assert [member.id for member in again.listed] == [member.id for member in before.listed]
        assert (again.asked, list(again.pieces)) == (asked, list(before.pieces))

    def test_of_one_that_was_under_way_everybody_is_on_it_again(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            whole = desk_rotation.rotation(session, TONIGHT)
            desk_rotation.go_on_after(session, whole, 5)
            rest = desk_rotation.rotation(session, TONIGHT)
            again = desk_rotation.once_more(session, rest, self.TODAY)

        assert len(rest.listed) < len(whole.listed)
        assert {one.id for one in again.listed} == {one.id for one in whole.listed}
        assert (again.asked.had, again.asked.just_had, again.asked.places) == ((), (), ())

    def test_who_has_left_since_is_not_on_it(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            view = desk_rotation.rotation(session, TONIGHT)
            gone = view.listed[0].id
            athletes.leave(session, gone, today())
            again = desk_rotation.once_more(
                session, desk_rotation.rotation(session, TONIGHT), self.TODAY
            )

        assert [one.id for one in again.listed] == [one.id for one in view.listed[1:]]

    def test_a_second_press_gives_the_first_and_a_name_of_the_day_goes_with_the_day(
        self, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            view = desk_rotation.rotation(session, TONIGHT)
            plain = desk_rotation.add_rotation(
                session, "", date(2027, 3, 1), view.piece.id, [view.listed[0].id]
            )
            again = desk_rotation.once_more(session, plain, self.TODAY)
            desk_rotation.order_anew(session, again.id)
            twice = desk_rotation.once_more(session, plain, self.TODAY)

        assert (again.name, twice.id) == ("Bars by the window, 8 March 2027", again.id)


class TestOfADay:
    def test_each_is_as_it_is_on_its_own_page_the_first_made_first(
        self, demo_club: DemoClub
    ) -> None:
        """Today's page says what the rotation's page says."""
        with demo_club.work() as session:
            views = desk_rotation.on_day(session, today())
            alone = [desk_rotation.rotation(session, view.id) for view in views]

        assert [view.id for view in views] == [TONIGHT, PARALLEL_TONIGHT]
        assert views == alone


class TestADayToCome:
    """What stands there now says nothing of next week."""

    @pytest.fixture
    def planned(self, demo_club: DemoClub, tonight: RotationView) -> int:
        """The rotation of tonight for next week, from another setup than stands there now."""
        elsewhere = apparatus.as_if_at(tonight.piece, (3, 5, 4))
        with demo_club.work(writes=True) as session:
            view = desk_rotation.add_rotation(
                session,
                "",
                today() + timedelta(days=7),
                tonight.piece.id,
                [member.id for member in tonight.listed],
                at_hand={tonight.piece.id: elsewhere},
            )
            desk_rotation.keep_order(session, view, solve(view.problem))
            return view.id

    def test_it_begins_where_it_was_planned_however_it_is_changed(
        self, demo_club: DemoClub, planned: int, tonight: RotationView
    ) -> None:
        with demo_club.work(writes=True) as session:
            view = desk_rotation.rotation(session, planned)
            assert view.ordered is not None
            assert (view.ordered.outdated, view.ordered.best.lanes[0].start) == ("", (3, 5, 4))
            fewer = desk_rotation.change_list(session, view, [one.id for one in view.listed[:4]])
            changed = desk_rotation.order_anew(session, fewer.id)
            assert changed.ordered is not None
            assert changed.ordered.best.lanes[0].start == (3, 5, 4)
            assert apparatus.piece(session, view.piece.id).setup == tonight.piece.setup
            with pytest.raises(NotOneOrder):
                desk_rotation.go_on_after(session, view, 1)

    def test_begun_before_its_day_it_is_set_from_what_stands_there(
        self, demo_club: DemoClub, planned: int, tonight: RotationView
    ) -> None:
        with demo_club.work(writes=True) as session:
            run_id = desk_run.begin(session, planned, tonight.piece.id)
            assert desk_run.loaded(session, run_id).run.stands == tonight.piece.setup
