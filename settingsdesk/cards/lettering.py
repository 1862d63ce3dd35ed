"""The two faces that cards are lettered with: which letters they have, and how wide they run.

A PDF shows nothing, and says nothing, where a face lacks a letter; a card with half a name on it
is worse than none. So every text passes through ``lettered`` before it is drawn.
"""

import unicodedata
from enum import Enum
from functools import cache, lru_cache
from importlib.resources import as_file, files

from fontTools.ttLib import TTFont  # type: ignore[import-untyped]  # ships no type information

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.names import on_one_line
from settingsdesk.domain.base.units import INCH_MM

MM_PER_POINT = INCH_MM / 72

CAPITAL_HEIGHT = 0.729
"""Height of a capital letter or figure as a share of the letter size, in both faces."""


class Face(Enum):
    """A face, by the name of its file."""

    REGULAR = "DejaVuSans-Trimmed.ttf"
    BOLD = "DejaVuSans-Bold-Trimmed.ttf"


class CharacterNotInFont(SettingsDeskError):
    """A text holds a character that cards cannot print."""

    def __init__(self, character: str, text: str):
        self.character, self.text = character, text
        self.code_point = f"U+{ord(character):04X}"
        self.unicode_name = unicodedata.name(character, "a character without a name")

    def __str__(self) -> str:
        shown = self.character if self.character.isprintable() else " "
        return (
            f"“{shown}” ({self.code_point}, {self.unicode_name}) in “{self.text}” cannot be "
            "printed on a card. Cards are lettered in Latin, Greek and Cyrillic letters: "
            "write this text with those, for the card at least."
        )


# The cards of a meet say much the same, so that most texts need be looked at only once.
@lru_cache(maxsize=4096)
def lettered(text: str) -> str:
    """The text on one line, in composed form (NFC), every character of which can be printed.

    Raises ``CharacterNotInFont``.
    """
    composed = on_one_line(text)
    known = advances(Face.REGULAR)
    for character in composed:
        if character not in known:
            raise CharacterNotInFont(character, text)
    return composed


def width_mm(text: str, face: Face, size_pt: float) -> float:
    """How wide a ``lettered`` text runs."""
    return _width(text, face) * size_pt * MM_PER_POINT


@lru_cache(maxsize=4096)
def _width(text: str, face: Face) -> float:
    """How wide a text runs, as a share of the letter size."""
    widths = advances(face)
    return sum(widths[character] for character in text)


@cache
def advances(face: Face) -> dict[str, float]:
    """The advance of each character of a face, as a share of the letter size."""
    with as_file(files("settingsdesk.cards") / "fonts" / face.value) as path, TTFont(path) as font:
        units, advances = font["head"].unitsPerEm, font["hmtx"].metrics
        return {chr(code): advances[glyph][0] / units for code, glyph in font.getBestCmap().items()}
