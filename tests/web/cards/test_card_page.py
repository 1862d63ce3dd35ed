"""The page behind a card's code, on the phone of whoever scans it."""

import re
from datetime import date
from urllib.parse import urlsplit

import pytest

from settingsdesk.desk.cards import in_hand, remarks
from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.cards.code_address import CodeKey
from settingsdesk.desk.checks import findings
from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.meet_day import cards as meet_cards
from settingsdesk.desk.meet_day.cards import Choice, Grouping
from settingsdesk.desk.squad import athletes, settings, still_right
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.web.frame.shown import day
from tests.cards.reading import page_texts, symbols
from tests.conftest import DemoClub
from tests.desk.cards.test_issued import CODE_KEY
from tests.desk.sample_meet import SmallMeet, grant_raise, hold
from tests.web.cards.making import change_spread, girls, issue
from tests.web.pages import Page, Reader, words

WINDOW = "Bars by the window"
LIGHT_BYTES = 36_000


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
        assert "170.4 cm, wanted 170.0 ± 1.0 cm" in seen.text

    def test_on_another_model_it_says_that_the_marks_were_worked_out(
        self, path: str, scanner: Reader
    ) -> None:
        assert "Not measured" not in scanner.get(path).text
        there = scanner.get(path).follow("Bars by the door")
        assert "! Not measured Worked out from Leaning frame C, not measured here." in there.text

    def test_it_says_that_the_athlete_has_not_tried_it_until_a_coach_confirms(
        self, scanner: Reader, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            new = athletes.add(session, Person("Neu", "Ana"))
            begun = settings.begin_with(session, new.id, 1, 1)
            [card] = desk_issued.issue(session, CODE_KEY, 1, [new.id])
        path = f"/C/{card.url.rpartition('/')[2]}"
        assert "! Not tried These marks are another athlete’s so far" in scanner.get(path).text

        with demo_club.work(writes=True) as session:
            still_right.confirm(session, new.id, begun.id, 0)
        page = scanner.get(path)
        assert "Not tried" not in page.text
        assert "✓ Current" in page.text

    def test_what_is_outside_what_is_accepted_is_tagged(
        self, path: str, scanner: Reader, demo_club: DemoClub
    ) -> None:
        change_spread(demo_club, 2900)
        there = scanner.get(path)
        assert re.search(r"! Look (Does not reach|Outside what is accepted): 290.0 cm", there.text)

    def test_the_marks_come_before_everything_else(self, seen: Page) -> None:
        text = seen.text

        assert text.index("170.4 cm, wanted") < text.index("Do you stand at another apparatus?")
        assert text.index("Do you stand at another") < text.index("How it stands")

    def test_it_says_from_which_end_it_is_drawn(self, seen: Page) -> None:
        """From the other one, low would be taken for high."""
        assert "Seen from the front end." in seen.text

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
            "Marks",
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

        assert all(address.startswith(("/", "#", "?")) for address in loaded)
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

    def test_a_short_code_is_not_said_to_be_of_a_cancelled_card(self, scanner: Reader) -> None:
        """Nobody looked whether there is such a card: nothing is said of whether it counts."""
        short, whole = scanner.get("/C/7KM4Q2XPR"), scanner.get("/C/" + "A" * 26)

        assert "Whether this card counts is not known yet" in short.text
        assert "the card does not count any more" not in short.text
        assert "Set nothing by this card" in whole.text

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
            f"✕ Out of date Version 1 of {day(today())} was replaced by version 2 on"
            f" {day(today())}."
        ) in page.text
        assert "Use the newer card, version 2, and set nothing by this one." in page.text
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
            f"✕ Out of date The marks have changed since version 1 of {day(today())} was printed;"
            " no newer card was printed yet."
            " Ask the coach for a new card, and set nothing by this one."
        ) in page.text
        assert [words(one) for one in page.having("class", "value")][2] == "155.0"

    def test_it_does_not_send_to_a_newer_one_that_is_old_itself(
        self, demo_club: DemoClub, scanner: Reader
    ) -> None:
        """Version 2 would be looked for, found, and believed."""
        old = issue(demo_club)
        change_spread(demo_club, 1550)
        issue(demo_club)
        change_spread(demo_club, 1570)

        page = scanner.get(old)

        assert (
            f"was replaced by version 2 on {day(today())}, and that one does not count any more"
            " either. Ask the coach for a new card, and set nothing by this one."
        ) in page.text
        assert [words(one) for one in page.having("class", "value")][2] == "157.0"

    def test_a_meets_card_says_that_its_meet_is_over(
        self, demo_club: DemoClub, held: SmallMeet, scanner: Reader, monkeypatch
    ) -> None:
        """Nobody asks the coach for a card that nobody needs."""
        key = CodeKey(demo_club.data.card_key(), "http://127.0.0.1:5000")
        with demo_club.work(writes=True) as session:
            made = meet_cards.issue(session, key, held.meet_id, Choice(Grouping.BY_START))
        monkeypatch.setattr(in_hand, "today", lambda: date(2027, 12, 1))
        page = scanner.get(urlsplit(made.groups[0][1][0].url).path)

        assert page.status == 404
        assert "Nothing to do: the meet of this card is over. It counted until" in page.text

    def test_the_coach_sees_which_cards_are_old(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        issue(demo_club)
        change_spread(demo_club, 1550)
        issue(demo_club)

        page = demo_pages.get(f"/cards/athlete/{girls(demo_club, 1)[0]}")

        assert [words(one) for one in page.having("class", "tag")] == ["✓ Newest", "! Out of date"]


class TestTheFamilysCopy:
    def test_is_the_card_itself_with_nothing_more_than_its_page_says(
        self, demo_club: DemoClub, scanner: Reader
    ) -> None:
        """It prints at its true size, and its code tells later whether it still counts."""
        path = issue(demo_club, with_club=True)
        page = scanner.get(path)
        assert "✓ Current" in page.text
        assert "Nothing to do: it counts." in page.text
        kept = page.follow("Keep this card as a file (PDF)")

        assert kept.response.headers["Content-Type"] == "application/pdf"
        assert "attachment" in kept.response.headers["Content-Disposition"]
        assert kept.response.headers["Cache-Control"] == "no-store"
        pdf = kept.response.data
        [text] = page_texts(pdf)
        assert "Jagna B." in text
        assert "Quillmoor" not in text
        [symbol] = symbols(pdf, 200)
        code = path.rpartition("/")[2]
        assert f"/C/{code}/11" in symbol
        assert scanner.get(urlsplit(symbol).path).heading == "Jagna B."

    def test_is_in_the_language_of_who_reads_its_page(
        self, demo_club: DemoClub, scanner: Reader
    ) -> None:
        path = issue(demo_club)
        scanner.get(f"{path}?lang=de")
        [text] = page_texts(scanner.get(f"{path}/card.pdf").response.data)
        assert "Holm" in text
        assert "Rail" not in text

    def test_of_a_card_that_does_not_count_there_is_none(
        self, demo_club: DemoClub, scanner: Reader
    ) -> None:
        """Who kept the link, or is quick to press it, is led to what the page says."""
        path = issue(demo_club)
        change_spread(demo_club, 1550)
        page = scanner.get(path)
        assert "Keep this card as a file" not in page.text
        kept = page.follow("What is kept about athletes").text
        assert "By the club that gave out this card" in kept
        assert "Quillmoor" not in kept

        led = scanner.get(f"{path}/card.pdf")
        assert led.address == path
        assert "✕ Out of date" in led.text

    def test_nor_while_its_marks_are_without_a_raise_that_was_granted(
        self, demo_club: DemoClub, scanner: Reader
    ) -> None:
        """ "Nothing to do: it counts" stood beside "do not set them"."""
        held = hold(demo_club)
        grant_raise(demo_club, held)
        with demo_club.work(writes=True) as session:
            ids = [held.guests[0].member.id]
            [card] = desk_issued.issue(session, CODE_KEY, held.apparatus_id, ids)
        path = f"/C/{card.url[-26:]}"
        page = scanner.get(path)

        assert "Ask the coach. This is version 1" in page.text
        assert "✕ Ask first Rails raised by 5.0 cm: granted" in page.text
        for wrong in ("Nothing to do", "This card counts: version", "Keep this card as a file"):
            assert wrong not in page.text
        assert scanner.get(f"{path}/card.pdf").address == path

    def test_nor_while_the_apparatus_is_out_of_use(
        self, demo_club: DemoClub, scanner: Reader
    ) -> None:
        """The card is right; what hangs there is not to be set, whoever's card it is."""
        path = issue(demo_club)
        with demo_club.work(writes=True) as session:
            findings.add_finding(session, 1, "Cable frayed", withdraws=True, press_key="x")
        page = scanner.get(path)

        assert "Nothing to do: it counts, once the apparatus may be used again." in page.text
        assert "✓ Current" not in page.text
        assert scanner.get(f"{path}/card.pdf").address == path

    def test_says_where_it_cannot_be_printed_and_leads_back(
        self, demo_club: DemoClub, scanner: Reader
    ) -> None:
        """The name was changed to one whose letters are not installed: no card without a name."""
        path = issue(demo_club)
        with demo_club.work(writes=True) as session:
            athletes.change(session, girls(demo_club, 1)[0], Person("林", "美"))
        page = scanner.get(f"{path}/card.pdf")

        assert page.status == 409
        assert "There is no file of this card" in page.text
        assert "pip install" not in page.text
        assert page.follow("Back to the card").address == path

    def test_nor_while_a_message_from_it_waits(self, demo_club: DemoClub, scanner: Reader) -> None:
        path = issue(demo_club)
        remarks.receive(demo_club.store, path.rpartition("/")[2], "The low rail felt high")
        page = scanner.get(path)

        assert "Nothing to do before the coach has answered" in page.text
        assert "Keep this card as a file" not in page.text
        assert scanner.get(f"{path}/card.pdf").address == path
