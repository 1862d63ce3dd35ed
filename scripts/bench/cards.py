"""How much quicker cards are written than the naive way, and what file comes of it.

    python scripts/bench/cards.py [--cards 1000] [--pairs 5] [--decode]

Invented athletes of a meet, every one with another code and nearly every one with other marks, as
A6 pages and as ID-1 cards on sheets. The naive writer (cards_naive.py) prints the same values with
fpdf2's `table()` and `cell()` and a PNG of each symbol. Both run in turns, each time in a new
process: seconds are process CPU seconds of the writing alone, fonts and caches cold; memory is the
peak above what the cards themselves take. A ratio is that of one pair, and the median is of those.
--decode renders every page of both files and reads every symbol by zxing-cpp.
"""

import argparse
import hashlib
import json
import random
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path

import cards_naive
import pypdfium2
import zxingcpp

from settingsdesk.cards.pdf import Size, cards_pdf
from settingsdesk.domain.base.codes import SYMBOLS
from settingsdesk.domain.base.datums import Section, canonical_in_words
from settingsdesk.domain.base.drawing import Drawing
from settingsdesk.domain.base.figures import length_in_words
from settingsdesk.domain.base.kinds import kind_of
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.settings.card import Card, CardGroup, CardLine
from settingsdesk.domain.settings.end_view import DimensionText, end_view
from settingsdesk.words.language import ENGLISH

KIND = kind_of("uneven_bars")
SCALES_MM = {"low_rail": (1500, 25, 17), "high_rail": (2300, 25, 17), "spread": (1300, 10, 61)}
BEGINNINGS = ("Al", "Be", "Ca", "Da", "El", "Fio", "Gre", "Ha", "Il", "Jo", "Ma", "Ðu", "Ște")
MIDDLES = ("ri", "na", "lo", "mi", "wa", "xandri", "rosla", "thé", "ngọ", "ś")
ENDS = ("a", "ne", "ka", "ette", "ja", "ça", "la", "mara")
CLUBS = tuple(f"Gymnastics club of the {place} valley" for place in ("upper", "middle", "lower"))
WRITERS: dict[tuple[str, str], Callable[[Sequence[Card]], bytes]] = {
    ("naive", "A6"): cards_naive.a6_pdf,
    ("naive", "ID-1"): cards_naive.id1_pdf,
    ("ours", "A6"): lambda cards: cards_pdf([CardGroup(tuple(cards))], Size.A6, ENGLISH),
    ("ours", "ID-1"): lambda cards: cards_pdf([CardGroup(tuple(cards))], Size.ID1, ENGLISH),
}


def invented(count: int) -> list[Card]:
    """Cards of a meet, the same every time."""
    rng = random.Random("cards of a meet")  # invented athletes
    return [_card(rng, number) for number in range(1, count + 1)]


def _card(rng: random.Random, number: int) -> Card:
    given = "".join(map(rng.choice, (BEGINNINGS, MIDDLES, ENDS)))
    code = "".join(SYMBOLS[one % 31] for one in hashlib.sha256(b"%d" % number).digest()[:26])
    stops = {key: _stop(rng, count) for key, (_, _, count) in SCALES_MM.items()}
    measures_mm = {
        key: first_mm + stops[key] * pitch_mm for key, (first_mm, pitch_mm, _) in SCALES_MM.items()
    }
    lines = tuple(
        _line(rng, axis.key, str(stops[axis.key] + 1), measures_mm[axis.key]) for axis in KIND.axes
    )
    return Card(
        name=f"{given} {rng.choice('ABCDEFGHJKLM')}.",
        club=rng.choice(CLUBS),
        start_number=str(number),
        apparatus=f"Uneven bars {rng.choice('12')}",
        model="Hall frame A",
        scale_used=f"this apparatus’s own calibration of {rng.choice('12')} March 2026",
        lines=lines,
        drawing=_drawing(lines, measures_mm),
        version=rng.choice((1, 1, 1, 2)),
        issued_on=date(2026, 5, 4),
        url=f"HTTPS://SETTINGS.HALL.EXAMPLE/C/{code}",
        short_code=code[:9],
        raise_request=rng.choice(("", "", "", "Rails raised by 5.0 cm: asked for by the coach")),
        counts_until=date(2026, 12, 31),
    )


def _stop(rng: random.Random, count: int) -> int:
    """Most athletes are of middling size."""
    return min(max(round(rng.gauss(0.5, 0.2) * count), 0), count - 1)


