"""The room of cards, and the page behind a card's code."""

import re
from urllib.parse import urlsplit

import pytest
from flask import Flask

from settingsdesk.desk import apparatus, athletes, cards, rotations, settings
from settingsdesk.desk.cards import CardPress
from settingsdesk.desk.clock import today
from settingsdesk.desk.reach import Reach
from settingsdesk.domain.codes import short_code
from settingsdesk.domain.settings import Setting, Wanted
from settingsdesk.web.app import create_app
from settingsdesk.web.shown import day
from tests.cards.reading import page_sizes_mm, page_texts, symbols
from tests.conftest import DemoClub, new_account
from tests.web.conftest import signed_in
from tests.web.pages import Page, Reader, words

WINDOW = "Bars by the window"
ROOM = "/cards/1"
LIGHT_BYTES = 36_000


@pytest.fixture
def scanner(demo_app: Flask) -> Reader:
    """The phone of somebody without an account."""
    return Reader(demo_app)


def girls(club: DemoClub, how_many: int) -> list[int]:
    with club.work() as session:
        return [member.id for member in rotations.rotation(session, 1).listed[:how_many]]


def make(reader: Reader, athlete_ids: list[int], **typed: object) -> Page:
    """Make cards on the page for it; the page with the file comes back."""
    return reader.get(ROOM).send("Make the cards", who=[str(one) for one in athlete_ids], **typed)


def issue(club: DemoClub, *, with_club: bool = False) -> str:
    """A card for the first of the girls; the path that its symbol leads to."""
    press = CardPress(club.data.card_key(), "http://127.0.0.1:5000")
    with club.work(writes=True) as session:
        view = rotations.rotation(session, 1)
        ids = [view.listed[0].id]
        [card] = cards.issue(session, "Runa", press, view.piece.id, ids, with_club=with_club)
    return urlsplit(card.url).path


def change_spread(club: DemoClub, spread_mm: int, athlete: int = 0) -> None:
    with club.work(writes=True) as session:
        view = rotations.rotation(session, 1)
        version = view.carried[view.piece.id][view.listed[athlete].id].version
        wanted = Setting(
            version.setting.kind, {**version.setting.axes, "spread": Wanted(spread_mm, 10)}
        )
        settings.keep_setting(session, "Runa", version.athlete_id, version.model_id, wanted)


def issued_in_database(club: DemoClub) -> int:
    with club.store.installation(writes=False) as session:
        return session.connection().exec_driver_sql("select count(*) from card").scalar() or 0


class TestMakingCards:
    def test_everybody_with_a_setting_is_ticked(self, demo_pages: Reader) -> None:
        page = demo_pages.get("/cards/").follow(WINDOW)
        boxes = [box for box in page.tree.iter("input") if box.get("name") == "who"]

        assert len(boxes) == 14
        assert all("checked" in box.attrib for box in boxes)

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

    def test_a_second_press_makes_no_second_version(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """And the cards already cut out stay good."""
        ids = girls(demo_club, 2)
        first = make(demo_pages, ids)
        again = make(demo_pages, ids)

        assert again.text == first.text
        assert issued_in_database(demo_club) == 2

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
        [remedy] = [words(one) for one in page.tree.iter("details")]

        assert "! Not for phones The desk can be reached from this machine only" in page.text
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
            ("7KM4", "The short code on a card has 9 characters"),
            ("7KM4 Q2XO R", "Character 8 is “O”, which no code has."),
            ("7KM4 Q2XP 2", "One character is mistyped"),
            ("A" * 5000, "Short code of a card"),
        ):
            refused = page.send("Find the card", code=typed)

            assert refused.status == 400
            assert [said[: len(mistake)] for said in refused.mistakes] == [mistake]

    def test_a_code_in_order_that_no_card_has_is_refused(self, demo_pages: Reader) -> None:
        page = demo_pages.get("/cards/").send(
            "Find the card", code=short_code(b"another desk's", "1")
        )

        assert page.status == 400
        assert "No card that counts has this code" in page.mistakes[0]


