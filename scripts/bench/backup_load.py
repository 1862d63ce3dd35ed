"""A backup while sixteen people save athletes, against a plain copy of the same file.

    PYTHONPATH=. python scripts/bench/backup_load.py [--pairs 5] [--backups 100] [--athletes 10000]

Backups and copies are made by a process of its own, in turns, one after the other without a pause
while people save (``writers.py``). A ratio is that of the times of one pair. What people get saved
meanwhile is compared with as many seconds in which nothing is backed up. Then so many backups are
unpacked, and every page of each database is read; and one is restored into another folder, from
looking at the file until the desk there has been opened.
"""

import argparse
import os
import shutil
import statistics
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from datetime import UTC, datetime
from multiprocessing import get_context
from pathlib import Path
from threading import Thread

from scripts.bench.writers import people_at, save_for
from settingsdesk.config import DataFolder
from settingsdesk.desk.backups import archive, restoring
from settingsdesk.store.engine import damage_of, write_through

PEOPLE = 16
SECONDS = 6.0

Makes = Callable[[Path, Path], float]


def back_up(desk: Path, target: Path) -> float:
    """Seconds that a backup takes."""
    began = time.monotonic()
    archive.write(DataFolder(desk), target, datetime.now(UTC))
    return time.monotonic() - began


def copy(desk: Path, target: Path) -> float:
    """Seconds that a copy of the database's file takes, until it is on the disk."""
    began = time.monotonic()
    shutil.copyfile(DataFolder(desk).database, target)
    write_through(target)
    return time.monotonic() - began


def main() -> None:
    """What was measured, a line for each."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--pairs", type=int, default=5)
    parser.add_argument("--backups", type=int, default=100)
    parser.add_argument("--athletes", type=int, default=10_000)
    told = parser.parse_args()
    with (
        tempfile.TemporaryDirectory() as place,
        people_at(Path(place) / "desk", told.athletes, PEOPLE) as (store, people),
        ProcessPoolExecutor(1, get_context("spawn")) as other,
    ):
        where, desk = Path(place), Path(place) / "desk"
        files: list[Path] = []

        def one(makes: Makes, name: str) -> float:
            files.append(where / name)
            return other.submit(makes, desk, files[-1]).result()

        def save(counts: list[int]) -> None:
            counts.append(len(save_for(store, people, SECONDS).milliseconds))

        one(copy, "first.sqlite")  # everything is loaded then
        size_mb = files.pop().stat().st_size / 1e6
        kept, ratios, seconds = [], [], []
        for pair in range(told.pairs):
            alone = len(save_for(store, people, SECONDS).milliseconds)
            counts: list[int] = []
            saving = Thread(target=save, args=(counts,))
            saving.start()
            number = 0
            while saving.is_alive():
                backup = one(back_up, f"{pair}-{number}.zip")
                if not saving.is_alive():
                    break
                plain = one(copy, "copy.sqlite")
                files.pop()
                ratios.append(backup / plain)
                seconds.append(backup)
                number += 1
            saving.join()
            kept.append(counts[0] / alone)
        print(
            f"A backup of {size_mb:.0f} MB: {statistics.median(seconds):.2f} s (longest"
            f" {max(seconds):.2f}), {statistics.median(ratios):.1f} times a copy"
            f" ({min(ratios):.1f} to {max(ratios):.1f}, {len(ratios)} pairs); people saved"
            f" {statistics.median(kept):.2f} of what they do without ({min(kept):.2f} to"
            f" {max(kept):.2f}); load {os.getloadavg()[0]:.1f}",
            flush=True,
        )
        saving = Thread(target=save_for, args=(store, people, SECONDS))
        while len(files) < told.backups:
            if not saving.is_alive():
                saving = Thread(target=save_for, args=(store, people, SECONDS))
                saving.start()
            one(back_up, f"more-{len(files)}.zip")
        saving.join()
        bad = sum(is_bad(file, where / "unpacked") for file in files)
        print(f"{bad} bad of {len(files)}", flush=True)
        took = [restore(files[-1], where / f"restored-{n}") for n in range(told.pairs)]
        print(f"Restored in {statistics.median(took):.2f} s (longest {max(took):.2f})")


def is_bad(file: Path, into: Path) -> bool:
    """Whether anything of a backup is not as it should be."""
    into.mkdir()
    with archive.opened(file) as backup:
        backup.unpack(into)
    damage = damage_of(DataFolder(into).database)
    shutil.rmtree(into)
    return damage is not None


def restore(file: Path, folder: Path) -> float:
    """Seconds until the desk of a backup is in an empty folder, tried."""
    data = DataFolder.at(folder)
    began = time.monotonic()
    with restoring.tried(data, file) as ready:
        restoring.put_in(data, ready, datetime.now(UTC))
    return time.monotonic() - began


if __name__ == "__main__":
    main()
