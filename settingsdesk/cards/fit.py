"""Texts made to fit their place: smaller first, then on more lines, and only then cut, visibly.

Names may be cut, with an ellipsis to show it. Marks, lengths, datums and deviations never are:
half a number would be another number.
"""

import re
from dataclasses import dataclass
from functools import lru_cache
from math import inf

from settingsdesk.cards.lettering import Face, lettered, width_mm
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.sentences import NO_BREAK

ELLIPSIS = "…"

_SIGNS = "\u3000-\u30ff\u3400-\u9fff\uff00-\uffef"
_AFTER, _BEFORE = "、。，．：；？！）」』】ー・ァィゥェォッャュョぁぃぅぇぉっゃゅょ", "（「『【"
_IN_A_WORD = rf"(?:[^\s{_SIGNS}]|{NO_BREAK})"
_TOGETHER = re.compile(
    rf"([^\S{NO_BREAK}]*)([{_BEFORE}]*[{_SIGNS}][{_AFTER}]*|{_IN_A_WORD}+[{_AFTER}]*|\S)"
)
"""What is not torn, and the blank before it: a word, a length, or one of the signs that Japanese is
written with, and with it what must not begin a line or end one (JIS X 4051)."""


class NoRoomOnCard(SettingsDeskError):
    """A text that must not be cut is too long for its place, even in the smallest letters.

    ``name`` is whose card it is, where that is known.
    """

    def __init__(self, what: str, text: str, size: str):
        self.what, self.text, self.size = what, text, size
        self.name = ""

    def __str__(self) -> str:
        to_do = "Shorten it." if self.size == "A6" else "Shorten it, or print a larger card."
        whose = f"{self.name}: the" if self.name else "The"
        return (
            f"{whose} {self.what} “{self.text}” is too long for a card of size {self.size}. {to_do}"
        )


@dataclass(frozen=True, slots=True)
class Place:
    """Room for a text: a width, the largest and least letter size, and how many lines.

    ``wrapped_pt`` is the largest size on more than one line, where that is less than on one.
    """

    width_mm: float
    most_pt: float
    least_pt: float
    lines: int = 1
    face: Face = Face.REGULAR
    wrapped_pt: float | None = None


@dataclass(frozen=True, slots=True)
class Fitted:
    """Lines of a text and the size at which they fit; ``cut`` where some of it is missing."""

    lines: tuple[str, ...]
    size_pt: float
    cut: bool = False


# The cards of a squad say much the same, so that most places need be worked out only once.
@lru_cache(maxsize=8192)
def fitted(text: str, place: Place) -> Fitted:
    """A ``lettered`` text in its place, in the fewest lines that do not make it too small."""
    wide_mm = width_mm(text, place.face, 1)
    if wide_mm * place.most_pt <= place.width_mm:
        return Fitted((text,), place.most_pt)
    single_pt = place.width_mm / wide_mm
    if single_pt >= (place.least_pt if place.lines == 1 else _before_wrapping_pt(place)):
        return Fitted((text,), single_pt)
    return _wrapped(text, place)


def whole(what: str, text: str, place: Place, card_size: str) -> Fitted:
    """A text of which nothing may be missing; raises ``NoRoomOnCard``, ``CharacterNotInFont``."""
    fit = fitted(lettered(text), place)
    if fit.cut:
        raise NoRoomOnCard(what, text, card_size)
    return fit


def _before_wrapping_pt(place: Place) -> float:
    """How small letters become on one line before a second line is begun."""
    return place.wrapped_pt or (place.most_pt + place.least_pt) / 2


def _wrapped(text: str, place: Place) -> Fitted:
    widest_mm = max(width_mm(words, place.face, 1) for _, words in _TOGETHER.findall(text))
    whole_words_pt = place.width_mm / widest_mm
    if whole_words_pt < place.least_pt:
        whole_words_pt = inf  # torn at any size
    size_pt = min(place.wrapped_pt or place.most_pt, whole_words_pt)
    while size_pt > place.least_pt:
        lines = _broken(text, place, size_pt)
        if len(lines) <= place.lines:
            return Fitted(tuple(lines), size_pt)
        size_pt -= 0.5
    return _at_least_size(text, place)


def _at_least_size(text: str, place: Place) -> Fitted:
    lines = _broken(text, place, place.least_pt)
    if len(lines) <= place.lines:
        return Fitted(tuple(lines), place.least_pt)
    last = " ".join(lines[place.lines - 1 :])
    kept = (*lines[: place.lines - 1], _shortened(last, place))
    return Fitted(kept, place.least_pt, cut=True)


def _broken(text: str, place: Place, size_pt: float) -> list[str]:
    """The text on lines of the place's width, broken between words, and inside one too long."""
    lines: list[str] = []
    for blank, words in _TOGETHER.findall(text):
        longer = f"{lines[-1]}{blank}{words}" if lines else words
        if lines and width_mm(longer, place.face, size_pt) <= place.width_mm:
            lines[-1] = longer
        else:
            lines.extend(_pieces(words, place, size_pt))
    return lines


def _pieces(word: str, place: Place, size_pt: float) -> list[str]:
    pieces = [""]
    for character in word:
        if width_mm(pieces[-1] + character, place.face, size_pt) > place.width_mm:
            pieces.append("")
        pieces[-1] += character
    return pieces


def _shortened(text: str, place: Place) -> str:
    while width_mm(text + ELLIPSIS, place.face, place.least_pt) > place.width_mm:
        text = text[:-1]
    return text.rstrip() + ELLIPSIS
