"""Phones at a station that ask each second, beside connections that strangers hold and leave.

    python scripts/bench/strangers.py [--seconds 20] [--pairs 3] [--idle 500] [--half 150]

The desk is a process of its own, started as anybody starts it. Pairs: the phones alone, and the
same phones beside so many connections that say nothing and so many that send half a head; all of
them are opened again as soon as the desk drops them. Milliseconds are from the moment a phone
should ask until the whole answer is there, opening a connection included where it has none.
"""

import argparse
import asyncio
import os
import re
import resource
import signal
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from http import HTTPStatus
from http.client import HTTPConnection
from pathlib import Path
from urllib.parse import urlencode

from settingsdesk.config import DataFolder
from settingsdesk.desk.cards.code_address import CodeKey
from settingsdesk.desk.demo import club as demo_club
from settingsdesk.desk.demo import meet as demo_meet
from settingsdesk.desk.rotations import rotation
from settingsdesk.desk.stations import stations
from settingsdesk.resources import folder
from settingsdesk.store.migrate import upgraded

ONE_ADDRESS = "127.0.0.1"
PHONES_LET_IN = 25
"""A station takes 30: several of the phones that ask share a sign-in, each has its connection."""
GIVES_UP_S = 10
SESSION = "settingsdesk="
HALF_A_HEAD = b"GET /station/latest HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Slow: "


@dataclass
class Counted:
    """What became of the questions of a round."""

    milliseconds: list[float] = field(default_factory=list)
    lost: list[str] = field(default_factory=list)

    def told(self) -> str:
        """One line."""
        if not self.milliseconds:
            return f"none answered, {len(self.lost)} lost"
        ranked = sorted(self.milliseconds)
        p50, p99 = statistics.median(ranked), ranked[int(len(ranked) * 0.99)]
        return (
            f"{len(ranked)} answered, {len(self.lost)} lost, p50 {p50:.0f} ms, p99 {p99:.0f} ms,"
            f" longest {ranked[-1]:.0f} ms"
        )


def main() -> None:
    """One line for each round."""
    asked = argparse.ArgumentParser(description=__doc__, allow_abbrev=False)
    asked.add_argument("--seconds", type=int, default=20)
    asked.add_argument("--pairs", type=int, default=3)
    asked.add_argument("--phones", type=int, default=200)
    asked.add_argument("--idle", type=int, default=500)
    asked.add_argument("--half", type=int, default=150)
    chosen = asked.parse_args()
    _as_many_files_as_may_be()
    with tempfile.TemporaryDirectory() as there:
        code = prepared(Path(there))
        with served(Path(there)) as (port, process):
            cookies = [let_in(port, code, number) for number in range(PHONES_LET_IN)]
            for _ in range(chosen.pairs):
                for idle, half in ((0, 0), (chosen.idle, chosen.half)):
                    before = cpu_s(process)
                    counted = asyncio.run(
                        one_round(port, cookies, chosen.phones, chosen.seconds, idle, half)
                    )
                    used = (cpu_s(process) - before) / chosen.seconds
                    print(
                        f"{idle:4} idle, {half:4} half: {counted.told()}, {used:.0%} of a"
                        " processor",
                        flush=True,
                    )


def prepared(there: Path) -> str:
    """A demo desk in that folder with a station; returns the station's typed code."""
    data = DataFolder.at(there)
    store = upgraded(data.database)
    put = demo_club.load(store, folder("seed"), "nine lanterns over wet slates")
    meet = demo_meet.hold(store, put.club_id, folder("seed"))
    ink = CodeKey(data.card_key(), "http://127.0.0.1")
    with store.work(put.club_id, by="bench", writes=True) as session:
        [rotation_id, *_] = put.rotation_ids
        apparatus_id = rotation.rotation(session, rotation_id).piece.id
        one = stations.open_station(session, ink, meet.sessions[0].id, apparatus_id)
        code = stations.codes(session, ink, one.id).short_code
    store.close()
    return code


