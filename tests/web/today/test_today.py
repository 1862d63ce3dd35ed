"""Today: what is asked for first when a coach comes into the hall."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from sqlalchemy import select

from settingsdesk.desk.checks import findings
from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import apparatus, mats_of_day
from settingsdesk.desk.meets import entries, meets, start_orders
from settingsdesk.desk.meets.facts import MeetFacts
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.store.apparatus import ApparatusSetup
from settingsdesk.store.rotations import Rotation
from settingsdesk.web.frame.shown import day
from tests.conftest import DemoClub
from tests.web.pages import Page, Reader
from tests.web.squad.test_athletes import pictures


@pytest.fixture
def first_page(demo_pages: Reader) -> Page:
    return demo_pages.get("/")


class TestToday:
    def test_the_rotations_of_the_day_come_first(self, first_page: Page) -> None:
        text = first_page.text

        assert text.index(f"Rotations of {day(today())}") < text.index("Tonight, bars, girls 1")
        assert text.index("Tonight, bars, girls 1") < text.index("Present marks")

    def test_other_mats_of_the_day_are_said_beside_the_heights_from_the_floor(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            mats_of_day.lie_on(session, 1, today(), 100)

        page = demo_pages.get("/")

        assert "! Other mats Above the mat, with 10.0 cm more mat than usual today" in page.text
        assert page.text.count("Other mats") == 1

    def test_every_apparatus_is_drawn_small_beside_its_marks_and_says_the_same_in_words(
        self, first_page: Page
    ) -> None:
        told = pictures(first_page)
        low, high, spread = "low rail height mark 5", "high rail height mark 5", "spread mark 170.0"

        assert f"End view of uneven bars: {low}; {high}; rail {spread}." in told
        assert len(told) == len(set(told)) > 7

    def test_a_rotation_is_one_press_away(self, first_page: Page) -> None:
        page = first_page.follow("Tonight, bars, girls 1")

        assert page.heading == "Tonight, bars, girls 1"

    def test_every_apparatus_of_a_rotation_on_several_wants_its_check(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """Not only the first that it is held on."""
        with demo_club.work(writes=True) as session:
            view = desk_rotation.rotation(session, 1)
            other = next(
                piece
                for piece in apparatus.pieces_of_kind(session, view.piece.model.kind.key)
                if piece.id != view.piece.id and piece.setup
            )
            asked = replace(view.asked, apparatus=(other.id,))
            desk_rotation.change_wishes(session, view, asked)

        text = demo_pages.get("/").text
        for piece in (view.piece, other):
            assert f"No check before use today of {piece.name}" in text

    def test_an_apparatus_with_a_run_under_way_wants_its_check_whatever_day_it_is_of(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """A run of last evening goes on: somebody goes up there today."""
        demo_pages.get("/rotations/1").send("Take it to the bars")
        with demo_club.work(writes=True) as session:
            for row in session.scalars(select(Rotation)):
                row.held_on = today() - timedelta(days=1)

        page = demo_pages.get("/")

        assert "No check before use today of Bars by the window" in page.text

    def test_rotations_of_other_days_are_in_their_room(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            view = desk_rotation.rotation(session, 1)
            for name, days in (("The day before", -1), ("The day after", 1)):
                desk_rotation.add_rotation(
                    session,
                    name,
                    today() + timedelta(days),
                    view.piece.id,
                    [view.listed[0].id],
                )

        assert "The day " not in demo_pages.get("/").text
        room = demo_pages.get("/rotations/").text
        assert room.index("The day after") < room.index("Tonight") < room.index("The day before")

    def test_every_apparatus_says_its_marks_axis_by_axis(self, first_page: Page) -> None:
        assert "Bars by the window Uneven bars, Main hall, north side" in first_page.text
        assert (
            "Low rail height 5 by tape 170.4 cm High rail height 5 by tape 249.7 cm Rail spread"
            " mark 170.0 by tape 169.7 cm since "
        ) in first_page.text

    def test_what_was_recorded_on_another_day_says_the_day(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """A time alone would make an old setup look fresh."""
        with demo_club.work(writes=True) as session:
            beam = next(one for one in apparatus.all_pieces(session) if "Beam" in one.name)
            fresh = apparatus.add_piece(session, "Spare beam", "", beam.model_id, 0)
            assert beam.stood_at is not None
            session.add(
                ApparatusSetup(
                    apparatus_id=fresh.id,
                    stops=[0],
                    recorded_by="Runa",
                    how="read off",
                    stood_at=beam.stood_at - timedelta(days=40),
                )
            )

        text = demo_pages.get("/").text.split("Present marks")[-1].split("Spare beam")[1]
        assert text.split("since ")[1].startswith(day(today() - timedelta(days=40)))

    def test_where_nobody_knows_it_leads_to_recording_it(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            beam = next(one for one in apparatus.all_pieces(session) if "Beam" in one.name)
            apparatus.add_piece(session, "Spare beam", "", beam.model_id, 0)

        page = demo_pages.get("/")

        assert "Spare beam Balance beam ! Not known" in page.text
        form = page.follow("Record it for Spare beam")
        assert form.heading == "Record the present marks of Spare beam"
        back = form.send("Record these marks", beam="100")
        assert back.heading == "Today"
        assert back.banners == ["The present marks of Spare beam are recorded."]

    def test_a_desk_with_nothing_on_it_says_how_to_begin(self, pages: Reader) -> None:
        page = pages.get("/")

        assert page.links["1. Add a model"] == "/apparatus/models/new"
        assert page.links["3. Add the squad"] == "/sheets/"
        assert "Plan a rotation" not in page.links

    def test_where_apparatus_and_squad_are_there_nothing_is_said_of_beginning(
        self, first_page: Page
    ) -> None:
        assert "First steps" not in first_page.text


class TestNumbersInAddresses:
    @pytest.mark.parametrize("number", ["9223372036854775808", "1" * 5000])
    @pytest.mark.parametrize("room", ["athletes", "apparatus", "rotations", "cards"])
    def test_a_number_that_no_row_can_have_is_no_page(
        self, demo_pages: Reader, room: str, number: str
    ) -> None:
        assert demo_pages.get(f"/{room}/{number}").status == 404


class TestAMeetOfToday:
    def test_leads_to_its_rotations_and_stations(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            meet = meets.add_meet(session, _cup(today()))
            part = meets.add_session(session, meet.id, "Juniors", today(), "09:30")
            meets.put_apparatus(session, meet.id, 1)
            guest = entries.enter_guest(session, meet.id, Person("Ravn", "Liv"), "Wexlow")
            ids = [guest.member.id]
            start_orders.set_new(session, start_orders.Place(part.id, 1, 1), ids, "typed")

        page = demo_pages.get("/")
        assert "Bars by the window Session 1: Juniors, 09:30 Rotation 1" in page.text
        at = "for Bars by the window, session 1: Juniors"
        assert page.follow(f"Not open {at}").heading.startswith("Stations")
        order = page.follow("Rotation 1 on Bars by the window, session 1: Juniors")
        assert order.heading == "Start order, session 1: Juniors, rotation 1, Bars by the window"

    def test_a_rotation_that_was_ended_with_turns_left_is_not_over(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """Where the apparatus broke, these athletes still wait for their turn."""
        with demo_club.work(writes=True) as session:
            meet = meets.add_meet(session, _cup(today()))
            part = meets.add_session(session, meet.id, "Juniors", today(), "09:30")
            meets.put_apparatus(session, meet.id, 1)
            guest = entries.enter_guest(session, meet.id, Person("Ravn", "Liv"), "Wexlow")
            place = start_orders.Place(part.id, 1, 1)
            order = start_orders.set_new(session, place, [guest.member.id], "typed")
            desk_run.end(session, desk_run.begin(session, order.rotation_id, 1))
            findings.add_finding(session, 1, "A cable frays", withdraws=True, press_key="p")

        page = demo_pages.get("/")
        assert "All are over" not in page.text
        assert "Turns not taken on Bars by the window: Liv R." in page.text
        page = page.follow("Turns not taken on Bars by the window")
        assert "1 turn is left here: Ravn, Liv" in page.text

    def test_of_another_day_is_only_named_as_the_next(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            meets.add_meet(session, _cup(today() + timedelta(days=1)))

        text = demo_pages.get("/").text
        assert "The next meet Lantern Cup: tomorrow" in text
        assert "At the apparatus of Lantern Cup" not in text


def _cup(held_on: date) -> MeetFacts:
    until = MeetFacts.usual_end_of_cards(held_on)
    return MeetFacts("Lantern Cup", "Main hall", held_on, held_on, until)
