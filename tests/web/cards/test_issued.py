"""The room of cards: making them, the file, finding and withdrawing them."""

import re
from urllib.parse import urlsplit

import pytest
from flask import Flask

from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.cards.code_address import Reach
from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import mats_of_day
from settingsdesk.desk.squad import athletes
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.domain.base.codes import short_code
from settingsdesk.web.app import create_app
from settingsdesk.web.frame.shown import day
from tests.cards.reading import page_sizes_mm, page_texts, symbols
from tests.conftest import DemoClub, new_account
from tests.web.cards.making import ROOM, change_spread, girls, issue, issued_in_database, make
from tests.web.conftest import signed_in
from tests.web.pages import Page, Reader, words

WINDOW = "Bars by the window"
LIGHT_BYTES = 36_000


def ticks(page: Page) -> dict[str, bool]:
    """Whose box there is, and whether it is ticked."""
    boxes = [box for box in page.tree.iter("input") if box.get("name") == "who"]
    return {box.attrib["value"]: "checked" in box.attrib for box in boxes}


class TestMakingCards:
    def test_everybody_is_ticked_where_nobody_has_a_card(self, demo_pages: Reader) -> None:
        page = demo_pages.get("/cards/").follow(WINDOW)

        assert len(ticks(page)) == 14
        assert all(ticks(page).values())
        assert "Nobody here has a card yet" in page.text

    def test_whose_card_is_lacking_out_of_date_or_cancelled_is_ticked_and_nobody_else(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """What else a coach prints is paper that everybody has."""
        every = list(map(int, ticks(demo_pages.get(ROOM))))
        make(demo_pages, every)
        page = demo_pages.get(ROOM)
        assert "The cards of these 14 still say what counts" in page.text
        assert not any(ticks(page).values())

        changed, cancelled = girls(demo_club, 2)
        change_spread(demo_club, 1550)
        with demo_club.work(writes=True) as session:
            [card] = desk_issued.of_athlete(session, cancelled)
            desk_issued.revoke(session, card.id)
        page = demo_pages.get(ROOM)
        assert "2 of these 14 need a new card" in page.text
        assert {one for one, ticked in ticks(page).items() if ticked} == {
            str(changed),
            str(cancelled),
        }
        assert page.text.count(": out of date") == 1
        assert page.text.count(": the card was cancelled") == 1

    def test_all_of_them_none_or_who_needs_one_are_ticked_by_a_press(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """Without a script, and with all else that was chosen."""
        make(demo_pages, girls(demo_club, 3))
        page = demo_pages.get(ROOM).send("Tick all", size="ID-1")
        assert all(ticks(page).values())
        assert page.value("size") == "['ID-1']"
        page = page.send("Tick none")
        assert not any(ticks(page).values())
        page = page.send("Tick who needs one")
        assert sum(ticks(page).values()) == 11
        assert page.send("Make the cards").heading == "Cards ready to print"

    def test_from_a_rotation_its_athletes_are_ticked(self, demo_pages: Reader) -> None:
        page = demo_pages.get("/rotations/1").follow("Print the cards")
        boxes = [box for box in page.tree.iter("input") if box.get("name") == "who"]

        assert sum("checked" in box.attrib for box in boxes) == 12

    def test_the_page_with_the_file_follows_by_redirect(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        page = make(demo_pages, girls(demo_club, 2))

        assert (page.status, page.heading) == (200, "Cards ready to print")
        assert [answer.status_code for answer in page.response.history] == [303]
        assert "2 cards for Bars by the window. Print at 100 %" in page.text
        assert f"Jagna B. Version 1 of {day(today())}" in page.text

    def test_on_a_day_with_other_mats_it_is_said_before_and_after_that_they_are_of_that_day(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """A card outlives the mats that it was printed on."""
        told = "Cards made now carry heights above today's mats, and name the day"
        assert told not in demo_pages.get("/cards/").follow(WINDOW).text
        with demo_club.work(writes=True) as session:
            mats_of_day.lie_on(session, 1, today(), 100)

        page = demo_pages.get("/cards/").follow(WINDOW)
        assert "with 10.0 cm more mat than usual today: above the mat every height is" in page.text
        assert told in page.text
        assert "of one day alone, which they name" in make(demo_pages, girls(demo_club, 2)).text

    def test_names_without_letters_are_told_together_and_stop_no_other_card(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """They came in by a list, so that nobody was asked for letters that can be printed."""
        ids = girls(demo_club, 4)
        with demo_club.work(writes=True) as session:
            for athlete_id, name in zip(ids[:2], ("美", "李"), strict=True):
                athletes.change(session, athlete_id, Person("林", name))
        refused = make(demo_pages, ids[:1])
        assert "Nobody here has a card yet" in refused.text
        assert "still say what counts. Tick" not in refused.text
        page = make(demo_pages, ids)
        assert "2 cards for Bars by the window" in page.text
        assert [banner.split(" (")[0] for banner in page.banners] == [
            "林, 李 has no card: “李”",
            "林, 美 has no card: “美”",
        ]

    def test_a_second_press_makes_no_second_version(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """And the cards already cut out stay good."""
        ids = girls(demo_club, 2)
        first = make(demo_pages, ids)
        again = make(demo_pages, ids)

        assert again.text == first.text
        assert issued_in_database(demo_club) == 2

    def test_nothing_is_printed_with_marks_that_were_changed_since(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """Somebody loads the page of the day before again, or the file, and prints it."""
        page = make(demo_pages, girls(demo_club, 2))
        file = page.links["Download the PDF"]
        change_spread(demo_club, 1800)

        for address in (page.address, file):
            refused = demo_pages.get(address)
            assert refused.status == 409
            assert "make the cards again" in refused.text
        assert make(demo_pages, girls(demo_club, 2)).status == 200

    def test_a_card_whose_setting_was_changed_is_not_called_the_newest(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """The coach reads beside it whether the marks on it still count."""
        ids = girls(demo_club, 2)
        make(demo_pages, ids)
        change_spread(demo_club, 1650)

        for athlete_id, state in zip(ids, ("! Out of date", "✓ Newest"), strict=True):
            assert state in demo_pages.get(f"/cards/athlete/{athlete_id}").text

    def test_whoever_of_the_same_group_has_no_setting_is_named_and_nobody_of_another(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """Else somebody stands at the bars without a card, and nobody knew."""
        with demo_club.work(writes=True) as session:
            athletes.add(session, Person("Neu", "Ana", group_name="Girls 1"))
            athletes.add(session, Person("Neu", "Bo", group_name="Girls 2"))
        page = make(demo_pages, girls(demo_club, 2))

        told = "No card for Neu, Ana: no setting for uneven bars is entered."
        assert page.banners == [told]

        page = demo_pages.get(f"{ROOM}?rotation=1").send("Make the cards")
        assert page.banners == [], "of a rotation's cards nobody else is expected"
        assert page.follow("Back to the rotation").address == "/rotations/1"

    def test_nobody_chosen_is_said_beside_the_names(self, demo_pages: Reader) -> None:
        page = make(demo_pages, [])

        assert (page.status, page.mistakes) == (400, ["Choose at least one athlete"])

    def test_a_choice_that_is_not_offered_issues_nothing(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        for typed in ({"who": ["999"]}, {"who": ["Jagna"]}, {"size": "A0"}):
            page = demo_pages.get(ROOM).send("Make the cards", **typed)

            assert page.status == 400
            assert page.mistakes
        assert issued_in_database(demo_club) == 0

    def test_what_is_not_there_is_a_page_that_says_so(self, demo_pages: Reader) -> None:
        for address in (
            "/cards/999",
            "/cards/999/ready",
            "/cards/athlete/999",
            "/cards/withdraw/none",
            f"{ROOM}?rotation=999",
        ):
            page = demo_pages.get(address)

            assert (page.status, page.heading) == (404, "There is no such page"), address

    def test_a_tampered_question_is_put_up_with(self, demo_pages: Reader) -> None:
        """Whatever stands behind the question mark, there is a page."""
        for asked in (
            "athlete=Jagna",
            "athlete=999",
            f"athlete={10**30}",
            "rotation=x",
            f"rotation={10**30}",
        ):
            assert demo_pages.get(f"{ROOM}?{asked}").status in (200, 404), asked
            assert demo_pages.get(f"{ROOM}/ready?{asked}&size=A0").status == 400, asked

    def test_cards_that_were_never_made_say_where_to_make_them(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        for address in ("ready", "cards.pdf"):
            page = demo_pages.get(f"{ROOM}/{address}?athlete={girls(demo_club, 1)[0]}")

            assert page.status == 400
            assert "has a card for this apparatus that counts" in page.text

    def test_a_kind_nobody_has_a_setting_for_leads_elsewhere(self, demo_pages: Reader) -> None:
        page = demo_pages.get("/cards/").follow("Vault table")

        assert "No athlete has a setting for this kind of apparatus yet" in page.text
        assert page.links["Choose another apparatus"] == "/cards/"

    def test_another_clubs_room_has_none_of_it(
        self, demo_app: Flask, demo_club: DemoClub, demo_pages: Reader
    ) -> None:
        ready = make(demo_pages, girls(demo_club, 1))
        other = new_account(demo_club.store, "Far Shore Gymnastics", "odo", "Odo Fenn")
        reader = signed_in(demo_app, other)

        for address in (ROOM, ready.links["Download the PDF"], ready.address):
            page = reader.get(address)

            assert page.status == 404
            assert "Jagna" not in page.response.text


class TestWhereCodesLead:
    def test_a_desk_for_this_machine_only_says_so_in_a_coachs_words(
        self, demo_pages: Reader
    ) -> None:
        """And what to type stands behind a second press, for whoever starts the desk."""
        page = demo_pages.get(ROOM)
        [remedy] = [words(one) for one in page.tree.find(".//main").iter("details")]

        assert "! Not for phones Only this computer reaches these pages" in page.text
        assert "--public-url" in remedy
        assert "--" not in page.text.replace(remedy, "")

    def test_a_desk_that_phones_reach_only_names_its_address(self, demo_club: DemoClub) -> None:
        app = create_app(
            data=demo_club.data,
            store=demo_club.store,
            reach=Reach("http://192.0.2.7:5000", True),
            testing=True,
        )
        page = signed_in(app, demo_club.account).get(ROOM)

        assert "Codes on cards point to http://192.0.2.7:5000." in page.text
        assert "Not for phones" not in page.text


class TestTheFile:
    def test_it_is_a_download_and_nothing_else(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        answer = make(demo_pages, girls(demo_club, 1)).follow("Download the PDF").response

        assert answer.headers["Content-Type"] == "application/pdf"
        assert answer.headers["Content-Disposition"] == 'attachment; filename="cards-A6.pdf"'
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        assert answer.headers["Cache-Control"] == "no-store"
        assert answer.data.startswith(b"%PDF-")

    @pytest.mark.parametrize(
        ("size", "sheets", "dpi"),
        [("A6", [(105, 148)] * 3, 150), ("ID-1", [(210, 297)], 300), ("A4", [(210, 297)], 150)],
    )
    def test_every_symbol_on_it_opens_its_own_card_for_a_stranger(
        self,
        demo_pages: Reader,
        demo_club: DemoClub,
        scanner: Reader,
        size: str,
        sheets: list[tuple[int, int]],
        dpi: int,
    ) -> None:
        """The whole way: page, paper, camera, page."""
        ready = make(demo_pages, girls(demo_club, 3), size=size)
        pdf = ready.follow("Download the PDF").response.data

        assert [tuple(round(side) for side in sheet) for sheet in page_sizes_mm(pdf)] == sheets
        found = symbols(pdf, dpi)
        assert all(symbol.startswith("HTTP://127.0.0.1:5000/C/") for symbol in found)
        seen = [scanner.get(urlsplit(symbol).path) for symbol in found]
        assert [page.status for page in seen] == [200, 200, 200]
        assert sorted(page.heading for page in seen) == ["Defne Ç.", "Jagna B.", "Tuva F."]

    def test_the_short_code_on_it_finds_the_card(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        pdf = make(demo_pages, girls(demo_club, 1)).follow("Download the PDF").response.data
        [printed] = re.findall(r"\b[2-9A-Z]{4} [2-9A-Z]{4} [2-9A-Z]\b", page_texts(pdf)[0])

        page = demo_pages.get("/cards/").send("Find the card", code=printed.lower())

        assert page.heading == "Cards of Bąkiewicz, Jagna"
        [marked] = [words(row) for row in page.having("class", "found")]
        assert marked.startswith("Bars by the window ✓ This is the one Version 1")

    def test_the_club_is_printed_only_where_it_is_wanted(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        ids = girls(demo_club, 1)
        plain = make(demo_pages, ids).follow("Download the PDF").response.data
        named = make(demo_pages, ids, with_club="y").follow("Download the PDF").response.data

        assert "Quillmoor" not in page_texts(plain)[0]
        assert "Quillmoor" in page_texts(named)[0]


class TestFindingByShortCode:
    def test_what_is_wrong_with_a_code_is_said_beside_it(self, demo_pages: Reader) -> None:
        page = demo_pages.get("/cards/")
        for typed, mistake in (
            ("", "Enter the short code of the card"),
            ("7KM4", "A short code has 9 characters"),
            ("7KM4 Q2XO R", "Character 8 is “O”, which no code has."),
            ("7KM4 Q2XP 2", "One character is mistyped"),
            ("A" * 5000, "Short code of a card"),
        ):
            refused = page.send("Find the card", code=typed)

            assert refused.status == 400
            assert [said[: len(mistake)] for said in refused.mistakes] == [mistake]

    def test_a_line_of_lengths_is_carried_to_the_clubs_own_apparatus(
        self, demo_pages: Reader, pages: Reader
    ) -> None:
        """A visitor's card says no more than that, and needs no word from where it was printed."""
        address = f"HTTPS://VISITORS.EXAMPLE/C/{'7' * 26}/1117002500165032"
        for typed in ("11-1700-2500-1650-32", address):
            page = demo_pages.get("/cards/").send("Find the card", code=typed)

            assert page.heading == "Convert from Bars at the autumn meet"
            assert "wanted" not in page.mistakes
            [asked] = [row for row in page.tree.iter("tr") if "Rail spread" in words(row)][:1]
            assert "165.0" in words(asked)
        refused = pages.get("/cards/").send("Find the card", code="14 2755 88")
        assert "no apparatus of that kind has been added" in refused.mistakes[0]

    def test_a_scanned_address_finds_the_card_too(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        path = issue(demo_club)
        page = demo_pages.get("/cards/").send("Find the card", code=f"HTTP://127.0.0.1:5000{path}")

        assert page.heading == "Cards of Bąkiewicz, Jagna"

    def test_a_code_in_order_that_no_card_has_is_refused(self, demo_pages: Reader) -> None:
        page = demo_pages.get("/cards/").send(
            "Find the card", code=short_code(b"another desk's", "1")
        )

        assert page.status == 400
        assert "No card of this desk has this code" in page.mistakes[0]


class TestWithdrawing:
    def withdrawn(self, reader: Reader, club: DemoClub) -> tuple[Page, str]:
        path = issue(club)
        page = reader.get(f"/cards/athlete/{girls(club, 1)[0]}")
        asked = page.follow("Cancel version 1 for Bars by the window")
        assert asked.heading == "Cancel this card?"
        return asked.send("Cancel the card"), path

    def test_it_is_asked_once_more_and_then_the_code_opens_nothing(
        self, demo_pages: Reader, demo_club: DemoClub, scanner: Reader
    ) -> None:
        """A lost card must not show a child's setting to whoever finds it."""
        page, path = self.withdrawn(demo_pages, demo_club)

        assert page.banners == ["Card version 1 of Bąkiewicz, Jagna no longer works."]
        assert "✕ Cancelled" in page.text
        seen = scanner.get(path)
        assert (seen.status, seen.heading) == (404, "This code opens no card")
        assert "Set nothing by this card" in seen.text
        assert "ask the coach for a new one" in seen.text
        assert "Jagna" not in seen.response.text

    def test_a_second_press_is_harmless(self, demo_pages: Reader, demo_club: DemoClub) -> None:
        self.withdrawn(demo_pages, demo_club)
        with demo_club.work() as session:
            [card] = desk_issued.of_athlete(session, girls(demo_club, 1)[0])

        page = demo_pages.get(f"/cards/withdraw/{card.id}").send("Cancel the card")

        assert page.status == 200
        assert page.text.count("Cancelled") == 1

    def test_keeping_it_changes_nothing(
        self, demo_pages: Reader, demo_club: DemoClub, scanner: Reader
    ) -> None:
        path = issue(demo_club)
        page = demo_pages.get(f"/cards/athlete/{girls(demo_club, 1)[0]}")

        page.follow("Cancel version 1 for Bars by the window").follow("Keep the card")

        assert scanner.get(path).status == 200

    def test_an_athlete_without_cards_has_a_page_that_says_so(self, demo_pages: Reader) -> None:
        assert "No card was issued for this athlete yet." in demo_pages.get("/cards/athlete/1").text
