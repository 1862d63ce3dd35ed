"""A meet day replayed by machines: stations, spectators, coaches, a backup and a restart.

    python scripts/bench/meet_day.py [--minutes 2] [--seed 1] [--workers 4]

300 athletes of 12 clubs, 8 stations with two phones each that set, check and end every turn, 200
spectators who look at cards, two coaches who change settings meanwhile, a backup a third of the way
and a restart of the desk (SIGTERM, and the same command again) in the middle. A press that gets no
answer is sent again until it gets one, as the page's script does, and one in ten that got its
answer is sent again all the same. Afterwards every press that was confirmed must be one event of
its run, no event may stand there that nobody pressed, and nobody may have had a turn twice.

The desk is served by `settingsdesk serve` as it is started in a hall; where
SETTINGSDESK_DATABASE_URL names an empty database of a server it is kept there, and ``--workers`` is
handed on. Beside it a page that does nothing (bare Flask under the desk's own server, in a process
of its own) is asked at the pace of the stations, as the measure of how busy the machine was.
Prints how long each kind of request took, median and 99th of 100, and what was lost or doubled;
its exit status is 1 where anything was.
"""

import argparse
import http.client
import os
import random
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import timedelta
from html.parser import HTMLParser
from pathlib import Path
from statistics import quantiles
from urllib.parse import urlencode

from flask import Flask
from sqlalchemy import select

from settingsdesk.config import DataFolder
from settingsdesk.desk.accounts.accounts import add_account
from settingsdesk.desk.backups import begun
from settingsdesk.desk.cards import card_keys, issued
from settingsdesk.desk.clock import today
from settingsdesk.desk.demo import club as demo_club
from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.meets import entries, meets, start_orders
from settingsdesk.desk.meets.entries import Guest
from settingsdesk.desk.meets.facts import MeetFacts
from settingsdesk.desk.squad import settings
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.desk.stations import stations
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.resources import folder
from settingsdesk.store.runs import Run, RunEvent
from settingsdesk.store.work import Store
from settingsdesk.web.serving import Server

CLUBS, ATHLETES, STATIONS, SPECTATORS, ROTATIONS = 12, 300, 8, 200, 3
PASSWORD = "seven lanterns over wet slates"  # of an invented club
COACHES = ("runa", "second")
MODEL = "Hall frame A"
STANDS = (4, 4, 40)
LOOKS_EACH_S = 12
"""A spectator looks at a card about so often."""
ASKS_EACH_S = 1.0
"""As the station's page does."""
SENT_AGAIN = 0.1
PRESSES_OF_A_TURN = 3
ANSWER_S = 30


@dataclass
class Day:
    """Where everybody meets: what was pressed and confirmed, how long it took, when it is over."""

    port: int
    bare_port: int
    minutes: float
    over: threading.Event = field(default_factory=threading.Event)
    took: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    confirmed: list[tuple[int, int, str]] = field(default_factory=list)
    """Run, number of the last event that was seen, word."""
    tried: set[tuple[int, int, str]] = field(default_factory=set)
    answers: Counter[str] = field(default_factory=Counter)

    @property
    def pause_s(self) -> float:
        """Between two presses at a station, so that the turns are over in time."""
        presses = ATHLETES / STATIONS * PRESSES_OF_A_TURN
        return self.minutes * 60 / presses * 0.7


class Client:
    """Somebody with a browser: one connection that is kept, and cookies."""

    def __init__(self, day: Day, port: int | None = None):
        self._day, self._port = day, port or day.port
        self._cookies: dict[str, str] = {}
        self._connection: http.client.HTTPConnection | None = None

    def ask(self, kind: str, path: str, sent: dict[str, str] | None = None) -> tuple[int, str]:
        """Status and page, or where it leads to; tried again until somebody answers."""
        while True:
            begun = time.perf_counter()
            try:
                status, text = self._once(path, sent)
            except (OSError, http.client.HTTPException):
                self.leave()
                self._day.answers["no answer, tried again"] += 1
                if self._day.over.is_set():
                    raise
                time.sleep(0.2)
                continue
            self._day.took[kind].append(time.perf_counter() - begun)
            self._day.answers[f"{status}"] += 1
            return status, text

    def leave(self) -> None:
        """Hang up."""
        if self._connection:
            self._connection.close()
        self._connection = None

    def _once(self, path: str, sent: dict[str, str] | None) -> tuple[int, str]:
        if self._connection is None:
            self._connection = http.client.HTTPConnection("127.0.0.1", self._port, timeout=ANSWER_S)
        headers = {"Cookie": "; ".join(f"{n}={v}" for n, v in self._cookies.items())}
        if sent is not None:
            headers["Content-Type"] = "application/x-www-form-urlencoded"
        body = urlencode(sent) if sent is not None else None
        self._connection.request("GET" if sent is None else "POST", path, body, headers)
        answer = self._connection.getresponse()
        text = answer.read().decode()
        for line in answer.headers.get_all("Set-Cookie") or ():
            name, _, value = line.partition(";")[0].partition("=")
            self._cookies[name] = value
        return answer.status, answer.headers.get("Location") or text


