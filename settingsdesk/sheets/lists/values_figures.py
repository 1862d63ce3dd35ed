"""The lengths and marks that are read from a cell's plain text; anything else is none of either.

Lengths: 245,5 cm · 2,455 m · 2455 mm · cm 245,5 · 2 m 45 · 96 5/8" · 96-5/8 in · 8' 0 5/8".
Marks: 7 · 7a · A3 · C · hole 7 · 7. dziura · 第7穴.
"""

import re
import unicodedata
from dataclasses import dataclass
from fractions import Fraction

from settingsdesk.sheets.lists.units import ListUnit
from settingsdesk.sheets.lists.vocabulary import HeaderMeaning, header_words, unit_word
from settingsdesk.sheets.lists.vocabulary_table import find

_FIGURE = re.compile(
    r"(?:(?P<whole>0|[1-9][0-9]{0,6})(?:[.,](?P<decimals>[0-9]{1,6}))?)?"
    r"(?:(?:(?<=[0-9])[ -])?(?<![0-9])(?P<top>[1-9][0-9]?)/(?P<bottom>[1-9][0-9]?))?"
)
_LENGTH = re.compile(
    r"(?P<before>[^\W\d_]+\.? )?(?P<figure>[0-9][0-9.,]*(?:[ -][0-9]{1,2}/[0-9]{1,2})?)"
    r"(?P<after>[^0-9]*)"
)
_FEET = re.compile(
    r"(?P<feet>[1-9][0-9]?) ?(?:'(?!')|ft\.?|feet|foot)"
    r"(?: ?(?:- ?)?(?P<inches>[0-9][0-9.,/ -]{0,12}?) ?(?:\"|''|in\.?|inch|inches))?",
    re.IGNORECASE,
)
_METRES = re.compile(
    r"(?P<metres>[0-9]{1,2}) ?(?P<metre>[^\W\d_]+) ?(?P<figure>[0-9]{1,2})(?P<centimetre>[^0-9]*)"
)
_LETTER = "[A-HJ-NP-WYZa-hjkmnp-wyz]"  # an O may be a nought, an I or l a one, and x is a tick
_LABEL = re.compile(rf"(?:0|[1-9][0-9]{{0,2}})(?:\.[0-9])?[A-Da-d]?|{_LETTER}(?:[1-9][0-9]?)?")
_NUMBER = r"(?P<label>(?:0|[1-9][0-9]{0,2})(?:\.[0-9])?(?:[A-Da-d](?![^\W\d_]))?)"
_TH = "(?:st|nd|rd|th|\\.|[ºª°]|er?|re|[eè]me|-?[йяе]|-ий|番目?)"
_NUMBER_SIGN = r"(?:nr|no|n|num|số|رقم|第|#)(?:\.|[°º])? ?"
_NUMBERED_MARK = re.compile(
    rf"(?P<before>[^0-9]*){_NUMBER}(?:{_TH}(?= ?[^\W\d_]))?(?P<after>[^0-9]*)", re.IGNORECASE
)
_LETTERED_MARK = re.compile(r"(?P<before>[^0-9]+) (?P<label>[A-Z](?:[1-9][0-9]?)?)")
_NUMBER_ALONE = re.compile(
    rf"(?:{_NUMBER_SIGN})?{_NUMBER}(?:st|nd|rd|th|\.|[º°]|番)?", re.IGNORECASE
)
_DAY = re.compile(r"[0-9]{1,2}\. ?[0-9]{1,2}\.")
_NUMBER_WORD = re.compile(rf"(?:^|(?<=[\W_])){_NUMBER_SIGN}$|第$", re.IGNORECASE)
_INCH_SIGNS = ('"', "''")
_OF_A_LENGTH = ("unit", "level", "edge", "spread")
_PLAIN_PUNCTUATION = frozenset(" .,():")


@dataclass(frozen=True, slots=True)
class Length:
    """A number as it was written, the unit it bears itself, and what else the cell states."""

    number: str
    amount: Fraction
    unit: ListUnit | None
    cell: HeaderMeaning
    is_fraction: bool = False

    def written_in(self, unit: ListUnit) -> str:
        """As it was written, with the unit that it has."""
        bears_its_unit = self.number.strip("0123456789.,/ -")
        return self.number if bears_its_unit else f"{self.number} {unit.value}"


_NOTHING_MORE = HeaderMeaning("")


