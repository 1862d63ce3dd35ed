"""The card of size ID-1 (85.60 × 53.98 mm, ISO/IEC 7810): the size of a bank card.

On the left who, on which apparatus, and the settings; on the right the end view and the symbol.
"""

from settingsdesk.cards.fit import Fitted, NoRoomOnCard, Place, fitted
from settingsdesk.cards.foot import CAUTION, CLEAN_CORNERS, issue
from settingsdesk.cards.lettering import MM_PER_POINT, Face, lettered, width_mm
from settingsdesk.cards.pen import LINE_SPACING, Pen
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
    part = pen.paper.part
    with part("H1"):
        _draw_head(pen, card)
    request = _request(card)
    issued, table = _middle(card, request)
    foot_mm = _foot_mm(issued)
    table_mm = foot_mm - _request_mm(request)
    with part("P"):
        pen.lines(_EDGE, table_mm + 2.2, request, Face.BOLD)
    table.draw(pen, _EDGE, _HEAD_BOTTOM, table_mm - _HEAD_BOTTOM)
    with part("P"):
        _draw_foot(pen, issued, foot_mm)
    _draw_side(pen, card)
    _draw_code(pen, card)


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


def _middle(card: Card, request: Fitted) -> tuple[Fitted, Table]:
    """Version and club whole, and the settings above; a club is cut only where these need it."""
    for most_lines, least_pt in ((3, 5.2), (1, 4.5)):
        told = lettered(f"{issue(card)} · {card.club}" if card.club else issue(card))
        issued = fitted(told, Place(_MAIN_WIDE, 5.5, least_pt, lines=most_lines))
        high_mm = _foot_mm(issued) - _request_mm(request) - _HEAD_BOTTOM
        try:
            return issued, Table(card.lines, _MAIN_WIDE, high_mm, _LETTERING)
        except NoRoomOnCard as refused:
            refusal = refused
    raise refusal


def _request(card: Card) -> Fitted:
    """A request to raise the rails, which must not be overlooked; no words where there is none."""
    told = lettered(f"! {card.raise_request}" if card.raise_request else "")
    return fitted(told, Place(_MAIN_WIDE, 5.5, 4.5, lines=2, face=Face.BOLD))


def _request_mm(request: Fitted) -> float:
    return 0.8 + 2.3 * len(request.lines) if any(request.lines) else 0


def _foot_mm(issued: Fitted) -> float:
    """Where the foot begins, and what stands above it ends."""
    return _TABLE_BOTTOM - (len(issued.lines) - 1) * _line_mm(issued)


def _draw_foot(pen: Pen, issued: Fitted, top_mm: float) -> None:
    pen.line(_EDGE, top_mm, _MAIN_RIGHT, top_mm, 0.25)
    pen.lines(_EDGE, top_mm + 2.5, issued)
    caution = fitted(CAUTION, Place(_MAIN_WIDE, 5.2, 4.5, lines=2))
    pen.lines(_EDGE, _TABLE_BOTTOM + 5.2, caution)


def _draw_side(pen: Pen, card: Card) -> None:
    """The drawing with where it is seen from, and below it the code with what helps to scan it."""
    seen = f"from the {card.seen_from}" if card.seen_from else ""
    said = [
        fitted(lettered(words), Place(_SYMBOL, 5, 5, lines=2))
        for words in (seen, CLEAN_CORNERS, "code for the coach:")
        if words
    ]
    high_mm = sum(len(fit.lines) * _line_mm(fit) for fit in said)
    y_mm = _CODE - 3.8 - high_mm + _line_mm(said[-1])
    Plate(pen, card.drawing, _SIDE, _EDGE - 1, _SYMBOL, y_mm - _EDGE - 1.4).draw()
    with pen.paper.part("P"):
        for fit in said:
            y_mm = pen.lines(_SIDE, y_mm, fit) + _line_mm(fit)


def _line_mm(fit: Fitted) -> float:
    return fit.size_pt * MM_PER_POINT * LINE_SPACING


def _draw_code(pen: Pen, card: Card) -> None:
    code = fitted(lettered(grouped(card.short_code)), Place(_SYMBOL, 9, 6, face=Face.BOLD))
    with pen.paper.part("P"):
        pen.lines(_SIDE, _CODE, code, Face.BOLD)
    symbol = qr_symbol(card.url)
    side_mm = min(_SYMBOL, symbol.side_modules * MOST_MODULE_MM)
    pen.symbol(symbol, _RIGHT - side_mm, _BOTTOM - side_mm, side_mm)
