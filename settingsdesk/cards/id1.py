"""The card of size ID-1 (85.60 × 53.98 mm, ISO/IEC 7810): the size of a bank card.

On the left who, on which apparatus, and the settings; on the right the end view and the symbol.
What has no room beside these in letters that can be read stands on the back: such a card is
printed two places wide, and folded.
"""

from contextlib import suppress
from dataclasses import dataclass

from settingsdesk.cards.fit import Fitted, NoRoomOnCard, Place, fitted, whole
from settingsdesk.cards.foot import (
    CAUTION,
    CAUTION_BEHIND,
    CLEAN_CORNERS,
    NOT_MEASURED,
    NOT_TRIED_NOR_MEASURED,
    SHORT_CAUTION,
    issue,
)
from settingsdesk.cards.lettering import Face, lettered, width_mm
from settingsdesk.cards.pen import Pen, line_mm, lines_mm
from settingsdesk.cards.plate import Plate, drawing_in
from settingsdesk.cards.small_table import LEAST_PT, SIZE, SmallTable
from settingsdesk.cards.symbol import LARGEST_SIDE, qr_symbol
from settingsdesk.domain.base.codes import grouped
from settingsdesk.domain.base.drawing import Anchor
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.domain.settings.card import Card
from settingsdesk.words.language import Language

WIDE_MM, HIGH_MM = 85.60, 53.98
LEAST_MODULE_MM, MOST_MODULE_MM = 0.60, 0.70

_EDGE = 3.2  # wide enough to be the quiet zone beside and below the symbol
_RIGHT = WIDE_MM - _EDGE
_BOTTOM = HIGH_MM - _EDGE
_SYMBOL = LARGEST_SIDE * LEAST_MODULE_MM
_SIDE = _RIGHT - _SYMBOL  # left edge of the column with the symbol
_MAIN_RIGHT = _SIDE - _EDGE
_MAIN_WIDE = _MAIN_RIGHT - _EDGE
_APPARATUS = 10.4
_BELOW_LINE = 2.4  # from a rule to the base line of small letters below it
_ABOVE_LINE = 0.9  # from a base line to the rule below it
_CODE = 24.8
_ABOVE_CODE = _SIDE - 1  # words need no quiet zone, and a little more room


@dataclass(frozen=True, slots=True)
class _Front:
    """What stands on the left, from the top: all but the table may be without any words."""

    about: Fitted
    heeds: tuple[Fitted, ...]
    table: SmallTable
    foot: tuple[Fitted, ...]


def places(card: Card, language: Language) -> int:
    """How many places on a sheet a card takes: 2 where something of it stands on the back.

    Raises ``NoRoomOnCard`` and ``CharacterNotInFont``.
    """
    return 1 if _one_side(card, language) else 2


def draw_id1(pen: Pen, card: Card) -> None:
    """Draw one card. Raises ``NoRoomOnCard``, ``CharacterNotInFont`` and those of the symbol."""
    front = _one_side(card, pen.language)
    _draw_front(pen, card, front or _front_of_two(card, pen.language))
    if front is None:
        _draw_back(Pen(pen.paper, pen.left_mm + WIDE_MM, pen.top_mm), card)


def _one_side(card: Card, language: Language) -> _Front | None:
    """Everything on the front, nothing of it cut; None where it has no room."""
    issued = language.said(issue(card))
    told = lettered(f"{issued} · {card.club}" if card.club else issued)
    foot = (_small(told, lines=3), _small(lettered(language.said(CAUTION)), lines=3))
    about = _small(lettered(language.said(_about(card))), lines=2)
    if about.cut or any(fit.cut for fit in foot):
        return None
    try:
        return _front(card, about, foot, card.heeds, language)
    except NoRoomOnCard:
        return None


def _front_of_two(card: Card, language: Language) -> _Front:
    """What must stand on it in as many words as there is room for."""
    told = language.said(issue(card))
    few = (_small(lettered(f"{told} · {language.said(CAUTION_BEHIND)}"), lines=3),)
    caution = lettered(language.said(SHORT_CAUTION))
    short = (_small(lettered(told), lines=2), _small(caution, lines=2))
    fewer = tuple(filter(None, (card.raise_request, _in_short(card))))
    for foot, heeds in ((short, card.heeds), (short, fewer), (few, card.heeds)):
        with suppress(NoRoomOnCard):
            return _front(card, _small(""), foot, heeds, language)
    return _front(card, _small(""), few, fewer, language)


def _in_short(card: Card) -> str:
    """What of it nobody has tried or measured, on one line."""
    if card.unmeasured:
        return NOT_TRIED_NOR_MEASURED if card.not_tried else NOT_MEASURED
    return card.not_tried


def _front(
    card: Card,
    about: Fitted,
    foot: tuple[Fitted, ...],
    heeds: tuple[str, ...],
    language: Language,
) -> _Front:
    place = Place(_MAIN_WIDE, LEAST_PT, LEAST_PT, lines=3, face=Face.BOLD)
    said = language.all_said(heeds)
    told = tuple(whole("sentence to heed", f"! {words}", place, SIZE) for words in said)
    high_mm = _foot_mm(foot) - _table_mm(about, told)
    return _Front(about, told, SmallTable(card.lines, _MAIN_WIDE, high_mm, language), foot)


def _about(card: Card) -> Sentence:
    return Sentence("%(model)s · Marks: %(scale)s", model=card.model, scale=card.scale_used)


def _small(words: str, *, lines: int = 1, face: Face = Face.REGULAR) -> Fitted:
    return fitted(words, Place(_MAIN_WIDE, LEAST_PT, LEAST_PT, lines=lines, face=face))


