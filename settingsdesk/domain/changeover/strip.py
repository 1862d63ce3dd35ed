"""The strip of a rotation: turns and change-overs of several orders on one scale of time.

In this drawing a millimetre stands for a second.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import ceil, floor
from unicodedata import combining, east_asian_width

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
from settingsdesk.domain.base.figures import minutes, minutes_alone

SHORTEST_S = 600
"""A strip is never drawn for less than ten minutes, so that a short one is not blown up."""

NARROW_LETTERS = 22
"""How many letter heights a phone's strip is wide: at 320 px its figures are still 12 px."""

WIDE_LETTERS = 70
"""The same of a strip for a page of 50 rem and more, and for paper: at 800 px they are 10 px."""

GAP = 0.3
"""What is free between two texts, in letter heights."""

MOST_NAMED = 16
"""With more turns than this in an order names would be few and the drawing high."""

LANES = 3
"""How many rows of labels there may be below a bar."""

BOLD = 1.12
"""How much wider bold letters are."""

TITLE, BAR_TOP, BAR_HIGH, LANE_HIGH = 1.1, 1.6, 1.6, 1.2  # in letter heights


@dataclass(frozen=True, slots=True)
class StripRow:
    """One order: its name, and for each turn the change-over before it and the turn, in seconds.

    ``called`` are those who have the turns, in the same order. A change-over after which nobody
    has a turn comes last, before a turn of no seconds. ``groups`` are those of several that go one
    after the other, each with its number of turns; turns are counted in each from 1.
    """

    name: str
    turns: tuple[tuple[int, int], ...]
    called: tuple[str, ...] = ()
    groups: tuple[tuple[str, int], ...] = ()

    @property
    def numbers(self) -> tuple[int, ...]:
        """The number of each turn."""
        if not self.groups:
            return tuple(range(1, len(self.turns) + 1))
        numbers = [number for _, turns in self.groups for number in range(1, turns + 1)]
        return (*numbers, 0)  # after the last one it may be set for whoever comes next

    @property
    def change_overs_s(self) -> int:
        """All change-overs together."""
        return sum(change_s for change_s, _ in self.turns)

    @property
    def whole_s(self) -> int:
        """From the first change-over to the end of the last turn."""
        return sum(change_s + turn_s for change_s, turn_s in self.turns)

    @property
    def in_words(self) -> str:
        """Every turn with what is readjusted before it."""
        whole = f"{self.name} {minutes(self.change_overs_s)} of change-over"
        told = [
            f"{number} {name} after {minutes_alone(change_s)}"
            for number, name, (change_s, _) in zip(
                self.numbers, self.called, self.turns, strict=False
            )
        ]
        if not told:
            return whole
        parts, at = [], 0
        for name, turns in self.groups or (("", len(told)),):
            some = ", ".join(told[at : at + turns])
            parts.append(f"{name}: {some}" if name else some)
            at += turns
        return f"{whole} ({'; '.join(parts)})"


def strip(rows: Sequence[StripRow], wide: int, *, with_names: bool) -> Drawing:
    """The orders under one another: change-overs filled, turns as open boxes, minutes below.

    It is ``wide`` letter heights wide, or a little less. Above each order stands how long its
    change-overs take together. Turn numbers and minutes stand in their boxes where these are wide
    enough; names stand below unless there are many turns, and where no number has room in its
    box, the numbers too. What has no room is left out, and is in the words of the drawing.
    """
    longest_s = max([SHORTEST_S, *(row.whole_s for row in rows)])
    letter_mm = 10 * ceil(longest_s / wide / 10)  # most of what is drawn lies on whole seconds
    bands: list[_Band] = []
    named = with_names and all(len(row.called) <= MOST_NAMED for row in rows)
    for row in rows if named else [replace(row, called=()) for row in rows]:
        bands.append(_Band(row, bands[-1].bottom_mm if bands else 0.0, letter_mm, longest_s))
    foot_mm = bands[-1].bottom_mm
    shapes = [shape for band in bands for shape in band.shapes()]
    words = "; ".join(row.in_words for row in rows)
    bottom_mm = foot_mm - 2.2 * letter_mm
    return Drawing(
        left_mm=-0.2 * letter_mm,
        bottom_mm=bottom_mm,
        width_mm=longest_s + 1.4 * letter_mm,
        height_mm=-bottom_mm,
        letter_mm=letter_mm,
        shapes=(*shapes, *_minute_marks(longest_s, letter_mm, foot_mm)),
        in_words=f"Turns and change-overs to scale: {words}.",
    )


