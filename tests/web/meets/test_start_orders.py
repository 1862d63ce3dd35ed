"""A host sets start orders: typed, sent as a sheet or drawn, and changes them."""

import re
from io import BytesIO

import pytest

from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.meets import entries, meets, start_orders
from settingsdesk.desk.squad import settings
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.domain.settings.settings import Setting, Wanted
from tests.conftest import DemoClub
from tests.desk.sample_meet import SmallMeet, another_meet
from tests.web.pages import Reader


def _order(club: DemoClub, rotation_id: int) -> tuple[int, ...]:
    with club.work() as session:
        return start_orders.start_order(session, rotation_id).line.athlete_ids


class TestStartOrders:
    def test_lines_that_fit_nobody_or_several_are_told_and_nothing_is_lost(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            for club in ("One", "Other"):
                person = Person("Ravn", "Liv")
                entries.enter_guest(session, held.meet_id, person, club)
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
        assert "drawn at random here by Runa" in page.text
        assert all(name in page.text for name in ("Osterkamp", "Bellaquer", "Halvardsen"))

    def test_up_is_the_jurys_and_counts_as_typed(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            ids = [guest.member.id for guest in held.guests]
            drawn = start_orders.draw(
                session, start_orders.Place(held.session_id, 2, held.apparatus_id), ids
            )
        page = demo_pages.get(f"/start-orders/{drawn.rotation_id}")
        assert "drawn at random here" in page.text
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
            entries.withdraw_entry(session, held.guests[1].entry_id)
        page = demo_pages.get(f"/start-orders/{held.rotation_id}")
        page = page.send("Down for Osterkamp, Almira")
        assert "Scratched since the order was set" in page.text
        edited = page.follow("Change the order")
        assert "Bellaquer" not in edited.value("order")
        page = page.send("Take scratched athletes off the order")
        first, _, third = (guest.member.id for guest in held.guests)
        assert _order(demo_club, held.rotation_id) == (first, third)
        assert "Scratched since" not in page.text

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

    def test_who_seems_to_be_on_another_apparatus_is_asked_of_before_it_is_drawn(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        """A lot is drawn once: a boy of the parallel bars has no place in that of the bars."""
        with demo_club.work(writes=True) as session:
            boy = entries.enter_guest(session, held.meet_id, Person("Kornfeld", "Bo"), "Wexlow", "")
            bars = next(
                one
                for one in apparatus.all_pieces(session)
                if one.model.kind.key == "parallel_bars"
            )
            axes = {
                axis.key: Wanted(mm, 10)
                for axis, mm in zip(bars.model.axes, (1950, 480), strict=True)
            }
            settings.keep_setting(
                session, boy.member.id, bars.model_id, Setting(bars.model.kind, axes)
            )
        place = {"number": "2", "apparatus": "1", "hands": "2"}
        form = demo_pages.get(f"/start-orders/sessions/{held.session_id}/draw")
        asked = form.send("Draw it now", **place)
        assert (asked.status, "Nothing is drawn yet" in asked.text) == (200, True)

        drawn = asked.send("Draw it now", **place)
        assert drawn.banners == ["The start order is drawn."]
        assert "Kornfeld" not in drawn.text

    def test_ticked_they_are_drawn_too(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        """Whoever is in the same rotation elsewhere may be there by mistake."""
        with demo_club.work() as session:
            other = next(
                one.id for one in apparatus.all_pieces(session) if one.name == "Bars by the door"
            )
        with demo_club.work(writes=True) as session:
            meets.put_apparatus(session, held.meet_id, other)
        place = {"number": "1", "apparatus": str(other), "hands": "2"}
        asked = demo_pages.get(f"/start-orders/sessions/{held.session_id}/draw").send(
            "Draw it now", **place
        )
        one = str(held.guests[1].member.id)
        drawn = asked.send("Draw it now", **place, too=[one])
        assert "Bellaquer" in drawn.text
        assert "Osterkamp" not in drawn.text

    def test_a_lot_among_nobody_says_what_to_tick(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            guest = held.guests[0]
            entries.change_entry(session, guest.entry_id, guest.from_club, "11", "Juniors")
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
        assert "Under way: to the bars Bars by the window" in begun.links
        assert "Change the order" not in begun.links
        assert "changed at the apparatus" in begun.text
        assert page.send("Down for Osterkamp, Almira").status == 409

    def test_who_is_on_two_apparatus_at_once_is_told(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            meets.put_apparatus(session, held.meet_id, 2)
            only = [held.guests[0].member.id]
            start_orders.set_new(session, start_orders.Place(held.session_id, 1, 2), only, "typed")
        page = demo_pages.get(f"/start-orders/{held.rotation_id}")
        assert "Twice in this rotation also on" in page.text

    def test_without_apparatus_or_entries_it_says_what_is_missing(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            empty = another_meet(session, held)
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
        token = demo_pages.get("/account").token
        page = demo_pages.post(f"/rotations/{held.rotation_id}/{way}", {"csrf_token": token})
        assert page.status == 409
        assert "never re-arranged here" in page.text
        assert _order(demo_club, held.rotation_id) == before

    def test_taken_away_after_a_question_the_entries_stay(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        page = demo_pages.get(f"/start-orders/{held.rotation_id}")
        page = page.follow("Delete this start order")
        assert "3 athletes, typed in by Runa" in page.text
        page = page.send("Delete it")
        assert "Tarn Hollow GC" in page.text
        assert demo_pages.get(f"/start-orders/{held.rotation_id}").status == 404
