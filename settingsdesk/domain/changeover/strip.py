"""The strip of a rotation: turns and change-overs of several orders on one scale of time.

In this drawing a millimetre stands for a second.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil

from settingsdesk.domain.base.drawing import (
    Anchor,
    Box,
    Drawing,
    Ink,
    Line,
    Shape,
    Text,
    Weight,
)
from settingsdesk.domain.base.figures import minutes

SHORTEST_S = 600
"""A strip is never drawn for less than ten minutes, so that a short one is not blown up."""

LETTERS_WIDE = 22
"""How many letter heights the strip is wide: on a phone of 320 px its figures are still 12 px."""


@dataclass(frozen=True, slots=True)
class StripRow:
    """One order: its name, and for each turn the change-over before it and the turn, in seconds."""

    name: str
    turns: tuple[tuple[int, int], ...]

    @property
    def change_overs_s(self) -> int:
        """All change-overs together."""
        return sum(change_s for change_s, _ in self.turns)

    @property
    def whole_s(self) -> int:
        """From the first change-over to the end of the last turn."""
        return sum(change_s + turn_s for change_s, turn_s in self.turns)


def strip(rows: Sequence[StripRow]) -> Drawing:
    """The orders under one another: change-overs filled, turns as open boxes, minutes below.

    Above each order stands how long its change-overs take together.
    """
    longest_s = max([SHORTEST_S, *(row.whole_s for row in rows)])
    letter_mm = longest_s / LETTERS_WIDE
    row_mm = 4.2 * letter_mm
    top_mm = row_mm * len(rows)
    shapes = [
        shape
        for place, row in enumerate(rows)
        for shape in _row(row, top_mm - row_mm * place, letter_mm)
    ]
    words = "; ".join(f"{row.name} {minutes(row.change_overs_s)} of change-over" for row in rows)
    return Drawing(
        left_mm=-0.2 * letter_mm,
        bottom_mm=-2.6 * letter_mm,
        width_mm=longest_s + 1.4 * letter_mm,
        height_mm=top_mm + 2.6 * letter_mm,
        letter_mm=letter_mm,
        shapes=(*shapes, *_minute_marks(longest_s, letter_mm)),
        in_words=f"Turns and change-overs to scale: {words}.",
    )


def _row(row: StripRow, top_mm: float, letter_mm: float) -> Iterator[Shape]:
    told = f"{row.name}: {minutes(row.change_overs_s)}"
    yield Text(0.0, top_mm - 1.3 * letter_mm, told, Anchor.START, bold=True)
    high_mm = 1.5 * letter_mm
    bottom_mm = top_mm - 3.4 * letter_mm
    at_s = 0
    for change_s, turn_s in row.turns:
        if change_s:
            yield Box(at_s, bottom_mm, change_s, high_mm, filled=True)
        if turn_s:
            turn_mm = bottom_mm + 0.2 * high_mm
            yield Box(at_s + change_s, turn_mm, turn_s, 0.6 * high_mm, ink=Ink.QUIET)
        at_s += change_s + turn_s


def _minute_marks(longest_s: int, letter_mm: float) -> Iterator[Shape]:
    yield Line(0.0, 0.0, longest_s, 0.0, Weight.THIN, ink=Ink.QUIET)
    every_min = ceil(longest_s / 60 / 5 / 5) * 5
    for minute in range(0, longest_s // 60 + 1, every_min):
        at_mm = minute * 60.0
        yield Line(at_mm, 0.0, at_mm, -0.5 * letter_mm, Weight.THIN, ink=Ink.QUIET)
        anchor, told = (Anchor.MIDDLE, f"{minute}") if minute else (Anchor.START, "0 min")
        yield Text(at_mm, -1.7 * letter_mm, told, anchor, ink=Ink.QUIET)
