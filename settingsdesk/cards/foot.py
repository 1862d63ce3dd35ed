"""What stands at the foot of every card, whatever its size."""

from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.domain.settings.card import Card
from settingsdesk.domain.settings.lengths_line import in_groups
from settingsdesk.words.language import Language

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

NOT_READ = Sentence("Not yet read by a native speaker")
"""Said of a translation, in it and in English, until one has."""

CLEAN_CORNERS = Sentence("No scan? Wipe the three corner squares.")
"""What keeps a phone from a chalky symbol: with 10 % of it under chalk one in four was read, and
with the corners wiped free nine in ten (measured on printed cards)."""


def not_read(language: Language) -> str:
    """That nobody has read the translation yet, in both languages; empty where somebody has."""
    return f"{language.said(NOT_READ)} · {NOT_READ}" if language.unread else ""


def beneath(language: Language, words: str) -> str:
    """The English that stands beneath a translation which nobody has read yet; else empty."""
    return str(words) if language.unread else ""


def in_any_hall(card: Card) -> Sentence | str:
    """The line of lengths, with what it is for; empty where the card has none."""
    if not card.line:
        return ""
    return Sentence("In any hall: %(line)s", line=in_groups(card.line))


def issue(card: Card) -> Sentence:
    """Version and date of issue, by which an older card is known, and its last day if any."""
    facts = {"version": card.version, "day": day_in_words(card.issued_on)}
    if card.counts_until:
        last = day_in_words(card.counts_until)
        return Sentence("Version %(version)s · %(day)s · until %(last)s", last=last, **facts)
    return Sentence("Version %(version)s · %(day)s", **facts)
