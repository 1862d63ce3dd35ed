"""The codes on a card: one too long to guess for the QR symbol, one short enough to type.

Both are derived from the installation's secret and the card's id, so that a reprint carries the
same code while the database need keep no more than its hash. They are spelt with 31 symbols of
which no two look alike, and the short one ends in an ISO/IEC 7064 check character.
"""

import hashlib
import hmac
import unicodedata
from itertools import count

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.sentences import Sentence

SYMBOLS = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"
"""Digits and capitals without 0 and O, 1, I and L."""

CARD_CODE_LENGTH = 26
"""31 to the power of 26 is more than 2 to the power of 128."""

SHORT_CODE_LENGTH = 9
"""Eight symbols and the check character."""

_GROUP = 4
_CHECK_SET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*"


class ShortCodeLength(SettingsDeskError):
    """A short code was typed with too few or too many characters."""

    def __init__(self, typed: str, length: int):
        self.typed, self.length = typed, length

    def __str__(self) -> str:
        return Sentence(
            "A short code has %(so_many)s characters, such as %(example)s; %(length)s were typed.",
            so_many=SHORT_CODE_LENGTH,
            example=grouped("7KM4Q2XPR"),
            length=self.length,
        )


class CharacterInNoCode(SettingsDeskError):
    """A character was typed that no code has; ``position`` counts from 1, without gaps."""

    def __init__(self, typed: str, character: str, position: int):
        self.typed, self.character, self.position = typed, character, position

    def __str__(self) -> str:
        return Sentence(
            "Character %(position)s is “%(character)s”, which no code has. Codes are spelt with 2"
            " to 9 and A to Z, without I, L and O; compare it with what is printed.",
            position=self.position,
            character=self.character,
        )


class CheckCharacterDoesNotFit(SettingsDeskError):
    """All characters may stand in a code, but not these in this order."""

    def __init__(self, code: str):
        self.code = code

    def __str__(self) -> str:
        return Sentence(
            "One character is mistyped, or two have changed places, in %(code)s. Compare it with"
            " what is printed, character by character.",
            code=grouped(self.code),
        )


def check_mod_37_2(text: str) -> str:
    """The check character of ISO/IEC 7064 MOD 37-2 (pure system); it may be ``*``.

    It finds every single mistyped character and every swap of neighbours.
    """
    product = 0
    for value in _values(text):
        product = (product + value) * 2 % 37
    return _CHECK_SET[(1 - product) % 37]


def card_code(secret: bytes, card_id: str) -> str:
    """The 26 symbols that the QR symbol of a card carries: 128 bits that nobody can guess."""
    return _spelt(_digest(secret, f"card code/{card_id}"), CARD_CODE_LENGTH)


def short_code(secret: bytes, card_id: str) -> str:
    """Eight symbols and their MOD 37-2 check character, for typing; show it ``grouped``.

    A candidate whose check character could be misread (0, O, 1, I, L, ``*``) is passed over for
    the next one, so that every character of a code is among ``SYMBOLS``.
    """
    for attempt in count():
        digest = _digest(secret, f"short code/{attempt}/{card_id}")
        body = _spelt(digest, SHORT_CODE_LENGTH - 1)
        check = check_mod_37_2(body)
        if check in SYMBOLS:
            break
    return body + check


def read_short_code(typed: str) -> str:
    """The short code that somebody typed, without gaps and in capitals.

    Spaces, hyphens, small letters and full-width characters are understood. Raises
    ``CharacterInNoCode``, ``ShortCodeLength`` or ``CheckCharacterDoesNotFit``.
    """
    code = "".join(plain_signs(typed)).upper()
    for position, character in enumerate(code, start=1):
        if character not in SYMBOLS:
            raise CharacterInNoCode(typed, character, position)
    if len(code) != SHORT_CODE_LENGTH:
        raise ShortCodeLength(typed, len(code))
    if check_mod_37_2(code[:-1]) != code[-1]:
        raise CheckCharacterDoesNotFit(code)
    return code


def plain_signs(typed: str) -> list[str]:
    """What was typed sign by sign, in plain form, less spaces, hyphens and what cannot be seen."""
    gaps = {"Zs", "Zl", "Zp", "Pd", "Cc", "Cf"}
    plain = unicodedata.normalize("NFKC", typed)
    return [character for character in plain if unicodedata.category(character) not in gaps]


def grouped(code: str) -> str:
    """A code in groups of four, as it is printed: ``7KM4 Q2XP R``."""
    return " ".join(code[start : start + _GROUP] for start in range(0, len(code), _GROUP))


def code_hash(code: str) -> str:
    """The SHA-256 of a code in hexadecimal: all that is kept of it."""
    return hashlib.sha256(code.encode()).hexdigest()


def _values(text: str) -> list[int]:
    """Each character's value in ISO/IEC 7064: 0-9 as they are, A is 10, Z is 35."""
    return [_CHECK_SET.index(character, 0, 36) for character in text]


def _digest(secret: bytes, purpose: str) -> int:
    return int.from_bytes(hmac.digest(secret, purpose.encode(), "sha256"))


def _spelt(number: int, length: int) -> str:
    """The lowest digits of a number to the base 31."""
    symbols = []
    for _ in range(length):
        number, digit = divmod(number, len(SYMBOLS))
        symbols.append(SYMBOLS[digit])
    return "".join(symbols)
