"""Telling the coach from a card's page, and the coach's answer."""

import re

import pytest
from flask import Flask

from settingsdesk.desk.accounts.failed_tries import Limit, Limits
from settingsdesk.desk.cards import remarks
from settingsdesk.desk.meet_day import cards as desk_cards
from settingsdesk.desk.meet_day.cards import Choice
from settingsdesk.desk.runs.presses import next_up
from settingsdesk.domain.changeover.happenings import NotHere
from settingsdesk.web.frame.work import OURS
from tests.cards.reading import page_texts
from tests.conftest import DemoClub
from tests.desk.sample_meet import CODE_KEY, SmallMeet, begun, hold, press
from tests.web.cards.making import issue
from tests.web.pages import Reader, words
from tests.web.rotations.making import TONIGHT


@pytest.fixture
def held(demo_club: DemoClub) -> SmallMeet:
    return hold(demo_club)


@pytest.fixture
def code(demo_club: DemoClub, held: SmallMeet) -> str:
    with demo_club.work(writes=True) as session:
        made = desk_cards.issue(session, CODE_KEY, held.meet_id, Choice())
    return made.groups[0][1][0].url.rpartition("/")[2]


def on_paper(reader: Reader, address: str) -> str:
    return " ".join(" ".join(page_texts(reader.get(address).response.data)).split())


class TestTheWholeWay:
    def test_from_the_card_to_the_coach_and_back(
        self, scanner: Reader, demo_pages: Reader, code: str
    ) -> None:
        """An athlete's parent, without an account, and the coach at the desk."""
        card = scanner.get(f"/C/{code}").follow("Tell the coach that something is wrong")
        told = card.send("Tell the coach", said="The low rail felt high")
        assert "The coach can read it now" in told.banners[0]
        assert "Not answered yet" in told.text
        assert "set nothing by this card before the coach has said what counts" in told.text
        assert "This card counts: version" not in told.text

        today = demo_pages.get("/")
        waiting = next(words for words in today.links if "not answered" in words)
        page = today.follow(waiting).follow("Osterkamp, Almira")
        assert "The low rail felt high" in page.text
        answered = page.send("Answer", words="Lowered by one; take the new card")
        assert "Every message has been answered" in answered.text

        assert "Lowered by one; take the new card" in scanner.get(f"/C/{code}").text
        assert "This card counts: version" in scanner.get(f"/C/{code}").text

    def test_it_names_no_family_no_club_and_asks_no_account(
        self, scanner: Reader, code: str
    ) -> None:
        page = scanner.get(f"/C/{code}/remark")
        for private in ("Osterkamp", "Tarn Hollow", "Quillmoor"):
            assert private not in page.text


