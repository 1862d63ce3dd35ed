"""The text of a cell in plain signs: digits of every script, blanks, quotes and dashes."""

import re
import unicodedata

_ZEROS = "٠۰߀०০੦૦୦௦౦೦൦๐໐༠၀០᠐"  # the nought of each script; its other nine digits follow it
_DIGITS = {ord(zero) + digit: str(digit) for zero in _ZEROS for digit in range(10)}
_SIGNS = str.maketrans(
    {
        "′": "'", "’": "'", "‘": "'", "´": "'", "`": "'", "″": '"', "”": '"', "“": '"', "„": '"',
        "〃": '"', "⁄": "/", "∕": "/", "−": "-", "‐": "-", "‑": "-", "–": "-", "—": "-", "―": "-",
        "٫": ".", "،": ",", "؟": "?", "\u200e": " ", "\u200f": " ",
        "\u061c": " ", "\u200c": " ", "\ufeff": " ", "\u200b": " ",
    }
)  # fmt: skip
_NOT_PLAIN = {"<super>", "<sub>", "<circle>"}
_GROUPED = re.compile(r"(?<![0-9.,])([1-9][0-9]{0,2})[\u00a0\u2009\u2007\u202f]([0-9]{3})(?![0-9])")


def plain(text: str) -> str:
    """One line of plain signs with single blanks, digits 0 to 9, letters composed.

    Raised and circled digits stay as they are: 25² is not 252. A fraction sign gets a blank before
    it, for 98⅜ is not 983/8. Digits of two scripts in one text stay as they are, for nobody
    writes so. A thousand that is set apart by a blank which does not break is one number.
    """
    if text.isascii():
        return " ".join(text.split())
    text = _GROUPED.sub(r"\1\2", text)
    scripts = {ord(sign) - int(_DIGITS[ord(sign)]) for sign in text if ord(sign) in _DIGITS}
    if len(scripts) > 1 or (scripts and re.search("[0-9]", text)):
        return " ".join(text.split())
    signs = "".join(map(_plain_sign, unicodedata.normalize("NFC", text)))
    return " ".join(unicodedata.normalize("NFC", signs).translate(_SIGNS).split())


def _plain_sign(sign: str) -> str:
    if ord(sign) in _DIGITS:
        return _DIGITS[ord(sign)]
    tag = unicodedata.decomposition(sign).partition(" ")[0]
    if tag in _NOT_PLAIN:
        return sign
    plain_sign = unicodedata.normalize("NFKC", sign.translate(_SIGNS))
    return f" {plain_sign}" if tag == "<fraction>" else plain_sign
