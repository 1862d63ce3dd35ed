"""The settings on a card, one under the other: marks in one column, with all that qualifies them.

A figure is never cut or rounded here; where it has no room, even small, the card is refused.
"""

from dataclasses import dataclass, replace
from functools import lru_cache

from settingsdesk.cards.fit import Fitted, NoRoomOnCard, Place, fitted, whole
from settingsdesk.cards.lettering import Face, lettered, width_mm
from settingsdesk.cards.pen import Pen, capital_mm, line_mm, lines_mm
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.domain.settings.card import CardLine
from settingsdesk.words.language import Language

_MARK = Sentence("mark")
_SHARES = tuple(share / 100 for share in range(100, 35, -5))


@dataclass(frozen=True, slots=True)
class Lettering:
    """Letter sizes for the settings on cards of one size, and the least that can be read."""

    card_size: str
    axis_pt: float
    mark_pt: float
    length_pt: float
    small_pt: float
    least_pt: float

    def smaller(self, share: float) -> "Lettering":
        """All letters at a share of their size, but none below the least."""
        axis_pt, mark_pt, length_pt, small_pt = (
            max(size_pt * share, self.least_pt)
            for size_pt in (self.axis_pt, self.mark_pt, self.length_pt, self.small_pt)
        )
        return replace(
            self, axis_pt=axis_pt, mark_pt=mark_pt, length_pt=length_pt, small_pt=small_pt
        )


@dataclass(frozen=True, slots=True)
class _Row:
    """One setting: the mark alone on its line, and below it what a tape must find."""

    axis: Fitted
    mark: Fitted
    tape: Fitted
    datum: Fitted
    heed: Fitted | None
    lettering: Lettering

    @property
    def figures_mm(self) -> float:
        """From the row's upper edge to the base line of its figures."""
        return 1.3 * capital_mm(self.lettering.mark_pt)

    @property
    def high_mm(self) -> float:
        below_mm = sum(lines_mm(fit) for fit in (self.tape, self.datum, self.heed) if fit)
        return self.figures_mm + below_mm + 0.35 * capital_mm(self.lettering.mark_pt)


class Table:
    """The settings of a card, lettered as large as the room allows.

    Raises ``NoRoomOnCard`` and ``CharacterNotInFont``.
    """

    def __init__(
        self,
        lines: tuple[CardLine, ...],
        wide_mm: float,
        most_mm: float,
        lettering: Lettering,
        language: Language,
    ):
        self.wide_mm = wide_mm
        self._before_mark = _before_mark(language)
        for share in _SHARES:
            self._rows = [_row(line, wide_mm, lettering.smaller(share), language) for line in lines]
            self.high_mm = sum(row.high_mm for row in self._rows)
            if self.high_mm <= most_mm:
                return
        axes = ", ".join(line.axis for line in lines)
        raise NoRoomOnCard("list of axes", axes, lettering.card_size)

    def draw(self, pen: Pen, left_mm: float, top_mm: float, high_mm: float) -> None:
        """Draw the rows from the top, spread evenly over a height, a thin line between two."""
        spare_mm = (high_mm - self.high_mm) / max(len(self._rows), 1)
        for number, row in enumerate(self._rows):
            if number:
                pen.line(left_mm, top_mm, left_mm + self.wide_mm, top_mm, 0.1)
            with pen.paper.part("P"):
                self._draw_row(pen, row, left_mm, top_mm + spare_mm / 2)
            top_mm += row.high_mm + spare_mm

    def _draw_row(self, pen: Pen, row: _Row, left_mm: float, top_mm: float) -> None:
        y_mm = top_mm + row.figures_mm
        pen.lines(left_mm, y_mm, row.axis, Face.BOLD)
        mark_mm = left_mm + _mark_left_mm(self.wide_mm)
        pen.text(mark_mm, y_mm, self._before_mark, row.lettering.small_pt)
        mark_mm += width_mm(self._before_mark, Face.REGULAR, row.lettering.small_pt)
        pen.lines(mark_mm, y_mm, row.mark, Face.BOLD)
        for fit in (row.tape, row.datum):
            y_mm = pen.lines(left_mm, y_mm + line_mm(fit), fit)
        if row.heed:
            pen.lines(left_mm, y_mm + line_mm(row.heed), row.heed, Face.BOLD)


def _before_mark(language: Language) -> str:
    return f"{lettered(language.said(_MARK))} "


@lru_cache(maxsize=8192)
def _row(line: CardLine, wide_mm: float, lettering: Lettering, language: Language) -> _Row:
    said = language.said
    small_pt, least_pt, size = lettering.small_pt, lettering.least_pt, lettering.card_size
    axis_mm = _mark_left_mm(wide_mm) - 1
    axis = fitted(
        lettered(said(line.axis)), Place(axis_mm, lettering.axis_pt, least_pt, face=Face.BOLD)
    )
    in_small = Place(wide_mm, small_pt, least_pt, lines=2)
    return _Row(
        axis,
        _mark(line, wide_mm, lettering, language),
        whole("length", said(line.taped), Place(wide_mm, lettering.length_pt, least_pt), size),
        whole("datum", said(line.datum), in_small, size),
        _heed(line, wide_mm, lettering, language),
        lettering,
    )


def _heed(
    line: CardLine, wide_mm: float, lettering: Lettering, language: Language
) -> Fitted | None:
    """What must not be overlooked, in letters as large as what a tape must find."""
    if not line.heed:
        return None
    least_pt, size = lettering.least_pt, lettering.card_size
    place = Place(wide_mm, lettering.length_pt, least_pt, lines=2, face=Face.BOLD)
    told = f"! {language.said(line.heed)}"
    if language.unread:
        both = fitted(lettered(f"{told} ({line.heed})"), replace(place, lines=3))
        if not both.cut:
            return both
    return whole("note", told, place, size)


def _mark(line: CardLine, wide_mm: float, lettering: Lettering, language: Language) -> Fitted:
    """The mark, as large as there is room between the word before it and the right edge."""
    room_mm = wide_mm - _mark_left_mm(wide_mm) - 1.5
    room_mm -= width_mm(_before_mark(language), Face.REGULAR, lettering.small_pt)
    place = Place(room_mm, lettering.mark_pt, lettering.least_pt, face=Face.BOLD)
    return whole("mark", line.mark, place, lettering.card_size)


def _mark_left_mm(wide_mm: float) -> float:
    """Where the word before the mark begins, from the table's left edge."""
    return 0.41 * wide_mm
