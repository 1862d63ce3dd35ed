"""A host prepares a meet: days, apparatus, sessions, entries, start orders and cards."""

from io import BytesIO

import pytest

from settingsdesk.desk import cards, meets, start_orders
from tests.cards.reading import page_texts, symbols
from tests.conftest import DemoClub
from tests.desk.meet_hall import BY, SmallMeet, hold
from tests.web.pages import Reader


@pytest.fixture
def held(demo_club: DemoClub) -> SmallMeet:
    return hold(demo_club)


class TestPreparingAMeet:
    def test_from_nothing_to_a_start_order(self, demo_pages: Reader) -> None:
        """The way of a host who has never held one here."""
        page = demo_pages.get("/meets/")
        assert "No meet yet" in page.text
        page = page.follow("Add a meet").send(
            "Add the meet", name="Lantern Cup", begins_on="2026-12-05", ends_on="2026-12-06"
        )
        assert page.heading == "Lantern Cup"
        assert "5 January 2027" in page.text
        page = page.follow("Say what stands there").send("It stands there", piece="1", level="")
        assert "Bars by the window" in page.text
        page = page.follow("Add a session").send(
            "Add the session", name="Juniors", held_on="2026-12-05", begins_at="09:30"
        )
        assert "Session 1: Juniors" in page.text
        page = page.follow("Entries").follow("Enter one of the squad")
        page = page.send("Enter the athlete", athlete="1", start_number="7")
        assert "is entered" in page.banners[0]
        page = page.follow("Back to Lantern Cup").follow("Set a start order of session 1: Juniors")
        page = page.send("Set the start order", number="1", apparatus="1", hands="2", order="7")
        assert page.heading == "Session 1: Juniors, rotation 1, Bars by the window"
        assert "typed in by Runa" in page.text

    @pytest.mark.parametrize(
        ("changed", "told"),
        [
            ({"name": ""}, "Enter the name of the meet"),
            ({"ends_on": "2026-12-01"}, "must not be before the first"),
            ({"cards_until": "2026-01-01"}, "must be from the meet's last day"),
            ({"begins_on": "soon"}, "must be a day"),
        ],
    )
    def test_what_cannot_be_is_said_and_nothing_typed_is_lost(
        self, demo_pages: Reader, changed: dict[str, str], told: str
    ) -> None:
        typed = {
            "name": "Cup",
            "hall": "Hall",
            "begins_on": "2026-12-05",
            "ends_on": "2026-12-06",
        } | changed
        page = demo_pages.get("/meets/new").send("Add the meet", **typed)
        assert page.status == 400
        assert told in " ".join(page.mistakes)
        assert page.having("value", typed["hall"])

    def test_an_apparatus_with_start_orders_stays(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        page = demo_pages.get(f"/meets/{held.meet_id}").send("Take away Bars by the window")
        assert page.status == 400
        assert "has start orders at this meet" in page.text


class TestEntries:
    def test_clubs_with_their_athletes_and_what_is_open(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        page = demo_pages.get(f"/meets/{held.meet_id}/entries")
        for wanted in ("Tarn Hollow GC: 2", "Osterkamp, Almira", "Wexlow Turners: 1"):
            assert wanted in page.text

    def test_one_is_entered_by_hand_and_then_given_a_setting(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        page = demo_pages.get(f"/meets/{held.meet_id}/entries/new").send(
            "Enter the athlete", given_name="Liv", family_name="Ravn", from_club="Wexlow Turners"
        )
        assert page.heading == "Ravn, Liv"
        assert "No setting" in demo_pages.get(f"/meets/{held.meet_id}/entries").text

    def test_a_request_to_raise_stands_on_the_entry_and_on_the_list(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        entry = held.guests[0].entry_id
        page = demo_pages.get(f"/meets/{held.meet_id}/entries/{entry}/raise")
        lacking = page.send("Record it", apparatus="1", step="asked", told_by="her coach")
        assert lacking.mistakes == ["Enter by how much"]
        page = page.send(
            "Record it", apparatus="1", step="asked", raise_mm="5", told_by="her coach"
        )
        assert "Rails raised by 5.0 cm: asked for by her coach" in page.text
        assert "not settled yet" in demo_pages.get(f"/meets/{held.meet_id}/entries/settle").text

    def test_withdrawn_and_entered_again(self, demo_pages: Reader, held: SmallMeet) -> None:
        entry = held.guests[0].entry_id
        page = demo_pages.get(f"/meets/{held.meet_id}/entries/{entry}").send("Withdraw the entry")
        assert "Withdrawn" in page.text
        assert "Withdrawn" in demo_pages.get(f"/start-orders/{held.rotation_id}").text
        assert "Entered" in page.send("Enter again").text

    def test_an_entry_of_another_meet_is_not_shown(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            other = meets.add_meet(session, BY, meets.meet(session, held.meet_id).facts)
        entry = held.guests[0].entry_id
        page = demo_pages.get(f"/meets/{other.id}/entries/{entry}")
        assert page.status == 400
        assert "no part of Lantern Cup" in page.text

    def test_every_marks_and_residuals_are_listed(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        page = demo_pages.get(f"/meets/{held.meet_id}/entries/settle")
        assert "On Bars by the window" in page.text
        assert "mm too" in page.text


class TestStartOrders:
    def test_lines_that_fit_nobody_or_several_are_told_and_nothing_is_lost(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            for club in ("One", "Other"):
                person = meets.Person("Ravn", "Liv")
                meets.enter_guest(session, BY, held.meet_id, person, club)
        typed = "11\nRavn Liv\nNobody At-All\nsunniva bellaquer\n11"
        page = demo_pages.get(f"/start-orders/sessions/{held.session_id}/new").send(
            "Set the start order", number="2", apparatus="1", hands="2", order=typed
        )
        assert page.status == 400
        told = " ".join(page.mistakes)
        for words in ("Line 2", "write the start number", "Line 3", "Line 5", "stands above"):
            assert words in told
        assert "Nobody At-All" in page.text

    def test_a_sheet_that_was_sent_is_taken_in_its_order(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        sheet = "Nr;Name;Vorname\n13;;\n;Osterkamp;Almira\n;Bellaquer;Sunniva\n"
        page = demo_pages.get(f"/start-orders/sessions/{held.session_id}/new").send(
            "Set the start order",
            number="2",
            apparatus="1",
            hands="1",
            order="",
            file=(BytesIO(sheet.encode()), "order.csv"),
        )
        assert "taken from a list by Runa" in page.text
        places = [page.text.index(name) for name in ("Halvardsen", "Osterkamp", "Bellaquer")]
        assert places == sorted(places)

    def test_a_lot_says_who_drew_and_when(self, demo_pages: Reader, held: SmallMeet) -> None:
        page = demo_pages.get(f"/start-orders/sessions/{held.session_id}/draw").send(
            "Draw it now", number="3", apparatus="1", hands="2"
        )
        assert "drawn by lot here by Runa" in page.text
        assert all(name in page.text for name in ("Osterkamp", "Bellaquer", "Halvardsen"))

    def test_up_is_the_jurys_and_counts_as_typed(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            ids = [guest.member.id for guest in held.guests]
            start_orders.draw(session, BY, held.session_id, 1, held.apparatus_id, ids)
            [line] = start_orders.of_meet(session, held.meet_id)
        page = demo_pages.get(f"/start-orders/{held.rotation_id}")
        last = line.athlete_ids[-1]
        name = next(one.member.listed_name for one in held.guests if one.member.id == last)
        moved = page.send(f"Up for {name}")
        assert "typed in by Runa" in moved.text
        with demo_club.work() as session:
            [after] = start_orders.of_meet(session, held.meet_id)
        assert after.athlete_ids[1] == last

    def test_the_rotations_page_leads_to_it_and_plans_nothing(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        page = demo_pages.get(f"/rotations/{held.rotation_id}")
        assert page.address.endswith(f"/start-orders/{held.rotation_id}")
        wishes = demo_pages.get(f"/rotations/{held.rotation_id}/wishes")
        assert wishes.status in (200, 400, 409)

    def test_taken_away_the_entries_stay(self, demo_pages: Reader, held: SmallMeet) -> None:
        page = demo_pages.get(f"/start-orders/{held.rotation_id}")
        page = page.send("Take this start order away")
        assert "Tarn Hollow GC" in page.text


class TestCards:
    def test_all_of_them_in_one_file_with_codes_that_open(
        self, demo_pages: Reader, held: SmallMeet, scanner: Reader
    ) -> None:
        page = demo_pages.get(f"/meets/{held.meet_id}/cards").send("Make the cards")
        assert page.heading == "Cards ready to print"
        assert "3 cards of Lantern Cup" in page.text
        pdf = demo_pages.client.get(page.links["Download the PDF"]).data
        assert "Almira O." in " ".join(page_texts(pdf))
        found = symbols(pdf, 200)
        assert len(found) == 3
        card = scanner.get("/C/" + found[0].rpartition("/")[2])
        assert "This card counts until 4 January 2027" in card.text

    def test_one_athletes_cards_anew(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        entry = held.guests[0]
        address = f"/meets/{held.meet_id}/entries/{entry.entry_id}"
        boxes = demo_pages.get(address).tree.iter("input")
        token = next(box for box in boxes if box.get("name") == "csrf_token").get("value")
        answer = demo_pages.client.post(
            f"/meets/{held.meet_id}/cards/entries/{entry.entry_id}",
            data={"csrf_token": token},
            follow_redirects=True,
        )
        assert answer.headers["Content-Type"] == "application/pdf"
        with demo_club.work() as session:
            assert len(cards.of_athlete(session, entry.member.id)) == 1

    def test_a_meet_without_anybody_says_what_is_missing(
        self, demo_pages: Reader, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        with demo_club.work(writes=True) as session:
            empty = meets.add_meet(session, BY, meets.meet(session, held.meet_id).facts)
        assert "needs apparatus and entries" in demo_pages.get(f"/meets/{empty.id}/cards").text
