"""What the pages that a hall feels cost the server, against a bare Flask page under one waitress.

    python scripts/bench/pages.py [--pairs 5] [--requests 500] [--only saved]

The card's page (to whoever scans a card), the question of a phone at a station and of the coach's
page at the bars, which each asks every second or two, and a saved form (an athlete moved to another
group). Both servers are processes of their own with the same threads, asked in turns by one
connection that is kept open; the client is not counted. For the desk a second goes by each time it
looks at its clock, since faster than a hall it would refuse to answer.
Milliseconds are CPU of all threads of the server as the kernel tells them in /proc. A ratio is
that of one pair, and the median is of those.
"""

import argparse
import json
import logging
import re
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from html import unescape
from http.client import HTTPConnection
from itertools import count
from pathlib import Path
from urllib.parse import urlencode, urlsplit

from flask import Flask
from waitress.server import create_server

from settingsdesk.config import DataFolder
from settingsdesk.desk.cards import issued
from settingsdesk.desk.cards.code_address import CodeKey
from settingsdesk.desk.demo import club as demo_club
from settingsdesk.desk.demo import meet as demo_meet
from settingsdesk.desk.meets import start_orders
from settingsdesk.desk.rotations import rotation
from settingsdesk.desk.runs import run
from settingsdesk.desk.stations import stations
from settingsdesk.resources import folder
from settingsdesk.store.migrate import upgraded
from settingsdesk.store.work import Store
from settingsdesk.web.app import create_app

HERE = "http://127.0.0.1"
PASSWORD = "nine lanterns over wet slates"
TOKEN = re.compile(r'name="csrf_token"[^>]*value="([^"]+)"')
AS_READ = re.compile(r'name="as_read"[^>]*value="([^"]+)"')
THREADS = 8
IN_A_TURN = 20

Asked = tuple[subprocess.Popen[str], Callable[[], int]]


@dataclass
class Client:
    """One browser: its connection, its cookies, and what the last page's form carried."""

    port: int
    cookies: dict[str, str] = field(default_factory=dict)
    token: str = ""
    as_read: str = ""

    def __post_init__(self) -> None:
        self.connection = HTTPConnection("127.0.0.1", self.port)

    def ask(self, path: str, form: dict[str, str] | None = None) -> int:
        """The status of the answer; its cookies and the token of its form are kept."""
        headers = {"Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items())}
        if form is None:
            self.connection.request("GET", path, headers=headers)
        else:
            headers["Content-Type"] = "application/x-www-form-urlencoded"
            body = urlencode({**form, "csrf_token": self.token})
            self.connection.request("POST", path, body, headers)
        answer = self.connection.getresponse()
        page = answer.read()
        for cookie in answer.headers.get_all("Set-Cookie", []):
            name, _, value = cookie.partition(";")[0].partition("=")
            self.cookies[name] = value
        found = TOKEN.search(page.decode())
        self.token = found.group(1) if found else self.token
        found = AS_READ.search(page.decode())
        self.as_read = unescape(found.group(1)) if found else self.as_read
        return answer.status


def serve(data: str) -> None:
    """Serve the desk of a data folder, or a bare page; the port is the first line that is said."""
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)  # as of a desk that is served
    seconds = count(int(time.time()))
    app = (
        create_app(data=DataFolder.at(Path(data)), clock=lambda: next(seconds)) if data else _bare()
    )
    server = create_server(app, host="127.0.0.1", port=0, threads=THREADS)
    print(server.effective_port, flush=True)
    server.run()


def _bare() -> Flask:
    app = Flask("bare")
    app.add_url_rule("/", view_func=lambda: "<!doctype html><title>Bare</title><h1>Bare</h1>")
    return app


@contextmanager
def served(data: str) -> Iterator[tuple[subprocess.Popen[str], int]]:
    """A server in a process of its own, and its port."""
    command = [sys.executable, __file__, "--serve", data]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        try:
            yield process, int((process.stdout or sys.stdin).readline())
        finally:
            process.terminate()


def cpu_ms(process: subprocess.Popen[str]) -> float:
    """What all threads of a process have taken so far."""
    tasks = Path(f"/proc/{process.pid}/task").iterdir()
    return sum(int((task / "schedstat").read_text().split()[0]) for task in tasks) / 1e6


def per_request_ms(process: subprocess.Popen[str], ask: Callable[[], int], requests: int) -> float:
    """CPU of one request, on an average of many."""
    before = cpu_ms(process)
    for _ in range(requests):
        status = ask()
        if status not in (200, 303):
            raise SystemExit(f"The answer was {status}")
    return (cpu_ms(process) - before) / requests


