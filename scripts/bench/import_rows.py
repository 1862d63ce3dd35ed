"""How long a large list of entries takes to be read, against a bare loop over its cells.

    python scripts/bench/import_rows.py [--pairs 5]

5,000 rows of 22 columns: the bare loop only asks openpyxl's read_only reader for every cell; ours
checks the file, finds the header, reads every value, tells twins apart and looks for swapped
rails. The file states its extent, as those of spreadsheet programs do: openpyxl parses a sheet that
does not twice, which would flatter us. Both run in turns, each in a process of its own; seconds are
process CPU seconds from when everything is imported, memory is the peak. A ratio is that of one
pair, and the median is of those.
"""

import argparse
import io
import json
import random
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import openpyxl

ROWS = 5_000
HEADERS = [
    "Family name",
    "Given name",
    "Club",
    "Group",
    "Start number",
    "Low rail (cm)",
    "High rail (cm)",
    "Spread (cm)",
    "Parallel bars height (cm)",
    "Parallel bars spread (cm)",
    "Beam height (cm)",
    "Vault table height (cm)",
    "Board distance (cm)",
    "Run-up (cm)",
    "Ring height (cm)",
    "Horizontal bar height (cm)",
    "Pommel horse height (cm)",
    "Pommel spacing (cm)",
    "Remark",
    "Level",
    "Coach",
    "No.",
]
SPANS_MM = (
    (1500, 1800),
    (2300, 2600),
    (1500, 1800),
    (1700, 2000),
    (420, 520),
    (1000, 1250),
    (1050, 1350),
    (400, 1200),
    (10_000, 25_000),
    (2600, 2800),
    (2600, 2800),
    (1050, 1150),
    (400, 450),
)


def workbook() -> bytes:
    """Invented athletes, the same every time."""
    rng = random.Random("rows of a list")
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Entries"
    sheet.append(HEADERS)
    for number in range(1, ROWS):
        lengths = [rng.randint(*span) / 10 for span in SPANS_MM]
        about = [f"Family{number}", f"Given{number}", f"Club {number % 8}", "Juniors", str(number)]
        sheet.append([*about, *lengths, "ok", "6", "K", number])
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def bare(content: bytes) -> int:
    """Every cell, asked for and counted."""
    book = openpyxl.load_workbook(io.BytesIO(content), read_only=True, data_only=True)
    sheet = book.worksheets[0]
    sheet.reset_dimensions()
    rows = sheet.iter_rows(max_row=ROWS, max_col=len(HEADERS))
    return sum(cell.value is not None for row in rows for cell in row)


def ours() -> Callable[[bytes], int]:
    """Every value that is taken; imported here, so that the bare loop's memory is its own."""
    from settingsdesk.sheets.lists.reading import read_lists

    return lambda content: len(read_lists(content, "entries.xlsx").accepted)


def one(way: str, file: Path) -> None:
    """One run in this process: seconds and peak memory, as JSON."""
    content = file.read_bytes()
    read = bare if way == "bare" else ours()
    begun = time.process_time()
    count = read(content)
    seconds = time.process_time() - begun
    print(json.dumps({"seconds": seconds, "peak_mib": peak_mib(), "count": count}))


def peak_mib() -> float:
    """What this process had in memory at most; getrusage would count its parent's share too."""
    said = dict(line.split(":") for line in Path("/proc/self/status").read_text().splitlines())
    return int(said["VmHWM"].split()[0]) / 1024


def main() -> None:
    """Paired runs, and their ratios."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pairs", type=int, default=5)
    parser.add_argument("--one", nargs=2, help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.one:
        one(asked.one[0], Path(asked.one[1]))
        return
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "entries.xlsx"
        file.write_bytes(workbook())
        runs: dict[str, list[dict[str, float]]] = {"bare": [], "ours": []}
        for _ in range(asked.pairs):
            for way in runs:
                command = [sys.executable, __file__, "--one", way, str(file)]
                told = subprocess.run(command, check=True, capture_output=True, text=True).stdout
                runs[way].append(json.loads(told))
    ratios = [o["seconds"] / b["seconds"] for b, o in zip(runs["bare"], runs["ours"], strict=True)]
    for way, told in runs.items():
        seconds = statistics.median(run["seconds"] for run in told)
        peak = statistics.median(run["peak_mib"] for run in told)
        print(f"{way:5} {seconds:.2f} CPU s, peak {peak:.0f} MiB, counted {told[0]['count']:.0f}")
    more = [o["peak_mib"] - b["peak_mib"] for b, o in zip(runs["bare"], runs["ours"], strict=True)]
    print(
        f"ours takes {statistics.median(ratios):.2f} times the bare loop"
        f" (from {min(ratios):.2f} to {max(ratios):.2f}), {statistics.median(more):.0f} MiB more"
    )


if __name__ == "__main__":
    main()
