"""A host prepares a meet: days, apparatus, sessions, entries, start orders and cards."""

import re
from dataclasses import replace
from io import BytesIO

import pytest
from sqlalchemy.orm import Session

from settingsdesk.desk import cards, meets, start_orders
from tests.cards.reading import page_texts, symbols
from tests.conftest import DemoClub
from tests.desk.meet_hall import BY, SmallMeet, hold
from tests.web.pages import Reader


@pytest.fixture
def held(demo_club: DemoClub) -> SmallMeet:
    return hold(demo_club)


def _another_meet(session: Session, held: SmallMeet) -> meets.Meet:
    facts = meets.meet(session, held.meet_id).facts
    return meets.add_meet(session, BY, replace(facts, name="Other Cup"))


def _order(club: DemoClub, rotation_id: int) -> tuple[int, ...]:
    with club.work() as session:
        return start_orders.start_order(session, rotation_id).line.athlete_ids


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
        page = page.follow("Say what stands there").send(
            "It stands there", piece="1", rules="International, as quoted, senior"
        )
        assert "Bars by the window" in page.text
        assert "International, as quoted, senior" in page.text
        page = page.follow("Change the rules for Bars by the window")
        assert page.value("rules") == "International, as quoted, senior"
        page = page.follow("Back to Lantern Cup")
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
        form = demo_pages.get(f"/meets/{held.meet_id}").follow("Change days")
        page = form.send("Save the meet", begins_on="2026-12-06", ends_on="2026-12-07")
        assert page.status == 400
        assert "Session 1: Juniors would not be on a day" in " ".join(page.mistakes)

    def test_a_level_that_a_book_has_for_no_such_apparatus_is_refused(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        """Otherwise none of its rules would hold, and nobody would notice."""
        form = demo_pages.get(f"/meets/{held.meet_id}").follow("Say what stands there")
        rules = "International, as quoted, senior women"
        page = form.send("It stands there", piece="1", rules=rules)
        assert page.status == 400
        assert "has no level 'senior women'" in " ".join(page.mistakes)

    def test_an_apparatus_with_start_orders_stays(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        page = demo_pages.get(f"/meets/{held.meet_id}")
        page = page.follow("Change the rules for Bars by the window")
        page = page.send("It does not stand there (Bars by the window)")
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
            other = _another_meet(session, held)
        entry = held.guests[0].entry_id
        page = demo_pages.get(f"/meets/{other.id}/entries/{entry}")
        assert page.status == 400
        assert "no part of Other Cup" in page.text

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
            drawn = start_orders.draw(session, BY, held.session_id, 2, held.apparatus_id, ids)
        page = demo_pages.get(f"/start-orders/{drawn.rotation_id}")
        assert "drawn by lot here" in page.text
        last = drawn.athlete_ids[-1]
        name = next(one.member.listed_name for one in held.guests if one.member.id == last)
        moved = page.send(f"Up for {name}")
        assert "typed in by Runa" in moved.text
        assert _order(demo_club, drawn.rotation_id)[1] == last

    def test_a_second_press_of_up_moves_nobody_further(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        page = demo_pages.get(f"/start-orders/{held.rotation_id}")
        for _ in range(2):
            assert page.send("Up for Halvardsen, Noor").status == 200
        assert _order(demo_club, held.rotation_id).index(held.guests[2].member.id) == 1

    def test_two_coaches_at_once_do_not_undo_each_other_unseen(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        """The second one's page shows an order that is no more."""
        page = demo_pages.get(f"/start-orders/{held.rotation_id}")
        edited = page.follow("Change the order")
        page.send("Down for Osterkamp, Almira")
        late = page.send("Up for Halvardsen, Noor")
        assert late.status == 409
        assert "was changed meanwhile by Runa" in late.text
        typed = edited.send("Save the start order", order="13\n12\n11")
        assert typed.status == 400
        assert "was changed meanwhile by Runa" in typed.text
        assert typed.value("order").split() == ["13", "12", "11"]
        before = [guest.member.id for guest in held.guests]
        assert _order(demo_club, held.rotation_id) == (before[1], before[0], before[2])

    def test_it_is_changed_line_by_line_from_what_stands(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        page = demo_pages.get(f"/start-orders/{held.rotation_id}").follow("Change the order")
        lines = page.value("order").splitlines()
        assert lines[0] == "11 Osterkamp, Almira"
        page = page.send("Save the start order", order="\n".join(lines[::-1]))
        places = [page.text.index(name) for name in ("Halvardsen", "Bellaquer", "Osterkamp")]
        assert places == sorted(places)

    def test_whoever_withdrew_hinders_no_change_and_can_be_taken_off(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            meets.withdraw_entry(session, BY, held.guests[1].entry_id)
        page = demo_pages.get(f"/start-orders/{held.rotation_id}")
        page = page.send("Down for Osterkamp, Almira")
        assert "Withdrawn since the order was set" in page.text
        edited = page.follow("Change the order")
        assert "Bellaquer" not in edited.value("order")
        page = page.send("Take whoever withdrew off the order")
        first, _, third = (guest.member.id for guest in held.guests)
        assert _order(demo_club, held.rotation_id) == (first, third)
        assert "Withdrawn" not in page.text

    def test_one_that_is_set_is_not_replaced_by_another_press(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        """Neither by a lot that somebody else draws, nor by typing it at the wrong rotation."""
        place = {"number": "1", "apparatus": "1", "hands": "2"}
        form = demo_pages.get(f"/start-orders/sessions/{held.session_id}/draw")
        assert form.value("number") == "2"
        refused = form.send("Draw it now", **place)
        assert refused.status == 400
        assert "has a start order already, typed in by Runa" in " ".join(refused.mistakes)
        form = demo_pages.get(f"/start-orders/sessions/{held.session_id}/new")
        assert form.send("Set the start order", order="12\n11", **place).status == 400
        assert form.send("Set the start order", order="11\n12\n13", **place).status == 200
        assert len(_order(demo_club, held.rotation_id)) == 3

    def test_a_lot_is_drawn_once_however_often_it_is_pressed(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        form = demo_pages.get(f"/start-orders/sessions/{held.session_id}/draw")
        first = form.send("Draw it now", number="2", apparatus="1", hands="2")
        again = form.send("Draw it now", number="2", apparatus="1", hands="2")
        names = "Osterkamp|Bellaquer|Halvardsen"
        assert re.findall(names, again.text) == re.findall(names, first.text)

    def test_a_lot_among_nobody_says_what_to_tick(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            guest = held.guests[0]
            meets.change_entry(session, guest.entry_id, guest.from_club, "11", "Juniors")
        page = demo_pages.get(f"/start-orders/sessions/{held.session_id}/draw").send(
            "Draw it now",
            number="2",
            apparatus="1",
            hands="2",
            clubs=["Wexlow Turners"],
            divisions=["Juniors"],
        )
        assert page.status == 400
        assert page.links_of_mistakes == {
            "Nobody who is entered is of what was ticked: tick other clubs or divisions": (
                "#clubs-0"
            )
        }

    def test_a_sheet_with_faults_comes_back_as_lines_to_put_right(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        form = demo_pages.get(f"/start-orders/sessions/{held.session_id}/new")
        page = form.send(
            "Set the start order",
            number="2",
            apparatus="1",
            hands="2",
            order="",
            file=(BytesIO(b"Bib;Name\n13;\n;Nobody Known\n11;"), "order.csv"),
        )
        assert "Line 2, 'Nobody Known'" in " ".join(page.mistakes)
        assert page.value("order").split("\n") == ["13", "Nobody Known", "11"]
        page = page.send("Set the start order", order="13\n11")
        assert "typed in by Runa" in page.text

    @pytest.mark.parametrize(
        ("sent", "told"),
        [
            ({"order": "11", "file": (b"Bib\n11", "order.csv")}, "not both"),
            ({"order": "", "file": (b"%PDF-1.7 nothing", "order.csv")}, "order.csv"),
            ({"order": " \n"}, "Enter who starts"),
            ({"order": "", "file": (b"Bib;Name\n", "order.csv")}, "Enter who starts"),
        ],
    )
    def test_what_cannot_be_taken_is_told_beside_its_field(
        self, demo_pages: Reader, held: SmallMeet, sent: dict[str, object], told: str
    ) -> None:
        values = dict(sent)
        if "file" in values:
            content, name = values["file"]
            values["file"] = (BytesIO(content), name)
        form = demo_pages.get(f"/start-orders/sessions/{held.session_id}/new")
        page = form.send("Set the start order", number="2", apparatus="1", hands="2", **values)
        assert page.status == 400
        assert told in " ".join(page.mistakes)

    def test_once_begun_it_leads_to_the_apparatus(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        page = demo_pages.get(f"/start-orders/{held.rotation_id}")
        page.send("Take it to the bars")
        begun = demo_pages.get(f"/start-orders/{held.rotation_id}")
        assert "At the bars" in begun.links
        assert "Change the order" not in begun.links
        assert "changed at the apparatus" in begun.text
        assert page.send("Down for Osterkamp, Almira").status == 409

    def test_who_is_on_two_apparatus_at_once_is_told(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            meets.put_apparatus(session, held.meet_id, 2)
            only = [held.guests[0].member.id]
            start_orders.set_new(session, BY, held.session_id, 1, 2, only, "typed")
        page = demo_pages.get(f"/start-orders/{held.rotation_id}")
        assert "Twice in this rotation also on" in page.text

    def test_without_apparatus_or_entries_it_says_what_is_missing(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            empty = _another_meet(session, held)
            part = meets.add_session(session, empty.id, "", empty.facts.begins_on)
        for way in ("new", "draw"):
            page = demo_pages.get(f"/start-orders/sessions/{part.id}/{way}")
            assert "No apparatus stands at this meet yet" in page.text

    def test_the_rotations_page_leads_to_it(self, demo_pages: Reader, held: SmallMeet) -> None:
        page = demo_pages.get(f"/rotations/{held.rotation_id}")
        assert page.address.endswith(f"/start-orders/{held.rotation_id}")

    @pytest.mark.parametrize("way", ["wishes", "list"])
    def test_the_planners_pages_are_none_of_its(
        self, demo_pages: Reader, held: SmallMeet, way: str
    ) -> None:
        page = demo_pages.get(f"/rotations/{held.rotation_id}/{way}")
        assert page.status == 409
        assert "never re-arranged here" in page.text

    @pytest.mark.parametrize("way", ["order", "keep", "go-on", "move", "take-off"])
    def test_the_planners_presses_are_refused(
        self, demo_pages: Reader, held: SmallMeet, way: str, demo_club: DemoClub
    ) -> None:
        before = _order(demo_club, held.rotation_id)
        boxes = demo_pages.get("/meets/").tree.iter("input")
        token = next(box for box in boxes if box.get("name") == "csrf_token").get("value")
        page = demo_pages.post(f"/rotations/{held.rotation_id}/{way}", {"csrf_token": token})
        assert page.status == 409
        assert "never re-arranged here" in page.text
        assert _order(demo_club, held.rotation_id) == before

    def test_taken_away_after_a_question_the_entries_stay(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        page = demo_pages.get(f"/start-orders/{held.rotation_id}")
        page = page.follow("Take this start order away")
        assert "3 athletes, typed in by Runa" in page.text
        page = page.send("Take it away")
        assert "Tarn Hollow GC" in page.text
        assert demo_pages.get(f"/start-orders/{held.rotation_id}").status == 404


class TestStartNumbers:
    def test_whoever_has_none_gets_one_that_nobody_has(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            for given in ("Liv", "Ilse"):
                person = meets.Person("Ravn", given)
                meets.enter_guest(session, BY, held.meet_id, person, "Wexlow Turners")
        page = demo_pages.get(f"/meets/{held.meet_id}").follow("Give out start numbers")
        page = page.send("Give them out", how="list", first="12")
        assert page.banners == ["2 start numbers were given out, 14 to 15, as listed."]
        assert "Give out start numbers" not in demo_pages.get(f"/meets/{held.meet_id}").links
        again = demo_pages.get(f"/meets/{held.meet_id}/numbers")
        assert "Everybody who comes has" in " ".join(again.send("Give them out").mistakes)

    def test_all_anew_by_lot(self, demo_pages: Reader, held: SmallMeet) -> None:
        form = demo_pages.get(f"/meets/{held.meet_id}/numbers")
        page = form.send("Give them out", how="lot", first="201", anew="y")
        assert page.banners == ["3 start numbers were given out, 201 to 203, drawn by lot."]

    def test_one_that_several_have_is_told(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            guest = held.guests[0]
            meets.change_entry(session, guest.entry_id, guest.from_club, "12", "")
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
            empty = _another_meet(session, held)
        assert "needs apparatus and entries" in demo_pages.get(f"/meets/{empty.id}/cards").text
