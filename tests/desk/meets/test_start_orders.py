"""A meet's start order: kept as it was typed, imported or drawn, and carried out as it stands."""

from dataclasses import replace
from datetime import timedelta

import pytest

from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.meets import entries, meets, start_orders
from settingsdesk.desk.meets.refusals import (
    NobodyDrawn,
    NoSuchRotationNumber,
    NotAStartOrder,
    NotEntered,
    NotOnTheOrder,
    OrderIsSet,
    RotationUnderWay,
)
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.rotations.rotation import ListedTwice, NobodyListed
from settingsdesk.desk.rotations.view import OrderIsDrawn
from settingsdesk.desk.runs import rest as desk_rest
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.squad import athletes
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.domain.changeover.happenings import AllDone, NotHere, Rechecked, TurnOver
from tests.conftest import DemoClub
from tests.desk.sample_meet import BY, SmallMeet, hold, set_anew


def ids(held: SmallMeet) -> list[int]:
    return [guest.member.id for guest in held.guests]


class TestSettingIt:
    def test_it_is_kept_as_it_came(self, demo_club: DemoClub) -> None:
        held = hold(demo_club)
        with demo_club.work(writes=True) as session:
            backwards = ids(held)[::-1]
            set_anew(session, held.rotation_id, backwards, "imported")
            [line] = start_orders.orders_at(session, meets.meet(session, held.meet_id))

        assert list(line.athlete_ids) == backwards
        assert (line.in_words, line.came_by) == ("Session 1: Juniors, rotation 1", "imported")

    def test_a_lot_draws_everybody_and_says_that_it_did(self, demo_club: DemoClub) -> None:
        held = hold(demo_club)
        with demo_club.work(writes=True) as session:
            line = start_orders.draw(
                session, start_orders.Place(held.session_id, 2, held.apparatus_id), ids(held)
            )
            there = start_orders.at_station(session, held.session_id, held.apparatus_id)

        assert sorted(line.athlete_ids) == sorted(ids(held))
        assert (line.came_by, line.set_by) == ("drawn", BY)
        assert [one.number for one in there] == [1, 2]

    def test_what_cannot_be_is_refused(self, demo_club: DemoClub) -> None:
        held = hold(demo_club)
        one, two, _ = ids(held)
        with demo_club.work(writes=True) as session:
            stranger = athletes.add(session, Person("Ravn", "Liv")).id
            entries.withdraw_entry(session, held.guests[1].entry_id)
            place = start_orders.Place(held.session_id, 2, held.apparatus_id)
            for listed, refusal in (
                ([], NobodyListed),
                ([one, one], ListedTwice),
                ([stranger], NotEntered),
            ):
                with pytest.raises(refusal):
                    start_orders.set_new(session, place, listed, "typed")
                with pytest.raises(refusal):
                    set_anew(session, held.rotation_id, listed)
            with pytest.raises(NotEntered):
                start_orders.set_new(session, place, [two], "typed")
            place = start_orders.Place(held.session_id, 99, held.apparatus_id)
            with pytest.raises(NoSuchRotationNumber):
                start_orders.set_new(session, place, [one], "typed")

    def test_who_has_no_setting_yet_is_listed_and_named(self, demo_club: DemoClub) -> None:
        """Entries come late; the order is the jury's all the same."""
        held = hold(demo_club)
        with demo_club.work(writes=True) as session:
            late = entries.enter_guest(session, held.meet_id, Person("Ravn", "Liv"), "Wexlow")
            listed = [*ids(held), late.member.id]
            set_anew(session, held.rotation_id, listed)
            order = start_orders.start_order(session, held.rotation_id)

        assert [one.member.listed_name for one in order.without] == ["Ravn, Liv"]
        assert order.view.ordered is None

    def test_a_lot_that_was_drawn_is_not_drawn_again(self, demo_club: DemoClub) -> None:
        """Or somebody could press until the order pleases."""
        held = hold(demo_club)
        with demo_club.work(writes=True) as session:
            place = (held.session_id, 2, held.apparatus_id)
            first = start_orders.draw(session, start_orders.Place(*place), ids(held))
            again = start_orders.draw(session, start_orders.Place(*place), reversed(ids(held)))
            assert again == first
            with pytest.raises(OrderIsSet):
                start_orders.draw(session, start_orders.Place(*place), ids(held)[:2])
            with pytest.raises(NobodyDrawn):
                start_orders.draw(session, start_orders.Place(*place), [])

    def test_taking_off_who_withdrew_leaves_a_lot_a_lot(self, demo_club: DemoClub) -> None:
        held = hold(demo_club)
        with demo_club.work(writes=True) as session:
            place = (held.session_id, 2, held.apparatus_id)
            drawn = start_orders.draw(session, start_orders.Place(*place), ids(held))
            entries.withdraw_entry(session, held.guests[1].entry_id)
            left = start_orders.take_off_withdrawn(session, drawn.rotation_id)

        gone = held.guests[1].member.id
        assert left.athlete_ids == tuple(one for one in drawn.athlete_ids if one != gone)
        assert (left.came_by, left.set_by, left.set_at) == ("drawn", BY, drawn.set_at)

    def test_where_nobody_would_stay_it_is_taken_away_instead(self, demo_club: DemoClub) -> None:
        held = hold(demo_club)
        with demo_club.work(writes=True) as session:
            for guest in held.guests:
                entries.withdraw_entry(session, guest.entry_id)
            with pytest.raises(NobodyListed):
                start_orders.take_off_withdrawn(session, held.rotation_id)

    def test_nobody_is_moved_beyond_its_ends(self, demo_club: DemoClub) -> None:
        held = hold(demo_club)
        with demo_club.work(writes=True) as session:
            line = start_orders.start_order(session, held.rotation_id).line
            for athlete_id, place in ((ids(held)[0], 0), (ids(held)[0], 4), (1, 1)):
                with pytest.raises(NotOnTheOrder):
                    start_orders.move(session, held.rotation_id, athlete_id, place, line.seen)

    def test_other_hands_leave_a_lot_a_lot(self, demo_club: DemoClub) -> None:
        held = hold(demo_club)
        with demo_club.work(writes=True) as session:
            drawn = start_orders.draw(
                session, start_orders.Place(held.session_id, 2, held.apparatus_id), ids(held)
            )
            number, same = drawn.rotation_id, drawn.athlete_ids
            after = start_orders.change_order(session, number, same, "typed", 4, drawn.seen)
            hands = start_orders.start_order(session, number).view.asked.hands

        assert (after, hands) == (drawn, 4)

    def test_it_goes_with_its_meet_and_session(self, demo_club: DemoClub) -> None:
        """A session on another day: the run and the cards must not be of the old one."""
        held = hold(demo_club)
        with demo_club.work(writes=True) as session:
            facts = meets.meet(session, held.meet_id).facts
            later = facts.ends_on + timedelta(days=1)
            meets.change_meet(
                session, held.meet_id, replace(facts, name="Other Cup", ends_on=later)
            )
            meets.change_session(session, held.session_id, "Juniors", later)
            view = start_orders.start_order(session, held.rotation_id).view

        assert view.held_on == later
        assert view.name == "Other Cup, session 1, rotation 1, Bars by the window"

    def test_it_can_be_taken_away_until_it_is_begun(self, demo_club: DemoClub) -> None:
        held = hold(demo_club)
        with demo_club.work(writes=True) as session:
            assert start_orders.take_away(session, held.rotation_id) == held.session_id
            assert start_orders.orders_at(session, meets.meet(session, held.meet_id)) == []

    def test_the_clubs_own_rotations_are_none(self, demo_club: DemoClub) -> None:
        with demo_club.work() as session, pytest.raises(NotAStartOrder):
            start_orders.start_order(session, 1)


