"""Days as people read them."""

from datetime import date

from settingsdesk.domain.base.sentences import Day


def day_in_words(on: date) -> Day:
    """A day in words, the same on paper and on every page: "24 November 2026"."""
    return Day(on)
