"""The crew sheet as a page, on paper and as a spreadsheet."""

from io import BytesIO

import openpyxl
import pytest

from settingsdesk.desk.meets import meets
from tests.cards.reading import page_texts
from tests.conftest import DemoClub
from tests.desk.sample_meet import SmallMeet
from tests.web.conftest import Reader, signed_in


@pytest.fixture
def pages(demo_app, demo_club: DemoClub) -> Reader:
    return signed_in(demo_app, demo_club.account)


class TestThePage:
    def test_everybody_is_there_with_marks_and_moves(self, pages: Reader, held: SmallMeet) -> None:
        page = pages.get(f"/crew-sheets/{held.rotation_id}")
        assert page.heading == "Session 1: Juniors, rotation 1, Bars by the window"
        for wanted in ("1. Almira O.", "No. 12, Tarn Hollow GC", "Low rail height", "min"):
            assert wanted in page.text

    def test_where_the_warm_up_is_too_short_is_said_at_the_place(
        self, pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            book = "International, as quoted"
            meets.put_apparatus(session, held.meet_id, held.apparatus_id, book)
        page = pages.get(f"/crew-sheets/{held.rotation_id}?hands=1")
        assert "Too short" in page.text
        assert "the warm-up gives 50 s" in page.text

    def test_other_hands_are_a_link_away(self, pages: Reader, held: SmallMeet) -> None:
        page = pages.get(f"/crew-sheets/{held.rotation_id}").follow("four pairs of hands")
        assert "for four pairs of hands" in page.text

    @pytest.mark.parametrize("hands", ["3", "0", "-1", "99999999999999999999"])
    def test_no_crew_is_a_sentence_and_no_fault(
        self, pages: Reader, held: SmallMeet, hands: str
    ) -> None:
        page = pages.get(f"/crew-sheets/{held.rotation_id}?hands={hands}")
        assert page.status in (200, 400)


class TestTheFiles:
    def test_one_rotation_and_a_whole_session_on_paper(
        self, pages: Reader, held: SmallMeet
    ) -> None:
        for address in (
            f"/crew-sheets/{held.rotation_id}/sheet.pdf",
            f"/crew-sheets/sessions/{held.session_id}/sheets.pdf",
        ):
            answer = pages.client.get(address)
            assert answer.headers["Content-Type"] == "application/pdf"
            assert "attachment" in answer.headers["Content-Disposition"]
            assert "Almira O." in " ".join(page_texts(answer.data))

    def test_and_as_spreadsheets(self, pages: Reader, held: SmallMeet) -> None:
        for address in (
            f"/crew-sheets/{held.rotation_id}/sheet.xlsx",
            f"/crew-sheets/sessions/{held.session_id}/sheets.xlsx",
        ):
            book = openpyxl.load_workbook(BytesIO(pages.client.get(address).data))
            page = book.worksheets[0]
            first = next(row for row in page.iter_rows(values_only=True) if row[0] == 1)
            assert first[2] == "Almira O."

    def test_a_session_without_start_orders_says_so(
        self, pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            meet = meets.meet(session, held.meet_id)
            empty = meets.add_session(session, meet.id, "", meet.facts.begins_on)
        page = pages.get(f"/crew-sheets/sessions/{empty.id}/sheets.pdf")
        assert "no start order yet" in page.text
