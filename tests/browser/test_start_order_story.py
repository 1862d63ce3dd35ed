"""A start order on a host's phone: typed with slips, put right, changed as the jury says."""

from playwright.sync_api import expect

from tests.browser.conftest import OpenPage
from tests.browser.looks import assert_accessible, assert_no_sideways_scroll
from tests.browser.pressing import press
from tests.desk.sample_meet import SmallMeet


def test_slips_are_told_line_by_line_and_the_jury_has_the_last_word(
    open_page: OpenPage, held: SmallMeet
) -> None:
    page = open_page(f"/start-orders/sessions/{held.session_id}/new", light="dark")
    page.get_by_label("Apparatus", exact=True).select_option(label="Bars by the window")
    box = page.get_by_label("Start order", exact=True)
    box.fill("13\nOsterkmap\n12 Bellaquer, Sunniva")
    press(page.get_by_role("button", name="Set the start order"))
    expect(page.get_by_role("alert")).to_contain_text("Line 2, 'Osterkmap'")
    assert_accessible(page)
    assert_no_sideways_scroll(page, 320)
    expect(box).to_have_value("13\nOsterkmap\n12 Bellaquer, Sunniva")
    box.fill("13\nOsterkamp, Almira\n12 Bellaquer, Sunniva")
    press(page.get_by_role("button", name="Set the start order"))
    rows = page.get_by_role("rowheader")
    expect(rows.nth(1)).to_contain_text("2. Osterkamp, Almira")
    press(page.get_by_role("button", name="Up for Osterkamp, Almira"))
    expect(rows.nth(0)).to_contain_text("1. Osterkamp, Almira")
    expect(rows.nth(1)).to_contain_text("2. Halvardsen, Noor")
