"""How a desk stands with its backups, in a line for the day's page and for the doctor."""

from dataclasses import dataclass
from datetime import timedelta

from settingsdesk.config import BackupNotes
from settingsdesk.desk.clock import local_date, now
from settingsdesk.domain.base.days import day_in_words

OLD_AFTER = timedelta(days=7)
"""A week of a club's work is about what can be typed in again from paper."""


@dataclass(frozen=True, slots=True)
class Standing:
    """Whether the last backup can be relied on, and what to say of it."""

    is_well: bool
    words: str


def standing(notes: BackupNotes) -> Standing:
    """How it stands, by what is known of backups."""
    moment = now()
    last = f"Last backup: {day_in_words(local_date(notes.made_at))}" if notes.made_at else ""
    if notes.failed_at is not None:
        day = day_in_words(local_date(notes.failed_at))
        return Standing(
            False, f"The backup of {day} failed: {notes.why}. {last or 'There is no backup'}"
        )
    if notes.made_at is None:
        return Standing(False, "Nothing is backed up")
    if moment - notes.made_at > OLD_AFTER:
        return Standing(False, f"{last}, none since")
    return Standing(True, last)
