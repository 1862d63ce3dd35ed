"""Where a coach chooses in which language cards and crew sheets are printed."""

from pypdfium2 import PdfDocument

from tests.cards.reading import page_texts
from tests.conftest import DemoClub
from tests.web.cards.making import girls, make
from tests.web.pages import Reader


def printed(reader: Reader, athlete_id: int) -> str:
    """A card of the first apparatus as it comes out now."""
    file = reader.client.get(f"/cards/1/cards.pdf?athlete={athlete_id}&size=A6").data
    assert PdfDocument(file)
    return " ".join(" ".join(page_texts(file)).split())


class TestTheLanguageOfPaper:
    def test_is_chosen_on_a_page_and_holds_for_what_is_printed_next(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        [girl] = girls(demo_club, 1)
        make(demo_pages, [girl])
        assert "Low rail height" in printed(demo_pages, girl)

        page = demo_pages.get("/cards/").follow("Choose the language").send("Save", language="de")
        assert "Deutsch" in page.text
        text = printed(demo_pages, girl)
        assert "Höhe unterer Holm" in text
        assert "Not yet read by a native speaker" in text

    def test_says_which_nobody_has_read_and_which_has_no_letters(self, demo_pages: Reader) -> None:
        page = demo_pages.get("/cards/language")
        assert "Polski, 日本語, العربية" in page.text
        assert "日本語: the letters for it are not installed" in page.text
        assert "pip install 'settingsdesk[letters]'" in page.text

    def test_is_one_of_those_that_there_are(self, demo_pages: Reader) -> None:
        page = demo_pages.get("/cards/language").send("Save", language="xx")
        assert page.response.status_code == 400
