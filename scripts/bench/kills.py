"""Kills backups and restorings at random moments, and looks at what is left.

    python scripts/bench/kills.py [--kills 300] [--seed 1]

Each round forks a process that works on a copy of the demo's folder and kills it (SIGKILL) after a
moment drawn at random. A backup must be whole or not there. After a restoring the next start must
find the desk of before or the one that came, sound, with the key that made its cards and the
address that belongs to it. Nothing else may be left. Prints how many of each there were, and what
was wrong; its exit status is 1 where anything was.
"""

import argparse
import os
import random
import shutil
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

from settingsdesk.config import DataFolder
from settingsdesk.desk.backups import archive, restoring
from settingsdesk.desk.demo import whole
from settingsdesk.desk.opening import make_ready
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.resources import folder
from settingsdesk.store.athletes import how_many
from settingsdesk.store.engine import damage_of
from settingsdesk.store.migrate import upgraded

BEFORE, CAME = "https://before.example.org", "https://came.example.org"


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--kills", type=int, default=300, help="of each kind")
    parser.add_argument("--seed", type=int, default=1)
    told = parser.parse_args()
    chance = random.Random(told.seed)
    with tempfile.TemporaryDirectory() as place:
        return _rounds(Path(place), told.kills, chance)


def _rounds(place: Path, kills: int, chance: random.Random) -> int:
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

    def backs_up(data: DataFolder) -> None:
        archive.write(data, data.path / "copy.zip", datetime.now(UTC))

    def restores(data: DataFolder) -> None:
        with restoring.tried(data, file) as ready:
            restoring.put_in(data, ready, datetime.now(UTC))

    found: Counter[str] = Counter()
    wrong: list[str] = []
    for name, of, does, looks in (
        ("backup", came, backs_up, _after_a_backup),
        ("restoring", before, restores, _after_a_restoring),
    ):
        lasts_s = _timed(place, of, does)
        for number in range(kills):
            data = _copied(place, of)
            if _killed(partial(does, data), chance.uniform(0, 1.1 * lasts_s)):
                found[f"{name} killed"] += 1
            try:
                found[f"{name}: {looks(data)}"] += 1
            except (NotWholeError, SettingsDeskError, OSError) as error:
                wrong.append(f"{name} {number}: {type(error).__name__} {error}")
    for line, count in sorted(found.items()):
        print(f"{count:6}  {line}")
    print(f"{len(wrong):6}  wrong")
    for line in wrong[:20]:
        print(line)
    return 1 if wrong else 0


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


class NotWholeError(Exception):
    """What was left is neither the one nor the other."""


def _must(holds: bool, otherwise: str) -> None:
    if not holds:
        raise NotWholeError(otherwise)


def _copied(place: Path, of: DataFolder) -> DataFolder:
    shutil.rmtree(place / "tried", ignore_errors=True)
    shutil.copytree(of.path, place / "tried")
    return DataFolder(place / "tried")


def _timed(place: Path, of: DataFolder, does: Callable[[DataFolder], None]) -> float:
    data = _copied(place, of)
    begins = time.monotonic()
    _killed(partial(does, data), 60)
    return time.monotonic() - begins


def _killed(does: Callable[[], None], after_s: float) -> bool:
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
