"""The faces that cards are lettered with: which letters they have, and how wide they run.

A PDF shows nothing, and says nothing, where a face lacks a letter; a card with half a name on it
is worse than none. So every text passes through ``lettered`` before it is drawn.

Our own two faces have Latin, Greek, Cyrillic and Arabic letters. Chinese, Japanese and Korean ones
are taken from faces that are installed beside the desk, or not there.
"""

import re
import unicodedata
from enum import Enum
from functools import cache, lru_cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from importlib.util import find_spec

from arabic_reshaper import ArabicReshaper  # type: ignore[import-untyped]  # ships no types
from fontTools.ttLib import TTFont  # type: ignore[import-untyped]  # ships no type information
from fpdf.bidi import BidiParagraph
from fpdf.enums import TextDirection

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.sentences import NO_BREAK, with_whole_figures
from settingsdesk.domain.base.units import INCH_MM
from settingsdesk.words.language import APART, TOGETHER

MM_PER_POINT = INCH_MM / 72

CAPITAL_HEIGHT = 0.729
"""Height of a capital letter or figure as a share of the letter size, in both of our faces."""

EXTRA = "settingsdesk[letters]"
"""What is installed for Chinese, Japanese and Korean letters on cards."""

_UNSEEN = (APART, TOGETHER)
"""What only says how a line runs, and is not drawn."""


class Face(Enum):
    """A face of ours, by the name of its file."""

    REGULAR = "DejaVuSans-Trimmed.ttf"
    BOLD = "DejaVuSans-Bold-Trimmed.ttf"


_INSTALLED = {
    Face.REGULAR: ("noto_cjk_sans_jp_regular", "NotoSansCJKjp-Regular.otf"),
    Face.BOLD: ("noto_cjk_sans_jp_bold", "NotoSansCJKjp-Bold.otf"),
}
"""The faces beside ours, by package and file; each stands in for letters that ours lacks."""


class CharacterNotInFont(SettingsDeskError):
    """A text holds a character that cards cannot print."""

    def __init__(self, character: str, text: str):
        self.character, self.text = character, text
        self.code_point = f"U+{ord(character):04X}"
        self.unicode_name = unicodedata.name(character, "a character without a name")

    def __str__(self) -> str:
        shown = self.character if self.character.isprintable() else " "
        told = (
            f"“{shown}” ({self.code_point}, {self.unicode_name}) in “{self.text}” cannot be "
            "printed on a card. Cards are lettered in Latin, Greek, Cyrillic and Arabic letters: "
            "write this text with those, for the card at least."
        )
        if _IDEOGRAPHIC.search(self.character) and font_file(Face.REGULAR, beside=True) is None:
            told += (
                " Chinese, Japanese and Korean letters can be installed by whoever looks after the"
                f" desk: pip install '{EXTRA}'."
            )
        return told


_BLANKS = re.compile(rf"[^\S{NO_BREAK}]+")
_IDEOGRAPHIC = re.compile("[\u1100-\u11ff\u2e80-\ua4cf\uac00-\ud7ff\uf900-\ufaff\uff00-\uffef]")
"""What Chinese, Japanese and Korean are written with, and breaks into lines anywhere."""

_ARABIC = re.compile("[\u0600-\u06ff\u0750-\u077f\ufb50-\ufdff\ufe70-\ufeff]")
_ARABIC_AS_JOINED = re.compile("[\ufb50-\ufdff\ufe70-\ufeff]")
_joined = ArabicReshaper({"delete_harakat": True, "ARABIC LIGATURE ALLAH": False}).reshape
_MIRRORED = str.maketrans("()[]{}<>«»‹›", ")(][}{><»«›‹")


def font_file(face: Face, *, beside: bool = False) -> Traversable | None:
    """The file of a face, or of the one that is installed beside it; None where there is none."""
    if not beside:
        return files("settingsdesk.cards") / "fonts" / face.value
    package, file = _INSTALLED[face]
    return files(package) / file if find_spec(package) else None


# The cards of a meet say much the same, so that most texts need be looked at only once.
@lru_cache(maxsize=4096)
def lettered(text: str) -> str:
    """The text on one line, in composed form (NFC), every character of which can be printed.

    Arabic letters are in the forms in which they are joined, in the order in which they are read;
    vowel signs are left out, as on most things that are printed.

    Raises ``CharacterNotInFont``.
    """
    composed = as_drawn(text)
    for character in composed:
        if not is_printable(character):
            raise CharacterNotInFont(character, text)
    return composed


def as_drawn(text: str) -> str:
    """The text in the characters that are drawn for it, whether there are letters for them."""
    on_one_line = _BLANKS.sub(" ", text).strip()
    composed = unicodedata.normalize("NFC", with_whole_figures(on_one_line))
    return _joined(composed) if _ARABIC.search(composed) else composed


def is_printable(character: str) -> bool:
    """Whether there is a letter for it, or none is needed."""
    if character in advances(Face.REGULAR) or character in _UNSEEN:
        return True
    # What is beside ours is large, and read only where it is asked for.
    is_theirs = _IDEOGRAPHIC.match(character) is not None
    return is_theirs and character in advances(Face.REGULAR, beside=True)


@lru_cache(maxsize=4096)
def in_sight(text: str, *, is_rtl: bool) -> str:
    """A line of ``lettered`` text from left to right, as the eye finds it.

    ``is_rtl`` says that it stands in a text that runs from right to left.
    """
    has_arabic = _ARABIC.search(text)
    if not has_arabic and not is_rtl:
        return text
    # A name or a code that stands alone runs as it does everywhere.
    runs_back = is_rtl and (has_arabic or not any(map(str.isalpha, text)))
    paragraph = BidiParagraph(text, TextDirection.RTL if runs_back else TextDirection.LTR)
    return "".join(
        one.character.translate(_MIRRORED) if one.embedding_level % 2 else one.character
        for one in paragraph.get_reordered_characters()
        if one.character not in _UNSEEN
    )


def as_read(text: str) -> str:
    """A ``lettered`` text in plain letters, as it is typed: for whoever hears or copies it."""
    plain = _ARABIC_AS_JOINED.sub(lambda one: unicodedata.normalize("NFKC", one[0]), text)
    return plain.translate({ord(sign): None for sign in _UNSEEN})


def width_mm(text: str, face: Face, size_pt: float) -> float:
    """How wide a ``lettered`` text runs."""
    return _width(text, face) * size_pt * MM_PER_POINT


@lru_cache(maxsize=4096)
def _width(text: str, face: Face) -> float:
    """How wide a text runs, as a share of the letter size."""
    return sum(_advance(character, face) for character in text)


def _advance(character: str, face: Face) -> float:
    own = advances(face).get(character)
    if own is not None:
        return own
    return 0.0 if character in _UNSEEN else advances(face, beside=True)[character]


@cache
def advances(face: Face, *, beside: bool = False) -> dict[str, float]:
    """The advance of each character of a face, as a share of the letter size.

    With ``beside`` of the one that is installed beside it; empty where there is none.
    """
    file = font_file(face, beside=beside)
    if file is None:
        return {}
    with file.open("rb") as opened, TTFont(opened, lazy=True) as font:
        units, advances = font["head"].unitsPerEm, font["hmtx"].metrics
        return {chr(code): advances[glyph][0] / units for code, glyph in font.getBestCmap().items()}