class _Band:
    """One order, hung below ``top_mm``, in a frame that ends at ``end_mm``."""

    def __init__(self, row: StripRow, top_mm: float, letter_mm: float, end_mm: float) -> None:
        self._row, self._top_mm, self._letter_mm, self._end_mm = row, top_mm, letter_mm, end_mm
        told = f"{row.name}: {minutes(row.change_overs_s)}"
        self._title = list(_lines(told, end_mm / letter_mm))
        lines = len(self._title) - 1 + bool(row.groups)
        below_title = BAR_TOP + LANE_HIGH * lines
        self._bar_mm = top_mm - (below_title + BAR_HIGH) * letter_mm
        self._labels = list(self._below_the_bar())
        lanes = max((lane for *_, lane in self._labels), default=-1) + 1
        self.bottom_mm = self._bar_mm - (0.6 + LANE_HIGH * lanes) * letter_mm

    def shapes(self) -> Iterator[Shape]:
        for line, told in enumerate(self._title):
            y_mm = self._top_mm - (TITLE + LANE_HIGH * line) * self._letter_mm
            yield Text(0.0, y_mm, told, Anchor.START, bold=True)
        yield from self._boxes()
        yield from self._groups()
        yield from self._figures()
        for x_mm, text_x_mm, words, lane in self._labels:
            y_mm = self._bar_mm - (1.1 + LANE_HIGH * lane) * self._letter_mm
            if lane:
                end_mm = y_mm + self._letter_mm
                yield Line(x_mm, self._bar_mm, x_mm, end_mm, Weight.THIN, ink=Ink.QUIET)
            yield Text(text_x_mm, y_mm, words, Anchor.START)

    def _groups(self) -> Iterator[Shape]:
        """A line where each group begins, and its name there, where it has room over its turns."""
        high_mm = self._bar_mm + BAR_HIGH * self._letter_mm
        top_mm = high_mm + LANE_HIGH * self._letter_mm
        begins = [at_s for at_s, _, _ in self._times()] + [self._row.whole_s]
        at = 0
        for name, turns in self._row.groups:
            begin_s, end_s = begins[at], begins[at + turns]
            yield Line(begin_s, self._bar_mm, begin_s, top_mm, Weight.NORMAL)
            room = (end_s - begin_s) / self._letter_mm - 2 * GAP
            if letters_wide(name) <= room:
                yield Text(
                    round(begin_s + GAP * self._letter_mm),
                    high_mm + 0.35 * self._letter_mm,
                    name,
                    Anchor.START,
                )
            at += turns

    def _boxes(self) -> Iterator[Box]:
        """The turns, then the change-overs."""
        high_mm = BAR_HIGH * self._letter_mm
        lower_mm, less_mm = self._bar_mm + 0.2 * self._letter_mm, 0.4 * self._letter_mm
        for at_s, change_s, turn_s in self._times():
            if turn_s:
                yield Box(at_s + change_s, lower_mm, turn_s, high_mm - less_mm, ink=Ink.QUIET)
        for at_s, change_s, _ in self._times():
            if change_s:
                yield Box(at_s, self._bar_mm, change_s, high_mm, filled=True, ink=Ink.ACCENT)

    def _figures(self) -> Iterator[Text]:
        """Minutes and turn numbers, in the boxes that are wide enough."""
        y_mm = self._bar_mm + (BAR_HIGH / 2 - 0.3) * self._letter_mm
        for number, (at_s, change_s, turn_s) in zip(self._row.numbers, self._times(), strict=False):
            told = minutes_alone(change_s)
            if change_s and self._has_room(told, change_s):
                yield Text(at_s + change_s // 2, y_mm, told, ink=Ink.ON_ACCENT)
            if turn_s and self._has_room(str(number), turn_s):
                yield Text(at_s + change_s + turn_s // 2, y_mm, str(number))

    def _times(self) -> Iterator[tuple[int, int, int]]:
        """Of each turn: when its change-over begins, and how long that and the turn take."""
        at_s = 0
        for change_s, turn_s in self._row.turns:
            yield at_s, change_s, turn_s
            at_s += change_s + turn_s

    def _has_room(self, words: str, wide_mm: float) -> bool:
        return (letters_wide(words) + GAP / 2) * self._letter_mm <= wide_mm

    def _below_the_bar(self) -> Iterator[tuple[float, float, str, int]]:
        """Where a label's turn begins, where its text does, the text, and its row below the bar.

        From the last to the first: the line of a label that hangs lower is on the left of all that
        are there already, and those that come later end before it.
        """
        gap_mm, right_mm = GAP * self._letter_mm, self._end_mm + self._letter_mm
        starts_mm = [right_mm + gap_mm] * LANES
        for x_mm, words in reversed(list(self._wanted())):
            wide_mm = letters_wide(words) * self._letter_mm
            text_x_mm = max(0, min(x_mm, floor(right_mm - wide_mm)))
            for lane, start_mm in enumerate(starts_mm):
                if text_x_mm + wide_mm + gap_mm <= start_mm:
                    yield x_mm, text_x_mm, words, lane
                    starts_mm[: lane + 1] = [*[x_mm] * lane, text_x_mm]
                    break
                if x_mm >= start_mm - gap_mm / 2:
                    break

    def _wanted(self) -> Iterator[tuple[float, str]]:
        """What should stand below each turn: a name, and the number where its box is too narrow."""
        for place, (at_s, change_s, turn_s) in enumerate(self._times()):
            number = str(self._row.numbers[place])
            if turn_s:
                name = self._row.called[place] if self._row.called else ""
                if not self._has_room(number, turn_s):
                    yield at_s + change_s, f"{number} {name}".strip()
                elif name:
                    yield at_s + change_s, name


def _lines(told: str, wide: float) -> Iterator[str]:
    """A title in as many lines as it needs, in bold; only a word too wide for one is broken."""
    line = ""
    for word in told.split():
        longer = f"{line} {word}".strip()
        if line and letters_wide(longer) * BOLD > wide:
            yield line
            longer = word
        while letters_wide(longer) * BOLD > wide:
            fits = max(n for n in range(len(longer)) if letters_wide(longer[:n]) * BOLD <= wide)
            yield longer[:fits]
            longer = longer[fits:]
        line = longer
    yield line


def letters_wide(words: str) -> float:
    """How wide words are set in the widest of the usual letterings, in letter heights."""
    return sum(_letter_wide(letter) for letter in words)


def _letter_wide(letter: str) -> float:
    if combining(letter):
        return 0.0
    if letter in ":., 'ijl|’":
        return 0.35
    if letter in "frtI":
        return 0.42
    if letter.isdecimal():
        return 0.64
    if east_asian_width(letter) in "WF" or letter in "mwMWшщжюфШЩЖЮФ":
        return 1.0
    return 0.79 if letter.isupper() else 0.65


def _minute_marks(longest_s: int, letter_mm: float, foot_mm: float) -> Iterator[Shape]:
    yield Line(0.0, foot_mm, longest_s, foot_mm, Weight.THIN, ink=Ink.QUIET)
    every_min = ceil(longest_s / 60 / 5 / 5) * 5
    for minute in range(0, longest_s // 60 + 1, every_min):
        at_mm = minute * 60.0
        tick_mm = foot_mm - 0.5 * letter_mm
        yield Line(at_mm, foot_mm, at_mm, tick_mm, Weight.THIN, ink=Ink.QUIET)
        anchor, told = (Anchor.MIDDLE, f"{minute}") if minute else (Anchor.START, "0 min")
        yield Text(at_mm, foot_mm - 1.7 * letter_mm, told, anchor, ink=Ink.QUIET)
