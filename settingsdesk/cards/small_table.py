"""The settings on the card of size ID-1: little room, and no letters that nobody can read.

Each mark stands between its axis and what a tape must find; axes of one datum say it once.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import groupby

from settingsdesk.cards.fit import Fitted, NoRoomOnCard, Place, fitted, whole
from settingsdesk.cards.lettering import Face, lettered, width_mm
from settingsdesk.cards.pen import Pen, capital_mm, line_mm, lines_mm
from settingsdesk.domain.base.drawing import Anchor
from settingsdesk.domain.base.sentences import Sentence, marked
from settingsdesk.domain.settings.card import CardLine
from settingsdesk.words.language import Language

SIZE = "ID-1"
LEAST_PT = 6.0
"""Smaller letters are not read at arm's length, nor by everybody in the hand."""

_MARK_PT, _AXIS_PT, _LENGTH_PT = (18, 12), (7, LEAST_PT), (9, LEAST_PT)  # the most and the least
_LEAST_AXIS_PT = 5.0
"""Some languages have one long word for what English says in two, and it is not torn."""

_AXIS_MM, _WIDE_AXIS_MM, _GAP_MM = 14.6, 16.6, 1.0
"""The column of the axes, and how wide it is where their names would need three lines each."""
_APART_MM, _CLOSE_MM = (0.6, 0.7), (0.35, 0.45)
"""Above and below each setting; close only where a card would else be of two places."""
BOTH, EACH = marked("both: %(datum)s"), marked("each: %(datum)s")
_SHARES = tuple(share / 20 for share in range(20, -1, -1))
_SMALLER = tuple(share / 20 for share in range(-1, -5, -1))
"""Below the least, for a language that says in many letters what English says in few."""


def small_pt(share: float) -> float:
    """The size of the smallest letters at a share of what is between the most and the least."""
    return LEAST_PT + min(share, 0) * 5


@dataclass(frozen=True, slots=True)
class _Row:
    """One setting: axis, mark, and what a tape finds over what is wanted; further words below."""

    axis: Fitted
    mark: Fitted
    length: Fitted
    accepts: Fitted
    heed: Fitted | None
    below: tuple[Fitted, ...]
    ends_group: bool
    gaps_mm: tuple[float, float]

    @property
    def figures_mm(self) -> float:
        """How high the figures stand, the tallest of the three columns."""
        return max(_stacked_mm(self.axis), _stacked_mm(self.mark), self.taped_mm)

    @property
    def taped_mm(self) -> float:
        return _stacked_mm(self.length) + lines_mm(self.accepts)

    @property
    def high_mm(self) -> float:
        heed_mm = lines_mm(self.heed) if self.heed else 0
        return self.figures_mm + heed_mm + sum(map(lines_mm, self.below)) + sum(self.gaps_mm)


class SmallTable:
    """The settings of a card, lettered as large as the room allows.

    Raises ``NoRoomOnCard`` and ``CharacterNotInFont``.
    """

    def __init__(
        self,
        lines: tuple[CardLine, ...],
        wide_mm: float,
        most_mm: float,
        language: Language,
        *,
        smaller: bool = False,
    ):
        self.wide_mm, self._axis_mm = wide_mm, _axis_mm(lines, language)
        said = list(_said_below(lines))
        apart = [(share, _APART_MM) for share in (_SMALLER if smaller else _SHARES)]
        columns_mm = wide_mm, self._axis_mm
        for share, gaps_mm in (*apart, (apart[-1][0], _CLOSE_MM)):
            self._rows = [
                _row(line, below, ends, columns_mm, share, gaps_mm, language)
                for line, (below, ends) in zip(lines, said, strict=True)
            ]
            self.high_mm = sum(row.high_mm for row in self._rows)
            if self.high_mm <= most_mm:
                return
        raise NoRoomOnCard("list of axes", ", ".join(line.axis for line in lines), SIZE)

    def draw(self, pen: Pen, left_mm: float, top_mm: float, high_mm: float) -> None:
        """Draw the rows from the top, spread evenly over a height.

        A thin line ends a datum's, and where they stand close each.
        """
        spare_mm = (high_mm - self.high_mm) / max(len(self._rows), 1)
        for row in self._rows:
            with pen.paper.part("P"):
                self._draw_row(pen, row, left_mm, top_mm + spare_mm / 2)
            top_mm += row.high_mm + spare_mm
            if row is self._rows[-1]:
                return
            if row.ends_group or row.gaps_mm == _CLOSE_MM:
                pen.line(left_mm, top_mm, left_mm + self.wide_mm, top_mm, 0.1)

    def _draw_row(self, pen: Pen, row: _Row, left_mm: float, top_mm: float) -> None:
        right_mm, top_mm, high_mm = left_mm + self.wide_mm, top_mm + row.gaps_mm[0], row.figures_mm
        pen.lines(left_mm, _middle_mm(row.axis, top_mm, high_mm), row.axis, Face.BOLD)
        y_mm = _middle_mm(row.mark, top_mm, high_mm)
        pen.lines(left_mm + self._axis_mm + _GAP_MM, y_mm, row.mark, Face.BOLD)
        y_mm = top_mm + (high_mm - row.taped_mm) / 2 + capital_mm(row.length.size_pt)
        y_mm = pen.lines(right_mm, y_mm, row.length, anchor=Anchor.END)
        pen.lines(right_mm, y_mm + line_mm(row.accepts), row.accepts, anchor=Anchor.END)
        y_mm = top_mm + high_mm
        if row.heed:
            y_mm = pen.lines(left_mm, y_mm + line_mm(row.heed), row.heed, Face.BOLD)
        for fit in row.below:
            y_mm = pen.lines(left_mm, y_mm + line_mm(fit), fit)


