"""Setting cards as one PDF, in the size that is wanted."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from enum import Enum

from settingsdesk.cards.a6 import draw_a6
from settingsdesk.cards.fit import NoRoomOnCard
from settingsdesk.cards.id1 import draw_id1, places
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
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.domain.settings.card import Card, CardGroup
from settingsdesk.words.language import Language


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

    sentence = (
        "There is no card to print. "
        "Choose at least one athlete who has a setting on this apparatus."
    )


def cards_pdf(groups: Sequence[CardGroup], size: Size, language: Language) -> bytes:
    """All cards in the order given, in that language; the same cards give the same bytes.

    Each group begins a new page. Its heading stands small on every A6 card, and above the cards
    on sheets of smaller ones.

    Raises ``NoCards``, ``NoRoomOnCard``, ``CharacterNotInFont``, ``AddressTooLong`` or
    ``CharacterNotInSymbol``.
    """
    cards = [card for group in groups for card in group.cards]
    if not cards:
        raise NoCards
    made_on = max(card.issued_on for card in cards)
    title = language.said(
        Sentence("Setting card") if len(cards) == 1 else Sentence("Setting cards")
    )
    layout = _LAYOUTS[size]
    with Paper(
        layout.grid.page_wide_mm, layout.grid.page_high_mm, title, made_on, language
    ) as paper:
        for heading, placed in _pages(groups, layout, language):
            _draw_page(paper, heading, placed, layout)
        return bytes(paper.output())


@dataclass(frozen=True, slots=True)
class _Layout:
    """How pages of one size are filled; card and margin are told the heading of their group."""

    grid: Grid
    draw_card: Callable[[Pen, Card, str], None]
    draw_margin: Callable[[Pen, str], None]
    places: Callable[[Card, Language], int] = lambda card, language: 1
    """How many places side by side a card takes."""


_LAYOUTS = {
    Size.A6: _Layout(ONE_A6, draw_a6, lambda pen, heading: None),
    Size.ID1: _Layout(
        TEN_ID1, lambda pen, card, heading: draw_id1(pen, card), draw_margin_of_ten, places
    ),
    Size.A4_SQUAD: _Layout(FOUR_A6, draw_a6, lambda pen, heading: draw_cuts_of_four(pen)),
}


_Placed = list[tuple[Card, tuple[float, float]]]


def _pages(
    groups: Sequence[CardGroup], layout: _Layout, language: Language
) -> Iterator[tuple[str, _Placed]]:
    """The cards of each page, each with its upper left corner, and the heading of their group."""
    corners, columns = layout.grid.corners_mm, layout.grid.columns
    for group in groups:
        placed: _Placed = []
        first = 0
        for card in group.cards:
            with _naming(card):
                wide = layout.places(card, language)
            if first % columns + wide > columns:
                first += 1  # its other half would lie in the next row
            if first + wide > len(corners):
                yield group.heading, placed
                placed, first = [], 0
            placed.append((card, corners[first]))
            first += wide
        if placed:
            yield group.heading, placed


def _draw_page(paper: Paper, heading: str, placed: _Placed, layout: _Layout) -> None:
    paper.add_page()
    layout.draw_margin(Pen(paper), heading)
    for card, corner in placed:
        with _naming(card):
            layout.draw_card(Pen(paper, *corner, layout.grid.wide_mm), card, heading)


@contextmanager
def _naming(card: Card) -> Iterator[None]:
    """Whatever has no room, it is said on whose card."""
    try:
        yield
    except NoRoomOnCard as refusal:
        refusal.name = card.name
        raise
