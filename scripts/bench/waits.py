"""How long a card's page makes people wait while many ask at once, against a bare Flask page.

    PYTHONPATH=. python scripts/bench/waits.py [--pairs 5] [--seconds 6] [--at-once 16 64]

So many connections are kept open, and each asks again as soon as it has its answer: that is a queue
and no hall, and it shows how long the queue's end is. Both servers are those of ``pages.py``, in
processes of their own, and take turns. Milliseconds are from asking until the whole answer is
there. A ratio is that of the waits of one pair which 99 of 100 do not exceed, and the median is of
those; whatever is not answered by 200 is an error. The client is one process, and is counted with
both.
"""

import argparse
import asyncio
import re
import statistics
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path

from scripts.bench.pages import served, set_up
from settingsdesk.config import DataFolder

HERE = "127.0.0.1"
GIVES_UP_S = 30
HEAD = re.compile(rb"(?s)HTTP/1\.1 (\d+).*?\r\nContent-Length: (\d+)")


@dataclass
class Asked:
    """What came of one round."""

    milliseconds: list[float] = field(default_factory=list)
    errors: int = 0

    @property
    def p99(self) -> float:
        """What 99 of 100 did not wait longer than."""
        return sorted(self.milliseconds)[int(len(self.milliseconds) * 0.99)]


async def round_of(port: int, path: str, at_once: int, seconds: float) -> Asked:
    """So many connections that ask for a page all the time."""
    asked = Asked()
    ends = time.monotonic() + seconds
    await asyncio.gather(*(one(port, path, ends, asked) for _ in range(at_once)))
    return asked


async def one(port: int, path: str, ends: float, asked: Asked) -> None:
    """One connection; a new one after an error."""
    question = f"GET {path} HTTP/1.1\r\nHost: {HERE}:{port}\r\n\r\n".encode()
    while time.monotonic() < ends:
        try:
            reader, writer = await asyncio.open_connection(HERE, port)
            while time.monotonic() < ends:
                began = time.monotonic()
                writer.write(question)
                async with asyncio.timeout(GIVES_UP_S):
                    head = await reader.readuntil(b"\r\n\r\n")
                    found = HEAD.match(head)
                    status, length = found.groups() if found else (b"", b"0")
                    await reader.readexactly(int(length))
                asked.errors += status != b"200"
                asked.milliseconds.append((time.monotonic() - began) * 1000)
            writer.close()
        except (OSError, EOFError, TimeoutError):
            asked.errors += 1


def main() -> None:
    """One line for each number of people who ask at once."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--pairs", type=int, default=5)
    parser.add_argument("--seconds", type=float, default=6)
    parser.add_argument("--at-once", type=int, nargs="+", default=[16, 64])
    told = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        data = DataFolder.at(Path(place) / "desk")
        hall = set_up(data)
        with served("") as (_, bare), served(str(data.path)) as (_, desk):
            for port, path in ((bare, "/"), (desk, hall.card)):
                asyncio.run(round_of(port, path, 2, 1))  # everything is loaded then
            for at_once in told.at_once:
                rounds = [
                    [
                        asyncio.run(round_of(port, path, at_once, told.seconds))
                        for port, path in ((bare, "/"), (desk, hall.card))
                    ]
                    for _ in range(told.pairs)
                ]
                say(at_once, rounds)


def say(at_once: int, rounds: list[list[Asked]]) -> None:
    """One line."""
    ratios = [ours.p99 / bare.p99 for bare, ours in rounds]
    ours = [ours for _, ours in rounds]
    print(
        f"{at_once:3} at once: a card's page"
        f" p50 {statistics.median(statistics.median(one.milliseconds) for one in ours):.0f} ms,"
        f" p99 {statistics.median(one.p99 for one in ours):.0f} ms;"
        f" a bare page p99 {statistics.median(bare.p99 for bare, _ in rounds):.0f} ms:"
        f" {statistics.median(ratios):.2f} times ({min(ratios):.2f} to {max(ratios):.2f});"
        f" {sum(len(one.milliseconds) for one in ours)} asked,"
        f" {sum(one.errors for one in ours)} errors",
        flush=True,
    )


if __name__ == "__main__":
    main()
