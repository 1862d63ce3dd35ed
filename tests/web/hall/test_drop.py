"""A stored model whose spread hangs on a drop that nobody entered: asked for before it is used."""

from dataclasses import replace
from io import BytesIO

import pytest

from settingsdesk.desk.hall import models
from settingsdesk.desk.hall.apparatus import DropUnknown
from settingsdesk.desk.rotations import rotation
from settingsdesk.desk.runs import run
from settingsdesk.domain.hall.geometry import Upright
from tests.conftest import DemoClub
from tests.desk.runs.timed_evenings import window_bars
from tests.desk.sample_meet import SmallMeet
from tests.web.pages import Page, Reader
from tests.web.rotations.making import first_ids, new_page

MISSING = "for which drop between them it was printed is not entered"
TOLD = "The drop between the rails is missing"


@pytest.fixture
def without(demo_club: DemoClub, held: SmallMeet) -> int:
    """The model of the bars by the window, as a desk of an earlier version kept it."""
    bars = window_bars(demo_club)
    with demo_club.work(writes=True) as session:
        models.change_model(
            session, bars.model_id, replace(bars.model, geometry=Upright()), "as it was", 1
        )
    return bars.model_id


def refused(page: Page, model_id: int) -> None:
    """The page says what and where, and leads there."""
    assert page.status == 409
    assert MISSING in page.text
    [way] = [address for words, address in page.links.items() if words.startswith("Enter the drop")]
    assert way == f"/apparatus/models/{model_id}/change#reference_drop"


class TestWhatWaitsForIt:
    def test_a_rotation(self, demo_pages: Reader, without: int) -> None:
        page = new_page(demo_pages)
        refused(page.send("Plan the rotation", who=first_ids(page, 3)), without)

    def test_a_run_of_a_rotation_that_was_ordered_before(
        self, demo_club: DemoClub, without: int
    ) -> None:
        with demo_club.work(writes=True) as session:
            piece = rotation.rotation(session, 1).piece
            with pytest.raises(DropUnknown):
                run.begin(session, 1, piece.id)

    def test_a_card(self, demo_pages: Reader, held: SmallMeet, without: int) -> None:
        page = demo_pages.get(f"/cards/{held.apparatus_id}")
        refused(page.send("Make the cards", who=first_ids(page, 1)), without)

    def test_a_crew_sheet(self, demo_pages: Reader, held: SmallMeet, without: int) -> None:
        refused(demo_pages.get(f"/crew-sheets/{held.rotation_id}"), without)

    def test_a_tape_along_its_spread(
        self, demo_pages: Reader, held: SmallMeet, without: int
    ) -> None:
        page = demo_pages.get(f"/apparatus/{held.apparatus_id}/calibrations/take/spread")
        taped = {"mark_1": "140", "length_1": "140", "mark_2": "150", "length_2": "150"}
        page = page.send("Work it out", **taped, mark_3="160", length_3="160")
        refused(page, without)


class TestWhatSaysIt:
    @pytest.mark.parametrize("address", ["/apparatus/models/{model}", "/apparatus/{piece}"])
    def test_the_pages_of_the_model_and_of_the_apparatus(
        self, demo_pages: Reader, held: SmallMeet, without: int, address: str
    ) -> None:
        page = demo_pages.get(address.format(model=without, piece=held.apparatus_id))
        assert TOLD in page.text
        assert "not known" in page.text

    def test_every_mark_that_an_athlete_reads(
        self, demo_pages: Reader, held: SmallMeet, without: int
    ) -> None:
        page = demo_pages.get("/athletes/1")
        assert "for which drop between the rails its scale is printed is not entered" in page.text

    def test_whoever_gets_no_card_at_a_meet(
        self, demo_pages: Reader, held: SmallMeet, without: int
    ) -> None:
        page = demo_pages.get(f"/meets/{held.meet_id}/cards").send("Make the cards")
        assert MISSING in page.text


class TestOnceItIsEntered:
    def test_cards_are_made_again(self, demo_pages: Reader, held: SmallMeet, without: int) -> None:
        page = demo_pages.get(f"/apparatus/models/{without}/change")
        page = page.send("Save the model", reference_drop="80", reason="from the leaflet")
        assert page.banners == ["The model is changed."]
        assert TOLD not in page.text
        page = demo_pages.get(f"/cards/{held.apparatus_id}")
        assert page.send("Make the cards", who=first_ids(page, 1)).status == 200


class TestASheetWithoutIt:
    def test_is_read_and_asked_for(self, demo_pages: Reader, pages: Reader, without: int) -> None:
        """Halls send sheets that were made before the drop was asked for."""
        content = demo_pages.client.get("/apparatus-sheets/sheet.json?hall=Main&apparatus=1").data
        page = pages.get("/apparatus-sheets/in").send(
            "Check the sheet", file=(BytesIO(content), "apparatus-sheet.json")
        )
        assert "the drop between the rails for which its spread is printed is not on" in page.text
        page = page.send("Add all of it").follow("Bars by the window")
        assert TOLD in page.text