def _line(rng: random.Random, key: str, mark: str, length_mm: float) -> CardLine:
    wanted = f"{length_in_words(length_mm + rng.randint(-9, 9), Unit.CENTIMETRE)} is wanted"
    return CardLine(
        axis=KIND.axis(key).name,
        mark=mark,
        length=length_in_words(length_mm, Unit.CENTIMETRE),
        datum=canonical_in_words(KIND.axis(key)),
        accepts=rng.choice(("± 1.0 cm", "± 0.5 cm", "no deviation")),
        note=rng.choice(("", "", wanted)),
    )


def _drawing(lines: Sequence[CardLine], measures_mm: dict[str, float]) -> Drawing:
    texts = {
        axis.key: DimensionText(line.mark, line.length)
        for axis, line in zip(KIND.axes, lines, strict=True)
    }
    return end_view(KIND, Section(40, 40), measures_mm, texts, mat_mm=200)


def write_once(writer: str, size: str, count: int, file: Path) -> None:
    """Write the cards in this process, and print what that took as JSON."""
    cards = invented(count)
    before_kib = _peak_kib()
    began_s = time.process_time()
    pdf = WRITERS[writer, size](cards)
    took_s = time.process_time() - began_s
    file.write_bytes(pdf)
    print(json.dumps({"cpu_s": took_s, "mib": (_peak_kib() - before_kib) / 1024}))


def _peak_kib() -> int:
    """Since this program began: getrusage would give its parent's peak where that was higher."""
    status = Path("/proc/self/status").read_text(encoding="ascii")
    return int(status.partition("VmHWM:")[2].split()[0])


def compare(size: str, count: int, pairs: int, folder: Path, *, decode: bool) -> None:
    """Run both writers in turns and print medians and ratios."""
    took: dict[str, list[dict[str, float]]] = {"naive": [], "ours": []}
    for _ in range(pairs):
        for writer, runs in took.items():
            runs.append(_in_a_new_process(writer, size, count, folder / f"{writer}-{size}.pdf"))
    ratios = [a["cpu_s"] / b["cpu_s"] for a, b in zip(took["naive"], took["ours"], strict=True)]
    print(f"\n{count} cards, {size}, {pairs} pairs")
    for writer, runs in took.items():
        file = folder / f"{writer}-{size}.pdf"
        with pypdfium2.PdfDocument(file) as document:
            pages = len(document)
        print(
            f"  {writer:5}  {statistics.median(run['cpu_s'] for run in runs):6.2f} CPU s"
            f"  peak +{statistics.median(run['mib'] for run in runs):5.1f} MiB"
            f"  {file.stat().st_size / 1e6:5.2f} MB  {pages} pages"
        )
    print(
        f"  ours is {statistics.median(ratios):.1f} times as fast"
        f" (from {min(ratios):.1f} to {max(ratios):.1f})"
    )
    if decode:
        for writer in took:
            print(f"  {writer:5}  {_decoded(folder / f'{writer}-{size}.pdf', invented(count))}")


def _in_a_new_process(writer: str, size: str, count: int, file: Path) -> dict[str, float]:
    words = [sys.executable, __file__, "--cards", str(count), "--write", writer, size, str(file)]
    told = subprocess.run(words, capture_output=True, check=True, text=True)
    return json.loads(told.stdout)


def _decoded(file: Path, cards: Sequence[Card], dpi: int = 200) -> str:
    """Every symbol on every page against the addresses of the cards."""
    read: list[str] = []
    with pypdfium2.PdfDocument(file) as document:
        for page in document:
            image = page.render(scale=dpi / 72, grayscale=True).to_pil()
            read += [code.text for code in zxingcpp.read_barcodes(image) if code.valid]
    wanted = {card.url for card in cards}
    wrong = len(set(read) - wanted)
    return f"{len(wanted & set(read))} of {len(wanted)} symbols decoded at {dpi} dpi, {wrong} wrong"


def main() -> None:
    asked = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    asked.add_argument("--cards", type=int, default=1000)
    asked.add_argument("--pairs", type=int, default=5)
    asked.add_argument("--decode", action="store_true", help="read every symbol of both files")
    asked.add_argument("--write", nargs=3, metavar=("WRITER", "SIZE", "FILE"), help="one run only")
    given = asked.parse_args()
    if given.write:
        writer, size, file = given.write
        write_once(writer, size, given.cards, Path(file))
        return
    with tempfile.TemporaryDirectory() as folder:
        for size in ("A6", "ID-1"):
            compare(size, given.cards, given.pairs, Path(folder), decode=given.decode)


if __name__ == "__main__":
    main()
