"""The card of size ID-1 (85.60 × 53.98 mm, ISO/IEC 7810): the size of a bank card.

On the left who, on which apparatus, and the settings; on the right the end view and the symbol.
What has no room beside these in letters that can be read stands on the back: such a card is
printed two places wide, and folded.
"""

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, replace

from settingsdesk.cards.fit import Fitted, NoRoomOnCard, Place, fitted, whole
from settingsdesk.cards.foot import (
    CAUTION,
    CAUTION_BEHIND,
    CLEAN_CORNERS,
    NOT_MEASURED,
    NOT_TRIED_NOR_MEASURED,
    SHORT_CAUTION,
    in_any_hall,
    issue,
    not_read,
)
from settingsdesk.cards.lettering import Face, lettered, width_mm
from settingsdesk.cards.pen import Pen, line_mm, lines_mm
from settingsdesk.cards.plate import Plate, drawing_in
from settingsdesk.cards.small_table import LEAST_PT, SIZE, SmallTable, small_pt
from settingsdesk.cards.symbol import LARGEST_SIDE, qr_symbol
from settingsdesk.domain.base.codes import grouped
from settingsdesk.domain.base.drawing import Anchor
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.domain.settings.card import Card
from settingsdesk.words.language import ENGLISH, Language

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
_ABOVE_TABLE = 0.6  # from words that are to be heeded to the settings, where there is room
_CODE = 24.8
_SHARES = tuple(share / 10 for share in range(10, -1, -1))
_ABOVE_CODE = _SIDE - 1  # words need no quiet zone, and a little more room


@dataclass(frozen=True, slots=True)
class _Front:
    """What stands on the left, from the top: all but the table may be without any words."""

    about: Fitted
    heeds: tuple[Fitted, ...]
    note: tuple[Fitted, ...]
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
        _draw_back(Pen(pen.paper, pen.left_mm + WIDE_MM, pen.top_mm, WIDE_MM), card)


def _one_side(card: Card, language: Language) -> _Front | None:
    """Everything on the front, nothing of it cut; None where it has no room.

    A translation that nobody has read yet has its English on the back.
    """
    if language.unread:
        return None
    told = " · ".join(filter(None, language.all_said((issue(card), card.club, in_any_hall(card)))))
    caution = lettered(language.said(CAUTION))
    foot = (_small(lettered(told), lines=3), _small(caution, lines=3))
    about = _small(lettered(language.said(_about(card))), lines=2)
    if about.cut or any(fit.cut for fit in foot):
        return None
    try:
        return _front(card, about, foot, card.heeds, language, with_note=True)
    except NoRoomOnCard:
        return None


def _front_of_two(card: Card, language: Language) -> _Front:
    """What must stand on it in as many words as there is room for."""
    told = language.said(issue(card))
    few = (_small(lettered(f"{told} · {language.said(CAUTION_BEHIND)}"), lines=3),)
    caution = lettered(language.said(SHORT_CAUTION))
    short = (_small(lettered(told), lines=2), _small(caution, lines=2))
    fewer = tuple(filter(None, (card.raise_request, _in_short(card))))
    for foot, heeds, with_note in (
        (short, card.heeds, True),
        (short, card.heeds, False),
        (short, fewer, False),
        (few, card.heeds, False),
        (few, fewer, False),
    ):
        above = (*heeds, *_points_behind(card, heeds, with_note=with_note))
        with suppress(NoRoomOnCard):
            return _front(card, _small(""), foot, above, language, with_note=with_note)
    with suppress(NoRoomOnCard):
        return _front(card, _small(""), few, fewer, language, with_note=False)
    smaller = language.tag != ENGLISH.tag
    return _front(card, _small(""), few, fewer, language, smaller=smaller, with_note=False)


