"""Which languages there are letters for, and what is printed where there are none."""

from functools import cache

from settingsdesk.cards.report import MISSING, printable
from settingsdesk.words.language import ENGLISH, Language
from settingsdesk.words.languages import NAMES, spoken


@cache
def can_be_printed(tag: str) -> bool:
    """Whether the letters of a language are there for paper, as its own name has them."""
    return MISSING not in printable(NAMES[tag])


def printed_in(tag: str) -> Language:
    """The language that a club prints in; English where its letters are not installed here."""
    return spoken(tag) if tag in NAMES and can_be_printed(tag) else ENGLISH
