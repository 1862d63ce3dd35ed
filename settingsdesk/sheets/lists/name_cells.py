"""What stands in the cell of a name: the name, and what is beside it and no part of it.

"1. Ida Marsh", "Ida Marsh (2012)" and "Ida Marsh*" are Ida Marsh. What may be a second athlete, a
club or an address is left as it is, and a person is asked.
"""

import re
import unicodedata
from dataclasses import dataclass

from settingsdesk.domain.base.names import on_one_line

CLEANED = "Signs that nobody sees stood in this name and were left out: it is read as {name}"
A_NUMBER_BESIDE = "A number beside this name is no part of it: it is read as {name}"
_FOOTNOTE_SIGNS = re.compile(r"\s*[*†‡※¹²³]+$")
_NUMBERING = re.compile(r"^#?\d{1,4}(?:\s*[.):](?!\d)\s*|\s+[-–]\s+)(?=[^\W\d_])")
_YEAR = re.compile(
    r"\s*(?:[(\[]\s*(?:[^\W\d_]{1,9}\.?\s*)?((?:19|20)?\d\d)\s*[)\]]"
    r"|,\s*(?:[^\W\d_]{1,2}\.\s*)?((?:19|20)?\d\d)|\s((?:19|20)\d\d))$"
)
_NO_NAME = re.compile(r"[@&+=]|\s[-–—/]\s|[^\W\d_]/|,[^,]*,")
_JOINING = frozenset("\u200c\u200d")
_UNSEEN = frozenset(("Cc", "Cf", "Cs", "Co", "Cn"))


@dataclass(frozen=True, slots=True)
class NameRead:
    """The name alone; ``year`` is the one beside it, ``said`` what was left out, or nothing.

    ``is_unsure`` where more than one name stands there, or something that is none.
    """

    name: str
    year: str = ""
    said: str = ""
    is_unsure: bool = False


def read_name(text: str) -> NameRead:
    """What the cell of a name says."""
    name = clean(text)
    said = CLEANED if name != on_one_line(text) else ""
    name = _FOOTNOTE_SIGNS.sub("", name)
    alone = _NUMBERING.sub("", name)
    year, found = "", _YEAR.search(alone)
    if found and _is_beside_a_name(alone[: found.start()], found[0]):
        alone, year = alone[: found.start()], next(filter(None, found.groups()))
    if alone != name:
        said = A_NUMBER_BESIDE
    return NameRead(alone, year, said, bool(_NO_NAME.search(alone)))


def _is_beside_a_name(name: str, year: str) -> bool:
    """Whether a name is left: "Athlete 2012" is called so, unlike "Ida (2012)"."""
    is_sure = year.endswith((")", "]")) and sum(sign.isdecimal() for sign in year) > 2
    return len(name.split()) > (0 if is_sure else 1)


def clean(text: str) -> str:
    """A name on one line without signs that nobody sees; those that join letters stay."""
    if text.isascii() and text.isprintable():  # most are, and hold none of either
        return " ".join(text.split())
    signs = [
        sign
        for sign in text
        if sign in _JOINING or sign.isspace() or unicodedata.category(sign) not in _UNSEEN
    ]
    return on_one_line("".join(signs)).strip("".join(_JOINING))