def _said_below(lines: Sequence[CardLine]) -> list[tuple[tuple[str, ...], bool]]:
    """What stands below each axis: the datum, after the last that has it; and whether it is."""
    said: list[tuple[tuple[str, ...], bool]] = []
    for datum, some in groupby(lines, key=lambda line: line.datum):
        *before, _ = some
        whose = BOTH if len(before) == 1 else EACH
        said += [((), False) for _ in before]
        said.append(((Sentence(whose, datum=datum) if before else datum,), True))
    return said


@lru_cache(maxsize=8192)
def _row(
    line: CardLine,
    below: tuple[str, ...],
    ends_group: bool,
    columns_mm: tuple[float, float],
    share: float,
    gaps_mm: tuple[float, float],
    language: Language,
) -> _Row:
    wide_mm, axis_mm = columns_mm
    said, taped_mm, least_pt = language.said, 0.48 * wide_mm, small_pt(share)
    axis = _axis(said(line.axis), axis_mm, _sized(_AXIS_PT, share))
    accepts_at = Place(taped_mm, least_pt, least_pt, lines=2)
    accepts = whole("accepted deviation", said(line.accepted), accepts_at, SIZE)
    room_mm = wide_mm - axis_mm - 2 * _GAP_MM
    told_length = said(Sentence("tape %(length)s", length=line.length))
    beside_mark_mm = room_mm - width_mm(lettered(line.mark), Face.BOLD, _MARK_PT[1])
    least_mm = max(_wide_mm(accepts), width_mm(lettered(told_length), Face.REGULAR, least_pt))
    length_mm = max(least_mm, min(taped_mm, beside_mark_mm))
    length = whole(
        "length", told_length, Place(length_mm, _sized(_LENGTH_PT, share), least_pt), SIZE
    )
    mark_mm = room_mm - max(_wide_mm(length), _wide_mm(accepts))
    mark_at = Place(mark_mm, _sized(_MARK_PT, share), least_pt, face=Face.BOLD)
    mark = whole("mark", line.mark, mark_at, SIZE)
    told_at = Place(wide_mm, least_pt, least_pt, lines=2)
    told = tuple(whole("datum", said(words), told_at, SIZE) for words in below)
    heed = (
        whole("note", f"! {said(line.heed)}", replace(told_at, face=Face.BOLD), SIZE)
        if line.heed
        else None
    )
    return _Row(axis, mark, length, accepts, heed, told, ends_group, gaps_mm)


def _axis_mm(lines: Sequence[CardLine], language: Language) -> float:
    """How wide the column of the axes is, on every line."""
    named = (_axis(language.said(line.axis), _AXIS_MM, LEAST_PT) for line in lines)
    return _AXIS_MM if all(len(fit.lines) < 3 for fit in named) else _WIDE_AXIS_MM


def _axis(name: str, wide_mm: float, most_pt: float) -> Fitted:
    """On two lines rather than three."""
    place = Place(wide_mm, most_pt, _LEAST_AXIS_PT, lines=2, face=Face.BOLD)
    fit = fitted(lettered(name), replace(place, least_pt=5.5))
    return fit if not fit.cut else fitted(lettered(name), replace(place, lines=3))


def _sized(most_and_least_pt: tuple[float, float], share: float) -> float:
    most_pt, least_pt = most_and_least_pt
    return least_pt + share * (most_pt - least_pt)


def _stacked_mm(fit: Fitted) -> float:
    """From the top of the first line's capitals to the last base line."""
    return capital_mm(fit.size_pt) + lines_mm(fit) - line_mm(fit)


def _middle_mm(fit: Fitted, top_mm: float, high_mm: float) -> float:
    """The first base line of lines in the middle of a height."""
    return top_mm + (high_mm - _stacked_mm(fit)) / 2 + capital_mm(fit.size_pt)


def _wide_mm(fit: Fitted) -> float:
    return max(width_mm(line, Face.REGULAR, fit.size_pt) for line in fit.lines)