@contextmanager
def served(there: Path) -> Iterator[tuple[int, int]]:
    """The desk of that folder: its port, and the number of its process."""
    with socket.create_server((ONE_ADDRESS, 0)) as free:
        port = free.getsockname()[1]
    command = [sys.executable, "-m", "settingsdesk", "serve", "--port", str(port)]
    environment = {**os.environ, "SETTINGSDESK_DATA": str(there)}
    with subprocess.Popen(command, env=environment, stdout=subprocess.PIPE, text=True) as process:
        next(iter(process.stdout or ()), "")
        try:
            yield port, process.pid
        finally:
            process.send_signal(signal.SIGTERM)


def let_in(port: int, code: str, number: int) -> str:
    """The cookie of a phone that typed the station's code."""
    connection = HTTPConnection(ONE_ADDRESS, port)
    connection.request("GET", "/station")
    answer = connection.getresponse()
    tokens = re.findall(r'name="csrf_token"[^>]*value="([^"]+)"', answer.read().decode())
    cookie = answer.headers["Set-Cookie"].partition(";")[0]
    form = {"csrf_token": tokens[0], "code": code, "name": f"Phone {number}"}
    headers = {"Cookie": cookie, "Content-Type": "application/x-www-form-urlencoded"}
    connection.request("POST", "/station", urlencode(form), headers)
    answer = connection.getresponse()
    answer.read()
    if answer.status != HTTPStatus.SEE_OTHER:
        raise RuntimeError(f"{answer.status}: the station lets nobody in")
    # Beside it comes the cookie by which the device is known.
    [session] = [
        one for one in answer.headers.get_all("Set-Cookie") or () if one.startswith(SESSION)
    ]
    return str(session.partition(";")[0])


async def one_round(
    port: int, cookies: list[str], phones: int, seconds: int, idle: int, half: int
) -> Counted:
    """All phones for so many seconds, beside so many connections that are of no use."""
    counted = Counted()
    strangers = [asyncio.create_task(held(port, b"")) for _ in range(idle)]
    strangers += [asyncio.create_task(held(port, HALF_A_HEAD)) for _ in range(half)]
    await asyncio.sleep(1)
    begins = time.monotonic() + 0.5
    await asyncio.gather(
        *(
            phone(port, cookies[n % len(cookies)], begins + n / phones, seconds, counted)
            for n in range(phones)
        )
    )
    for one in strangers:
        one.cancel()
    await asyncio.gather(*strangers, return_exceptions=True)
    return counted


async def held(port: int, said: bytes) -> None:
    """A connection that is opened again whenever it is dropped."""
    while True:
        with suppress(OSError):
            reader, writer = await asyncio.open_connection(ONE_ADDRESS, port)
            try:
                writer.write(said)
                await reader.read()
            finally:
                writer.close()
        await asyncio.sleep(0.05)


async def phone(port: int, cookie: str, begins: float, seconds: int, counted: Counted) -> None:
    """A phone that asks each second, on one connection as long as the desk keeps it."""
    question = (
        f"GET /station/latest HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nCookie: {cookie}\r\n"
        "Settingsdesk-Script: 1\r\n\r\n"
    ).encode()
    line: tuple[asyncio.StreamReader, asyncio.StreamWriter] | None = None
    for second in range(seconds):
        due = begins + second
        await asyncio.sleep(max(0, due - time.monotonic()))
        try:
            async with asyncio.timeout(GIVES_UP_S):
                if line is None or line[0].at_eof():
                    line = await asyncio.open_connection(ONE_ADDRESS, port)
                reader, writer = line
                writer.write(question)
                head = await reader.readuntil(b"\r\n\r\n")
                [length] = re.findall(rb"(?s)^HTTP/1.1 200.*?Content-Length: (\d+)", head)
                await reader.readexactly(int(length))
            counted.milliseconds.append((time.monotonic() - due) * 1000)
        except (OSError, EOFError, TimeoutError, ValueError) as failed:
            counted.lost.append(repr(failed))
            line = None
    if line is not None:
        line[1].close()


def cpu_s(process: int) -> float:
    """What all threads of the process have used so far, as Linux tells it."""
    figures = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    return (int(figures[11]) + int(figures[12])) / os.sysconf("SC_CLK_TCK")


def _as_many_files_as_may_be() -> None:
    most = resource.getrlimit(resource.RLIMIT_NOFILE)[1]
    resource.setrlimit(resource.RLIMIT_NOFILE, (most, most))


if __name__ == "__main__":
    main()