class TestUntilItIsAnswered:
    def test_every_page_that_shows_those_marks_says_to_ask_first(
        self, demo_pages: Reader, demo_club: DemoClub, held: SmallMeet, code: str
    ) -> None:
        """Whoever sets by one of them has not seen the card's own page."""
        remarks.receive(demo_club.store, code, "Feels two fingers low")
        with demo_club.work() as session:
            [told] = remarks.unanswered(session)
        places = (
            f"/start-orders/{held.rotation_id}",
            f"/crew-sheets/{held.rotation_id}",
            f"/meets/{held.meet_id}/cards",
        )
        for place in places:
            page = demo_pages.get(place)
            assert page.text.count("Message not answered: ask the coach first") == 1, place
            assert "fingers" not in page.text

        paper = f"/crew-sheets/{held.rotation_id}/sheet.pdf"
        assert on_paper(demo_pages, paper).count("! Message not answered: ask the coach first") == 1
        run = demo_pages.get(places[0]).send("Take it to the bars")
        assert run.heading.endswith("Set for Almira O.")
        assert "Message not answered: ask the coach first" in run.text
        demo_pages.get(f"/remarks/{told.id}").send("Answer", words="It is right as it is")
        assert "Message not answered" not in demo_pages.get(run.address).text
        for place in places:
            assert "Message not answered" not in demo_pages.get(place).text
        assert "Message not answered" not in on_paper(demo_pages, paper)

    def test_it_stands_with_its_athlete_where_the_order_was_changed_at_the_apparatus(
        self, demo_pages: Reader, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """Turns come in another order there than they were listed in: the message goes along."""
        noor = held.guests[2]
        choice = Choice(cards=((held.apparatus_id, noor.entry_id),))
        with demo_club.work(writes=True) as session:
            made = desk_cards.issue(session, CODE_KEY, held.meet_id, choice)
        remarks.receive(demo_club.store, made.groups[0][1][0].url.rpartition("/")[2], "Too low")
        going = begun(demo_club, held)
        for change in (
            lambda now: next_up(now.run, noor.member.id),
            lambda _: NotHere(held.guests[0].member.id),
        ):
            press(demo_club, going, change)
            sheet = demo_pages.get(f"/crew-sheets/{held.rotation_id}")
            rows = [words(row) for row in sheet.tree.iter("tr")]
            [said] = [row for row in rows if "Message not answered" in row]
            assert "Noor H." in said, change

    def test_a_card_for_other_bars_says_so_of_the_squads_marks_too(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """One setting stands behind the cards for all bars: a training card counts for tonight."""
        path = issue(demo_club)
        remarks.receive(demo_club.store, path[-26:], "Feels two fingers low")
        for place in (TONIGHT, "/cards/2"):
            page = demo_pages.get(place)
            assert re.search("Message not answered: ask the coach first (Bąk|Jagna B)", page.text)
        told = on_paper(demo_pages, f"{TONIGHT}/order.pdf")
        assert told.count("! Message not answered: ask the coach first") == 1
        there = demo_pages.get(path).follow("Bars by the door")
        assert "set nothing by this card before the coach has said what counts" in there.text


class TestWhatIsNotTaken:
    def test_nothing_written_is_said_at_the_field(self, scanner: Reader, code: str) -> None:
        page = scanner.get(f"/C/{code}/remark").send("Tell the coach", said="  ")
        assert page.status == 400
        assert page.mistakes == ["Write what is wrong"]

    def test_they_are_no_failed_tries_of_their_address(
        self, scanner: Reader, code: str, demo_app: Flask
    ) -> None:
        """A whole hall is behind it, and its coach who wants to sign in."""
        scanner.get(f"/C/{code}/remark").send("Tell the coach", said="The low rail felt high")
        none_yet = Limits(Limit(1, 60), Limit(1, 60), address=Limit(1, 60))
        demo_app.extensions[OURS].attempts.begin("runa", "127.0.0.1", none_yet)
        demo_app.extensions[OURS].failed.begin("runa", "127.0.0.1", none_yet)

    def test_too_many_about_one_card_wait(self, scanner: Reader, code: str) -> None:
        """OWASP ASVS 5.0.0, 2.4.1: limited in rate, with Retry-After."""
        for number in range(12):
            page = scanner.get(f"/C/{code}/remark").send("Tell the coach", said=f"R{number}")
        assert page.status == 429
        assert int(page.response.headers["Retry-After"]) > 0
        assert "tell the coach by word of mouth" in page.text

    def test_a_household_with_many_addresses_is_one(self, scanner: Reader, code: str) -> None:
        """Each machine may choose half of an IPv6 address as it likes, as often as it likes."""
        for number in range(11):
            scanner.client.environ_base["REMOTE_ADDR"] = f"2001:db8:1:2::{number + 1:x}"
            page = scanner.get(f"/C/{code}/remark").send("Tell the coach", said=f"R{number}")
        assert page.status == 429

    def test_an_unknown_code_opens_nothing(self, scanner: Reader, code: str) -> None:
        assert scanner.get(f"/C/{'A' * 26}/remark").status == 404