class TestWithdrawing:
    def withdrawn(self, reader: Reader, club: DemoClub) -> tuple[Page, str]:
        path = issue(club)
        page = reader.get(f"/cards/athlete/{girls(club, 1)[0]}")
        asked = page.follow("Withdraw version 1 for Bars by the window")
        assert asked.heading == "Withdraw this card?"
        return asked.send("Withdraw the card"), path

    def test_it_is_asked_once_more_and_then_the_code_opens_nothing(
        self, demo_pages: Reader, demo_club: DemoClub, scanner: Reader
    ) -> None:
        """A lost card must not show a child's setting to whoever finds it."""
        page, path = self.withdrawn(demo_pages, demo_club)

        assert page.banners == ["Card version 1 of Bąkiewicz, Jagna opens nothing any more."]
        assert "✕ Withdrawn" in page.text
        seen = scanner.get(path)
        assert (seen.status, seen.heading) == (404, "This code opens no card")
        assert "Set nothing by this card" in seen.text
        assert "ask the coach for a new one" in seen.text
        assert "Jagna" not in seen.response.text

    def test_a_second_press_is_harmless(self, demo_pages: Reader, demo_club: DemoClub) -> None:
        self.withdrawn(demo_pages, demo_club)
        with demo_club.work() as session:
            [card] = cards.of_athlete(session, girls(demo_club, 1)[0])

        page = demo_pages.get(f"/cards/withdraw/{card.id}").send("Withdraw the card")

        assert page.status == 200
        assert page.text.count("Withdrawn") == 1

    def test_keeping_it_changes_nothing(
        self, demo_pages: Reader, demo_club: DemoClub, scanner: Reader
    ) -> None:
        path = issue(demo_club)
        page = demo_pages.get(f"/cards/athlete/{girls(demo_club, 1)[0]}")

        page.follow("Withdraw version 1 for Bars by the window").follow("Keep the card")

        assert scanner.get(path).status == 200

    def test_an_athlete_without_cards_has_a_page_that_says_so(self, demo_pages: Reader) -> None:
        assert "No card was issued for this athlete yet." in demo_pages.get("/cards/athlete/1").text


