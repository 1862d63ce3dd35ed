"""The card of size A6: 105 × 148 mm, upright, framed like a technical drawing.

From the top: who, on which apparatus, the end view, the settings, and a foot with the symbol.
Along its lower edge run 50 mm in centimetres, to tell whether a print is true.
"""

from collections.abc import Iterator
from contextlib import suppress
from typing import NamedTuple

from settingsdesk.cards.fit import Fitted, NoRoomOnCard, Place, fitted, whole
from settingsdesk.cards.foot import (
    CAUTION,
    CLEAN_CORNERS,
    beneath,
    in_any_hall,
    issue,
    not_read,
)
from settingsdesk.cards.lettering import Face, lettered
from settingsdesk.cards.pen import Pen, line_mm, lines_mm
from settingsdesk.cards.plate import Plate, drawing_in
from settingsdesk.cards.symbol import QUIET_MODULES, Symbol, qr_symbol
from settingsdesk.cards.table import Lettering, Table
from settingsdesk.domain.base.codes import grouped
from settingsdesk.domain.base.drawing import Anchor
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.domain.settings.card import Card

WIDE_MM, HIGH_MM = 105.0, 148.0
MODULE_MM = 0.80

_EDGE = 4.5  # the frame, from the paper's edge
_TEXT = 7.5  # left edge of all text
_TEXT_RIGHT = WIDE_MM - _TEXT
_TEXT_WIDE = _TEXT_RIGHT - _TEXT
_RIGHT = WIDE_MM - _EDGE
_BOTTOM = HIGH_MM - _EDGE
_QUIET = QUIET_MODULES * MODULE_MM + 0.3  # from the middle of a line to the symbol
_FOOT, _FOOT_WITH_LINE = 35.5, 38.5  # the least, from the line above it to the frame
_RULER = _BOTTOM - 1.5
_NUMBER_LEFT = _RIGHT - 24.0
_NAME_BOTTOM = 19.5
_APPARATUS_BOTTOM = 31.0
_TABLE_MOST = 42.0
_CAPTION = 2.8  # between the drawing and the table, where more words than its scale stand
_NOT_READ = 2.4
_ABOVE_PT = (8, 7, 6)
"""The sizes of what stands above the drawing, tried one after the other."""

_LETTERING = Lettering("A6", axis_pt=10, mark_pt=22, length_pt=9.5, small_pt=7, least_pt=5)


def draw_a6(pen: Pen, card: Card, heading: str) -> None:
    """Draw one card, what its group has in common above the frame.

    Raises ``NoRoomOnCard``, ``CharacterNotInFont`` and those of the symbol.
    """
    symbol = qr_symbol(card.url, card.line)
    high_mm = symbol.side_modules * MODULE_MM + 2 * _QUIET
    foot_mm = _BOTTOM - max(high_mm, _FOOT_WITH_LINE if card.line else _FOOT)
    above, table = _laid(pen, card, foot_mm)
    view_mm, table_mm = _view_mm(above), foot_mm - table.high_mm
    pen.frame(_EDGE, _EDGE, _RIGHT - _EDGE, _BOTTOM - _EDGE, 0.5)
    for y_mm in (_NAME_BOTTOM, _APPARATUS_BOTTOM, table_mm, foot_mm):
        pen.line(_EDGE, y_mm, _RIGHT, y_mm, 0.25)
    part = pen.paper.part
    with part("P"):
        pen.lines(
            _TEXT, _EDGE - 1.2, fitted(lettered(pen.said(heading)), Place(_TEXT_WIDE, 6.5, 5))
        )
    with part("H1"):
        _draw_name(pen, card)
    with part("P"):
        _draw_apparatus(pen, card)
        _draw_above(pen, above)
    _draw_view(pen, card, view_mm, table_mm)
    table.draw(pen, _TEXT, table_mm, table.high_mm)
    _draw_symbol(pen, symbol, foot_mm)
    with part("P"):
        _draw_foot(pen, card, symbol, foot_mm)
        _draw_graduation(pen)


def _draw_name(pen: Pen, card: Card) -> None:
    room_mm = _TEXT_WIDE
    if card.start_number:
        _draw_number(pen, card.start_number)
        room_mm = _NUMBER_LEFT - _TEXT - 2
    name = fitted(lettered(card.name), Place(room_mm, 22, 9, lines=2, face=Face.BOLD))
    pen.lines(_TEXT, 10 if len(name.lines) > 1 else 13, name, Face.BOLD)
    pen.lines(_TEXT, 17.8, fitted(lettered(card.club), Place(room_mm, 8, 6)))


