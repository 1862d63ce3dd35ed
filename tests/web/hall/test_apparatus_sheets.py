"""The apparatus sheet on pages: out as a file and a table, in with a look before."""

from io import BytesIO

from settingsdesk.desk.hall.apparatus import all_pieces
from tests.conftest import DemoClub
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
        for wanted in ("(130.0 cm) 131.0 ", "(189.0 cm) 190.0 "):
            assert wanted in page.text
        for wanted in ("Distance of the feet", "Rail section", "mats 20.0 cm"):
            assert wanted in page.text

    def test_it_says_lengths_between_the_points_of_all_other_papers(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """Whoever reads a mark on it and one on a card must not ask for the wrong hole."""
        with demo_club.work() as session:
            door = next(one for one in all_pieces(session) if one.name == "Bars by the door")
        assert door.setup is not None
        page = demo_pages.get(f"/apparatus-sheets/sheet?apparatus={door.id}")
        low = door.model.axes[0]
        mark, taped_mm = low.scale.label(door.setup[0]), door.model.measures_mm(door.setup)
        reads_mm = low.scale.length_mm(door.setup[0])
        assert taped_mm["low_rail"] != reads_mm
        assert f"{mark} {taped_mm['low_rail'] / 10:.1f} cm ({reads_mm / 10:.1f} cm)" in page.text
        assert "By tape: upper edge of the rail, above the floor, as on cards" in page.text
        assert "At another difference of heights every mark is another length" in page.text

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
