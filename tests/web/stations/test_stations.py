"""Stations as the coach sees them: opened, shown, printed, closed at once."""

import re

import pytest

from settingsdesk.cards.symbol import qr_symbol
from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.stations import stations
from settingsdesk.web.frame.work import code_key
from settingsdesk.web.stations.stations import qr_path
from tests.conftest import DemoClub
from tests.desk.sample_meet import BARS, SmallMeet
from tests.web.pages import Page, Reader


@pytest.fixture
def opened(demo_pages: Reader, held: SmallMeet) -> Page:
    page = demo_pages.get(f"/stations/sessions/{held.session_id}")
    return page.send(f"Open the station at {BARS}", hours="4")


def code_on(page: Page) -> str:
    """The typed code as the page shows it."""
    [shown] = ["".join(one.itertext()).strip() for one in page.having("class", "typed")]
    return shown


class TestTheSheetAtThePost:
    def test_it_says_which_rail_and_which_end_is_which(
        self, opened: Page, demo_pages: Reader, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """A volunteer from another club knows neither the hall nor the frame."""
        with demo_club.work(writes=True) as session:
            apparatus.call_ends(session, held.apparatus_id, "window", "wall")
        told = demo_pages.get("/stations/1/sheet").text

        assert "Stand at the window end and look along the rails" in told
        assert "the LOW rail is on your left, the HIGH rail on your right" in told
        assert "before you is the wall end" in told


class TestOpening:
    def test_every_apparatus_of_the_meet_can_be_opened(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        page = demo_pages.get(f"/stations/sessions/{held.session_id}")

        assert page.heading == "Stations of session 1: Juniors"
        assert BARS in page.text
        assert "Rotation 1" in page.text

    def test_its_page_shows_the_code_in_groups_and_as_a_symbol(self, opened: Page) -> None:
        """Nine characters are typed without a slip when they stand in groups."""
        assert opened.heading == f"Station at {BARS}"
        assert re.fullmatch(
            r"[2-9A-HJKMNP-Z]{4} [2-9A-HJKMNP-Z]{4} [2-9A-HJKMNP-Z]", code_on(opened)
        )
        assert "for a phone's camera" in opened.text
        assert "No phone has joined yet." in opened.text

    def test_one_that_is_open_is_not_opened_twice(
        self, opened: Page, demo_pages: Reader, held: SmallMeet
    ) -> None:
        page = demo_pages.get(f"/stations/sessions/{held.session_id}")

        assert code_on(page.follow(f"Show its code at {BARS}")) == code_on(opened)

    def test_the_symbol_is_drawn_module_for_module(self) -> None:
        """A run of dark modules too many, and no camera reads it."""
        symbol = qr_symbol("HTTP://DESK.EXAMPLE:8000/S/" + "A2" * 13)
        dark = set()
        for x, y, length in re.findall(r"M(\d+) (\d+)h(\d+)v1h-\d+z", qr_path(symbol)):
            dark |= {(int(x) + more, int(y)) for more in range(int(length))}

        assert dark == {
            (x, y) for y, row in enumerate(symbol.rows) for x, is_dark in enumerate(row) if is_dark
        }


class TestThePinnedSheet:
    def test_it_says_how_to_come_in_and_what_counts_without_network(self, opened: Page) -> None:
        page = opened.follow("Sheet to pin at the apparatus")

        assert page.heading == f"{BARS}: join here"
        assert code_on(page) == code_on(opened)
        assert "Without network: use the printed crew sheet." in page.text
        assert "Only trained people move and tension the bars." in page.text
        assert "Crew sheet of rotation 1" in page.links


class TestPhones:
    def test_they_stand_there_by_name_and_one_can_be_put_out(
        self, opened: Page, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        with demo_pages.app.test_request_context():
            ink = code_key()
        phone = stations.let_in(demo_club.store, ink, code_on(opened), "Ivo B")
        page = demo_pages.get(opened.address).send("Remove Ivo B")

        assert page.banners == ["That phone is out."]
        assert stations.still_in(demo_club.store, phone.stamp) is None
        assert "Removed" in page.text


class TestClosing:
    def test_its_codes_are_gone_at_once(self, opened: Page) -> None:
        page = opened.send("Close the station now")

        assert page.heading == "Stations of session 1: Juniors"
        closed = page.reader.get(opened.address)
        assert not closed.having("class", "typed")
        assert "Closed" in closed.text
        assert "lets nobody in" in page.reader.get(f"{opened.address}/sheet").text
