"""Text that a spreadsheet would take for a formula, and the quote that keeps it text.

The signs are those of the OWASP page on CSV injection, with their wide forms. A text that has the
quote already gets another one, so that taking it off always gives the text back.
"""

import re

_LIVE = re.compile(r"'*(?:\s*[=+\-@＝＋－＠]|[\t\r\n])")


def looks_live(text: str) -> bool:
    """Whether a spreadsheet might calculate it."""
    return _LIVE.match(text) is not None


def with_guard(text: str) -> str:
    """The text as it may stand in a CSV file."""
    return f"'{text}" if looks_live(text) else text


def without_guard(text: str) -> str:
    """The text as it was before it was guarded."""
    return text[1:] if text.startswith("'") and looks_live(text) else text
