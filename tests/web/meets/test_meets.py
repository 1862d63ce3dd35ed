"""A host prepares a meet: days, apparatus, sessions, entries, start orders and cards."""

import pytest

from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.meets import entries, start_orders
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.squad.athletes import Person
from tests.cards.reading import page_texts, symbols
from tests.conftest import DemoClub
from tests.desk.sample_meet import SmallMeet, another_meet, put_beam
from tests.web.pages import Reader


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
        page = page.follow("Add apparatus to this meet").send(
            "Add it to the meet",
            piece="1",
            rules="International, as quoted, senior (uneven bars, balance beam, horizontal bar,"
            " parallel bars, pommel horse, rings)",
        )
        assert "Bars by the window" in page.text
        assert "International, as quoted, senior" in page.text
        page = page.follow("Change the rules for Bars by the window")
        assert page.value("rules") == "International, as quoted, senior"
        page = page.follow("Back to Lantern Cup")
        page = page.follow("Add a session").send(
            "Add the session", name="Juniors", held_on="2026-12-05", begins_at="25:99"
        )
        assert page.links_of_mistakes == {
            "No day has '25:99': enter hours and minutes, as 09:30, or words": "#begins_at"
        }
        page = page.send("Add the session", begins_at="09:30")
        assert "Session 1: Juniors" in page.text
        page = page.follow("All entries").follow("Enter from the squad")
        page = page.send("Enter them", who=["1", "2"])
        assert page.banners == ["2 athletes are entered."]
        page = page.follow("Back to Lantern Cup").follow("Give out start numbers")
        page = page.send("Give them out", how="list", first="7")
        page = page.follow("Back to Lantern Cup").follow("Set a start order of session 1: Juniors")
        page = page.send("Set the start order", number="1", apparatus="1", hands="2", order="8\n7")
        assert page.heading == "Start order, session 1: Juniors, rotation 1, Bars by the window"
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

    def test_a_second_press_adds_nothing(self, demo_pages: Reader, held: SmallMeet) -> None:
        form = demo_pages.get("/meets/new")
        typed = {"name": "Cup", "begins_on": "2026-12-05", "ends_on": "2026-12-05"}
        pages = [form.send("Add the meet", **typed) for _ in range(2)]
        assert pages[0].address == pages[1].address
        form = pages[0].follow("Add a session")
        for _ in range(2):
            page = form.send("Add the session", name="", held_on="2026-12-05")
        assert "Session 1" in page.text
        assert "Session 2" not in page.text
        page = page.follow("Add a session").send("Add the session", held_on="2026-12-05")
        assert "Session 2" in page.text

    def test_days_that_leave_a_session_out_are_refused(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        form = demo_pages.get(f"/meets/{held.meet_id}").follow("Change the meet")
        page = form.send("Save the meet", begins_on="2026-12-06", ends_on="2026-12-07")
        assert page.status == 400
        assert "Session 1: Juniors would not be on a day" in " ".join(page.mistakes)

    def test_a_level_that_a_book_has_for_no_such_apparatus_is_refused(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        """Otherwise none of its rules would hold, and nobody would notice."""
        form = demo_pages.get(f"/meets/{held.meet_id}").follow("Add apparatus to this meet")
        rules = "International, as quoted, senior women (vault table)"
        page = form.send("Add it to the meet", piece="1", rules=rules)
        assert page.status == 400
        assert "has no level 'senior women'" in " ".join(page.mistakes)

    def test_the_sheet_for_the_clubs_has_what_stands_there_and_nothing_else(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        page = demo_pages.get(f"/meets/{held.meet_id}").follow("Apparatus sheet for the clubs")
        assert page.heading == "Apparatus of Main hall"
        assert "Hall frame A" in page.text
        assert "Bars by the door" not in page.text

    def test_an_apparatus_with_start_orders_stays(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        page = demo_pages.get(f"/meets/{held.meet_id}")
        page = page.follow("Change the rules for Bars by the window")
        page = page.send("Not at this meet (Bars by the window)")
        assert page.status == 400
        assert "has start orders at this meet" in page.text


class TestEntries:
    def test_clubs_with_their_athletes_and_what_is_open(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        page = demo_pages.get(f"/meets/{held.meet_id}/entries")
        for wanted in ("Tarn Hollow GC: 2", "Osterkamp, Almira", "Wexlow Turners: 1"):
            assert wanted in page.text

    def test_a_second_press_enters_nobody_of_the_squad_twice(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        form = demo_pages.get(f"/meets/{held.meet_id}/entries/squad")
        assert form.send("Enter them", who=[]).mistakes == ["Choose at least one athlete"]
        told = [form.send("Enter them", who=["1"], division="Juniors").banners for _ in range(2)]
        assert told[0][0].endswith("is entered.")
        assert told[1] == ["Whoever was chosen is entered already: nothing was changed."]
        page = demo_pages.get(f"/meets/{held.meet_id}/entries")
        assert "Quillmoor Gymnastics Club: 1" in page.text
        assert not page.follow("Enter from the squad").having("value", "1")

    def test_who_is_on_a_start_order_without_a_setting_is_to_be_settled(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        beam_id = put_beam(demo_club, held)
        with demo_club.work(writes=True) as session:
            listed = [held.guests[0].member.id]
            start_orders.set_new(
                session, start_orders.Place(held.session_id, 2, beam_id), listed, "typed"
            )
        page = demo_pages.get(f"/meets/{held.meet_id}/entries/settle")
        assert "no setting for balance beam is entered" in page.text
        assert "On Beam by the stage" in page.text
        name = held.guests[0].member.listed_name
        of_club = page.send("Show", club=held.guests[0].from_club)
        assert of_club.heading == f"Open questions before the meet: {held.guests[0].from_club}"
        assert "no setting for balance beam is entered" in of_club.text
        form = of_club.follow(f"Enter another setting of {name} for Beam by the stage")
        assert form.heading.startswith("Setting of")

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
        assert "Bars by the window: Not settled yet: a request by her coach of" in page.text
        assert "Not settled yet" in demo_pages.get(f"/meets/{held.meet_id}/entries/settle").text

    def test_granted_it_asks_whether_the_marks_include_it(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        """A rail is set by them: nobody is left to guess."""
        entry = held.guests[0].entry_id
        address = f"/meets/{held.meet_id}/entries/{entry}/raise"
        told = {"apparatus": "1", "told_by": "the jury"}
        demo_pages.get(address).send("Record it", step="asked", raise_mm="5", **told)
        lacking = demo_pages.get(address).send("Record it", step="granted", **told)
        assert lacking.mistakes == ["Choose whether the marks include it: a rail is set by them"]
        lacking.send("Record it", step="granted", marks_include="yes", **told)
        sheet = demo_pages.get(f"/crew-sheets/{held.rotation_id}").text
        assert "granted by the jury" in sheet
        assert "These marks include it" in sheet

    def test_withdrawn_and_entered_again(self, demo_pages: Reader, held: SmallMeet) -> None:
        entry = held.guests[0].entry_id
        page = demo_pages.get(f"/meets/{held.meet_id}/entries/{entry}").send("Scratch the entry")
        assert "Scratched" in page.text
        assert "Scratched" in demo_pages.get(f"/start-orders/{held.rotation_id}").text
        assert "Entered" in page.send("Enter again").text

    def test_withdrawn_in_the_middle_it_is_said_where_that_has_come_through(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            desk_run.begin(session, held.rotation_id, held.apparatus_id)
        page = demo_pages.get(f"/meets/{held.meet_id}/entries/{held.guests[1].entry_id}")
        page = page.send("Scratch the entry")
        assert page.banners[1] == (
            "Not here from now on: Bars by the window. Tell who works there."
        )

    def test_before_that_the_start_orders_are_named_on_which_the_name_still_stands(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        page = demo_pages.get(f"/meets/{held.meet_id}/entries/{held.guests[1].entry_id}")
        page = page.send("Scratch the entry")
        assert "Session 1: Juniors, rotation 1, Bars by the window" in page.banners[1]

    def test_the_page_of_a_guest_has_the_entry_and_leads_back_to_it(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        page = demo_pages.get(f"/athletes/{held.guests[0].member.id}")
        assert "Entered for Lantern Cup" in page.text
        assert "Tarn Hollow GC, number 11" in page.text
        assert "Start number" not in page.text
        page = page.follow("Back to the entries for Lantern Cup")
        assert page.heading == "Entries for Lantern Cup"

    def test_an_entry_of_another_meet_is_not_shown(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            other = another_meet(session, held)
        entry = held.guests[0].entry_id
        page = demo_pages.get(f"/meets/{other.id}/entries/{entry}")
        assert page.status == 400
        assert "no part of Other Cup" in page.text

    def test_every_marks_and_residuals_are_listed(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        page = demo_pages.get(f"/meets/{held.meet_id}/entries/settle")
        assert "On Bars by the window" in page.text
        assert "0.4 cm too high" in page.text


class TestStartNumbers:
    def test_whoever_has_none_gets_one_that_nobody_has(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            for given in ("Liv", "Ilse"):
                person = Person("Ravn", given)
                entries.enter_guest(session, held.meet_id, person, "Wexlow Turners")
        page = demo_pages.get(f"/meets/{held.meet_id}").follow("Give out start numbers")
        page = page.send("Give them out", how="list", first="12")
        assert page.banners == ["2 start numbers were given out, 14 to 15, as listed."]
        assert "Give out start numbers" not in demo_pages.get(f"/meets/{held.meet_id}").links
        again = demo_pages.get(f"/meets/{held.meet_id}/numbers")
        assert "Everybody who comes has" in " ".join(again.send("Give them out").mistakes)

    def test_all_anew_by_lot(self, demo_pages: Reader, held: SmallMeet) -> None:
        form = demo_pages.get(f"/meets/{held.meet_id}/numbers")
        page = form.send("Give them out", how="lot", first="201", anew="y")
        assert page.banners == ["3 start numbers were given out, 201 to 203, drawn at random."]

    def test_one_that_several_have_is_told(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            guest = held.guests[0]
            entries.change_entry(session, guest.entry_id, guest.from_club, "12", "")
        assert "Start number 12: several" in demo_pages.get(f"/meets/{held.meet_id}").text


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
        card = scanner.get("/C/" + found[0].partition("/C/")[2])
        assert "This card counts until 4 January 2027" in card.text

    def test_of_whom_none_is_expected_stands_apart(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        put_beam(demo_club, held)
        page = demo_pages.get(f"/meets/{held.meet_id}/cards").send("Make the cards")
        assert "4 cards of Lantern Cup" in page.text
        assert "No card expected: 2 without a setting" in page.text
        assert "No card for these" not in page.text

    def test_what_changed_since_it_was_printed_is_one_press_away(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        address = f"/meets/{held.meet_id}/cards"
        demo_pages.get(address).send("Make the cards")
        assert "Papers that are out of date" not in demo_pages.get(address).text
        guest = held.guests[1]
        with demo_club.work(writes=True) as session:
            entries.change_entry(session, guest.entry_id, guest.from_club, "77", "")

        page = demo_pages.get(address)
        assert "1 card no longer says what counts" in page.text
        answer = page.send("Print those that changed").response
        assert answer.headers["Content-Type"] == "application/pdf"
        told = " ".join(page_texts(answer.data))
        assert "Sunniva B." in told
        assert "Almira O." not in told
        assert "Papers that are out of date" not in demo_pages.get(address).text

    def test_one_athletes_cards_anew(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        entry = held.guests[0]
        address = f"/meets/{held.meet_id}/entries/{entry.entry_id}"
        token = demo_pages.get(address).token
        answer = demo_pages.client.post(
            f"/meets/{held.meet_id}/cards/entries/{entry.entry_id}",
            data={"csrf_token": token},
            follow_redirects=True,
        )
        assert answer.headers["Content-Type"] == "application/pdf"
        with demo_club.work() as session:
            assert len(desk_issued.of_athlete(session, entry.member.id)) == 1

    def test_a_meet_without_anybody_says_what_is_missing(
        self, demo_pages: Reader, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        with demo_club.work(writes=True) as session:
            empty = another_meet(session, held)
        assert "needs apparatus and entries" in demo_pages.get(f"/meets/{empty.id}/cards").text
