"""The page on which a club says what it usually accepts."""

from tests.web.pages import Reader


class TestThePage:
    def test_what_is_typed_stands_there_the_next_time(self, demo_pages: Reader) -> None:
        page = demo_pages.get("/apparatus/").follow("Usually accepted deviations")
        page = page.send("Save these", uneven_bars_low_rail="1", uneven_bars_spread="± 1,5")
        assert page.banners == ["Saved. Only warnings go by these."]

        page = page.follow("Usually accepted deviations")
        (low,), (spread,) = (
            page.having("name", f"uneven_bars_{axis}") for axis in ("low_rail", "spread")
        )
        assert (low.get("value"), spread.get("value")) == ("1.0", "1.5")
        assert page.send("Save these", uneven_bars_spread="").heading == "Apparatus"

    def test_a_slip_is_said_at_its_field(self, demo_pages: Reader) -> None:
        page = demo_pages.get("/apparatus/usual-deviations/")
        page = page.send("Save these", uneven_bars_low_rail="60")
        assert page.mistakes == ["Low rail height, ± must be at most 50.0 cm"]

    def test_a_club_without_models_has_nothing_to_fill_in(self, pages: Reader) -> None:
        assert "No apparatus model yet" in pages.get("/apparatus/usual-deviations/").text
