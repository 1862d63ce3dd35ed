"""In which language a club prints: kept as its tag, which says nothing of catalogues.

Nothing that was printed is out of date by it. What is compared are the English words, which a card
keeps whatever it was printed in.
"""

from settingsdesk.store.clubs import this_club
from settingsdesk.store.work import ClubSession


def kept(session: ClubSession) -> str:
    """The tag of the language: "en" until the club has chosen another."""
    return this_club(session).paper_language


def keep(session: ClubSession, tag: str) -> None:
    """Print in that language from now on."""
    this_club(session).paper_language = tag
    session.flush()