def _said_mm(fit: Fitted) -> float:
    return lines_mm(fit) if any(fit.lines) else 0


def _table_mm(about: Fitted, heeds: tuple[Fitted, ...]) -> float:
    """Where the head ends and the settings begin."""
    return _APPARATUS + _said_mm(about) + _ABOVE_LINE + sum(map(lines_mm, heeds))


def _foot_mm(foot: tuple[Fitted, ...]) -> float:
    """Where the settings end."""
    return _BOTTOM + line_mm(foot[0]) - sum(map(lines_mm, foot)) - _BELOW_LINE


def _draw_front(pen: Pen, card: Card, front: _Front) -> None:
    part = pen.paper.part
    with part("H1"):
        _draw_head(pen, card, front.about)
    top_mm, foot_mm = _table_mm(front.about, front.heeds), _foot_mm(front.foot)
    y_mm = top_mm - sum(map(lines_mm, front.heeds)) + _BELOW_LINE
    for fit in front.heeds:
        with part("P"):
            y_mm = pen.lines(_EDGE, y_mm, fit, Face.BOLD) + line_mm(fit)
    front.table.draw(pen, _EDGE, top_mm, foot_mm - top_mm)
    pen.line(_EDGE, foot_mm, _MAIN_RIGHT, foot_mm, 0.25)
    with part("P"):
        y_mm = foot_mm + _BELOW_LINE
        for fit in front.foot:
            y_mm = pen.lines(_EDGE, y_mm, fit) + line_mm(fit)
    _draw_side(pen, card)
    _draw_code(pen, card)


def _draw_head(pen: Pen, card: Card, about: Fitted) -> None:
    number = fitted(lettered(card.start_number), Place(14, 15, 7, face=Face.BOLD))
    pen.lines(_MAIN_RIGHT, 7, number, Face.BOLD, Anchor.END)
    number_mm = width_mm(number.lines[0], Face.BOLD, number.size_pt)
    name_mm = _MAIN_WIDE - (number_mm + 2 if number_mm else 0)
    name = fitted(lettered(card.name), Place(name_mm, 15, LEAST_PT, lines=2, face=Face.BOLD))
    pen.lines(_EDGE, 4.8 if len(name.lines) > 1 else 7, name, Face.BOLD)
    place = Place(_MAIN_WIDE, 6.5, LEAST_PT, face=Face.BOLD)
    pen.lines(_EDGE, _APPARATUS, fitted(lettered(card.apparatus), place), Face.BOLD)
    pen.lines(_EDGE, _APPARATUS + line_mm(about), about)
    rule_mm = _APPARATUS + _said_mm(about) + _ABOVE_LINE
    pen.line(_EDGE, rule_mm, _MAIN_RIGHT, rule_mm, 0.25)


def _draw_back(pen: Pen, card: Card) -> None:
    """What is not needed to set it: whose it is, of which model, and what holds of every card."""
    pen.fold(0, HIGH_MM)
    bold = Place(_RIGHT - _EDGE, 7, LEAST_PT, lines=3, face=Face.BOLD)
    told = (
        (f"{card.name} {card.start_number}", Place(_RIGHT - _EDGE, 10, 7, lines=2, face=Face.BOLD)),
        (card.club, Place(_RIGHT - _EDGE, 8, LEAST_PT, lines=4)),
        (_about(card), Place(_RIGHT - _EDGE, 7, LEAST_PT, lines=5)),
        (card.unmeasured, bold),
        *([(card.not_tried, bold)] if card.not_tried else ()),
        (CAUTION, Place(_RIGHT - _EDGE, 7, LEAST_PT, lines=3)),
        (
            Sentence("Folded along the dashed line, this is the back."),
            Place(_RIGHT - _EDGE, 6, LEAST_PT),
        ),
    )
    y_mm = _EDGE + 1.0
    with pen.paper.part("P"):
        for words, place in told:
            fit = fitted(lettered(pen.said(words)), place)
            y_mm = pen.lines(_EDGE, y_mm + line_mm(fit), fit, place.face) + 1.6


def _draw_side(pen: Pen, card: Card) -> None:
    """The drawing with where it is seen from, and below it the code with what helps to scan it."""
    seen = Sentence("from the %(end)s", end=card.seen_from) if card.seen_from else ""
    if card.drawing.note:
        seen = Sentence("%(seen)s, rails enlarged", seen=seen) if seen else card.drawing.note
    said = [
        fitted(lettered(pen.said(words)), Place(_RIGHT - _ABOVE_CODE, LEAST_PT, LEAST_PT, lines=2))
        for words in (seen, CLEAN_CORNERS, Sentence("Code for the coach:"))
        if words
    ]
    y_mm = _CODE - 3.8 - sum(map(lines_mm, said)) + line_mm(said[-1])
    Plate(
        pen,
        drawing_in(card.drawing, pen.language),
        _SIDE,
        _EDGE - 1,
        _SYMBOL,
        y_mm - _EDGE - 1.4,
        least_pt=LEAST_PT,
    ).draw()
    with pen.paper.part("P"):
        for fit in said:
            y_mm = pen.lines(_ABOVE_CODE, y_mm, fit) + line_mm(fit)


def _draw_code(pen: Pen, card: Card) -> None:
    place = Place(_SYMBOL, 9, LEAST_PT, face=Face.BOLD)
    with pen.paper.part("P"):
        pen.lines(_SIDE, _CODE, fitted(lettered(grouped(card.short_code)), place), Face.BOLD)
    symbol = qr_symbol(card.url)
    side_mm = min(_SYMBOL, symbol.side_modules * MOST_MODULE_MM)
    pen.symbol(symbol, _RIGHT - side_mm, _BOTTOM - side_mm, side_mm)
