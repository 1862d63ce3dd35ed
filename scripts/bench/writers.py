"""Sixteen people who save athletes on one desk, each after a pause of a tenth of a second or so.

    PYTHONPATH=. python scripts/bench/writers.py [--rounds 5] [--seconds 10] [--people 16]

Pauses are drawn (exponential, mean 100 ms). A save is a whole unit of work, from waiting for its
turn until it is on the disk, with its line on record; the page around it is not. What is saved is
an athlete's group, which counts how often that was, so that one that is lost shows. Beside it stand
how long the disk takes for a page of 4 kB alone, and the processor's time for a save.
"""

import argparse
import os
import random
import statistics
import tempfile
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path

from scripts.bench.growth import desk
from settingsdesk.desk.squad import athletes
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.store.work import Store

MEAN_PAUSE_S = 0.1
ATHLETES = 300
CLUB = 1
SEED = 1201


@dataclass
class Saved:
    """What came of it."""

    milliseconds: list[float] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)

    @property
    def p99(self) -> float:
        """What 99 of 100 did not take longer than."""
        return sorted(self.milliseconds)[int(len(self.milliseconds) * 0.99)]


@dataclass(frozen=True)
class Person:
    """Who saves one athlete."""

    athlete_id: int

    def saves(self, store: Store) -> None:
        """The next group."""
        with store.work(CLUB, by="bench", writes=True) as session:
            before = athletes.member(session, self.athlete_id).person
            group = f"Group {int(before.group_name.partition(' ')[2]) + 1}"
            athletes.change(session, self.athlete_id, replace(before, group_name=group))

    def groups(self, store: Store) -> int:
        """In the how-manieth the athlete is."""
        with store.work(CLUB, writes=False) as session:
            group = athletes.member(session, self.athlete_id).person.group_name
        return int(group.partition(" ")[2])


@contextmanager
def people_at(where: Path, size: int, people: int) -> Iterator[tuple[Store, list[Person]]]:
    """A desk of a club of that size, and so many who save something."""
    grown = desk(where, size)
    with grown.store.work(CLUB, writes=False) as session:
        squad = [one for one in athletes.find(session) if one.person.group_name.startswith("Group")]
    yield grown.store, [Person(one.id) for one in squad[:people]]
    grown.store.close()


def save_for(store: Store, people: Sequence[Person], seconds: float) -> Saved:
    """All of them at once; raises where a save is lost."""
    saved = Saved()
    before = sum(person.groups(store) for person in people)
    ends = time.monotonic() + seconds

    def works(person: Person) -> None:
        chance = random.Random(f"{SEED} {person.athlete_id}")
        while time.monotonic() < ends:
            time.sleep(chance.expovariate(1 / MEAN_PAUSE_S))
            began = time.monotonic()
            try:
                person.saves(store)
                saved.milliseconds.append((time.monotonic() - began) * 1000)
            except SettingsDeskError as refusal:
                saved.refused.append(str(refusal))

    threads = [threading.Thread(target=works, args=(person,)) for person in people]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    kept = sum(person.groups(store) for person in people) - before
    if kept != len(saved.milliseconds):
        raise SystemExit(f"{len(saved.milliseconds)} were saved and {kept} are there")
    return saved


def disk_ms(where: Path, writes: int = 200) -> float:
    """What 99 of 100 writes of 4 kB through to the disk do not take longer than."""
    taken = []
    with (where / "written").open("wb") as file:
        for _ in range(writes):
            began = time.monotonic()
            file.write(bytes(4096))
            file.flush()
            os.fsync(file.fileno())
            taken.append((time.monotonic() - began) * 1000)
    return sorted(taken)[int(writes * 0.99)]


def main() -> None:
    """One line for each round, and the medians."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--seconds", type=float, default=10)
    parser.add_argument("--people", type=int, default=16)
    told = parser.parse_args()
    with (
        tempfile.TemporaryDirectory() as place,
        people_at(Path(place) / "desk", ATHLETES, told.people) as (store, people),
    ):
        save_for(store, people, 1)  # everything is loaded then
        waits = []
        for _ in range(told.rounds):
            disk = disk_ms(Path(place))
            before = time.process_time()
            saved = save_for(store, people, told.seconds)
            cpu_ms = (time.process_time() - before) * 1000 / len(saved.milliseconds)
            waits.append(saved.p99)
            print(
                f"{len(saved.milliseconds)} saved, {len(saved.refused)} refused, 0 lost;"
                f" p50 {statistics.median(saved.milliseconds):.0f} ms, p99 {saved.p99:.0f} ms,"
                f" longest {max(saved.milliseconds):.0f} ms; the disk alone p99 {disk:.1f} ms;"
                f" {cpu_ms:.1f} ms of a processor each;"
                f" load {os.getloadavg()[0]:.1f}",
                flush=True,
            )
        print(f"p99 {statistics.median(waits):.0f} ms (median of {told.rounds})")


if __name__ == "__main__":
    main()
