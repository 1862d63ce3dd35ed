"""The station as volunteers' phones see it: who comes in, several at once, cards, what stops it."""

import re
from xml.etree.ElementTree import Element

import pytest
from flask import Flask

from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.checks import findings
from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.stations import stations
from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.kinds import kind_of
from settingsdesk.domain.settings.card import Card
from settingsdesk.domain.settings.lengths_line import in_groups, line_of
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.web.frame.work import code_key
from tests.conftest import DemoClub
from tests.desk.sample_meet import BARS, DAY, SmallMeet
from tests.web.conftest import signed_in
from tests.web.pages import Page, Reader
from tests.web.stations.conftest import Phone, questions
from tests.web.stations.pressing import NEXT_BUTTON, press, set_and_check


def stateful(page: Page) -> list[Element]:
    """What says by which state the page was made."""
    return [one for one in page.tree.iter() if one.get("data-state")]


class TestComingIn:
    def test_by_the_scanned_code_and_a_name(self, phone: Phone) -> None:
        page = phone("Ivo B")

        assert page.address == "/station/now"
        assert page.heading == "Session 1: Juniors, rotation 1 is next"
        assert (
            f"It is planned for {day_in_words(DAY)}; today is {day_in_words(today())}. Is it"
            " really to begin now?" in page.text
        )
        assert "You are here as Ivo B" in page.text

    def test_by_the_typed_code(self, demo_app: Flask, codes: stations.StationCodes) -> None:
        page = Reader(demo_app).get("/station")
        page = page.send("Join", code=codes.short_code.lower(), name="Ana")

        assert page.address == "/station/now"

    def test_small_letters_lead_to_the_same_page(
        self, demo_app: Flask, codes: stations.StationCodes
    ) -> None:
        page = Reader(demo_app).get("/s/" + codes.url.rpartition("/")[2].lower())

        assert page.send("Join", name="Ana").address == "/station/now"

    def test_a_mistyped_code_is_said_to_be_one(self, demo_app: Flask) -> None:
        page = Reader(demo_app).get("/station").send("Join", code="2222 2222 3", name="Ana")

        assert page.status == 400
        assert "mistyped" in page.mistakes[0]

    def test_without_a_name_nobody_comes_in(
        self, demo_app: Flask, codes: stations.StationCodes
    ) -> None:
        page = Reader(demo_app).get("/station").send("Join", code=codes.short_code)

        assert page.mistakes == ["Enter the name your crew uses"]

    def test_a_phone_that_is_in_is_let_in_anew_though_its_station_is_full(
        self, phone: Phone, codes: stations.StationCodes, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(stations, "MOST_PHONES", 1)
        ivo = phone("Ivo")
        page = ivo.reader.get("/station").send("Join", code=codes.short_code, name="Jo")

        assert "You are here as Jo" in page.text

    def test_a_coach_on_the_same_browser_stays_signed_in(
        self, demo_app: Flask, demo_club: DemoClub, codes: stations.StationCodes
    ) -> None:
        coach = signed_in(demo_app, demo_club.account)
        page = coach.get("/station").send("Join", code=codes.short_code, name="Runa")

        assert page.address == "/station/now"
        assert coach.get("/account").heading == "Your account"


class TestTwoPhones:
    def test_the_slower_one_is_told_what_was_confirmed(self, phone: Phone) -> None:
        first = phone("Ivo").send("Begin rotation 1", of_day=str(DAY))
        second = phone("Ana")
        button = "Checked by a second person" if "Check" in first.heading else "All steps are done"
        first.send(button, checker="Signe Moe")
        page = second.send(button, checker="Signe Moe")

        assert page.status == 409
        assert "Ivo (station) confirmed something" in page.text

    def test_the_same_sent_twice_is_one_event(self, begun: Page, demo_club: DemoClub) -> None:
        """The answer was lost on the way, so the phone sends it once more."""
        button = "Checked by a second person" if "Check" in begun.heading else "All steps are done"
        once, twice = (begun.send(button, checker="Signe Moe") for _ in range(2))

        assert once.heading == twice.heading
        assert twice.status == 200
        with demo_club.work() as session:
            assert desk_run.run(session, 1).number == 2

    def test_a_change_of_the_order_sent_twice_is_one_too(
        self, begun: Page, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        page = set_and_check(begun)
        for _ in range(2):
            page.send("Goes next: the jury says so", who=held.guests[2].member.id)

        with demo_club.work() as session:
            words_of = [type(event.what).__name__ for event in desk_run.run(session, 1).events]
        assert words_of.count("Reordered") == 1

    def test_the_state_changes_with_every_event(self, begun: Page) -> None:
        before = begun.reader.client.get("/station/latest").json
        set_and_check(begun)
        after = begun.reader.client.get("/station/latest").json

        assert before["state"] != after["state"]

    def test_the_state_changes_with_what_the_coach_writes(
        self, begun: Page, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """Withdrawn at the desk, it is known at the apparatus within a second."""
        before = begun.reader.client.get("/station/latest").json
        assert begun.reader.client.get("/station/latest").json["state"] == before["state"]
        with demo_club.work(writes=True) as session:
            findings.add_finding(
                session, held.apparatus_id, "Cracked", withdraws=True, press_key="p"
            )

        assert begun.reader.client.get("/station/latest").json["state"] != before["state"]

    def test_it_is_one_word_for_all_phones_and_for_a_card_looked_up_as_the_check_is_due(
        self, phone: Phone
    ) -> None:
        """The desk answers both by one kept answer: on one of them each card was said to be old."""
        ivo, ana = phone("Ivo").send("Begin rotation 1", of_day=str(DAY)), phone("Ana")
        ivo = ivo.send("All steps are done")
        answer = ivo.send("Check card", card="7KM4-Q2XP")
        asked = (ana.reader.client, ivo.reader.client)
        [latest] = {client.get("/station/latest").json["state"] for client in asked}
        jo = phone("Jo")  # who comes in later, which writes nothing of the work
        after = ivo.reader.get("/station/now").send("Check card", card="7KM4-Q2XP")
        pages = (ivo, answer, ana.reader.get("/station/now"), jo, after)
        assert {root.get("data-state") for page in pages for root in stateful(page)} == {latest}

    def test_the_question_carries_no_cookie_and_every_page_does(self, begun: Page) -> None:
        """Sent each second it would be most of the answer; it lasts from the last page on."""
        client = begun.reader.client

        assert "Set-Cookie" not in client.get("/station/latest").headers
        assert "Set-Cookie" in client.get("/station/now").headers


class TestWhatAPressAsksOfTheDatabase:
    def test_it_loads_the_run_once_however_long_it_is(self, begun: Page) -> None:
        """A press and its next page; a hall's small machine answers every phone's in time."""
        page, asked = begun, []
        while page.heading != "All turns done":
            word = next(word for word in NEXT_BUTTON if word in page.heading)
            with questions() as statements:
                press(page, NEXT_BUTTON[word])
            asked.append(len(statements))
            page = page.reader.get("/station/now")

        assert max(asked) <= 40
        assert max(asked[-6:]) <= max(asked[:6])

    @pytest.mark.parametrize("path", ["/station/now", "/station/marks", "/station/end/1"])
    def test_a_page_asks_little(self, begun: Page, path: str) -> None:
        set_and_check(begun)
        with questions() as statements:
            begun.reader.client.get(path)

        assert 3 < len(statements) <= 25


class TestCards:
    @pytest.fixture
    def card(self, demo_app: Flask, demo_club: DemoClub, held: SmallMeet) -> Card:
        with demo_app.test_request_context():
            ink = code_key()
        with demo_club.work(writes=True) as session:
            first = held.guests[0].member.id
            return desk_issued.issue(session, ink, held.apparatus_id, [first])[0]

    def test_what_a_reader_types_gets_the_answer(self, begun: Page, card: Card) -> None:
        page = begun.send("Check card", card=card.url)

        assert page.heading == "The right card"
        assert page.follow("Back to the station").address == "/station/now"

    def test_the_phones_own_camera_gets_it_too(self, begun: Page, card: Card) -> None:
        page = begun.reader.get("/C/" + card.url.rpartition("/")[2])

        assert page.heading == "The right card"
        assert page.response.headers["Referrer-Policy"] == "no-referrer"
        same = begun.reader.get(f"/C/{card.url.rpartition('/')[2]}/{card.line}")
        assert same.heading == "The right card"
        assert same.response.headers["Referrer-Policy"] == "no-referrer"

    def test_without_the_stations_cookie_the_camera_gets_the_cards_own_page(
        self, scanner: Reader, card: Card
    ) -> None:
        assert scanner.get("/C/" + card.url.rpartition("/")[2]).heading == "Almira O."

    @pytest.mark.parametrize(
        ("lengths_mm", "heading"),
        [
            ((1700, 2450, 1650), "Printed elsewhere: the same lengths"),
            ((1700, 2900, 1655), "Printed elsewhere: other lengths"),
        ],
    )
    def test_a_card_that_another_desk_printed_is_compared_by_its_line(
        self, begun: Page, demo_club: DemoClub, held: SmallMeet, lengths_mm, heading: str
    ) -> None:
        """Scanned or typed; nothing of it is set, and nobody is told that it was cancelled."""
        kind = kind_of("uneven_bars")
        axes = zip(kind.axes, lengths_mm, strict=True)
        line = line_of(Setting(kind, {axis.key: Wanted(mm) for axis, mm in axes}))
        for typed in (in_groups(line), f"HTTPS://VISITORS.EXAMPLE/C/{'7' * 26}/{line}"):
            page = begun.send("Check card", card=typed)

            assert page.heading == heading
            assert re.search(r"170[.,]0 cm mark 5", page.text)
            assert ("does not reach it" in page.text) == (lengths_mm[1] == 2900)
            assert ("✕ Other" in page.text) == heading.endswith("other lengths")

    def test_foreign_cards_are_no_guesses(self, begun: Page) -> None:
        """A whole club's cards are held out one after the other."""
        for number in range(12):
            code = f"{number:026}".translate(str.maketrans("01", "AB"))
            page = begun.send("Check card", card=f"HTTPS://VISITORS.EXAMPLE/C/{code}")
            assert page.heading == "Printed elsewhere: compare"

    def test_a_slip_in_a_line_says_where(self, begun: Page) -> None:
        page = begun.send("Check card", card="11-1700-9450-1650-55")

        assert page.status == 400
        assert "Digit 7 cannot be right: the high rail height lies between" in page.mistakes[0]

    def test_a_slip_in_a_short_code_is_said_beside_the_field(self, begun: Page) -> None:
        page = begun.send("Check card", card="2222 2222 3")

        assert page.status == 400
        assert "mistyped" in page.mistakes[0]


class TestOfAnotherDay:
    def test_of_another_day_begins_only_once_it_is_answered_that_it_begins_today(
        self, phone: Phone, held: SmallMeet
    ) -> None:
        """Nobody begins Saturday's rotation on a Friday by one press."""
        page = phone("Ivo")
        assert "It begins today, though it is planned for 5 December 2026" in page.text
        refused = page.send("Begin rotation 1")
        assert refused.status == 409
        assert "Nothing was begun: this rotation is planned for 5 December 2026" in refused.text
        spoilt = refused.send("Begin rotation 1", of_day="tomorrow")
        assert spoilt.status == 409
        begun = spoilt.send("Begin rotation 1", of_day=str(DAY))
        assert begun.status == 200
        assert "Nothing was begun" not in begun.text


class TestWhatKeepsItFromGoingOn:
    def test_withdrawn_apparatus(self, begun: Page, demo_club: DemoClub, held: SmallMeet) -> None:
        with demo_club.work(writes=True) as session:
            findings.add_finding(
                session, held.apparatus_id, "A strand is out", withdraws=True, press_key="k"
            )
        page = begun.reader.get("/station/now")

        assert page.heading == f"{BARS} is out of use"
        assert "strand" not in page.text
        assert "Wait until a coach releases it" in page.text
        for after in (begun.reader.get("/station/marks"), begun.send("All steps are done")):
            assert after.status == 409
            assert after.heading == f"{BARS} is out of use"
            assert "Nothing was saved." in after.text
            assert "strand" not in after.text

    def test_marks_that_were_being_read_as_it_was_withdrawn(
        self, begun: Page, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        page = begun.follow("The marks are different")
        with demo_club.work(writes=True) as session:
            findings.add_finding(
                session, held.apparatus_id, "A strand is out", withdraws=True, press_key="k"
            )
        page = page.send("Save present marks", low_rail="4", high_rail="4", spread="168.0")

        assert (page.status, page.heading) == (409, f"{BARS} is out of use")

    def test_a_page_that_is_none_leads_back_to_the_station(self, begun: Page) -> None:
        """A volunteer has no account: the desk's first page would ask for one."""
        page = begun.reader.get("/station/nowhere")

        assert page.follow("Go to the first page").address == "/station/now"

    def test_nobody_knows_what_stands_there(
        self, phone: Phone, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        with demo_club.work(writes=True) as session:
            piece = apparatus.piece(session, held.apparatus_id)
            apparatus.record_at(session, piece, None, "taken down")
        page = phone("Ivo")
        assert "Present marks of" in page.text
        page = page.follow("Enter present marks")
        boxes = [
            one.get("name", "") for one in page.tree.iter("input") if one.get("type") == "text"
        ]
        with demo_club.work() as session:
            model = apparatus.piece(session, held.apparatus_id).model
        marks = {key: model.axis(key).scale.label(4) for key in boxes}
        page = page.send("Save present marks", **marks)

        assert page.send("Begin rotation 1", of_day=str(DAY)).status == 200

    def test_another_run_is_under_way(
        self, phone: Phone, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        with demo_club.work(writes=True) as session:
            other = next(
                line
                for line in desk_rotation.recent(session)
                if held.apparatus_id in line.apparatus_ids
            )
            desk_run.begin(session, other.id, held.apparatus_id)

        assert f"is under way on {BARS}. Ask the coach" in phone("Ivo").text

    def test_a_closed_station_shows_nothing_more(
        self, begun: Page, demo_pages: Reader, held: SmallMeet
    ) -> None:
        demo_pages.get("/stations/1").send("Close the station now")
        page = begun.reader.get("/station/now")

        assert page.heading == "The station was closed"
        assert "work by the printed crew sheet" in page.text
        assert page.response.headers["Clear-Site-Data"] == '"storage"'

    def test_leaving_is_possible_at_any_time(self, begun: Page) -> None:
        page = begun.send("Leave the station")

        assert page.heading == "You have left the station"
        assert page.reader.get("/station/now").heading == "You have left the station"