class TestTheCardOnAPhone:
    @pytest.fixture
    def path(self, demo_club: DemoClub) -> str:
        return issue(demo_club, with_club=True)

    @pytest.fixture
    def seen(self, path: str, scanner: Reader) -> Page:
        return scanner.get(path)

    def test_it_says_whose_it_is_that_it_counts_and_the_three_marks(self, seen: Page) -> None:
        assert seen.heading == "Jagna B."
        assert (
            f"✓ Current This card counts: version 1 of {day(today())}, printed for Bars by the"
            " window." in (seen.text)
        )
        figures = [words(one) for one in seen.having("class", "value")]
        assert figures == ["5", "5", "170.0"]
        assert "170.4 cm, accepts ± 1.0 cm. 170.0 cm is wanted" in seen.text

    def test_the_marks_come_before_everything_else(self, seen: Page) -> None:
        text = seen.text

        assert text.index("170.4 cm, accepts") < text.index("Do you stand at another apparatus?")
        assert text.index("Do you stand at another") < text.index("How it stands")

    def test_it_says_between_which_points_a_tape_measures(self, seen: Page) -> None:
        assert "upper edge of the rail, above the floor" in seen.text

    def test_it_tells_nothing_more_of_a_minor(self, seen: Page, demo_club: DemoClub) -> None:
        """The fields are counted, so that a further one must be allowed here first."""
        with demo_club.work() as session:
            person = athletes.member(session, girls(demo_club, 1)[0]).person
        headers = "\n".join(f"{name}: {value}" for name, value in seen.response.headers)
        everything = seen.response.text + headers

        for private in (
            person.family_name,
            "Quillmoor",
            person.group_name,
            "birth",
            "runa",
        ):
            assert private
            assert private not in everything
        assert sorted({words(one) for one in seen.tree.iter("dt")}) == [
            "High rail height",
            "Low rail height",
            "Marks read by",
            "Model",
            "Rail spread",
        ]

    def test_it_sets_no_cookie(self, seen: Page) -> None:
        assert seen.response.headers.getlist("Set-Cookie") == []

    def test_it_asks_nobody_else_for_anything(self, seen: Page) -> None:
        loaded = [
            element.get("href") or element.get("src") or ""
            for tag in ("link", "script", "img", "a")
            for element in seen.tree.iter(tag)
        ]

        assert all(address.startswith(("/", "#")) for address in loaded)
        assert "//" not in re.sub(r"<!--.*?-->", "", seen.response.text).replace("/ /", "")

    def test_no_search_engine_keeps_it_and_its_address_goes_nowhere(self, seen: Page) -> None:
        headers = seen.response.headers
        robots = [one for one in seen.tree.iter("meta") if one.get("name") == "robots"]

        assert [one.get("content") for one in robots] == ["noindex, nofollow"]
        assert headers["X-Robots-Tag"].startswith("noindex")
        assert headers["Cache-Control"] == "no-store"
        assert headers["Referrer-Policy"] == "no-referrer"

    def test_it_is_light_enough_for_a_poor_network(self, seen: Page, scanner: Reader) -> None:
        """With all its styles and scripts, before any packing."""
        parts = [
            element.get("href") or element.get("src") or ""
            for tag in ("link", "script")
            for element in seen.tree.iter(tag)
        ]
        weight = len(seen.response.data) + sum(
            len(scanner.client.get(part, buffered=True).data) for part in parts
        )

        assert parts
        assert weight < LIGHT_BYTES

    def test_small_letters_open_it_too(self, seen: Page, path: str, scanner: Reader) -> None:
        """Whoever types the address types it in small letters."""
        page = scanner.get(path.lower())

        assert page.status == 200
        assert page.address.startswith("/C/")
        assert page.heading == seen.heading

    def test_at_another_apparatus_it_speaks_that_ones_marks(self, seen: Page) -> None:
        """The volunteer scans the card where the athlete is about to start."""
        page = seen.follow("Bars by the door")

        assert "Marks on Bars by the door" in page.text
        assert words(page.having("class", "value")[0]).isalpha()
        assert "This card counts" in page.text
        assert page.follow(WINDOW).text == seen.text

    def test_an_apparatus_that_cannot_be_meant_shows_the_cards_own(
        self, seen: Page, path: str, scanner: Reader, demo_club: DemoClub
    ) -> None:
        """Of another kind, of another club, or none at all."""
        with demo_club.work() as session:
            beam = next(one for one in apparatus.all_pieces(session) if "Beam" in one.name)
        for asked in (beam.id, 999, -1, 10**30, "x", "", "1;drop", "9" * 5000):
            page = scanner.get(f"{path}?apparatus={asked}")

            assert (page.status, page.text) == (200, seen.text), asked

    def test_a_code_that_no_card_has_says_what_to_do(self, scanner: Reader) -> None:
        guessed = ["A" * 26, "a", "A" * 5000, "7KM4Q2XPR", "%00", "%ff", "..", "Ä", "' or 1=1"]
        for code in guessed:
            page = scanner.get(f"/C/{code}")

            assert (page.status, page.heading) == (404, "This code opens no card"), code
            assert page.response.headers["Referrer-Policy"] == "no-referrer"
            assert page.response.headers.getlist("Set-Cookie") == []

    def test_who_has_left_is_shown_to_nobody(
        self, path: str, scanner: Reader, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            athletes.leave(session, girls(demo_club, 1)[0], today())

        assert scanner.get(path).status == 404

    def test_it_can_only_be_looked_at(self, path: str, scanner: Reader) -> None:
        assert scanner.client.post(path).status_code in (400, 405)


class TestAnOldCard:
    def test_it_says_which_version_superseded_it_and_what_has_changed(
        self, demo_club: DemoClub, scanner: Reader
    ) -> None:
        old = issue(demo_club)
        change_spread(demo_club, 1550)
        new = issue(demo_club)

        page = scanner.get(old)

        assert (
            f"✕ Superseded Version 1 of {day(today())} was superseded by version 2 on"
            f" {day(today())}."
        ) in page.text
        assert "Ask the coach for a new card." in page.text
        assert "Current" not in page.text
        [change] = [words(row) for body in page.tree.iter("tbody") for row in body.iter("tr")]
        assert change.startswith("Rail spread")
        assert "170.0" in change
        assert "155.0" in change
        assert [words(one) for one in page.having("class", "value")][2] == "155.0"
        assert "Marks now on Bars by the window" in page.text
        assert "This card counts: version 2" in scanner.get(new).text

    def test_it_says_so_although_no_newer_one_was_printed(
        self, demo_club: DemoClub, scanner: Reader
    ) -> None:
        """An old height must never look current because nobody has been to the printer."""
        path = issue(demo_club)
        change_spread(demo_club, 1550)

        page = scanner.get(path)

        assert (
            f"✕ Superseded The setting was changed after version 1 of {day(today())} was printed;"
            " no newer card was printed yet."
        ) in page.text
        assert [words(one) for one in page.having("class", "value")][2] == "155.0"

    def test_the_coach_sees_which_cards_are_old(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        issue(demo_club)
        change_spread(demo_club, 1550)
        issue(demo_club)

        page = demo_pages.get(f"/cards/athlete/{girls(demo_club, 1)[0]}")

        assert [words(one) for one in page.having("class", "tag")] == ["✓ Newest", "! Superseded"]