class Forms(HTMLParser):
    """The forms of a page: where each is sent, what stands in it, and its buttons."""

    def __init__(self, page: str):
        super().__init__()
        self.found: list[tuple[str, dict[str, str]]] = []
        self.pressable: list[str] = []
        self._in_select = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = {name: value or "" for name, value in attrs}
        if tag == "form":
            self.found.append((told.get("action", ""), {}))
        elif tag == "button" and told.get("name") == "do":
            self.pressable.append(told["value"])
        elif tag == "select":
            self._in_select = told.get("name", "")
        elif not self.found:
            return
        elif tag == "input" and "name" in told:
            if told.get("type") not in ("radio", "checkbox") or "checked" in told:
                self.found[-1][1][told["name"]] = told.get("value", "")
        elif tag == "option" and "selected" in told:
            self.found[-1][1][self._in_select] = told.get("value", "")

    def sent_to(self, end: str) -> dict[str, str] | None:
        """What stands in the form whose address ends so."""
        return next((values for action, values in self.found if action.endswith(end)), None)


class Phone:
    """One of the two at a station: the first sets and ends turns, the second checks."""

    def __init__(self, day: Day, code: str, name: str, *, checks: bool, chance: random.Random):
        self._day, self._checks, self._chance = day, checks, chance
        self._client = Client(day)
        _, page = self._client.ask("way in", f"/S/{code}")
        form = Forms(page).sent_to("/station") or {}
        status, _ = self._client.ask("way in", "/station", {**form, "name": name})
        if status != 303:
            raise RuntimeError(f"{name} was not let in at {code}: {status}")

    def work(self) -> None:
        """Until all turns are over, or the day is."""
        state = ""
        while not self._day.over.is_set():
            _, asked = self._client.ask("station asks", "/station/latest")
            if asked != state:
                state = asked
                if self._press(self._look()):
                    return
            self._day.over.wait(min(ASKS_EACH_S, self._day.pause_s) * self._chance.uniform(0.5, 1))

    def _look(self) -> Forms:
        _, page = self._client.ask("station's page", "/station/now")
        if "This station has no further rotation" in page:
            return Forms("")
        return Forms(page)

    def _press(self, page: Forms) -> bool:
        """Press what is this phone's to press, as long as there is anything; True at the end."""
        while not self._day.over.is_set():
            if not page.found:
                return True
            begin = page.sent_to("/station/begin")
            if begin is not None and not self._checks:
                self._client.ask("confirmation", "/station/begin", begin)
            elif (word := self._word(page.pressable)) and (form := page.sent_to("/confirm")):
                self._day.over.wait(self._day.pause_s * self._chance.uniform(0.5, 1))
                on_paper = {"on_paper": "1"} if word == "second" else {}
                self._confirm({**form, **on_paper, "do": word})
            else:
                return False
            page = self._look()
        return True

    def _word(self, pressable: list[str]) -> str | None:
        mine = ("second",) if self._checks else ("new_marks", "steps", "over")
        return next((word for word in mine if word in pressable), None)

    def _confirm(self, form: dict[str, str]) -> None:
        press = int(form["run"]), int(form["seen"]), form["do"]
        self._day.tried.add(press)
        status, _ = self._client.ask("confirmation", "/station/confirm", form)
        if status == 303:
            self._day.confirmed.append(press)
            if self._chance.random() < SENT_AGAIN:
                self._client.ask("confirmation", "/station/confirm", form)


def coach(day: Day, name: str, athletes: list[int], model_id: int, chance: random.Random) -> None:
    """Changes a setting every few seconds, and looks at the day's page between."""
    client = Client(day)
    _, page = client.ask("coach's page", "/sign-in")
    form = Forms(page).sent_to("") or {}
    client.ask("coach's page", "/sign-in", {**form, "sign_in_name": name, "password": PASSWORD})
    while not day.over.wait(chance.uniform(2, 4)):
        address = f"/athletes/{chance.choice(athletes)}/settings/{model_id}"
        _, page = client.ask("coach's page", address)
        form = next((v for _, v in Forms(page).found if "low_rail_length" in v), None)
        if form is None:
            continue
        length = chance.choice(("165.0", "167.5", "170.0"))
        client.ask("setting saved", address, {**form, "low_rail_length": length, "do": "save"})
        client.ask("coach's page", "/")


