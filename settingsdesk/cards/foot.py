"""What stands at the foot of every card, whatever its size."""

from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.settings.card import Card

CAUTION = (
    "The maker’s instructions, federation and local rules come first. "
    "Check locks and tension before use. When in doubt, out of use."
)


def issue(card: Card) -> str:
    """Version and date of issue, by which an older card is known, and its last day if any."""
    told = f"Version {card.version} · {day_in_words(card.issued_on)}"
    return f"{told} · until {day_in_words(card.counts_until)}" if card.counts_until else told
