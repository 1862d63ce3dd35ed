"""Names in the order in which people look for them, in every language of a hall.

That of the Unicode Collation Algorithm (UTS #10), by the letters' own weights alone.
"""

import unicodedata
from functools import cache, lru_cache
from typing import Any

from pyuca import Collator  # type: ignore[import-untyped]  # it ships no types

_NEXT_NAME = b"\0\0"  # before every letter: Ask Ada comes before Askberg


def place_in_order(*names: str) -> bytes:
    """What lists are sorted by, name by name: É beside E, Ø beside O, Є after Е, O'Neil as Oneil.

    Case, accents, apostrophes and hyphens do not count, nor blanks within a name: "de Vries" stands
    where "Devries" would. Bytes to be compared as they are.
    """
    return _NEXT_NAME.join(map(_weights, names))


@lru_cache(maxsize=8192)
def _weights(name: str) -> bytes:
    letters = "".join(letter for letter in name if letter.isalnum())
    weights = _collator().sort_key(unicodedata.normalize("NFC", letters))
    primary = weights[: weights.index(0)] if 0 in weights else weights
    return b"".join(weight.to_bytes(2) for weight in primary)


@cache
def _collator() -> Any:
    """Its table takes a quarter of a second and 12 MB: read when the first name is written."""
    return Collator()
