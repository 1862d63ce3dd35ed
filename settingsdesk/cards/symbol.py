"""The QR symbol of a card: the address of its page, as few and as large modules as possible.

Letters of both cases would cost a larger symbol, so that the address is written in capitals:
scheme and host name mean the same in either case, and the rest is capitals to begin with. The
line of lengths at its end is digits alone, which cost a third less than other signs.
"""

from dataclasses import dataclass
from typing import Literal

from qrcode.constants import ERROR_CORRECT_H, ERROR_CORRECT_Q
from qrcode.main import QRCode
from qrcode.util import QRData

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.sentences import Sentence

QUIET_MODULES = 4
"""Unprinted modules on every side (ISO/IEC 18004)."""

LARGEST_SIDE = 37
"""Modules along a side of the largest symbol that a card has room for."""

LONGEST_ADDRESS = 87
"""Characters that the largest symbol holds at level Q."""

_CHARACTERS = frozenset("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:")

# Code words of eight bits that fit (ISO/IEC 18004, table 9), in the order in which they are tried:
# the smallest version first, and in each the level that survives more damage before the other.
_CAPACITIES: tuple[tuple[int, Literal["Q", "H"], int], ...] = (
    (1, "H", 9),
    (1, "Q", 13),
    (2, "H", 16),
    (2, "Q", 22),
    (3, "H", 26),
    (3, "Q", 34),
    (4, "H", 36),
    (4, "Q", 48),
    (5, "H", 46),
    (5, "Q", 62),
)

_CORRECTION = {"Q": ERROR_CORRECT_Q, "H": ERROR_CORRECT_H}

# Any mask gives a valid symbol. Searching for the best of eight costs five times the rest, and in
# trials with worn and slanted prints this one was read as well as the best.
_MASK = 2


class AddressTooLong(SettingsDeskError):
    """The address of a card does not fit the largest symbol that a card has room for."""

    def __init__(self, url: str):
        self.url, self.length, self.limit = url, len(url), LONGEST_ADDRESS

    def __str__(self) -> str:
        return Sentence(
            "The address %(url)s has %(length)s characters; the QR symbol on a card has room for"
            " %(limit)s. Choose a --public-url that is shorter by %(too_many)s.",
            url=self.url,
            length=self.length,
            limit=self.limit,
            too_many=self.length - self.limit,
        )


class CharacterNotInSymbol(SettingsDeskError):
    """The address holds a character for which the small kind of symbol has no code."""

    def __init__(self, url: str, character: str):
        self.url, self.character = url, character

    def __str__(self) -> str:
        return Sentence(
            "The address %(url)s holds “%(character)s”, which the QR symbol on a card cannot"
            " carry. Choose a --public-url of a plain host name, with no path or one in capitals.",
            url=self.url,
            character=self.character,
        )


@dataclass(frozen=True, slots=True)
class Symbol:
    """A QR symbol; ``rows`` from the top, each module True where it is dark."""

    text: str
    version: int
    level: Literal["Q", "H"]
    rows: tuple[tuple[bool, ...], ...]

    @property
    def side_modules(self) -> int:
        return len(self.rows)


def qr_symbol(url: str, line: str = "") -> Symbol:
    """The smallest symbol for an address, at level Q or, where that is no larger, H.

    A line of lengths stands behind it, unless the address alone leaves no room for it. Raises
    ``AddressTooLong`` and ``CharacterNotInSymbol``.
    """
    text = in_capitals(url)
    for character in text:
        if character not in _CHARACTERS:
            raise CharacterNotInSymbol(url, character)
    for parts in ([f"{text}/", line], [text]) if line else ([text],):
        for version, level, code_words in _CAPACITIES:
            if sum(map(_bits, parts)) <= 8 * code_words:
                return Symbol("".join(parts), version, level, _modules(parts, version, level))
    raise AddressTooLong(url)


def _bits(part: str) -> int:
    """What a part takes in a symbol of version 1 to 9 (ISO/IEC 18004, 7.4.3 and 7.4.4)."""
    if part.isdecimal():
        return 4 + 10 + 10 * (len(part) // 3) + (0, 4, 7)[len(part) % 3]
    return 4 + 9 + 11 * (len(part) // 2) + 6 * (len(part) % 2)


def screen_symbol(text: str) -> Symbol:
    """The smallest symbol at level Q for any text of a few hundred letters, shown on a screen."""
    code = QRCode(error_correction=ERROR_CORRECT_Q, mask_pattern=_MASK, border=0)
    code.add_data(QRData(text), optimize=0)
    code.make(fit=True)
    rows = tuple(tuple(map(bool, row)) for row in code.modules)
    return Symbol(text, code.version, "Q", rows)


def in_capitals(url: str) -> str:
    """The address with scheme and host name in capitals and the rest as it is."""
    scheme, separator, rest = url.partition("://")
    if not separator:
        return url
    host, slash, path = rest.partition("/")
    return scheme.upper() + separator + host.upper() + slash + path


def _modules(
    parts: list[str], version: int, level: Literal["Q", "H"]
) -> tuple[tuple[bool, ...], ...]:
    code = QRCode(
        version=version, error_correction=_CORRECTION[level], mask_pattern=_MASK, border=0
    )
    for part in parts:
        code.add_data(QRData(part), optimize=0)
    code.make(fit=False)
    return tuple(tuple(map(bool, row)) for row in code.modules)
