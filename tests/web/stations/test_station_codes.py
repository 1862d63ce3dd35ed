"""Codes that phones send: whoever guesses is slowed down, and nobody else."""

from flask import Flask

from tests.web.pages import Page, Reader


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

        assert pages[9].heading == "This card does not count"
        assert pages[10].status == 429
        assert int(pages[10].response.headers["Retry-After"]) > 0
