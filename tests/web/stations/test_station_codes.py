"""Codes that phones send: whoever guesses is slowed down, and nobody else."""

import pytest
from flask import Flask

from settingsdesk.desk.stations.stations import StationCodes
from settingsdesk.domain.base.codes import short_code
from settingsdesk.web.frame.work import OURS
from tests.conftest import Clock, DemoClub
from tests.made_once import made_once
from tests.web.conftest import signed_in
from tests.web.pages import Page, Reader, words
from tests.web.stations.conftest import Phone

WRONG = short_code(b"another key", "a station of nobody's")
"""A code whose check character fits, and that no station has."""


class TestGuessing:
    def test_stations_codes_are_not_guessed_fast(self, demo_app: Flask) -> None:
        """OWASP ASVS 5.0.0, 2.4.1: by address, with the time to wait."""
        reader = Reader(demo_app)
        pages = [reader.get("/S/" + "A" * 26) for _ in range(11)]

        assert {page.status for page in pages[:-1]} == {404}
        assert pages[-1].status == 429
        assert int(pages[-1].response.headers["Retry-After"]) > 0

    def test_guesses_are_not_forgotten_because_of_a_slip_between_them(
        self, demo_app: Flask
    ) -> None:
        """A code that cannot be one is neither a guess nor a success."""
        reader = Reader(demo_app)
        for _ in range(10):
            reader.get("/S/" + "A" * 26)
            reader.get("/S/222222223")

        assert reader.get("/S/" + "A" * 26).status == 429

    def test_nor_are_cards_codes(self, begun: Page) -> None:
        pages = [begun.send("Check card", card="A" * 26) for _ in range(11)]

        assert pages[9].heading == "No card of this desk"
        assert pages[10].status == 429
        assert int(pages[10].response.headers["Retry-After"]) > 0


class TestNobodyIsLockedOutByOthers:
    @pytest.fixture
    def guessed(self, demo_app: Flask, codes: StationCodes) -> None:
        """A hundred wrong codes within the hour, from ten addresses."""

        def guess() -> None:
            for number in range(1, 11):
                guesser = Reader(demo_app)
                guesser.client.environ_base["REMOTE_ADDR"] = f"192.0.2.{number}"
                page = guesser.get("/station")
                tried = [page.send("Join", code=WRONG, name="Max") for _ in range(10)]
                assert {one.status for one in tried} == {400}

        made_once(demo_app.extensions[OURS].store, "a hundred wrong codes", guess)

    def typed(self, reader: Reader, codes: StationCodes) -> Page:
        return reader.get("/station").send("Join", code=codes.short_code, name="Nell")

    def test_a_phone_that_was_in_before_types_its_way_in(
        self, demo_app: Flask, codes: StationCodes, request: pytest.FixtureRequest
    ) -> None:
        reader = Reader(demo_app)
        assert self.typed(reader, codes).address == "/station/now"
        reader.get("/station/now").send("Leave the station")
        request.getfixturevalue("guessed")

        assert self.typed(reader, codes).address == "/station/now"

    @pytest.mark.usefixtures("guessed")
    def test_another_one_scans_or_is_let_in_by_the_desk(
        self, demo_app: Flask, demo_club: DemoClub, codes: StationCodes, phone: Phone
    ) -> None:
        """And reads both ways where the typed code is refused."""
        reader = Reader(demo_app)
        refused = self.typed(reader, codes)
        assert refused.status == 429
        assert "Scan the square code" in refused.text
        assert "have the desk let this phone in" in refused.text
        assert phone("Ivo").address == "/station/now"

        waiting = reader.get("/station/waiting")
        early = waiting.send("Join", name="Nell")
        assert "The desk has not let this phone in yet" in early.mistakes[0]
        [code] = [words(one) for one in early.having("class", "typed")]
        desk = signed_in(demo_app, demo_club.account).get("/stations/1")
        assert desk.send("Let this phone in", phone_code="2222").status == 400
        told = desk.send("Let this phone in", phone_code=code)
        assert told.banners == ["That phone may join now: its holder presses Join."]

        assert early.send("Join", name="Nell").address == "/station/now"
        assert "Nell" in desk.reader.get("/stations/1").text

    @pytest.mark.usefixtures("guessed")
    def test_after_an_hour_typing_is_possible_again(
        self, demo_app: Flask, codes: StationCodes, clock: Clock
    ) -> None:
        clock.seconds += 3600

        assert self.typed(Reader(demo_app), codes).address == "/station/now"

    def test_wrong_cards_typed_at_one_station_are_counted_there(
        self, begun: Page, demo_app: Flask
    ) -> None:
        """The crew of another station goes on typing."""
        pages = [begun.send("Check card", card=WRONG) for _ in range(11)]

        assert pages[-1].status == 429
