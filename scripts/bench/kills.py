"""Kills runs, backups, restorings, upgrades and moves at random moments, and looks at what is left.

    PYTHONPATH=. python scripts/bench/kills.py [--kills 300] [--seed 1] [--only upgrade]
    PYTHONPATH=. sh scripts/with_server python scripts/bench/kills.py

Each round forks a process that works on a copy of the demo's folder and kills it (SIGKILL) after a
moment drawn at random. A backup must be whole or not there. After a restoring the next start must
find the desk of before or the one that came, sound, with the key that made its cards and the
address that belongs to it. Nothing else may be left. After an upgrade the tables are the old ones
or the new ones, with every row, and the next upgrade ends it. A desk that is killed while four
phones confirm at a station, each time within a moment of a press, must have everything that was
answered, each press once, and answer again (``tests/web/stations/killed_desk.py``). Where a server
is there for it, the database moves to it and back: the desk must open in one of the two places and
not in the other, with every row, and a move that came to nothing must come off when it is begun
again. Prints how
many of each there were, and what was wrong; its exit status is 1 where anything was.
"""

import argparse
import os
import random
import shutil
import signal
import sqlite3
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from statistics import median

from alembic import command
from alembic.config import Config
from sqlalchemy import create_engine, make_url, text
from sqlalchemy.pool import NullPool

from settingsdesk.config import DatabaseIsInFolder, DatabaseIsOnServer, DataFolder
from settingsdesk.desk.backups import archive, begun, moving, restoring
from settingsdesk.desk.demo import whole
from settingsdesk.desk.opening import make_ready
from settingsdesk.desk.stations import stations
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.resources import folder
from settingsdesk.store import migrate
from settingsdesk.store.athletes import how_many
from settingsdesk.store.engine import damage_of, open_for_upgrade
from settingsdesk.store.errors import MoveUnfinished
from settingsdesk.store.migrate import State, upgraded
from settingsdesk.web.app import create_app
from settingsdesk.web.frame.work import code_key
from tests.conftest import Account, DemoClub
from tests.desk.sample_meet import checked_before_use, hold
from tests.web.stations.killed_desk import KilledDesk

BEFORE, CAME = "https://before.example.org", "https://came.example.org"
OLD, OLD_ATHLETES = "0010", 200
RUN = "run"
WITHIN_S = 0.2
"""A desk with phones is killed so long after a press was sent at most."""
NAMES = ("Ivo", "Jo", "Ada", "Tor")
"""Who has a phone."""
MOVED = "kills_moved"
"""A database on the server with a desk that moved there."""


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--kills", type=int, default=300, help="of each kind")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", help="this kind alone")
    told = parser.parse_args()
    chance = random.Random(told.seed)
    with tempfile.TemporaryDirectory() as place:
        kinds = [*_kinds_on_files(Path(place)), *_kinds_with_a_server(Path(place))]
        wanted = [kind for kind in kinds if told.only in (None, kind.name)]
        status = _rounds(Path(place), wanted, told.kills, chance) if wanted else 0
        if told.only in (None, RUN):
            _runs(Path(place), told.kills, chance)
        return status


@dataclass(frozen=True)
class Kind:
    """What is killed: in a copy of which desk, what it does, and what must hold of what is left."""

    name: str
    of: DataFolder
    does: Callable[[DataFolder], object]
    looks: Callable[[DataFolder], str]


def _kinds_on_files(place: Path) -> Iterator[Kind]:
    came = DataFolder.at(place / "came")
    upgraded(came.database).close()
    whole.put(came, folder("seed"), "seven lanterns over wet slates")
    make_ready(store := upgraded(came.database), came)
    store.close()
    came.remember_public_url(CAME)
    file = archive.write(came, place / "came.zip", datetime.now(UTC))
    before = DataFolder.at(place / "before")
    make_ready(store := upgraded(before.database), before)
    store.close()
    before.remember_public_url(BEFORE)
    old = DataFolder.at(place / "old")
    _make_old(old.database)

    def backs_up(data: DataFolder) -> None:
        archive.write(data, data.path / "copy.zip", datetime.now(UTC))

    def restores(data: DataFolder) -> None:
        with restoring.tried(data, file) as ready:
            restoring.put_in(data, ready, datetime.now(UTC))

    yield Kind("backup", came, backs_up, _after_a_backup)
    yield Kind("restoring", before, restores, _after_a_restoring)
    yield Kind("upgrade", old, lambda data: migrate.upgrade(data.database), _after_an_upgrade)


