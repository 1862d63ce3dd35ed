"""Makes the README's pictures anew, from the demo club: .venv/bin/python scripts/pictures.py

Needs Chromium and what scripts/test has installed.
"""

import argparse
import logging
import shutil
import tempfile
import threading
from pathlib import Path

import pypdfium2
from playwright.sync_api import Browser, Page, expect, sync_playwright
from werkzeug.serving import make_server

from settingsdesk.cards.pdf import Size, cards_pdf
from settingsdesk.config import DataFolder
from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.cards.code_address import CodeKey
from settingsdesk.desk.demo import club as desk_club
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.domain.settings.card import CardGroup
from settingsdesk.resources import folder
from settingsdesk.store.migrate import upgrade
from settingsdesk.store.work import Store
from settingsdesk.web.app import create_app
from settingsdesk.words.language import ENGLISH

PICTURES = Path(__file__).parents[1] / ".pictures"
PASSWORD = "seven lanterns over wet slates"
PHONE, DESKTOP = {"width": 360, "height": 740}, {"width": 1100, "height": 900}


def main() -> None:
    argparse.ArgumentParser(description=__doc__).parse_args()
    logging.getLogger("werkzeug").setLevel(logging.WARNING)
    PICTURES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as place:
        data = DataFolder.at(Path(place))
        upgrade(data.database)
        store = Store(data.database)
        club = desk_club.load(store, folder("seed"), PASSWORD)
        code = print_card(store, data, club)
        server = make_server("127.0.0.1", 0, create_app(data=data, store=store), threaded=True)
        threading.Thread(target=server.serve_forever, daemon=True).start()
        with sync_playwright() as playwright:
            chromium = shutil.which("chromium")
            browser = playwright.chromium.launch(
                executable_path=chromium,
                args=["--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1"],
            )
            take_all(browser, f"http://127.0.0.1:{server.server_port}", code)
            browser.close()
        server.shutdown()
        store.close()


def print_card(store: Store, data: DataFolder, club: desk_club.Demo) -> str:
    """The picture of one A6 card; gives the path that its code leads to."""
    code_key = CodeKey(data.card_key(), "http://desk.example:5000")
    with store.work(club.club_id, by=desk_club.BY, writes=True) as session:
        view = desk_rotation.rotation(session, club.rotation_ids[0])
        [card] = desk_issued.issue(session, code_key, view.piece.id, [view.listed[0].id])
    page = pypdfium2.PdfDocument(cards_pdf([CardGroup((card,))], Size.A6, ENGLISH))[0]
    page.render(scale=1.6).to_pil().quantize(16).save(PICTURES / "card-a6.png", optimize=True)
    return card.url.removeprefix("HTTP://DESK.EXAMPLE:5000")


def take_all(browser: Browser, address: str, code: str) -> None:
    desktop, phone = (signed_in(browser, address, screen) for screen in (DESKTOP, PHONE))
    take(phone, f"{address}/rotations/1", "rotation-phone", height=1500)
    take(phone, f"{address}{code}", "card-phone", height=1500)
    take(desktop, f"{address}/athletes/1", "athlete-desktop", height=1500)
    take(desktop, f"{address}/apparatus/1/calibrations/2", "calibration-desktop", height=1500)
    question = (
        "from=apparatus-1&by=marks&low_rail=5&high_rail=6&spread=168&mat=20&accepts=1"
        "&to=apparatus-3&level="
    )
    take(desktop, f"{address}/convert/?{question}", "convert-desktop", height=1500)
    take_the_bars(phone, address)


def take_the_bars(phone: Page, address: str) -> None:
    """The third athlete of the rotation, with the first end of the low rail to be moved."""
    phone.goto(f"{address}/rotations/1")
    press(phone, "Take it to the bars")
    phone.get_by_label("was made on paper").check()
    over = "The turn is over"
    for words in ("Checked alone", over, "All steps", "Checked alone", over, "Done with"):
        confirm(phone, words)
    take(phone, f"{address}/bars/1", "bars-phone", height=1000)


def signed_in(browser: Browser, address: str, screen: dict[str, int]) -> Page:
    page = browser.new_page(viewport=screen)
    page.goto(f"{address}/")
    page.get_by_label("Sign-in name").fill("runa")
    page.get_by_label("Password").fill(PASSWORD)
    press(page, "Sign in")
    return page


def press(page: Page, words: str) -> None:
    """Press a button, and wait until the page that it leads to is there."""
    with page.expect_event("load"):
        page.get_by_role("button", name=words).first.click()


def confirm(page: Page, words: str) -> None:
    """Press a button at the bars, and wait until the page says something else."""
    shown = page.locator("main [data-state]")
    state = shown.get_attribute("data-state") or ""
    page.get_by_role("button", name=words).first.click()
    expect(shown).not_to_have_attribute("data-state", state)


def take(page: Page, address: str, name: str, height: int) -> None:
    """The top of a page, in few colours: these are drawings, not photographs."""
    page.goto(address)
    expect(page.locator("main button:disabled")).to_have_count(0)  # held for a moment at the bars
    whole = page.evaluate("document.documentElement.scrollHeight")
    clip = {"x": 0, "y": 0, "width": page.viewport_size["width"], "height": min(whole, height)}
    file = PICTURES / f"{name}.png"
    # What stays at the lower edge of the screen belongs there in the picture, too.
    page.set_viewport_size({"width": clip["width"], "height": clip["height"]})
    page.screenshot(path=file, full_page=True, clip=clip)


if __name__ == "__main__":
    main()
