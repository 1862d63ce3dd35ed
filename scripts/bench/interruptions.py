"""Interrupts runs of twelve on two phones at random, in a real browser on a desk of its own.

    PYTHONPATH=. python scripts/bench/interruptions.py [--times 200] [--seed 1]

After each interruption (a reload, no network, both phones at once, a withdrawal, kill -9 and a new
start, a network that swallows everything) both phones must show what is true, and nobody may be on
with a check missing. Prints how often each was survived, and fails at the first that was not.
"""

import argparse
import random
import shutil
import sys
import tempfile
from collections import Counter
from pathlib import Path

from playwright.sync_api import Browser, Page, expect, sync_playwright

from settingsdesk.config import DataFolder
from settingsdesk.desk.demo import club as demo_club
from settingsdesk.resources import folder
from settingsdesk.store.migrate import upgraded
from tests.browser.interruptions import Interruptions
from tests.browser.pressing import press
from tests.browser.served_desk import ServedDesk
from tests.conftest import Account, DemoClub

PASSWORD = "seven lanterns over wet slates"  # of an invented club
PATIENCE_MS = 60_000
OF_ONE_RUN = 20
"""About so often a run of twelve is interrupted before its last turn is over."""


def main() -> None:
    """Interrupt one run after the other."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--times", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    expect.set_options(timeout=PATIENCE_MS)
    chance = random.Random(asked.seed)  # no secret
    survived: Counter[str] = Counter()
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"))
        while survived.total() < asked.times:
            survived += one_run(browser, chance, min(OF_ONE_RUN, asked.times - survived.total()))
            sys.stdout.write(f"{survived.total()} of {asked.times}: {dict(survived)}\n")
            sys.stdout.flush()
        browser.close()


def one_run(browser: Browser, chance: random.Random, times: int) -> Counter[str]:
    """A run of the demo on a desk of its own; how often it was interrupted in which way."""
    with tempfile.TemporaryDirectory() as place:
        data = DataFolder.at(Path(place) / "desk")
        store = upgraded(data.database)
        demo = demo_club.load(store, folder("seed"), PASSWORD)
        club = DemoClub(data, store, Account(demo.club_id, 1, demo.sign_in_name, PASSWORD))
        desk = ServedDesk(data.database.parent)
        desk.start()
        try:
            one, other = (signed_in(browser, desk.address) for _ in range(2))
            one.goto("/rotations/1")
            press(one.get_by_role("button", name="Take it to the bars"))
            other.goto("/bars/1")
            hall = Interruptions(desk, club, (one, other), chance)
            survived = Counter(hall.one() for _ in range(times))
            for phone in (one, other):
                phone.context.close()
        finally:
            desk.kill()
            store.close()
    return survived


def signed_in(browser: Browser, address: str) -> Page:
    """A phone of the demo's coach."""
    context = browser.new_context(base_url=address, viewport={"width": 360, "height": 740})
    context.set_default_timeout(PATIENCE_MS)
    page = context.new_page()
    page.goto("/")
    page.get_by_label("Sign-in name").fill("runa")
    page.get_by_label("Password").fill(PASSWORD)
    press(page.get_by_role("button", name="Sign in"))
    return page


if __name__ == "__main__":
    main()