class TestNothingRearrangesIt:
    def test_it_stands_beside_no_plan_and_in_no_list_of_the_clubs_own(
        self, demo_club: DemoClub
    ) -> None:
        held = hold(demo_club)
        with demo_club.work() as session:
            view = start_orders.start_order(session, held.rotation_id).view
            own = [line.id for line in desk_rotation.recent(session)]

        assert view.ordered is not None
        turns = view.ordered.best.lanes[0].turns
        assert [turn.member.id for turn in turns] == ids(held)
        assert held.rotation_id not in own

    def test_no_way_of_planning_touches_it(self, demo_club: DemoClub) -> None:
        held, number = hold(demo_club), 0
        with demo_club.work(writes=True) as session:
            number = held.rotation_id
            for way in (
                lambda: desk_rotation.order_anew(session, number),
                lambda: desk_rotation.change_list(
                    session, desk_rotation.rotation(session, number), ids(held)[:1]
                ),
                lambda: desk_rotation.change_wishes(
                    session, desk_rotation.rotation(session, number), OrderRequest(hands=4)
                ),
                lambda: desk_rotation.keep_places(
                    session, desk_rotation.rotation(session, number), [1]
                ),
                lambda: desk_rotation.go_on_after(
                    session, desk_rotation.rotation(session, number), 1
                ),
            ):
                with pytest.raises(OrderIsDrawn):
                    way()

    def test_who_is_scratched_leaves_the_others_in_their_order(self, demo_club: DemoClub) -> None:
        held = hold(demo_club)
        first, second, third = ids(held)
        with demo_club.work(writes=True) as session:
            run_id = desk_run.begin(session, held.rotation_id, held.apparatus_id)
            for what in (AllDone(), Rechecked(alone=True), TurnOver(), NotHere(second)):
                seen = desk_run.run(session, run_id)
                desk_run.confirm(session, run_id, seen.number, what)
            assert desk_rest.rest(session, desk_run.loaded(session, run_id)) is None
            now = desk_run.run(session, run_id).run

        assert [turn.athlete_id for turn in now.turns] == [third]
        assert now.over[0].turn.athlete_id == first

    def test_whose_entry_was_withdrawn_is_not_here_from_the_beginning(
        self, demo_club: DemoClub
    ) -> None:
        held = hold(demo_club)
        first, _, third = ids(held)
        with demo_club.work(writes=True) as session:
            entries.withdraw_entry(session, held.guests[1].entry_id)
            run_id = desk_run.begin(session, held.rotation_id, held.apparatus_id)
            now = desk_run.run(session, run_id).run

        assert [turn.athlete_id for turn in now.turns] == [first, third]
        assert [turn.athlete_id for turn in now.away] == [ids(held)[1]]

    def test_once_begun_it_is_changed_at_the_apparatus_only(self, demo_club: DemoClub) -> None:
        held = hold(demo_club)
        with demo_club.work(writes=True) as session:
            desk_run.begin(session, held.rotation_id, held.apparatus_id)
            with pytest.raises(RotationUnderWay):
                start_orders.draw(
                    session,
                    start_orders.Place(held.session_id, 1, held.apparatus_id),
                    ids(held),
                )
            with pytest.raises(RotationUnderWay):
                start_orders.take_away(session, held.rotation_id)

    def test_before_the_marks_are_known_there_is_nothing_to_carry_out(
        self, demo_club: DemoClub
    ) -> None:
        held = hold(demo_club)
        with demo_club.work(writes=True) as session:
            piece = apparatus.piece(session, held.apparatus_id)
            apparatus.record_at(session, piece, None, "moved by somebody")
            assert start_orders.start_order(session, held.rotation_id).view.ordered is None