def pair(bare: Asked, ours: Asked, requests: int) -> tuple[float, float]:
    """CPU of one request to each, asked some at a time in turns: what else runs then meets both."""
    turns = [
        [per_request_ms(process, ask, IN_A_TURN) for process, ask in (bare, ours)]
        for _ in range(max(1, requests // IN_A_TURN))
    ]
    bare_ms, ours_ms = (statistics.median(of_one) for of_one in zip(*turns, strict=True))
    return bare_ms, ours_ms


@dataclass(frozen=True)
class Hall:
    """What there is to ask for on the demo's desk, on the day of its meet."""

    card: str
    run: str
    station: str


def set_up(data: DataFolder) -> Hall:
    """The demo with a card, a run that is under way, and a station that is open."""
    store: Store = upgraded(data.database)
    put = demo_club.load(store, folder("seed"), PASSWORD)
    meet = demo_meet.hold(store, put.club_id, folder("seed"))
    key = CodeKey(data.card_key(), HERE)
    with closing(store), store.work(put.club_id, by="bench", writes=True) as session:
        view = rotation.rotation(session, put.rotation_ids[0])
        [card, *_] = issued.issue(
            session, key, view.piece.id, [member.id for member in view.listed]
        )
        line = start_orders.at_station(session, meet.sessions[0].id, view.piece.id)[0]
        run_id = run.begin(session, line.rotation_id, view.piece.id)
        opened = stations.open_station(session, key, meet.sessions[0].id, view.piece.id)
        codes = stations.codes(session, key, opened.id)
    return Hall(urlsplit(card.url).path, f"/bars/{run_id}/latest", codes.short_code)


def questions(hall: Hall, port: int) -> dict[str, Callable[[], int]]:
    """Everything that is measured, each by the browser of somebody who asks for it."""
    holder, coach, phone = Client(port), Client(port), Client(port)
    coach.ask("/sign-in")
    coach.ask("/sign-in", {"sign_in_name": "runa", "password": PASSWORD})
    phone.ask("/station")
    phone.ask("/station", {"code": hall.station, "name": "Ivo"})
    coach.ask("/athletes/1/edit")
    cookies, groups = dict(coach.cookies), count()
    read: dict[str, list[str]] = json.loads(coach.as_read)

    def save() -> int:
        coach.cookies = dict(cookies)  # the word that it is saved would wait in it for a page
        before = json.dumps(read)
        read["group_name"] = [f"Group {next(groups)}"]
        form = {name: sent[0] for name, sent in read.items() if sent}
        return coach.ask("/athletes/1/edit", {**form, "as_read": before})

    return {
        "card's page": lambda: holder.ask(hall.card),
        "phone's question": lambda: phone.ask("/station/latest"),
        "bars' question": lambda: coach.ask(hall.run),
        "saved form": save,
    }


def main() -> None:
    """Paired runs, and their ratios."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pairs", type=int, default=5)
    parser.add_argument("--requests", type=int, default=500)
    parser.add_argument("--only", default="", help="what begins so alone")
    parser.add_argument("--serve", help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.serve is not None:
        serve(asked.serve)
        return
    with tempfile.TemporaryDirectory() as place:
        data = DataFolder.at(Path(place) / "desk")
        hall = set_up(data)
        with served("") as (bare, bare_port), served(str(data.path)) as (desk, port):
            told = {
                name: ask
                for name, ask in questions(hall, port).items()
                if name.startswith(asked.only)
            }
            plain = Client(bare_port)
            for ask in (lambda: plain.ask("/"), *told.values()):
                per_request_ms(bare, ask, 50)  # everything is loaded then
            for name, ask in told.items():
                pairs = [
                    pair((bare, lambda: plain.ask("/")), (desk, ask), asked.requests)
                    for _ in range(asked.pairs)
                ]
                say(name, pairs)


def say(name: str, pairs: list[tuple[float, float]]) -> None:
    """One line: what it costs, and the median of its ratios."""
    ratios = [ours / bare for bare, ours in pairs]
    bare_ms, ours_ms = (statistics.median(one) for one in zip(*pairs, strict=True))
    print(
        f"{name:16} {ours_ms:6.3f} ms, a bare page {bare_ms:.3f} ms:"
        f" {statistics.median(ratios):.2f} times ({min(ratios):.2f} to {max(ratios):.2f})"
    )


if __name__ == "__main__":
    main()