def spectators(day: Day, codes: list[str], how_many: int, chance: random.Random) -> None:
    """So many of them, each with a connection of its own for every look."""
    while not day.over.wait(LOOKS_EACH_S / how_many * chance.uniform(0.5, 1.5)):
        client = Client(day)
        client.ask("card", f"/C/{chance.choice(codes)}")
        client.leave()


def bare_page(day: Day, chance: random.Random) -> None:
    """The page that does nothing, as often as one station asks."""
    client = Client(day, day.bare_port)
    while not day.over.wait(0.1 * chance.uniform(0.5, 1.5)):
        client.ask("bare page", "/")


@dataclass(frozen=True)
class Hall:
    """What was set up for the day."""

    codes: list[str]
    cards: list[str]
    athletes: list[int]
    model_id: int


def set_up(store: Store, data: DataFolder, chance: random.Random) -> Hall:
    """The demo club's hall with eight bars more, the meet, its guests, cards and stations."""
    put = demo_club.load(store, folder("seed"), PASSWORD)
    add_account(store, put.club_id, COACHES[1], "Second", PASSWORD)
    key = card_keys.code_key(data, "http://desk.example")
    with store.work(put.club_id, by="bench", writes=True) as session:
        bars = next(p for p in apparatus.all_pieces(session) if p.model.name == MODEL)
        meet = meets.add_meet(
            session, MeetFacts("Meet", "Hall", today(), today(), today() + timedelta(days=7))
        )
        part = meets.add_session(session, meet.id, "All", today(), "09:00")
        pieces = []
        for number in range(STATIONS):
            piece = apparatus.add_piece(
                session, f"Bars {number}", "Hall", bars.model_id, bars.mat_mm
            )
            apparatus.record_setup(session, piece.id, STANDS, "bench")
            meets.put_apparatus(session, meet.id, piece.id)
            pieces.append(piece.id)
        guests = [
            Guest(Person(f"Family {n}", f"Given {n}"), f"Club {n % CLUBS}", str(n), "")
            for n in range(1, ATHLETES + 1)
        ]
        athletes = entries.enter_guests(session, meet.id, guests)
        kind = bars.model.kind
        for athlete in athletes:
            lengths = (
                chance.randrange(1600, 1750, 25),
                chance.randrange(2350, 2500, 25),
                chance.randrange(1600, 1750, 25),
            )
            wanted = {a.key: Wanted(mm, 10) for a, mm in zip(kind.axes, lengths, strict=True)}
            settings.keep_setting(session, athlete, bars.model_id, Setting(kind, wanted))
        codes, cards = [], []
        for number, piece_id in enumerate(pieces):
            here = athletes[number::STATIONS]
            for rotation in range(ROTATIONS):
                place = start_orders.Place(part.id, rotation + 1, piece_id)
                start_orders.set_new(session, place, here[rotation::ROTATIONS], "typed")
            cards += [card.url for card in issued.issue(session, key, piece_id, here)]
            station = stations.open_station(session, key, part.id, piece_id)
            codes.append(stations.codes(session, key, station.id).url)
    ends = [[url.rpartition("/")[2] for url in urls] for urls in (codes, cards)]
    return Hall(*ends, athletes, bars.model_id)


@contextmanager
def running(words: list[str], port: int) -> Iterator[subprocess.Popen[bytes]]:
    """A process, once something answers at that port."""
    process = subprocess.Popen(words, stdout=subprocess.DEVNULL)
    try:
        for _ in range(600):
            with socket.socket() as one:
                if one.connect_ex(("127.0.0.1", port)) == 0:
                    break
            time.sleep(0.05)
        yield process
    finally:
        process.send_signal(signal.SIGTERM)
        process.wait(timeout=60)


def serve_bare(port: int) -> None:
    """One page that says a word, under the desk's own server."""
    app = Flask("bare")
    app.add_url_rule("/", view_func=lambda: "well\n")
    Server(app, socket.create_server(("127.0.0.1", port))).run()


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as one:
        return int(one.getsockname()[1])


