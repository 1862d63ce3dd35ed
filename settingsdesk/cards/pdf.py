"""Setting cards as one PDF, in the size that is wanted."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import Enum

from settingsdesk.cards.a6 import draw_a6
from settingsdesk.cards.id1 import draw_id1
from settingsdesk.cards.paper import Paper
from settingsdesk.cards.pen import Pen
from settingsdesk.cards.sheet import (
    FOUR_A6,
    ONE_A6,
    TEN_ID1,
    Grid,
    draw_cuts_of_four,
    draw_margin_of_ten,
)
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
    layout = _LAYOUTS[size]
    with Paper(layout.grid.page_wide_mm, layout.grid.page_high_mm, title, made_on) as paper:
        _draw_pages(paper, cards, layout)
        return bytes(paper.output())


@dataclass(frozen=True, slots=True)
class _Layout:
    """How pages of one size are filled, and what stands around the cards."""

    grid: Grid
    draw_card: Callable[[Pen, Card], None]
    draw_margin: Callable[[Pen], None] | None = None


_LAYOUTS = {
    Size.A6: _Layout(ONE_A6, draw_a6),
    Size.ID1: _Layout(TEN_ID1, draw_id1, draw_margin_of_ten),
    Size.A4_SQUAD: _Layout(FOUR_A6, draw_a6, draw_cuts_of_four),
}


def _draw_pages(paper: Paper, cards: Sequence[Card], layout: _Layout) -> None:
    corners = layout.grid.corners_mm
    for number, card in enumerate(cards):
        place = number % len(corners)
        if place == 0:
            paper.add_page()
            if layout.draw_margin:
                layout.draw_margin(Pen(paper))
        layout.draw_card(Pen(paper, *corners[place]), card)
