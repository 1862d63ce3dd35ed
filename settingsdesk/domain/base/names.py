"""Names as they are compared: typed on any keyboard, in any list, for one and the same person.

The letters that stand for each other are common practice, no source: ae for ä as machine-readable
passports and old lists have it, the Ukrainian letters beside the Russian ones.
"""

import re
import unicodedata
from collections.abc import Iterable
from functools import lru_cache

_APOSTROPHES = re.compile("['’‘ʼʻ`´′＇]")
_HYPHENS = re.compile("[-‐‑‒–—−﹣－]")
_TWO_LETTERS = re.compile("ae|oe|ue")

# Letters that Unicode does not take apart into a letter and an accent.
_PLAIN_LETTERS = str.maketrans(
    {"æ": "ae", "ð": "d", "đ": "d", "ħ": "h", "ı": "i", "ł": "l", "ø": "o", "œ": "oe", "þ": "th"}
)
_OTHER_ALPHABETS = str.maketrans({"є": "е", "ё": "е", "і": "и", "ї": "и", "ґ": "г"})


def on_one_line(text: str) -> str:
    """The text as it is written: letters composed (NFC), single blanks."""
    return unicodedata.normalize("NFC", " ".join(text.split()))


@lru_cache(maxsize=8192)
def folded(text: str) -> str:
    """The text as compared: lower case, without accents, blanks made single."""
    return " ".join(_without_accents(text.casefold()).split())


def with_one_sign(text: str) -> str:
    """A name in lower case, with one sign for every apostrophe and every hyphen."""
    if text.isascii():
        return text.lower().replace("`", "'")
    plain = unicodedata.normalize("NFKC", text).casefold()
    return _HYPHENS.sub("-", _APOSTROPHES.sub("'", plain))


@lru_cache(maxsize=8192)
def bare(text: str) -> str:
    """A name as it may be typed elsewhere: a for ä and ae, no accents, apostrophes, hyphens."""
    joined = _HYPHENS.sub(" ", _APOSTROPHES.sub("", with_one_sign(text))).replace(",", " ")
    letters = _without_accents(joined.translate(_OTHER_ALPHABETS))
    return _TWO_LETTERS.sub(lambda found: found[0][0], letters)


def findable(names: Iterable[str]) -> str:
    """Somebody's names in one text to be found by: folded, then bare where that differs."""
    each = list(names)
    as_typed, elsewhere = (
        " ".join(" ".join(map(form, each)).split())  # a name that did not change is known by then
        for form in (folded, bare)
    )
    return as_typed if elsewhere == as_typed else f"{as_typed} {elsewhere}"


def usual_name(family_name: str, given_name: str) -> str:
    """The name that is printed unless the club chose another: given name and initial."""
    if not given_name:
        return family_name
    return f"{given_name} {family_name[0]}." if family_name else given_name


def heard(name: str) -> str:
    """A name as it is called out: nobody hears capitals, accents and full stops."""
    return folded(name.replace(".", ""))


def _without_accents(text: str) -> str:
    if text.isascii():
        return text
    apart = unicodedata.normalize("NFKD", text)
    plain = "".join(letter for letter in apart if not unicodedata.combining(letter))
    return plain.translate(_PLAIN_LETTERS)
