"""The settings on a card, one under the other: marks in one column, with all that qualifies them.

A figure is never cut or rounded here; where it has no room, even small, the card is refused.
"""

from dataclasses import dataclass, replace
from functools import lru_cache

from settingsdesk.cards.fit import Fitted, NoRoomOnCard, Place, fitted
from settingsdesk.cards.lettering import CAPITAL_HEIGHT, MM_PER_POINT, Face, lettered, width_mm
from settingsdesk.cards.pen import LINE_SPACING, Pen
from settingsdesk.domain.base.drawing import Anchor
from settingsdesk.domain.settings.card import CardLine

_MARK = "mark "
_SHARES = tuple(share / 100 for share in range(100, 35, -5))


@dataclass(frozen=True, slots=True)
class Lettering:
    """Letter sizes for the settings on cards of one size, and the least that can be read.

    With ``says_tape`` the mark is the only large figure of a row, and below it stands in one phrase
    what a tape must find; a card without room for that has the length beside the mark.
    """

    card_size: str
    axis_pt: float
    mark_pt: float
    length_pt: float
    small_pt: float
    least_pt: float
    says_tape: bool = False

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
    """One setting: its figures on one line, what qualifies them in small letters below."""

    axis: Fitted
    mark: Fitted
    length: Fitted
    datum: Fitted
    accepts: Fitted | None
    note: Fitted | None
    lettering: Lettering

    @property
    def figures_mm(self) -> float:
        """From the row's upper edge to the base line of its figures."""
        return 1.3 * _capital_mm(self.lettering.mark_pt)

    @property
    def high_mm(self) -> float:
        below_mm = _lines_mm(self.datum) + (_lines_mm(self.note) if self.note else 0)
        if self.accepts is None:
            below_mm += _lines_mm(self.length)
        return self.figures_mm + below_mm + 0.35 * _capital_mm(self.lettering.mark_pt)


class Table:
    """The settings of a card, lettered as large as the room allows.

    Raises ``NoRoomOnCard`` and ``CharacterNotInFont``.
    """

    def __init__(
        self, lines: tuple[CardLine, ...], wide_mm: float, most_mm: float, lettering: Lettering
    ):
        self.wide_mm = wide_mm
        for share in _SHARES:
            self._rows = [_row(line, wide_mm, lettering.smaller(share)) for line in lines]
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
        right_mm = left_mm + self.wide_mm
        y_mm = top_mm + row.figures_mm
        pen.lines(left_mm, y_mm, row.axis, Face.BOLD)
        if row.accepts is not None:
            pen.lines(right_mm, y_mm, row.length, anchor=Anchor.END)
        mark_mm = left_mm + _mark_left_mm(self.wide_mm)
        pen.text(mark_mm, y_mm, _MARK, row.lettering.small_pt)
        mark_mm += width_mm(_MARK, Face.REGULAR, row.lettering.small_pt)
        pen.lines(mark_mm, y_mm, row.mark, Face.BOLD)
        if row.accepts is None:
            y_mm = pen.lines(left_mm, y_mm + _line_mm(row.length), row.length)
        y_mm += row.lettering.small_pt * MM_PER_POINT * LINE_SPACING
        if row.accepts is not None:
            pen.lines(right_mm, y_mm, row.accepts, anchor=Anchor.END)
        y_mm = pen.lines(left_mm, y_mm, row.datum)
        if row.note:
            pen.lines(left_mm, y_mm + _line_mm(row.note), row.note)


@lru_cache(maxsize=8192)
def _row(line: CardLine, wide_mm: float, lettering: Lettering) -> _Row:
    small_pt, least_pt, size = lettering.small_pt, lettering.least_pt, lettering.card_size
    axis_mm = _mark_left_mm(wide_mm) - 1
    axis = fitted(lettered(line.axis), Place(axis_mm, lettering.axis_pt, least_pt, face=Face.BOLD))
    if lettering.says_tape:
        return _taped_row(line, axis, wide_mm, lettering)
    length = _whole(
        "length", line.length, Place(0.31 * wide_mm, lettering.length_pt, least_pt), size
    )
    accepts = _whole(
        "accepted deviation",
        f"accepts {line.accepts}",
        Place(0.4 * wide_mm, small_pt, least_pt),
        size,
    )
    datum_mm = wide_mm - width_mm(accepts.lines[0], Face.REGULAR, accepts.size_pt) - 1.5
    datum = _whole("datum", line.datum, Place(datum_mm, small_pt, least_pt, lines=2), size)
    note = _note(line.note, wide_mm, lettering)
    length_mm = width_mm(length.lines[0], Face.REGULAR, length.size_pt)
    mark = _mark(line, wide_mm - length_mm, wide_mm, lettering)
    return _Row(axis, mark, length, datum, accepts, note, lettering)


def _taped_row(line: CardLine, axis: Fitted, wide_mm: float, lettering: Lettering) -> _Row:
    """The mark alone in its column, and below it in one phrase what a tape must find."""
    small_pt, least_pt, size = lettering.small_pt, lettering.least_pt, lettering.card_size
    tape = _whole("length", line.taped, Place(wide_mm, lettering.length_pt, least_pt), size)
    datum = _whole("datum", line.datum, Place(wide_mm, small_pt, least_pt, lines=2), size)
    mark = _mark(line, wide_mm, wide_mm, lettering)
    return _Row(axis, mark, tape, datum, None, _note(line.heed, wide_mm, lettering), lettering)


def _note(note: str, wide_mm: float, lettering: Lettering) -> Fitted | None:
    place = Place(wide_mm, lettering.small_pt, lettering.least_pt, lines=2)
    return _whole("note", note, place, lettering.card_size) if note else None


def _mark(line: CardLine, right_mm: float, wide_mm: float, lettering: Lettering) -> Fitted:
    """The mark, as large as there is room between the word before it and a right edge."""
    room_mm = right_mm - _mark_left_mm(wide_mm) - 1.5
    room_mm -= width_mm(_MARK, Face.REGULAR, lettering.small_pt)
    place = Place(room_mm, lettering.mark_pt, lettering.least_pt, face=Face.BOLD)
    return _whole("mark", line.mark, place, lettering.card_size)


def _whole(what: str, text: str, place: Place, card_size: str) -> Fitted:
    fit = fitted(lettered(text), place)
    if fit.cut:
        raise NoRoomOnCard(what, text, card_size)
    return fit


def _mark_left_mm(wide_mm: float) -> float:
    """Where the word before the mark begins, from the table's left edge."""
    return 0.41 * wide_mm


def _capital_mm(size_pt: float) -> float:
    return size_pt * MM_PER_POINT * CAPITAL_HEIGHT


def _line_mm(fit: Fitted) -> float:
    return fit.size_pt * MM_PER_POINT * LINE_SPACING


def _lines_mm(fit: Fitted) -> float:
    return len(fit.lines) * _line_mm(fit)
