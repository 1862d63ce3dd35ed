"""How the pages grow with the club: their time and size at 30, 300, 3,000 and 30,000 athletes.

    python scripts/bench/growth.py [--rounds 5] [--sizes 30 300] [--only /cards/]

Each size is a demo club of its own, with so many invented athletes in groups of fifteen, a setting
for most of them, a meet with a tenth of them entered by other clubs, and some changes of each on
record. Every page without parameters is read, and those whose parameters are worth it. A time is
the process's CPU milliseconds from the request to its last byte, the median of the rounds after one
to warm up. In each round the sizes are read one after the other, and the ratio is the median of the
rounds' own, of 30,000 to 300: what else the machine does then meets both. The ways out grow with
what they hold: beside their whole time stands the real time until their first bytes are there.
"""

import argparse
import statistics
import sys
import tempfile
import time
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any

from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import insert, select
from sqlalchemy.orm import Session

from settingsdesk.config import DataFolder
from settingsdesk.desk.accounts import sign_ins
from settingsdesk.desk.clock import today
from settingsdesk.desk.demo.club import load as load_demo
from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.meets import meets
from settingsdesk.desk.meets.facts import MeetFacts
from settingsdesk.resources import folder
from settingsdesk.store.athletes import Athlete, made_of
from settingsdesk.store.base import Base, utc_now
from settingsdesk.store.clubs import account_by_sign_in_name
from settingsdesk.store.meets import Entry
from settingsdesk.store.migrate import upgrade
from settingsdesk.store.record import Change
from settingsdesk.store.settings import Setting, SettingValue
from settingsdesk.store.work import Store
from settingsdesk.web.app import create_app

BY = "bench"
SIZES = (30, 300, 3_000, 30_000)
RATIO_OF = (30_000, 300)
IN_A_GROUP = 15
ENTERED = 10
"""One in so many is entered for the meet by another club."""
FIRST_SETTING = 10_000_000
CHANGES = 4
"""So many are on record of each."""
WITHOUT = 7
"""One in so many has no setting."""
NAMED = (
    "/athletes/?page={last_page}",
    "/athletes/?q=or",
    "/athletes/?q=vel+or",
    "/athletes/?group=Group+1",
    "/athletes/1",
    "/athletes/1/history",
    "/athletes/1/kept",
    "/athletes/1/erase",
    "/record?before=100",
    "/rotations/new/{bars}",
    "/rotations/new/{vault}",
    "/rotations/1",
    "/rotations/1/list",
    "/cards/{bars}",
    "/cards/athlete/1",
    "/meets/{meet}",
    "/meets/{meet}/entries",
    "/meets/{meet}/entries/squad",
    "/meets/{meet}/entries/settle",
    "/meets/{meet}/numbers",
    "/apparatus/{bars}",
    "/checks/{bars}",
)
SYLLABLES = [
    "be",
    "dor",
    "fa",
    "gil",
    "ha",
    "jor",
    "ka",
    "lun",
    "mi",
    "nor",
    "ra",
    "sol",
    "tu",
    "vel",
]


@dataclass(frozen=True)
class Reading:
    """What one page took once, and how large it was."""

    cpu_ms: float
    size: int
    first_ms: float


@dataclass(frozen=True)
class Desk:
    """A club of one size: whoever is signed in there, and what the addresses name."""

    app: Flask
    store: Store
    client: FlaskClient
    places: dict[str, int]


def main() -> None:
    """Read the pages of a club of each size and print the table."""
    asked = argparse.ArgumentParser(description="How the pages grow with the club")
    asked.add_argument("--rounds", type=int, default=5)
    asked.add_argument("--sizes", type=int, nargs="+", default=SIZES)
    asked.add_argument("--only", nargs="+", default=[""], help="only addresses that begin so")
    told = asked.parse_args()
    with tempfile.TemporaryDirectory() as where:
        desks = {size: desk(Path(where) / str(size), size) for size in told.sizes}
        print(heads(told.sizes))
        for pattern in (*without_parameters(desks[told.sizes[0]].app), *NAMED):
            if pattern.startswith(tuple(told.only)):
                print(line(pattern, desks, told.rounds), flush=True)
        for one in desks.values():
            one.store.close()


