"""Looks at every page there is in every light, with all rules, and says what is wrong with it.

    PYTHONPATH=. .venv/bin/python scripts/every_page.py [--pictures FOLDER]

Each page of the route table, at a demo club with one of everything: axe-core by day, in the dark
and in forced colours, a phone of 320 px, text of twice the size, and the weight of the page. It
takes minutes; scripts/test has the quick part. Ends with 1 where something is wrong.
"""

import argparse
import logging
import shutil
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from settingsdesk.config import DataFolder
from settingsdesk.desk.demo import club as demo_club
from settingsdesk.resources import folder
from settingsdesk.store.migrate import upgraded
from settingsdesk.web.app import create_app
from tests.browser.conftest import CHROMIUMS, DRAW_PLAINLY, SCREENS, STAY_ON_THIS_MACHINE, Served
from tests.browser.every_page import every_page
from tests.browser.looks import assert_accessible, faults_on_a_phone
from tests.conftest import Account, DemoClub
from tests.web.everybody import Hall
from tests.web.pages import Reader
from tests.web.whole_desk import one_of_everything

PASSWORD = "seven lanterns over wet slates"  # of an invented club
MOST_BYTES = 60_000
LIGHTS: tuple[dict[str, str], ...] = (
    {"color_scheme": "light", "forced_colors": "none"},
    {"color_scheme": "dark", "forced_colors": "none"},
    {"color_scheme": "light", "forced_colors": "active"},
)


def main() -> int:
    """Look at all of them."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--pictures", type=Path, help="keep a picture of each page there")
    asked = parser.parse_args()
    logging.getLogger("werkzeug").setLevel(logging.WARNING)
    wrong = seen = 0
    with tempfile.TemporaryDirectory() as place, sync_playwright() as playwright:
        data = DataFolder.at(Path(place) / "desk")
        store = upgraded(data.database)
        demo = demo_club.load(store, folder("seed"), PASSWORD)
        club = DemoClub(data, store, Account(demo.club_id, 1, demo.sign_in_name, PASSWORD))
        app = create_app(data=data, store=store, testing=True)
        hall = Hall(one_of_everything(club, app, Path(place)), Reader)
        served = Served(app)
        browser = playwright.chromium.launch(
            executable_path=next(filter(None, map(shutil.which, CHROMIUMS)), None),
            args=[STAY_ON_THIS_MACHINE, DRAW_PLAINLY],
        )
        for name, page in every_page(browser, hall, served.address):
            seen += 1
            if asked.pictures:
                take_pictures(page, asked.pictures / name.replace(": ", "-"))
            for fault in faults(page):
                wrong += 1
                sys.stdout.write(f"{name}: {fault}\n")
        browser.close()
        served.stop()
        store.close()
    sys.stdout.write(f"{seen} pages, {wrong} faults\n")
    return 1 if wrong else 0


def faults(page: Page) -> list[str]:
    """What is wrong with a page in any light; it is left with large text."""
    found = []
    for light in LIGHTS:
        page.emulate_media(**light)  # type: ignore[arg-type]
        try:
            assert_accessible(page)
        except AssertionError as refused:
            found.append(f"{light}: {refused}")
    page.emulate_media(**LIGHTS[0])  # type: ignore[arg-type]
    if (weight := len(page.content().encode())) > MOST_BYTES:
        found.append(f"it has {weight} bytes")
    return found + faults_on_a_phone(page)


def take_pictures(page: Page, file: Path) -> None:
    """On a phone and at the desk, by day and in the dark, and as it is printed."""
    file.parent.mkdir(parents=True, exist_ok=True)
    for screen in ("phone", "desktop"):
        page.set_viewport_size(SCREENS[screen])
        for light in LIGHTS[:2]:
            page.emulate_media(**light)  # type: ignore[arg-type]
            picture = file.with_name(f"{file.name}-{screen}-{light['color_scheme']}.png")
            page.screenshot(path=picture, full_page=True)
    page.emulate_media(**LIGHTS[0], media="print")  # type: ignore[arg-type]
    page.screenshot(path=file.with_name(f"{file.name}-print.png"), full_page=True)
    page.emulate_media(media="screen")
    page.set_viewport_size(SCREENS["phone"])


if __name__ == "__main__":
    sys.exit(main())
