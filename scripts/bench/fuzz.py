"""Sends a desk thousands of requests that nobody means to send, and says what was wrong.

    PYTHONPATH=. python scripts/bench/fuzz.py [--requests 10000] [--seed 1]

Strangers, helpers, coaches, owners and a phone at a station ask for every address of the
application's own table, and press every button with something about it spoilt. Prints how many
answers of each status each of them got, and every fault: an answer of 500 and more, a page that
breaks a rule of all pages, a word of another club's, an asking that changed the database. Its exit
status is 1 where there was one; ``tests/web/test_fuzzing.py`` sends a few hundred of them.
"""

import argparse
import logging
import sys
import tempfile
from collections import Counter
from dataclasses import replace
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from argon2 import PasswordHasher

from settingsdesk.config import DataFolder
from settingsdesk.desk.demo import club as demo_club
from settingsdesk.resources import folder
from settingsdesk.store.migrate import upgraded
from settingsdesk.web.frame.work import OURS
from settingsdesk.web.rotations import searches as web_searches
from settingsdesk.web.runs import run as web_run
from tests.conftest import DEMO_PASSWORD, Account, Clock, DemoClub, hash_with, new_app
from tests.web.every_press import PRESSES
from tests.web.everybody import Hall, begin_runs, lay
from tests.web.fuzzing import WHO, Form, Fuzz, everybody, sent_with
from tests.web.pages import Page, Reader
from tests.web.whole_desk import AT_THE_BARS, AT_THE_STATION, SMALL, one_of_everything


def main() -> int:
    """Send them."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--requests", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    told = parser.parse_args()
    logging.disable(logging.CRITICAL)
    with tempfile.TemporaryDirectory() as place, pytest.MonkeyPatch.context() as patch:
        hash_with(patch, PasswordHasher(time_cost=1, memory_cost=8, parallelism=1))
        patch.setattr(web_searches, "AT_ONCE_S", 60.0)
        patch.setattr(web_run, "REST_S", 60.0)
        fuzz = _fuzz(Path(place), told.seed)
        fuzz.go(told.requests)
        fuzz.hall.desk.app.extensions[OURS].searches.close()
    _print(fuzz)
    return 1 if fuzz.faults else 0


def _fuzz(place: Path, seed: int) -> Fuzz:
    data = DataFolder.at(place / "desk")
    store = upgraded(data.database)
    demo = demo_club.load(store, folder("seed"), DEMO_PASSWORD)
    club = DemoClub(data, store, Account(demo.club_id, 1, demo.sign_in_name, DEMO_PASSWORD))
    clock = Clock()
    app = new_app(data, store, clock)
    hall = Hall(one_of_everything(club, app, place), Reader)
    fuzz = everybody(hall, clock, seed)
    begin_runs(hall, SMALL)
    states = (SMALL, SMALL + AT_THE_BARS, SMALL + AT_THE_STATION)
    return replace(fuzz, states=states, pressed=_pressed(hall))


def _pressed(hall: Hall) -> list[tuple[str, Form]]:
    """Every press there is, and the state of the desk before it."""
    made: list[tuple[str, Form]] = []
    for name, press in PRESSES.items():
        lay(hall, SMALL, name)
        press(replace(hall, kind=_noting(hall, name, made)))
        hall.desk.app.extensions[OURS].searches.close()
    return made


def _noting(hall: Hall, name: str, made: list[tuple[str, Form]]) -> type[Reader]:
    """A browser that keeps what it sends with the press of that name, and the desk before it."""
    state = f"before {name.replace(':', '')}"

    class Noting(Reader):
        def post(self, address: str, values: dict[str, object]) -> Page:
            at = self.app.url_map.bind("localhost")
            if at.match(urlsplit(address).path, "POST")[0] == name.partition(":")[0]:
                hall.desk.keep(state)
                made.append((state, sent_with(address, values)))
            return super().post(address, values)

    return Noting


def _print(fuzz: Fuzz) -> None:
    statuses = sorted({status for _, _, status in fuzz.counted})
    sys.stdout.write("".join(f"{one:>8}" for one in ("", *statuses, "all")) + "\n")
    for who in WHO:
        by = Counter[int]()
        for (asked, _, status), number in fuzz.counted.items():
            by[status] += number if asked == who else 0
        cells = (who, *(by[status] for status in statuses), by.total())
        sys.stdout.write("".join(f"{one:>8}" for one in cells) + "\n")
    asked = sum(n for (_, method, _), n in fuzz.counted.items() if method != "POST")
    sent = fuzz.counted.total() - asked
    sys.stdout.write(f"{asked} askings, {sent} presses, {len(fuzz.faults)} faults\n")
    for fault in fuzz.faults:
        sys.stdout.write(f"{fault}\n")


if __name__ == "__main__":
    sys.exit(main())