def desk(where: Path, size: int) -> Desk:
    """A demo club with so many athletes, in that folder."""
    data = DataFolder.at(where)
    upgrade(data.database)
    store = Store(data.database)
    demo = load_demo(store, folder("seed"), "seven lanterns over wet slates")
    with store.work(demo.club_id, by=BY, writes=True) as session:
        places = grow(session, demo.club_id, size)
    app = create_app(data=data, store=store)
    client = signed_in(app, store, demo.sign_in_name)
    return Desk(app, store, client, places | {"last_page": -(-size // 60)})


def without_parameters(app: Flask) -> list[str]:
    """The addresses of all pages that need nothing in them."""
    return sorted(
        rule.rule
        for rule in app.url_map.iter_rules()
        if "GET" in (rule.methods or ()) and not rule.arguments and rule.endpoint != "static"
    )


def grow(session: Session, club_id: int, size: int) -> dict[str, int]:
    """Rows straight into the tables; gives the numbers of what the addresses name."""
    there = session.scalars(select(Athlete.id)).all()
    pieces = apparatus.all_pieces(session)
    bars = next(piece for piece in pieces if piece.model.kind.key == "uneven_bars")
    vault = next(piece for piece in pieces if piece.model.kind.key == "vault_table")
    facts = MeetFacts(
        "Bench Cup", "Main hall", today(), today(), MeetFacts.usual_end_of_cards(today())
    )
    meet_id = meets.add_meet(session, facts).id
    meets.put_apparatus(session, meet_id, bars.id)
    entered = size // ENTERED
    ids = range(max(there) + 1, max(there) + 1 + size - len(there) + entered)
    with_setting = [one for one in ids if one % WITHOUT]
    put(session, Athlete, (_athlete(club_id, one, one < ids[0] + entered, meet_id) for one in ids))
    put(session, Setting, (_setting(club_id, one, bars.model_id) for one in with_setting))
    put(session, SettingValue, (row for one in with_setting for row in _values(club_id, one)))
    put(session, Entry, (_entry(club_id, one, meet_id) for one in ids[:entered]))
    put(session, Change, (_change(club_id, one) for one in ids for _ in range(CHANGES)))
    return {"meet": meet_id, "bars": bars.id, "vault": vault.id}


def put(session: Session, table: type[Base], rows: Iterable[dict[str, Any]]) -> None:
    """The rows into their table, some at a time."""
    left = iter(rows)
    while some := list(islice(left, 2_000)):
        session.connection().execute(insert(table).values(), some)


def _athlete(club_id: int, number: int, guest: bool, meet_id: int) -> dict[str, Any]:
    first, second, third = (SYLLABLES[number // 14**place % 14] for place in range(3))
    family, given = f"{second}{first}{third}".title(), f"{first}{third}".title()
    names = {
        "family_name": family,
        "given_name": given,
        "printed_name": "",
        "group_name": "" if guest else f"Group {number // IN_A_GROUP}",
        "start_number": "",
    }
    return {
        "id": number,
        "club_id": club_id,
        "meet_id": meet_id if guest else None,
        "created_at": utc_now(),
        "created_by": BY,
        **names,
        **made_of(names),
    }


def _setting(club_id: int, number: int, model_id: int) -> dict[str, Any]:
    return {
        "id": FIRST_SETTING + number,
        "club_id": club_id,
        "athlete_id": number,
        "model_id": model_id,
        "version": 1,
        "recorded_at": utc_now(),
        "recorded_by": BY,
        "reason": "",
    }


def _values(club_id: int, number: int) -> Iterator[dict[str, Any]]:
    for axis, wanted_mm in (("low_rail", 1700), ("high_rail", 2500), ("spread", 1650)):
        yield {
            "club_id": club_id,
            "setting_id": FIRST_SETTING + number,
            "axis": axis,
            "wanted_mm": wanted_mm + number % 7 * 10,
            "accepts_mm": 10,
            "weight": 1,
            "as_read": "",
        }


def _entry(club_id: int, number: int, meet_id: int) -> dict[str, Any]:
    return {
        "club_id": club_id,
        "meet_id": meet_id,
        "athlete_id": number,
        "from_club": f"Visitors {number // IN_A_GROUP}",
        "start_number": "",
        "division": "",
        "entered_at": utc_now(),
        "entered_by": BY,
    }


def _change(club_id: int, number: int) -> dict[str, Any]:
    line = {"table": "athlete", "what": "changed", "count": 1, "columns": ["group_name"]}
    return {
        "club_id": club_id,
        "at": utc_now(),
        "account": None,
        "by": "command line",
        "lines": [line | {"numbers": [number], "athletes": [number]}],
    }


def signed_in(app: Flask, store: Store, name: str) -> FlaskClient:
    """A browser with that coach's cookie."""
    client = app.test_client()
    with store.installation(writes=True) as session:
        account = account_by_sign_in_name(session, name)
        if account is None:
            raise LookupError(name)
        known = sign_ins.begin(session, account.memberships[0])
    with client.session_transaction() as cookie:
        cookie["stamp"] = known.stamp
    return client


def _reading(client: FlaskClient, address: str) -> Reading:
    cpu, clock = time.process_time(), time.perf_counter()
    answer = client.get(address, buffered=False)
    size, first = 0, 0.0
    for part in answer.iter_encoded():
        first = first or time.perf_counter() - clock
        size += len(part)
    answer.close()
    return Reading((time.process_time() - cpu) * 1000, size, first * 1000)


def heads(sizes: Sequence[int]) -> str:
    """The first line of the table."""
    columns = "".join(f"{f'{size:,}':>10}" for size in sizes)
    return f"{'CPU ms':<34}{columns}{'ratio':>8}{'bytes at the largest':>22}{'first byte, ms':>16}"


def line(pattern: str, desks: dict[int, Desk], rounds: int) -> str:
    """One page: it is read once at each size to warm up, then in turns."""
    addresses = {size: pattern.format(**desk.places) for size, desk in desks.items()}
    for size, address in addresses.items():
        status = desks[size].client.get(address).status_code
        if status not in (200, 302, 303):
            print(f"{address} answered {status}", file=sys.stderr)
    read: dict[int, list[Reading]] = {size: [] for size in desks}
    for _ in range(rounds):
        for size, address in addresses.items():
            read[size].append(_reading(desks[size].client, address))
    ratio = "–"
    if set(RATIO_OF) <= set(desks):
        pairs = zip(*(read[size] for size in RATIO_OF), strict=True)
        ratio = f"{statistics.median(large.cpu_ms / small.cpu_ms for large, small in pairs):.2f}"
    cpu = "".join(
        f"{statistics.median(one.cpu_ms for one in of_size):>10.1f}" for of_size in read.values()
    )
    largest = read[max(read)]
    first_ms = statistics.median(one.first_ms for one in largest)
    return f"{pattern:<34}{cpu}{ratio:>8}{largest[-1].size:>22,}{first_ms:>16.1f}"


if __name__ == "__main__":
    main()