def _points_behind(card: Card, heeds: tuple[str, ...], *, with_note: bool) -> Iterator[Sentence]:
    """What whoever sets it should know, and finds on the back alone; a front says so."""
    if card.crew_note and not with_note:
        yield Sentence("For the crew: see the back")
    if not set(card.above_mat) <= set(heeds):
        yield Sentence("Other mats: see the back")


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
    *,
    smaller: bool = False,
    with_note: bool,
) -> _Front:
    least_pt = small_pt(-0.2) if smaller else LEAST_PT
    place = Place(_MAIN_WIDE, LEAST_PT, least_pt, lines=3, face=Face.BOLD)
    said = language.all_said(heeds)
    told = tuple(whole("sentence to heed", f"! {words}", place, SIZE) for words in said)
    noted = (language.said(card.crew_note),) if with_note and card.crew_note else ()
    plain = replace(place, face=Face.REGULAR)
    note = tuple(whole("note for the crew", words, plain, SIZE) for words in noted)
    high_mm = _foot_mm(foot) - _table_mm(about, (*told, *note))
    table = SmallTable(card.lines, _MAIN_WIDE, high_mm, language, smaller=smaller)
    return _Front(about, told, note, table, foot)


def _about(card: Card) -> Sentence:
    return Sentence("%(model)s · Marks: %(scale)s", model=card.model, scale=card.scale_used)


def _small(words: str, *, lines: int = 1) -> Fitted:
    return fitted(words, Place(_MAIN_WIDE, LEAST_PT, LEAST_PT, lines=lines))


def _said_mm(fit: Fitted) -> float:
    return lines_mm(fit) if any(fit.lines) else 0


def _table_mm(about: Fitted, above: tuple[Fitted, ...]) -> float:
    """Where the head ends and the settings begin."""
    return _APPARATUS + _said_mm(about) + _ABOVE_LINE + sum(map(lines_mm, above))


def _foot_mm(foot: tuple[Fitted, ...]) -> float:
    """Where the settings end."""
    return _BOTTOM + line_mm(foot[0]) - sum(map(lines_mm, foot)) - _BELOW_LINE


def _draw_front(pen: Pen, card: Card, front: _Front) -> None:
    part = pen.paper.part
    with part("H1"):
        _draw_head(pen, card, front.about)
    above = (*front.heeds, *front.note)
    top_mm, foot_mm = _table_mm(front.about, above), _foot_mm(front.foot)
    y_mm = top_mm - sum(map(lines_mm, above)) + _BELOW_LINE
    for fits, face in ((front.heeds, Face.BOLD), (front.note, Face.REGULAR)):
        for fit in fits:
            with part("P"):
                y_mm = pen.lines(_EDGE, y_mm, fit, face) + line_mm(fit)
    if above:
        top_mm += min(_ABOVE_TABLE, foot_mm - top_mm - front.table.high_mm)
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


_BETWEEN_MM = (0.4, 1.6)
"""From one paragraph of the back to the next, the least and the most."""
_SHARES = tuple(share / 10 for share in range(10, -1, -1))
_SMALLER = (0.9, 0.8, 0.75)
"""Of the least size, for a language that needs more words than there is room for."""


def _draw_back(pen: Pen, card: Card) -> None:
    """What is not needed to set it: whose it is, of which model, and what holds of every card."""
    pen.fold(0, HIGH_MM)
    told = [(pen.said(words), place) for words, place in _told_behind(pen.language, card) if words]
    smaller = _SMALLER if pen.language.tag != ENGLISH.tag else ()
    for share, of_least in (*((share, 1.0) for share in _SHARES), *((0.0, one) for one in smaller)):
        fits = [
            (fitted(lettered(words), _on_back(place, share, of_least)), place.face)
            for words, place in told
        ]
        gap_mm = of_least * (_BETWEEN_MM[0] + share * (_BETWEEN_MM[1] - _BETWEEN_MM[0]))
        if sum(lines_mm(fit) + gap_mm for fit, _ in fits) <= HIGH_MM - 2 * _EDGE - 1.0:
            break
    y_mm = _EDGE + 1.0
    with pen.paper.part("P"):
        for fit, face in fits:
            y_mm = pen.lines(_EDGE, y_mm + line_mm(fit), fit, face) + gap_mm


