"""A host's pages of a meet on a phone: read, pressed and printed."""

from playwright.sync_api import expect

from tests.browser.conftest import SCREENS, OpenPage
from tests.browser.looks import assert_accessible, assert_no_sideways_scroll, assert_targets
from tests.browser.pressing import press
from tests.desk.sample_meet import SmallMeet


def test_they_can_be_read_and_pressed_on_a_phone(open_page: OpenPage, held: SmallMeet) -> None:
    page = open_page("/meets/")
    for path in (
        "/meets/",
        f"/meets/{held.meet_id}",
        f"/meets/{held.meet_id}/entries",
        f"/meets/{held.meet_id}/entries/settle",
        f"/meets/{held.meet_id}/entries/{held.guests[0].entry_id}",
        f"/meets/{held.meet_id}/lists",
        f"/meets/{held.meet_id}/cards",
        f"/start-orders/{held.rotation_id}",
        f"/start-orders/{held.rotation_id}/edit",
        f"/start-orders/{held.rotation_id}/away",
        f"/start-orders/sessions/{held.session_id}/new",
        f"/start-orders/sessions/{held.session_id}/draw",
        f"/meets/{held.meet_id}/numbers",
        f"/meets/{held.meet_id}/apparatus?piece={held.apparatus_id}",
        f"/crew-sheets/{held.rotation_id}",
        "/apparatus-sheets/",
    ):
        page.goto(path)
        assert_accessible(page)
        assert_targets(page, 44)
        assert_no_sideways_scroll(page, 320)


def test_no_warning_pushes_a_move_of_the_crew_sheet_off_a_phone(
    open_page: OpenPage, held: SmallMeet
) -> None:
    """Whoever reads the sheet off a phone sees how far and which way without scrolling sideways."""
    page = open_page(f"/meets/{held.meet_id}/entries/{held.guests[0].entry_id}/raise")
    page.get_by_label("Apparatus", exact=True).select_option(label="Bars by the window")
    page.get_by_label("By how much").fill("5")
    page.get_by_label("Who asked").fill("Coach of the guests")
    press(page.get_by_role("button", name="Record it"))
    page.goto(f"/crew-sheets/{held.rotation_id}")
    expect(page.locator(".crew .heed .tag")).to_contain_text("raise the rails by 5.0 cm")
    moves = [one.bounding_box() for one in page.locator(".crew .move").all()]
    assert moves
    assert all(box and box["x"] + box["width"] <= SCREENS["phone"]["width"] for box in moves)
