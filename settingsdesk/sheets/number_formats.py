"""What a number format writes beside a number: ``0.00" m"`` shows 1.65 as "1.65 m".

A spreadsheet program saves that unit in its CSV, so both files have to say the same. The number
itself stays as it is stored: what a format rounds, scales or hides is not the list's value.
"""

import re
from typing import NamedTuple

_SECTION = re.compile(r"(?:\"[^\"]*\"|\\.|[^;\"\\])*")
_PART = re.compile(
    r"\"(?P<quoted>[^\"]*)\"|\\(?P<escaped>.)|[_*].|\[(?P<bracket>[^\]]*)\]"
    r"|(?P<percent>%)|(?P<number>[0#?.,/ ]*[0#?][0#?.,/ ]*|General|Standard|@)|(?P<plain>.)",
    re.DOTALL,
)
_CURRENCY = re.compile(r"\$(?P<sign>[^-]*)")
_WRITTEN_AS_IT_IS = frozenset(" -+/():!^&'~{}<>=$€£¥")


class Worded(NamedTuple):
    """What stands before and after a number; ``percent`` where it is shown a hundredfold."""

    before: str = ""
    after: str = ""
    percent: bool = False


PLAIN = Worded()


def worded(number_format: str) -> Worded:
    """What the format of positive numbers writes beside one."""
    found = _SECTION.match(number_format)
    section = found[0] if found else ""
    before, after, percent, seen = "", "", False, False
    for part in _PART.finditer(section):
        text = _literal(part)
        if part["percent"]:
            percent = True
        elif part["number"]:
            blanks = part["number"] if part["number"][-1:].isspace() else ""
            seen, text = True, " " if blanks else ""
        if seen:
            after += text
        else:
            before += text
    has_words = any(sign.isalnum() or sign in "\"'%″′" for sign in before + after)
    if not (has_words or percent):
        return PLAIN
    return Worded(before, after, percent)


def shown(number: str, by: Worded) -> str:
    """The number with what its format writes beside it."""
    if by.percent:
        number = format(float(number) * 100, ".15g") + " %"
    return f"{by.before}{number}{by.after}".strip()


def _literal(part: re.Match[str]) -> str:
    if part["quoted"] is not None:
        return part["quoted"]
    if part["escaped"] is not None:
        return part["escaped"]
    if part["bracket"] is not None:
        currency = _CURRENCY.match(part["bracket"])
        return currency["sign"] if currency else ""
    return part["plain"] if part["plain"] and part["plain"] in _WRITTEN_AS_IT_IS else ""
