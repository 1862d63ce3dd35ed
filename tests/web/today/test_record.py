"""The page of who changed what."""

from tests.web.pages import Reader


class TestThePage:
    def test_a_coach_sees_what_was_done_by_whom(self, demo_pages: Reader) -> None:
        demo_pages.get("/athletes/1/edit").send("Save the changes", start_number="41")
        page = demo_pages.get("/").follow("Who changed what")

        assert page.heading == "Who changed what"
        assert "Runa Calloway" in page.text
        assert "Athlete changed, start number" in page.text
        assert "41" not in page.text.partition("Athlete changed")[2].partition(")")[0]

    def test_no_stranger_does(self, scanner: Reader) -> None:
        assert scanner.get("/record").heading == "Sign in"