def _kinds_with_a_server(place: Path) -> Iterator[Kind]:
    """Where SETTINGSDESK_TEST_SERVER names one: each round has a database of its own on it."""
    if not (address := os.environ.get("SETTINGSDESK_TEST_SERVER")):
        return
    here = DataFolder(place / "came", address)
    there = DataFolder(Path(shutil.copytree(here.path, place / "there")), address)
    moving.to_server(_on(there, MOVED, "template0"))
    yield Kind(
        "move to the server", here, moving.to_server, partial(_after_a_move, moves=moving.to_server)
    )
    yield Kind(
        "move to the folder",
        there,
        moving.to_folder,
        partial(_after_a_move, moves=moving.to_folder),
    )


def _rounds(place: Path, kinds: Sequence[Kind], kills: int, chance: random.Random) -> int:
    found: Counter[str] = Counter()
    wrong: list[str] = []
    for kind in kinds:
        lasts_s = _timed(place, kind)
        for number in range(kills):
            data = _copied(place, kind.of)
            if _killed(partial(kind.does, data), chance.uniform(0, 1.1 * lasts_s)):
                found[f"{kind.name} killed"] += 1
            try:
                found[f"{kind.name}: {kind.looks(data)}"] += 1
            except (NotWholeError, SettingsDeskError, OSError) as error:
                wrong.append(f"{kind.name} {number}: {type(error).__name__} {error}")
    for line, count in sorted(found.items()):
        print(f"{count:6}  {line}")
    print(f"{len(wrong):6}  wrong")
    for line in wrong[:20]:
        print(line)
    return 1 if wrong else 0


def _runs(place: Path, kills: int, chance: random.Random) -> None:
    """Runs of a small meet on four phones, one by one; fails at the first that is wrong."""
    data = DataFolder(place / "came")
    store = upgraded(data.database)
    club = DemoClub(data, store, Account(1, 1, "", ""))
    held = hold(club)
    checked_before_use(club, held.apparatus_id)
    app = create_app(data=data, store=store, testing=True)
    with app.test_request_context():
        ink = code_key()
    with club.work(writes=True) as session:
        opened = stations.open_station(session, ink, held.session_id, held.apparatus_id)
        codes = stations.codes(session, ink, opened.id)
    store.close()
    killed = KilledDesk(data, app, codes, chance, NAMES)
    runs = 0
    while killed.kills < kills:
        shutil.rmtree(place / "served", ignore_errors=True)
        shutil.copytree(data.path, place / "served")
        killed.data = DataFolder(place / "served")
        killed.play(kills, WITHIN_S)
        runs += 1
    print(f"{killed.kills:6}  {RUN} killed, in {runs} runs, {killed.confirmed} presses confirmed,")
    print(f"{killed.sent_again:6}  presses sent again, none lost and none twice; answers again in")
    print(f"{median(killed.ready_s):6.2f}  s (median), {max(killed.ready_s):.2f} s at most")


def _after_a_backup(data: DataFolder) -> str:
    file = data.path / "copy.zip"
    if not file.exists():
        return "none"
    (data.path / "unpacked").mkdir()
    with archive.opened(file) as backup:
        backup.unpack(data.path / "unpacked")
    _must(damage_of(data.path / "unpacked" / data.database.name) is None, "it is damaged")
    return "whole"


def _after_a_restoring(data: DataFolder) -> str:
    restoring.go_on(data)
    store = upgraded(data.database)
    try:
        make_ready(store, data)
        with store.installation(writes=False) as session:
            athletes = how_many(session)
    finally:
        store.close()
    url = data.public_url()
    _must(damage_of(data.database) is None, "it is damaged")
    _must((url, athletes > 0) in ((BEFORE, False), (CAME, True)), f"{athletes} at {url}")
    _must(not list(data.path.glob("restoring.*")), "something is left")
    return "the desk that came" if url == CAME else "the desk of before"