def read_mark(text: str) -> str | None:
    """The label of a mark that says so itself: "hole 7"."""
    found = _NUMBERED_MARK.fullmatch(text)
    if found and (found["before"] or found["after"].strip()):
        before = _NUMBER_WORD.sub("", found["before"]).strip()
        words = [words for words in (before, found["after"].strip()) if words]
    elif found := _LETTERED_MARK.fullmatch(text):
        words = [_NUMBER_WORD.sub("", found["before"]).strip()]
    else:
        return None
    is_word = len(words) == 1 and words[0][:1].isalpha() and _is_in_words(words[0])
    is_mark = is_word and unit_word(words[0]) is ListUnit.MARK
    return read_label(found["label"]) if is_mark else None


def read_label(text: str) -> str | None:
    """The label of a mark that stands alone: 7, 7., no. 7, 7a, 7.5, A3, C; x is a tick.

    "6.6." is a day.
    """
    if _DAY.fullmatch(text):
        return None
    found = _NUMBER_ALONE.fullmatch(text)
    label = found["label"] if found else text
    return label if _LABEL.fullmatch(label) else None


def read_length(text: str) -> Length | None:
    """The length that the whole text states, with or without its unit."""
    return _plain_length(text) or _feet_and_inches(text) or _metres_and_centimetres(text)


def _plain_length(text: str) -> Length | None:
    found = _LENGTH.fullmatch(text)
    if found is None or (amount := exact(found["figure"])) is None:
        return None
    before, after = found["before"] or "", found["after"].strip()
    if not (_is_in_words(after) or after in _INCH_SIGNS):
        return None
    is_fraction = "/" in found["figure"]
    if not before and not after:
        return Length(found["figure"], amount, None, _NOTHING_MORE, is_fraction)
    unit = unit_word(before or after) if not (before and after) else None
    if unit is ListUnit.MARK:
        return None
    if unit is not None:
        return Length(found["figure"], amount, unit, _NOTHING_MORE, is_fraction)
    cell = _unit_and_datum(after) if not before else None
    return None if cell is None else Length(found["figure"], amount, cell.unit, cell, is_fraction)


def _is_in_words(text: str) -> bool:
    is_plain = all(
        sign in _PLAIN_PUNCTUATION or unicodedata.category(sign)[0] in "LM" for sign in text
    )
    return is_plain and ".." not in text


def _unit_and_datum(text: str) -> HeaderMeaning | None:
    """What follows a number where it is a unit, a datum or both, and nothing but those."""
    is_all = all(
        any(section in _OF_A_LENGTH for section, _ in found.meanings) for found in find(text)
    )
    cell = header_words(text)
    stated = (cell.units, cell.levels, cell.edges, cell.spreads)
    is_clear = any(stated) and all(len(found) < 2 for found in stated)
    return cell if is_all and is_clear and cell.unit is not ListUnit.MARK else None


def _feet_and_inches(text: str) -> Length | None:
    found = _FEET.fullmatch(text)
    if found is None:
        return None
    inches = exact(found["inches"]) if found["inches"] else Fraction(0)
    if inches is None or inches >= 12:
        return None
    return Length(text, int(found["feet"]) * 12 + inches, ListUnit.INCH, _NOTHING_MORE, True)


def _metres_and_centimetres(text: str) -> Length | None:
    """ "2m45" and "2 m 5 cm"; not "2m5", which could be either 2.05 or 2.5."""
    found = _METRES.fullmatch(text)
    if found is None or unit_word(found["metre"]) is not ListUnit.M:
        return None
    is_said = unit_word(found["centimetre"]) is ListUnit.CM and _is_in_words(found["centimetre"])
    if not is_said and (found["centimetre"] or len(found["figure"]) < 2):
        return None
    metres = int(found["metres"]) + Fraction(int(found["figure"]), 100)
    return Length(text, metres, ListUnit.M, _NOTHING_MORE)


def exact(figure: str) -> Fraction | None:
    """The number that "98", "98.375", "98,375", "98 3/8", "98-3/8" or "3/8" stands for."""
    found = _FIGURE.fullmatch(figure)
    if found is None or not figure:
        return None
    whole, decimals = found["whole"] or "0", found["decimals"] or ""
    number = Fraction(int(whole + decimals), 10 ** len(decimals))
    if not found["top"]:
        return number
    part = Fraction(int(found["top"]), int(found["bottom"]))
    return None if decimals or part >= 1 else number + part
