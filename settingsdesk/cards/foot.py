"""What stands at the foot of every card, whatever its size."""

from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.domain.settings.card import Card

CAUTION = Sentence(
    "The maker’s instructions, federation and local rules come first. "
    "Check locks and tension before use. When in doubt, out of use."
)

SHORT_CAUTION = Sentence("Check locks and tension before use. More on the back.")
CAUTION_BEHIND = Sentence("Caution: see the back")
"""What of it stands on a front that has no room for more, and where even that has none."""

NOT_MEASURED = Sentence("Not all of it is measured: see the back")
NOT_TRIED_NOR_MEASURED = Sentence("Not tried, not all measured: see the back")
"""What of them stands on a front that has no room for more."""

CLEAN_CORNERS = Sentence("No scan? Wipe the three corner squares.")
"""What keeps a phone from a chalky symbol: with 10 % of it under chalk one in four was read, and
with the corners wiped free nine in ten (measured on printed cards)."""


def issue(card: Card) -> Sentence:
    """Version and date of issue, by which an older card is known, and its last day if any."""
    facts = {"version": card.version, "day": day_in_words(card.issued_on)}
    if card.counts_until:
        last = day_in_words(card.counts_until)
        return Sentence("Version %(version)s · %(day)s · until %(last)s", last=last, **facts)
    return Sentence("Version %(version)s · %(day)s", **facts)
