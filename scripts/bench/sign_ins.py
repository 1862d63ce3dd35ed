"""Signing in: whether its time tells a known name from an unknown one, and what a storm costs.

    python scripts/bench/sign_ins.py [--pairs 60] [--storm 40] [--seconds 5]

Pairs: a wrong password for a known name, and one for an unknown name, in changing order; the ratio
of the medians is what OWASP ASVS 5.0.0, 6.3.8 asks of. Storm: so many who send a password again and
again, and meanwhile a card's page that is asked for, over sockets of one desk with the threads of
the real one; against the same page with nobody signing in.
"""

import argparse
import logging
import secrets
import socket
import statistics
import tempfile
import threading
import time
from collections import Counter
from http.client import HTTPConnection
from pathlib import Path
from urllib.parse import urlencode

from settingsdesk.config import DataFolder
from settingsdesk.desk.accounts import accounts
from settingsdesk.desk.demo import club as demo_club
from settingsdesk.resources import folder
from settingsdesk.store.migrate import upgraded
from settingsdesk.store.work import Store
from settingsdesk.web.app import create_app
from settingsdesk.web.serving import Server


def timed_ms(store: Store, name: str) -> float:
    """One try with a password that is nobody's."""
    password = secrets.token_hex(12)
    begun = time.perf_counter()
    known = accounts.sign_in(store, name, password)
    took_ms = (time.perf_counter() - begun) * 1000
    if known is not None:
        raise SystemExit("A password by chance was right")
    return took_ms


def pairs(store: Store, name: str, count: int) -> None:
    """Known and unknown, alternately first."""
    known: list[float] = []
    unknown: list[float] = []
    timed_ms(store, name)
    for number in range(count):
        both = [(known, name), (unknown, secrets.token_hex(4))]
        for times, whose in both if number % 2 else reversed(both):
            times.append(timed_ms(store, whose))
    medians = [statistics.median(times) for times in (known, unknown)]
    ratios = [one / other for one, other in zip(known, unknown, strict=True)]
    print(
        f"known {medians[0]:.1f} ms, unknown {medians[1]:.1f} ms, ratio of medians"
        f" {medians[0] / medians[1]:.3f}, median of paired ratios {statistics.median(ratios):.3f}"
    )


def ask(port: int, seconds: float, times: list[float]) -> None:
    """A card's page over and over, on one connection."""
    connection = HTTPConnection("127.0.0.1", port, timeout=60)
    ends = time.monotonic() + seconds
    while time.monotonic() < ends:
        begun = time.perf_counter()
        connection.request("GET", f"/C/{'A' * 26}")
        connection.getresponse().read()
        times.append((time.perf_counter() - begun) * 1000)
        time.sleep(0.05)


def storm(port: int, seconds: float, statuses: Counter[int]) -> None:
    """Sign-ins without a pause, each with a name of its own."""
    connection = HTTPConnection("127.0.0.1", port, timeout=60)
    connection.request("GET", "/sign-in")
    page = connection.getresponse()
    cookie = (page.headers["Set-Cookie"] or "").partition(";")[0]
    token = page.read().decode().partition('name="csrf_token" value="')[2].partition('"')[0]
    ends = time.monotonic() + seconds
    while time.monotonic() < ends:
        sent = urlencode(
            {"csrf_token": token, "sign_in_name": secrets.token_hex(4), "password": "wrong"}
        )
        headers = {"Content-Type": "application/x-www-form-urlencoded", "Cookie": cookie}
        connection.request("POST", "/sign-in", sent, headers)
        answer = connection.getresponse()
        answer.read()
        statuses[answer.status] += 1


def main() -> None:
    """Print both."""
    logging.disable()
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--pairs", type=int, default=60)
    options.add_argument("--storm", type=int, default=40)
    options.add_argument("--seconds", type=float, default=5)
    told = options.parse_args()
    with tempfile.TemporaryDirectory() as place:
        data = DataFolder.at(Path(place) / "desk")
        store = upgraded(data.database)
        put = demo_club.load(store, folder("seed"), "seven lanterns over wet roofs")
        pairs(store, put.sign_in_name, told.pairs)
        listening = socket.create_server(("127.0.0.1", 0))
        port = listening.getsockname()[1]
        server = Server(create_app(data=data, store=store), listening)
        running = threading.Thread(target=server.run)
        running.start()
        alone: list[float] = []
        ask(port, told.seconds, alone)
        beside: list[float] = []
        statuses: Counter[int] = Counter()
        stormers = [
            threading.Thread(target=storm, args=(port, told.seconds, statuses))
            for _ in range(told.storm)
        ]
        for one in stormers:
            one.start()
        ask(port, told.seconds, beside)
        for one in stormers:
            one.join()
        for words, times in (("alone", alone), ("beside the storm", beside)):
            ranked = sorted(times)
            print(
                f"card {words}: {len(times)} answers, median {statistics.median(times):.0f} ms,"
                f" longest {ranked[-1]:.0f} ms"
            )
        print(f"ratio of medians {statistics.median(beside) / statistics.median(alone):.1f}")
        print("answers to the storm by status:", dict(sorted(statuses.items())))
        server.stop()
        running.join()


if __name__ == "__main__":
    main()
