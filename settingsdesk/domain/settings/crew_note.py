"""A note for whoever sets the apparatus for an athlete: a board side, a block, where one spots.

It is read by strangers at the apparatus and by whoever holds the card, so it is short, and nothing
about the person belongs in it.
"""

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.names import on_one_line
from settingsdesk.domain.base.sentences import Sentence, marked

LONGEST = 120
"""Characters: two lines of a card."""

FOR_THE_CREW = marked("For the crew: %(note)s")


def as_kept(words: str) -> str:
    """The note on one line; ``NoteTooLong``."""
    note = on_one_line(words)
    if len(note) > LONGEST:
        raise NoteTooLong(len(note))
    return note


def told(note: str) -> str:
    """The note as crew sheets and cards have it; empty where there is none."""
    return Sentence(FOR_THE_CREW, note=note) if note else ""


class NoteTooLong(SettingsDeskError):
    """A note for the crew that nobody reads at the apparatus."""

    def __init__(self, length: int) -> None:
        self.length = length

    def __str__(self) -> str:
        return (
            f"A note for the crew must have {LONGEST} characters or fewer; this one has"
            f" {self.length}"
        )
