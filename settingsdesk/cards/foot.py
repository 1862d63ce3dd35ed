"""What stands at the foot of every card, whatever its size."""

from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.settings.card import Card

CAUTION = (
    "The maker’s instructions, federation and local rules come first. "
    "Check locks and tension before use. When in doubt, out of use."
)

SHORT_CAUTION = "Check locks and tension before use. More on the back."
CAUTION_BEHIND = "Caution: see the back"
"""What of it stands on a front that has no room for more, and where even that has none."""

NOT_MEASURED = "Not all of it is measured: see the back"

CLEAN_CORNERS = "No scan? Wipe the three corner squares."
"""What keeps a phone from a chalky symbol: with 10 % of it under chalk one in four was read, and
with the corners wiped free nine in ten (measured on printed cards)."""


def issue(card: Card) -> str:
    """Version and date of issue, by which an older card is known, and its last day if any."""
    told = f"Version {card.version} · {day_in_words(card.issued_on)}"
    return f"{told} · until {day_in_words(card.counts_until)}" if card.counts_until else told