def _draw_number(pen: Pen, start_number: str) -> None:
    wide_mm = _RIGHT - _NUMBER_LEFT
    pen.line(_NUMBER_LEFT, _EDGE, _NUMBER_LEFT, _NAME_BOTTOM, 0.25)
    pen.text(_NUMBER_LEFT + 1.5, _EDGE + 3.2, lettered(pen.said(Sentence("No."))), 6)
    number = fitted(lettered(start_number), Place(wide_mm - 3, 26, 8, face=Face.BOLD))
    middle_mm = _NUMBER_LEFT + wide_mm / 2
    pen.lines(middle_mm, _NAME_BOTTOM - 3, number, Face.BOLD, Anchor.MIDDLE)


def _draw_apparatus(pen: Pen, card: Card) -> None:
    apparatus = fitted(lettered(card.apparatus), Place(_TEXT_WIDE, 11, 7, face=Face.BOLD))
    pen.lines(_TEXT, 23.6, apparatus, Face.BOLD)
    pen.lines(_TEXT, 26.9, fitted(lettered(card.model), Place(_TEXT_WIDE, 7.5, 6)))
    scale = lettered(pen.said(Sentence("Marks: %(scale)s", scale=card.scale_used)))
    pen.lines(_TEXT, 29.9, fitted(scale, Place(_TEXT_WIDE, 7.5, 6)))


class _Above(NamedTuple):
    """Words above the drawing, and how far below those above them their first line stands."""

    fit: Fitted
    face: Face
    below_mm: float

    @property
    def high_mm(self) -> float:
        """From the last base line above them to their own last one."""
        return self.below_mm + lines_mm(self.fit) - line_mm(self.fit)


def _laid(pen: Pen, card: Card, foot_mm: float) -> tuple[list[_Above], Table]:
    """The words above the drawing, and the settings, each as large as the others leave room."""
    all_mm = foot_mm - (_NOT_READ if pen.language.unread else 0)
    table = Table(card.lines, _TEXT_WIDE, _TABLE_MOST, _LETTERING, pen.language)
    for most_pt in _ABOVE_PT:
        above = list(_above(pen, card, most_pt))
        room_mm = all_mm - _view_mm(above)
        if table.high_mm <= room_mm:
            return above, table
    with suppress(NoRoomOnCard):
        return above, Table(card.lines, _TEXT_WIDE, room_mm, _LETTERING, pen.language)
    longest = max((*card.heeds, card.crew_note), key=len)
    what = "note for the crew" if longest is card.crew_note else "sentence to heed"
    raise NoRoomOnCard(what, pen.said(longest), _LETTERING.card_size)


def _view_mm(above: list[_Above]) -> float:
    """Where the drawing begins, below those words."""
    return _APPARATUS_BOTTOM + sum(one.high_mm for one in above) + (1.5 if above else 1)


def _above(pen: Pen, card: Card, most_pt: float) -> Iterator[_Above]:
    """What must not be overlooked, a request to raise the rails first, and what the crew is told.

    Beneath words that somebody could be hurt by, their English where it is needed.
    """
    for told in card.heeds:
        place = Place(_TEXT_WIDE, most_pt, 6, lines=3, face=Face.BOLD)
        fit = whole("sentence to heed", f"! {pen.said(told)}", place, _LETTERING.card_size)
        yield _Above(fit, Face.BOLD, 0.45 * most_pt)
        if english := beneath(pen.language, told):
            fit = fitted(lettered(english), Place(_TEXT_WIDE, 6, 5, lines=3))
            yield _Above(fit, Face.REGULAR, line_mm(fit))
    if card.crew_note:
        place = Place(_TEXT_WIDE, most_pt, 6, lines=3)
        fit = whole("note for the crew", pen.said(card.crew_note), place, _LETTERING.card_size)
        yield _Above(fit, Face.REGULAR, 0.45 * most_pt)


def _draw_above(pen: Pen, above: list[_Above]) -> None:
    y_mm = _APPARATUS_BOTTOM
    for one in above:
        y_mm = pen.lines(_TEXT, y_mm + one.below_mm, one.fit, one.face)