def _after_an_upgrade(data: DataFolder) -> str:
    was = migrate.state(data.database)
    _must(damage_of(data.database) is None, "it is damaged")
    migrate.upgrade(data.database)
    _must(migrate.state(data.database) is State.CURRENT, "it cannot be upgraded")
    with closing(sqlite3.connect(data.database)) as database:
        (rows,) = database.execute("SELECT count(*) FROM athlete").fetchone()
    _must(rows == OLD_ATHLETES, f"{rows} athletes")
    return "the old tables" if was is State.OLDER else "the new tables"


def _after_a_move(data: DataFolder, moves: Callable[[DataFolder], object]) -> str:
    in_folder = replace(data, server="")
    goes_to = data if moves is moving.to_server else in_folder
    opened = [one for one in (in_folder, data) if _athletes_of(one) is not None]
    _must(len(opened) == 1, f"it opens in {len(opened)} places")
    if opened == [goes_to]:
        return "where it goes"
    before = _athletes_of(opened[0])
    moves(data)
    _must(_athletes_of(goes_to) == before, "it is another one when it is begun again")
    return "where it was, and begun again"


def _athletes_of(data: DataFolder) -> int | None:
    """How many a desk has, whole; None where it is not opened."""
    try:
        store = begun.opened(data)
    except (DatabaseIsInFolder, DatabaseIsOnServer, MoveUnfinished):
        return None
    try:
        with store.installation(writes=False) as session:
            count = how_many(session)
    finally:
        store.close()
    return count or None


class NotWholeError(Exception):
    """What was left is neither the one nor the other."""


def _must(holds: bool, otherwise: str) -> None:
    if not holds:
        raise NotWholeError(otherwise)


def _copied(place: Path, of: DataFolder) -> DataFolder:
    shutil.rmtree(place / "tried", ignore_errors=True)
    shutil.copytree(of.path, place / "tried")
    data = DataFolder(place / "tried", of.server)
    if not of.server:
        return data
    return _on(data, "kills_tried", MOVED if of.kept_on()[0] else "template0")


def _on(data: DataFolder, name: str, template: str) -> DataFolder:
    """The folder with a new database on the server, a copy of another one."""
    url = make_url(data.server).set(drivername="postgresql+psycopg")
    engine = create_engine(url, isolation_level="AUTOCOMMIT", poolclass=NullPool)
    with engine.connect() as connection:
        connection.execute(text(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)"))
        connection.execute(text(f"CREATE DATABASE {name} TEMPLATE {template}"))
    return replace(data, server=url.set(database=name).render_as_string(hide_password=False))


def _make_old(file: Path) -> None:
    """A database of an earlier version with a club and its athletes."""
    config = Config()
    config.set_main_option("script_location", migrate.REVISIONS)
    engine = open_for_upgrade(file)
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, OLD)
    engine.dispose()
    usual = {"DATETIME": "2026-11-30 06:45:00.000000", "JSON": "[]", "BLOB": b"", "VARCHAR": "cm"}
    with closing(sqlite3.connect(file)) as database, database:
        for name, rows in (("club", 1), ("athlete", OLD_ATHLETES)):
            columns = [c for c in database.execute(f"PRAGMA table_info({name})") if c[3] or c[5]]
            for number in range(1, rows + 1):
                values = [number if c[5] else usual.get(c[2], 1) for c in columns]
                database.execute(
                    f"INSERT INTO {name} ({', '.join(c[1] for c in columns)})"  # noqa: S608
                    f" VALUES ({', '.join('?' * len(columns))})",
                    values,
                )


def _timed(place: Path, kind: Kind) -> float:
    data = _copied(place, kind.of)
    begins = time.monotonic()
    _killed(partial(kind.does, data), 60)
    return time.monotonic() - begins


def _killed(does: Callable[[], object], after_s: float) -> bool:
    """Let a process of its own do it, and kill it after a time; whether it was at work still."""
    process = os.fork()
    if process == 0:
        try:
            does()
        finally:
            os._exit(0)
    ends = time.monotonic() + after_s
    while time.monotonic() < ends:
        if os.waitpid(process, os.WNOHANG)[0]:
            return False
        time.sleep(0.0005)
    os.kill(process, signal.SIGKILL)
    os.waitpid(process, 0)
    return True


if __name__ == "__main__":
    sys.exit(main())