def _on_back(place: Place, share: float, of_least: float) -> Place:
    """A place with smaller letters, where all together have no room in the largest."""
    least_pt = of_least * place.least_pt
    most_pt = least_pt + share * (place.most_pt - place.least_pt)
    return replace(place, most_pt=most_pt, least_pt=least_pt)


def _told_behind(language: Language, card: Card) -> tuple[tuple[str, Place], ...]:
    """What stands there, one under the other, each in its place."""
    wide_mm = _RIGHT - _EDGE
    whose = f"{language.apart(card.name)} {card.start_number}"
    return (
        (whose, Place(wide_mm, 10, 7, lines=2, face=Face.BOLD)),
        (card.club, Place(wide_mm, 8, LEAST_PT, lines=4)),
        (_about(card), Place(wide_mm, 7, LEAST_PT, lines=5)),
        (card.unmeasured, Place(wide_mm, 7, LEAST_PT, lines=3, face=Face.BOLD)),
        (card.not_tried, Place(wide_mm, 7, LEAST_PT, lines=3, face=Face.BOLD)),
        *((told, Place(wide_mm, 7, LEAST_PT, lines=3)) for told in card.above_mat),
        (card.crew_note, Place(wide_mm, 7, LEAST_PT, lines=3)),
        (in_any_hall(card), Place(wide_mm, 9, LEAST_PT, face=Face.BOLD)),
        (CAUTION, Place(wide_mm, 7, LEAST_PT, lines=3)),
        *_in_english(language, card),
        (Sentence("Folded along the dashed line, this is the back."), Place(wide_mm, 6, LEAST_PT)),
    )


def _in_english(language: Language, card: Card) -> tuple[tuple[str, Place], ...]:
    """What of it somebody could be hurt by, where nobody has read its translation yet."""
    if not language.unread:
        return ()
    told = (*card.heeds, *(f"{line.axis}: {line.heed}" for line in card.lines if line.heed))
    wide_mm = _RIGHT - _EDGE
    return (
        (". ".join(map(str, (*told, CAUTION))), Place(wide_mm, LEAST_PT, 5, lines=6)),
        (not_read(language), Place(wide_mm, LEAST_PT, 5, lines=2)),
    )


def _draw_side(pen: Pen, card: Card) -> None:
    """The drawing with where it is seen from, and below it the code with what helps to scan it."""
    seen = Sentence("from the %(end)s", end=card.seen_from) if card.seen_from else ""
    if card.drawing.note:
        seen = Sentence("%(seen)s, rails enlarged", seen=seen) if seen else card.drawing.note
    place = Place(_RIGHT - _ABOVE_CODE, LEAST_PT, 5, lines=3)
    caption, *said = (
        fitted(lettered(pen.said(words)), place)
        for words in (seen, CLEAN_CORNERS, Sentence("Code for the coach:"))
    )
    y_mm = _CODE - 3.8 - sum(map(lines_mm, said)) + line_mm(said[-1])
    caption_mm = lines_mm(caption) if seen else 0
    drawing, high_mm = drawing_in(card.drawing, pen.language), y_mm - caption_mm - _EDGE - 1.4
    plate = Plate(pen, drawing, _SIDE, _EDGE - 1, _SYMBOL, high_mm, least_pt=LEAST_PT)
    if plate.is_readable:
        plate.draw()
        if seen:
            said.insert(0, caption)
            y_mm -= caption_mm
    with pen.paper.part("P"):
        for fit in said:
            y_mm = pen.lines(_ABOVE_CODE, y_mm, fit) + line_mm(fit)


def _draw_code(pen: Pen, card: Card) -> None:
    place = Place(_SYMBOL, 9, LEAST_PT, face=Face.BOLD)
    with pen.paper.part("P"):
        pen.lines(_SIDE, _CODE, fitted(lettered(grouped(card.short_code)), place), Face.BOLD)
    symbol = qr_symbol(card.url, card.line)
    side_mm = min(_SYMBOL, symbol.side_modules * MOST_MODULE_MM)
    pen.symbol(symbol, _RIGHT - side_mm, _BOTTOM - side_mm, side_mm)