def _draw_view(pen: Pen, card: Card, top_mm: float, bottom_mm: float) -> None:
    """The drawing with its caption, where there is room for one that can be read."""
    caption_mm = _CAPTION if card.seen_from or card.drawing.note else 0
    not_read_mm = _NOT_READ if pen.language.unread else 0
    high_mm = bottom_mm - 1 - caption_mm - not_read_mm - top_mm
    drawing = drawing_in(card.drawing, pen.language)
    plate = Plate(pen, drawing, _EDGE + 1, top_mm, _RIGHT - _EDGE - 2, high_mm)
    if plate.is_readable:
        plate.draw()
        told = plate.caption
        if card.drawing.note:
            told = Sentence("%(scale)s, rails enlarged", scale=told)
        if card.seen_from:
            told = Sentence("%(scale)s, seen from the %(end)s", scale=told, end=card.seen_from)
        caption = fitted(lettered(pen.said(told)), Place(_TEXT_WIDE, 6.5, 5))
        with pen.paper.part("P"):
            pen.lines(_TEXT, bottom_mm - 1.6 - not_read_mm, caption)
    with pen.paper.part("P"):
        told_of = lettered(not_read(pen.language))
        pen.lines(_TEXT, bottom_mm - 1.6, fitted(told_of, Place(_TEXT_WIDE, 5.5, 4)))


def _symbol_left_mm(symbol: Symbol) -> float:
    return _RIGHT - _QUIET - symbol.side_modules * MODULE_MM


def _draw_symbol(pen: Pen, symbol: Symbol, foot_mm: float) -> None:
    side_mm = symbol.side_modules * MODULE_MM
    pen.symbol(symbol, _symbol_left_mm(symbol), foot_mm + _QUIET, side_mm)


def _draw_foot(pen: Pen, card: Card, symbol: Symbol, foot_mm: float) -> None:
    room_mm = _symbol_left_mm(symbol) - _QUIET - _TEXT
    told = pen.said(Sentence("Scan it, or tell the coach this code:"))
    pen.lines(_TEXT, foot_mm + 4.2, fitted(lettered(told), Place(room_mm, 7, 5)))
    code = fitted(lettered(grouped(card.short_code)), Place(room_mm, 17, 8, face=Face.BOLD))
    pen.lines(_TEXT, foot_mm + 10.2, code, Face.BOLD)
    issued = fitted(lettered(pen.said(issue(card))), Place(room_mm, 8, 5, lines=2, wrapped_pt=6))
    pen.lines(_TEXT, foot_mm + (14.6 if len(issued.lines) == 1 else 13.3), issued)
    if pen.language.unread:
        place, y_mm, corners_mm = Place(room_mm, 6.5, 5, lines=3), foot_mm + 18.2, foot_mm + 31
    else:
        place, y_mm, corners_mm = Place(room_mm, 7, 6, lines=4), foot_mm + 18.8, foot_mm + 30.2
    y_mm = pen.lines(_TEXT, y_mm, whole("caution", pen.said(CAUTION), place, "A6"))
    if english := beneath(pen.language, CAUTION):
        fit = fitted(lettered(english), Place(room_mm, 5.5, 4.5, lines=2))
        pen.lines(_TEXT, y_mm + line_mm(fit), fit)
    corners = fitted(lettered(pen.said(CLEAN_CORNERS)), Place(room_mm, 7, 5))
    pen.lines(_TEXT, corners_mm, corners)
    if card.line:
        place = Place(room_mm, 9, 5, face=Face.BOLD)
        line = whole("line of lengths", pen.said(in_any_hall(card)), place, _LETTERING.card_size)
        pen.lines(_TEXT, foot_mm + 34.3, line, Face.BOLD)


def _draw_graduation(pen: Pen) -> None:
    """Five centimetres below all else, clear of the frame."""
    pen.line(_TEXT, _RULER, _TEXT + 50, _RULER, 0.15)
    for centimetre in range(6):
        x_mm = _TEXT + 10 * centimetre
        pen.line(x_mm, _RULER, x_mm, _RULER - (1.3 if centimetre in (0, 5) else 0.8), 0.15)
    words = lettered(pen.said(Sentence("50 mm")))
    # Between its last two marks: to its right a large symbol has to have white about it.
    pen.text(_TEXT + 49.4, _RULER - 0.5, words, 5, anchor=Anchor.END)