def hold(day: Day, hall: Hall, serve: list[str], place: Path, chance: random.Random) -> None:
    """The day itself."""
    module = [sys.executable, "-m", "settingsdesk"]
    again = lambda: random.Random(chance.random())  # noqa: E731 -- threads need one each
    works: list[threading.Thread] = []

    def at_once(work: Callable[..., None], *given: object) -> None:
        works.append(threading.Thread(target=work, args=(*given, again()), daemon=True))
        works[-1].start()

    with running([sys.executable, __file__, "--bare", str(day.bare_port)], day.bare_port):
        with running(serve, day.port):
            phones = [
                Phone(
                    day, code, f"{'Signe' if checks else 'Ivo'} {n}", checks=checks, chance=again()
                )
                for n, code in enumerate(hall.codes)
                for checks in (False, True)
            ]
            begun = time.monotonic()
            at_stations = [threading.Thread(target=p.work, daemon=True) for p in phones]
            for one in at_stations:
                one.start()
            for name in COACHES:
                at_once(coach, day, name, hall.athletes, hall.model_id)
            for _ in range(10):
                at_once(spectators, day, hall.cards, SPECTATORS // 10)
            at_once(bare_page, day)
            time.sleep(day.minutes * 20)
            before = time.monotonic()
            subprocess.run([*module, "backup", str(place / "backup.zip")], check=True)
            sys.stdout.write(f"backup while all went on: {time.monotonic() - before:.1f} s\n")
            time.sleep(max(0.0, day.minutes * 30 - (time.monotonic() - begun)))
            before = time.monotonic()
        with running(serve, day.port):
            sys.stdout.write(f"stopped and started again in {time.monotonic() - before:.1f} s\n")
            ends = begun + day.minutes * 90
            for one in at_stations:
                one.join(max(0.0, ends - time.monotonic()))
            day.over.set()
            for one in (*at_stations, *works):
                one.join(ANSWER_S)


def look_back(day: Day, store: Store) -> bool:
    """Compare what was confirmed with what is on record; whether all is well."""
    with store.installation(writes=False) as session:
        runs = {run.id for run in session.scalars(select(Run))}
        events = session.execute(
            select(RunEvent.run_id, RunEvent.number, RunEvent.word, RunEvent.told)
        ).all()
    kept = {(run, number) for run, number, _, _ in events}
    confirmed = set(day.confirmed)
    lost = [press for press in confirmed if (press[0], press[1] + 1) not in kept]
    begun_by = Counter(run for run, _, word, _ in events if word == "begun")
    pressed = {(run, seen + 1) for run, seen, _ in day.tried}
    doubled = [n for run, n, word, _ in events if word != "begun" and (run, n) not in pressed]
    doubled += [run for run, times in begun_by.items() if times > 1]
    turns = sum(word == "turn_over" for _, _, word, _ in events)
    sys.stdout.write(
        f"{len(runs)} rotations begun, {turns} turns over of {ATHLETES},"
        f" {len(confirmed)} presses confirmed, {len(events)} events on record\n"
        f"confirmations lost: {len(lost)}, doubled: {len(doubled)}\n"
        f"answers: {dict(day.answers)}\n"
    )
    return not lost and not doubled


def table(day: Day) -> None:
    """How long each kind of request took."""
    sys.stdout.write(f"{'':16}{'asked':>7}{'p50 ms':>9}{'p99 ms':>9}{'worst ms':>10}\n")
    for kind, seconds in sorted(day.took.items()):
        cut = quantiles(seconds, n=100) if len(seconds) > 1 else seconds * 99
        figures = (cut[49], cut[98], max(seconds))
        sys.stdout.write(
            f"{kind:16}{len(seconds):7}{figures[0] * 1000:9.1f}{figures[1] * 1000:9.1f}"
            f"{figures[2] * 1000:10.1f}\n"
        )


def main() -> int:
    """Set up, hold the day, look back."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--minutes", type=float, default=2.0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--workers", type=int, help="handed on to settingsdesk serve")
    parser.add_argument("--bare", type=int, metavar="PORT", help=argparse.SUPPRESS)
    told = parser.parse_args()
    if told.bare:
        serve_bare(told.bare)
        return 0
    chance = random.Random(told.seed)
    day = Day(free_port(), free_port(), told.minutes)
    with tempfile.TemporaryDirectory() as place:
        os.environ["SETTINGSDESK_DATA"] = str(Path(place) / "desk")
        data = DataFolder.from_environment()
        store = begun.opened(data)
        hall = set_up(store, data, chance)
        store.close()
        serve = [sys.executable, "-m", "settingsdesk", "serve", "--port", str(day.port)]
        if told.workers:
            serve += ["--workers", str(told.workers)]
        hold(day, hall, serve, Path(place), chance)
        store = Store(data.where, folder=data.path)
        is_well = look_back(day, store)
        store.close()
    table(day)
    return 0 if is_well else 1


if __name__ == "__main__":
    sys.exit(main())
