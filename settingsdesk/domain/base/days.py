"""Days as people read them."""

from datetime import date


def day_in_words(on: date) -> str:
    """A day in words, the same on paper and on every page: "24 November 2026"."""
    return f"{on.day} {on:%B %Y}"
