"""How long a list takes to be kept, and how many statements that is.

    python scripts/bench/keep_list.py [--athletes 20 500 1000 4999]

The same athletes with settings for one model as a list of somebody's own into the squad, as such a
list into a meet, and as a sheet of our own columns: each into the demo club, then once more with
every setting changed. Seconds are process CPU seconds of what the press of the button does: the
file is read, looked at once more, and kept. Statements are those of the same.
"""

import argparse
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path

from sqlalchemy import Engine, event
from sqlalchemy.orm import Session

from settingsdesk.desk.demo import club as demo
from settingsdesk.desk.lists import coach_lists
from settingsdesk.desk.lists.destinations import MeetEntries, Squad
from settingsdesk.desk.meets import meets as desk_meets
from settingsdesk.desk.meets.meets import MeetFacts
from settingsdesk.resources import folder
from settingsdesk.store.migrate import upgrade
from settingsdesk.store.work import Store

MODEL = "Hall frame A"
OURS = "Family name;Given name;Model;Low rail height (cm);High rail height (cm);Rail spread (cm)"
BY = "Bench"

Keep = Callable[[Session, bytes], None]


def own(athletes: int, more_mm: int) -> bytes:
    """A list of somebody's own."""
    rows = ["Surname;First name;Club;Apparatus model;Low bar (cm);High bar (cm);Spread (cm)"]
    for at in range(athletes):
        rows.append(f"Family{at};Given{at};Club {at % 8};{MODEL};{_lengths(at, more_mm)}")
    return "\n".join(rows).encode()


def ours(athletes: int, more_mm: int) -> bytes:
    """The same athletes in our own columns."""
    rows = [OURS]
    for at in range(athletes):
        rows.append(f"Family{at};Given{at};{MODEL};{_lengths(at, more_mm)}")
    return "\n".join(rows).encode()


def _lengths(at: int, more_mm: int) -> str:
    lengths_mm = (1500 + at % 200 + more_mm, 2300 + at % 200 + more_mm, 1500 + at % 300)
    return ";".join(f"{mm / 10:.1f}" for mm in lengths_mm)


def into_squad(session: Session, content: bytes) -> None:
    """A list of one's own or a sheet of our columns, as the page Sheets takes it."""
    taker = Squad(session)
    coach_lists.take(session, taker, coach_lists.look(session, taker, content, "own.csv"))


def into_meet(session: Session, content: bytes) -> None:
    """A club's list, as the entries of a meet take it."""
    meet = desk_meets.all_meets(session)[0]
    taker = MeetEntries(session, meet.id)
    seen = coach_lists.look(session, taker, content, "own.csv", "Guests")
    coach_lists.take(session, taker, seen)


WAYS: dict[str, tuple[Keep, Callable[[int, int], bytes]]] = {
    "own list, squad": (into_squad, own),
    "own list, meet": (into_meet, own),
    "our columns": (into_squad, ours),
}


@contextmanager
def statements() -> Iterator[list[str]]:
    """Every statement that any database is asked meanwhile."""
    asked: list[str] = []

    def note(_connection: object, _cursor: object, statement: str, *_: object) -> None:
        asked.append(statement)

    event.listen(Engine, "before_cursor_execute", note)
    yield asked
    event.remove(Engine, "before_cursor_execute", note)


def desk(at: Path) -> tuple[Store, int]:
    """The demo club with a meet."""
    upgrade(at)
    store = Store(at)
    told = demo.load(store, folder("seed"), "seven lanterns over wet slates")
    with store.work(told.club_id, by=BY, writes=True) as session:
        facts = MeetFacts(
            "Spring meet", "Hall", date(2031, 5, 16), date(2031, 5, 17), date(2031, 5, 20)
        )
        desk_meets.add_meet(session, facts)
    return store, told.club_id


def main() -> None:
    """Each way, for each number of athletes."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--athletes", type=int, nargs="+", default=[20, 500, 1000, 4999])
    print(f"{'':24} {'athletes':>8} {'new':>22} {'changed':>22}")
    for athletes in parser.parse_args().athletes:
        for name, (keep, written) in WAYS.items():
            told = []
            with tempfile.TemporaryDirectory() as there:
                store, club_id = desk(Path(there) / "desk.sqlite")
                for more_mm in (0, 7):
                    content = written(athletes, more_mm)
                    begun = time.process_time()
                    with statements() as asked, store.work(club_id, by=BY, writes=True) as session:
                        keep(session, content)
                    seconds = time.process_time() - begun
                    told.append(f"{seconds:6.2f} s {len(asked):6} asked")
                store.close()
            print(f"{name:24} {athletes:8} {told[0]:>22} {told[1]:>22}", flush=True)


if __name__ == "__main__":
    main()
