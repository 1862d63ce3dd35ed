"""A card of one club, read at another club's station while the desk that printed it is off."""

from collections.abc import Iterator

import pytest
from flask import Flask
from playwright.sync_api import expect

from settingsdesk.cards.pdf import Size
from settingsdesk.config import DataFolder
from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.cards.code_address import CodeKey
from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.domain.settings.card import Card
from settingsdesk.domain.settings.lengths_line import in_groups
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.store.work import Store
from tests.browser.at_station import Phone, begin, heading
from tests.browser.conftest import Served
from tests.browser.looks import (
    assert_accessible,
    assert_no_sideways_scroll,
    assert_read_in_every_light,
    assert_targets,
)
from tests.browser.pressing import press
from tests.cards.reading import symbols
from tests.cards.samples import as_pdf
from tests.desk.sample_hall import BY, furnish

A_CAMERA = """
navigator.mediaDevices.getUserMedia = async () => {
  const canvas = document.createElement("canvas");
  canvas.getContext("2d").fillRect(0, 0, 9, 9);
  return canvas.captureStream();
};
self.BarcodeDetector = class {
  async detect() { return self.held ? [{ rawValue: self.held }] : []; }
};
"""
"""A browser that reads square codes by its camera, of which Chromium on this system has neither."""
NOT_ALLOWED = "navigator.mediaDevices.getUserMedia = async () => { throw new Error(); };"


@pytest.fixture
def visitors(app_of_one_club: Flask) -> Iterator[Served]:
    """Another club's desk, at an address of its own."""
    one = Served(app_of_one_club)
    yield one
    one.stop()


@pytest.fixture
def card(visitors: Served, data: DataFolder, store: Store) -> Card:
    """The card that the visiting club printed at home, for its own bars."""
    hall = furnish(store, 1)
    with store.work(1, by=BY, writes=True) as session:
        guest = athletes.add(session, Person("Osterkamp", "Almira"))
        piece = apparatus.piece(session, hall.bars)
        axes = zip(piece.model.kind.axes, (1700, 2480, 1650), strict=True)
        setting = Setting(piece.model.kind, {axis.key: Wanted(mm, 10) for axis, mm in axes})
        settings.keep_setting(session, guest.id, piece.model_id, setting)
        ink = CodeKey(data.card_key(), visitors.address)
        return desk_issued.issue(session, ink, hall.bars, [guest.id])[0]


class TestTheVisitorsCard:
    def test_is_compared_without_a_word_from_the_desk_that_printed_it(
        self, phone: Phone, visitors: Served, card: Card
    ) -> None:
        """A hand-held reader types what the printed square says, and Enter."""
        [read] = symbols(as_pdf([card], Size.ID1), 300)
        assert read.startswith(visitors.address.upper())
        visitors.stop()
        page = phone("Ivo")
        asked: list[str] = []
        page.on("request", lambda request: asked.append(request.url))
        begin(page)
        page.get_by_label("Scan a card").focus()
        page.keyboard.type(read)
        page.keyboard.press("Enter")

        heading(page).to_have_text("Printed elsewhere: other lengths")
        rows = page.get_by_role(
            "table", name="Lengths on this card, and their marks here"
        ).get_by_role("row")
        expect(rows.nth(2)).to_contain_text("248.0 cm")
        expect(rows.nth(2)).to_contain_text("Other")
        expect(rows.nth(2)).to_contain_text("245.0 cm")
        expect(rows.nth(1)).not_to_contain_text("Other")
        assert not [address for address in asked if address.startswith(visitors.address)]
        assert_accessible(page)
        assert_no_sideways_scroll(page)
        assert_targets(page)
        assert_read_in_every_light(page)

        page.get_by_label("Scan a card").fill(in_groups(card.line).replace("2480", "2490"))
        page.keyboard.press("Enter")
        expect(page.locator("#card-error")).to_contain_text("its last two digits do not fit")


class TestThePhonesOwnCamera:
    def test_reads_the_card_on_a_page_of_the_station(
        self, phone: Phone, printed: list[Card]
    ) -> None:
        """Pages get the camera over https alone, and not every browser reads codes."""
        page = phone("Ivo")
        begin(page)
        press(page.get_by_role("link", name="Scan with this phone"))
        expect(page.get_by_text("This browser reads no square codes by itself")).to_be_visible()
        assert_accessible(page)
        page.add_init_script(A_CAMERA)
        page.reload()
        expect(page.get_by_text("Hold the card’s square code before the camera")).to_be_visible()
        expect(page.locator("video")).to_be_visible()

        page.evaluate("text => { self.held = text; }", f"{printed[0].url}/{printed[0].line}")
        heading(page).to_have_text("The right card")
        page.get_by_role("link", name="Back to the station").click()
        heading(page).to_contain_text("Almira O.")

    def test_that_is_not_allowed_leaves_the_field(self, phone: Phone) -> None:
        page = phone("Ivo")
        page.add_init_script(
            A_CAMERA + "navigator.mediaDevices.getUserMedia = async () => { throw 1; };"
        )
        page.goto("/station/scan")
        expect(
            page.get_by_text("The camera cannot be used. Allow it for this page")
        ).to_be_visible()
        expect(page.get_by_label("Scan a card, or type")).to_be_visible()
