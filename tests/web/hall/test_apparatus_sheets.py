"""The apparatus sheet on pages: out as a file and a table, in with a look before."""

from io import BytesIO

from tests.web.pages import Reader


class TestOut:
    def test_a_table_to_print_and_a_file(self, demo_pages: Reader) -> None:
        page = demo_pages.get("/apparatus/").follow("Apparatus sheet")
        page = page.send("Make the sheet", hall="Main hall", pieces=["1", "2"])
        assert page.heading == "Apparatus of Main hall"
        answer = demo_pages.client.get(page.links["Download the file"])
        assert answer.headers["Content-Type"].startswith("application/json")
        assert b"settingsdesk apparatus sheet" in answer.data

    def test_a_club_without_a_desk_reads_every_mark_and_the_frame_from_the_paper(
        self, demo_pages: Reader
    ) -> None:
        page = demo_pages.get("/apparatus-sheets/sheet?apparatus=1&apparatus=3")
        for wanted in ("130.0 130.0 cm 131.0 131.0 cm", "189.0 189.0 cm 190.0 190.0 cm"):
            assert wanted in page.text
        for wanted in ("Distance of the feet", "Rail section", "mats 20.0 cm"):
            assert wanted in page.text

    def test_nothing_chosen_is_said(self, demo_pages: Reader) -> None:
        assert demo_pages.get("/apparatus-sheets/sheet").status == 400


class TestIn:
    def test_looked_at_and_taken_on_a_desk_with_nothing(
        self, demo_pages: Reader, pages: Reader
    ) -> None:
        made = demo_pages.get("/apparatus-sheets/").send("Make the sheet", hall="Main hall")
        content = demo_pages.client.get(made.links["Download the file"]).data
        page = pages.get("/apparatus-sheets/in").send(
            "Check the sheet", file=(BytesIO(content), "apparatus-sheet.json")
        )
        assert "adds the apparatus Bars by the window" in page.text
        page = page.send("Add all of it")
        assert page.heading == "Apparatus"
        assert "Bars by the window" in page.text

    def test_what_is_no_sheet_is_said_at_the_field(self, pages: Reader) -> None:
        page = pages.get("/apparatus-sheets/in").send(
            "Check the sheet", file=(BytesIO(b"{}"), "sheet.json")
        )
        assert page.status == 400
        assert "is no apparatus sheet" in page.mistakes[0]
