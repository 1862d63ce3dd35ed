"""Setting cards as one PDF, in the size that is wanted."""

from collections.abc import Callable, Sequence
from enum import Enum

from settingsdesk.cards import a6, sheet
from settingsdesk.cards.id1 import draw_id1
from settingsdesk.cards.paper import Paper
from settingsdesk.cards.pen import Pen
from settingsdesk.domain.card import Card
from settingsdesk.domain.errors import SettingsDeskError


class Size(Enum):
    """What comes out of the printer."""

    A6 = "A6"
    """Pages of 105 × 148 mm, one card on each."""

    ID1 = "ID-1"
    """Ten cards of 85.60 × 53.98 mm on each A4 page, with cut marks."""

    A4_SQUAD = "A4"
    """Four A6 cards on each A4 page."""


class NoCards(SettingsDeskError):
    """Cards were asked for, but nobody was chosen."""

    def __str__(self) -> str:
        return (
            "There is no card to print. "
            "Choose at least one athlete who has a setting on this apparatus."
        )


def cards_pdf(cards: Sequence[Card], size: Size) -> bytes:
    """All cards in the order given; the same cards give the same bytes.

    Raises ``NoCards``, ``NoRoomOnCard``, ``CharacterNotInFont``, ``AddressTooLong`` or
    ``CharacterNotInSymbol``.
    """
    if not cards:
        raise NoCards
    made_on = max(card.issued_on for card in cards)
    title = "Setting card" if len(cards) == 1 else "Setting cards"
    if size is Size.A6:
        paper = Paper(a6.WIDE_MM, a6.HIGH_MM, title, made_on)
        _pages_of_one(paper, cards)
    else:
        paper = Paper(sheet.A4_WIDE_MM, sheet.A4_HIGH_MM, title, made_on)
        _pages_of_many(paper, cards, size)
    return bytes(paper.output())


def _pages_of_one(paper: Paper, cards: Sequence[Card]) -> None:
    for card in cards:
        paper.add_page()
        a6.draw_a6(Pen(paper), card)


def _pages_of_many(paper: Paper, cards: Sequence[Card], size: Size) -> None:
    grid, draw, draw_margin = _SHEETS[size]
    corners = grid.corners_mm
    for number, card in enumerate(cards):
        place = number % len(corners)
        if place == 0:
            paper.add_page()
            draw_margin(Pen(paper))
        draw(Pen(paper, *corners[place]), card)


_SHEETS: dict[Size, tuple[sheet.Grid, Callable[[Pen, Card], None], Callable[[Pen], None]]] = {
    Size.ID1: (sheet.TEN_ID1, draw_id1, sheet.draw_margin_of_ten),
    Size.A4_SQUAD: (sheet.FOUR_A6, a6.draw_a6, sheet.draw_cuts_of_four),
}
