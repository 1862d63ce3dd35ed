"""The card of size ID-1 (85.60 × 53.98 mm, ISO/IEC 7810): the size of a bank card.

On the left who, on which apparatus, and the settings; on the right the end view and the symbol.
"""

from settingsdesk.cards.fit import Place, fitted
from settingsdesk.cards.foot import CAUTION, CLEAN_CORNERS, issue
from settingsdesk.cards.lettering import Face, lettered, width_mm
from settingsdesk.cards.pen import Pen
from settingsdesk.cards.plate import Plate
from settingsdesk.cards.symbol import LARGEST_SIDE, qr_symbol
from settingsdesk.cards.table import Lettering, Table
from settingsdesk.domain.base.codes import grouped
from settingsdesk.domain.base.drawing import Anchor
from settingsdesk.domain.settings.card import Card

WIDE_MM, HIGH_MM = 85.60, 53.98
LEAST_MODULE_MM, MOST_MODULE_MM = 0.60, 0.70

_EDGE = 3.2  # wide enough to be the quiet zone beside and below the symbol
_RIGHT = WIDE_MM - _EDGE
_BOTTOM = HIGH_MM - _EDGE
_SYMBOL = LARGEST_SIDE * LEAST_MODULE_MM
_SIDE = _RIGHT - _SYMBOL  # left edge of the column with the symbol
_MAIN_RIGHT = _SIDE - _EDGE
_MAIN_WIDE = _MAIN_RIGHT - _EDGE
_HEAD_BOTTOM = 16.2
_TABLE_BOTTOM = 43.8
_CODE = 24.8

_LETTERING = Lettering("ID-1", axis_pt=7, mark_pt=19, length_pt=11, small_pt=5.5, least_pt=4.5)


def draw_id1(pen: Pen, card: Card) -> None:
    """Draw one card. Raises ``NoRoomOnCard``, ``CharacterNotInFont`` and those of the symbol."""
    _draw_head(pen, card)
    high_mm = _draw_request(pen, card) - _HEAD_BOTTOM
    table = Table(card.lines, _MAIN_WIDE, high_mm, _LETTERING)
    table.draw(pen, _EDGE, _HEAD_BOTTOM, high_mm)
    _draw_foot(pen, card)
    _draw_side(pen, card)


def _draw_head(pen: Pen, card: Card) -> None:
    number = fitted(lettered(card.start_number), Place(14, 15, 7, face=Face.BOLD))
    pen.lines(_MAIN_RIGHT, 7, number, Face.BOLD, Anchor.END)
    number_mm = width_mm(number.lines[0], Face.BOLD, number.size_pt)
    name_mm = _MAIN_WIDE - (number_mm + 2 if number_mm else 0)
    name = fitted(lettered(card.name), Place(name_mm, 15, 6, lines=2, face=Face.BOLD))
    pen.lines(_EDGE, 4.8 if len(name.lines) > 1 else 7, name, Face.BOLD)
    apparatus = fitted(lettered(card.apparatus), Place(_MAIN_WIDE, 6.5, 5, face=Face.BOLD))
    pen.lines(_EDGE, 10.4, apparatus, Face.BOLD)
    pen.lines(_EDGE, 12.8, fitted(lettered(card.model), Place(_MAIN_WIDE, 5.5, 4.5)))
    scale = lettered(f"Marks: {card.scale_used}")
    pen.lines(_EDGE, 15.1, fitted(scale, Place(_MAIN_WIDE, 5.5, 4.5)))
    pen.line(_EDGE, _HEAD_BOTTOM, _MAIN_RIGHT, _HEAD_BOTTOM, 0.25)


def _draw_request(pen: Pen, card: Card) -> float:
    """A request to raise the rails, which must not be overlooked; gives where the table ends."""
    if not card.raise_request:
        return _TABLE_BOTTOM
    place = Place(_MAIN_WIDE, 5.5, 4.5, lines=2, face=Face.BOLD)
    told = fitted(lettered(f"! {card.raise_request}"), place)
    top_mm = _TABLE_BOTTOM - 0.8 - 2.3 * len(told.lines)
    pen.lines(_EDGE, top_mm + 2.2, told, Face.BOLD)
    return top_mm


def _draw_foot(pen: Pen, card: Card) -> None:
    pen.line(_EDGE, _TABLE_BOTTOM, _MAIN_RIGHT, _TABLE_BOTTOM, 0.25)
    issued = lettered(f"{issue(card)} · {card.club}" if card.club else issue(card))
    pen.lines(_EDGE, _TABLE_BOTTOM + 2.5, fitted(issued, Place(_MAIN_WIDE, 5.5, 4.5)))
    caution = fitted(CAUTION, Place(_MAIN_WIDE, 5.2, 4.5, lines=2))
    pen.lines(_EDGE, _TABLE_BOTTOM + 5.2, caution)


def _draw_side(pen: Pen, card: Card) -> None:
    Plate(pen, card.drawing, _SIDE, _EDGE - 1, _SYMBOL, _CODE - _EDGE - 7.2).draw()
    pen.lines(_SIDE, _CODE - 6.0, fitted(CLEAN_CORNERS, Place(_SYMBOL, 5, 4.2)))
    pen.lines(_SIDE, _CODE - 3.8, fitted("code for the coach:", Place(_SYMBOL, 5, 4.2)))
    code = fitted(lettered(grouped(card.short_code)), Place(_SYMBOL, 9, 6, face=Face.BOLD))
    pen.lines(_SIDE, _CODE, code, Face.BOLD)
    symbol = qr_symbol(card.url)
    side_mm = min(_SYMBOL, symbol.side_modules * MOST_MODULE_MM)
    pen.symbol(symbol, _RIGHT - side_mm, _BOTTOM - side_mm, side_mm)
