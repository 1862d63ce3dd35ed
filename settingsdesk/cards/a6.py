"""The card of size A6: 105 × 148 mm, upright, framed like a technical drawing.

From the top: who, on which apparatus, the end view, the settings, and a foot with the symbol.
The frame's lower edge carries 50 mm in centimetres, to tell whether a print is true.
"""

from settingsdesk.cards.fit import NoRoomOnCard, Place, fitted, whole
from settingsdesk.cards.foot import (
    CAUTION,
    CLEAN_CORNERS,
    beneath,
    in_any_hall,
    issue,
    not_read,
)
from settingsdesk.cards.lettering import Face, lettered
from settingsdesk.cards.pen import Pen, line_mm
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
_FOOT_WITH_LINE = 37.0
_NUMBER_LEFT = _RIGHT - 24.0
_NAME_BOTTOM = 19.5
_APPARATUS_BOTTOM = 31.0
_TABLE_MOST = 42.0
_LEAST_VIEW_MM = 2.0  # less is no drawing, and what is to be heeded would run into the table

_LETTERING = Lettering("A6", axis_pt=10, mark_pt=22, length_pt=9.5, small_pt=7, least_pt=5)


def draw_a6(pen: Pen, card: Card, heading: str) -> None:
    """Draw one card, what its group has in common above the frame.

    Raises ``NoRoomOnCard``, ``CharacterNotInFont`` and those of the symbol.
    """
    symbol = qr_symbol(card.url, card.line)
    table = Table(card.lines, _TEXT_WIDE, _TABLE_MOST, _LETTERING, pen.language)
    high_mm = symbol.side_modules * MODULE_MM + 2 * _QUIET
    foot_mm = _BOTTOM - (max(high_mm, _FOOT_WITH_LINE) if card.line else high_mm)
    table_mm = foot_mm - table.high_mm
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
        view_mm = _draw_heeds(pen, card)
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


def _draw_heeds(pen: Pen, card: Card) -> float:
    """What must not be overlooked, a request to raise the rails first, and what the crew is told.

    Where the view begins.
    """
    y_mm = _APPARATUS_BOTTOM
    for told in card.heeds:
        place = Place(_TEXT_WIDE, 8, 6, lines=3, face=Face.BOLD)
        fit = whole("sentence to heed", f"! {pen.said(told)}", place, _LETTERING.card_size)
        y_mm = pen.lines(_TEXT, y_mm + 3.6, fit, Face.BOLD)
        y_mm = _draw_beneath(pen, told, y_mm, Place(_TEXT_WIDE, 6, 5, lines=3))
    if card.crew_note:
        place = Place(_TEXT_WIDE, 8, 6, lines=3)
        fit = whole("note for the crew", pen.said(card.crew_note), place, _LETTERING.card_size)
        y_mm = pen.lines(_TEXT, y_mm + 3.6, fit)
    return y_mm + (1.5 if card.heeds or card.crew_note else 1)


def _draw_beneath(pen: Pen, words: str, y_mm: float, place: Place) -> float:
    """The English of words that somebody could be hurt by; gives the last base line."""
    english = beneath(pen.language, words)
    if not english:
        return y_mm
    fit = fitted(lettered(english), place)
    return pen.lines(_TEXT, y_mm + line_mm(fit), fit)


def _draw_view(pen: Pen, card: Card, top_mm: float, bottom_mm: float) -> None:
    caption_mm = (
        2.8 if card.seen_from or card.drawing.note else 0
    )  # with more words it stands below the drawing
    not_read_mm = 2.4 if pen.language.unread else 0
    high_mm = bottom_mm - 1 - caption_mm - not_read_mm - top_mm
    if high_mm < _LEAST_VIEW_MM:
        raise NoRoomOnCard("sentence to heed", pen.said(card.heeds[-1]), _LETTERING.card_size)
    plate = Plate(
        pen, drawing_in(card.drawing, pen.language), _EDGE + 1, top_mm, _RIGHT - _EDGE - 2, high_mm
    )
    plate.draw()
    told = plate.caption
    if card.drawing.note:
        told = Sentence("%(scale)s, rails enlarged", scale=told)
    if card.seen_from:
        told = Sentence("%(scale)s, seen from the %(end)s", scale=told, end=card.seen_from)
    caption = fitted(lettered(pen.said(told)), Place(_TEXT_WIDE, 6.5, 5))
    with pen.paper.part("P"):
        pen.lines(_TEXT, bottom_mm - 1.6 - not_read_mm, caption)
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
    _draw_beneath(pen, CAUTION, y_mm, Place(room_mm, 5.5, 4.5, lines=2))
    corners = fitted(lettered(pen.said(CLEAN_CORNERS)), Place(room_mm, 7, 5))
    pen.lines(_TEXT, corners_mm, corners)
    if card.line:
        place = Place(room_mm, 9, 5, face=Face.BOLD)
        line = whole("line of lengths", pen.said(in_any_hall(card)), place, _LETTERING.card_size)
        pen.lines(_TEXT, foot_mm + 34.3, line, Face.BOLD)


def _draw_graduation(pen: Pen) -> None:
    """Five centimetres on the frame's lower edge."""
    for centimetre in range(6):
        x_mm = _TEXT + 10 * centimetre
        pen.line(x_mm, _BOTTOM, x_mm, _BOTTOM - (1.8 if centimetre in (0, 5) else 1.2), 0.15)
    pen.text(
        _TEXT + 49.4, _BOTTOM - 0.6, lettered(pen.said(Sentence("50 mm"))), 5, anchor=Anchor.END
    )
