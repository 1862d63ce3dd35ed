"""What a hand-held reader, a phone's camera or a person typed of a card, taken apart.

A card's symbol carries its address, which ends in the code, and behind it the line of lengths.
Another club's card has another desk's address: its code opens nothing here, its line says the same
everywhere. A reader that is set to another keyboard types other signs for "://" and "/".
"""

import re
from dataclasses import dataclass

from settingsdesk.desk.cards.code_address import CodeKey
from settingsdesk.domain.base.codes import CARD_CODE_LENGTH, SYMBOLS, read_short_code
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.settings.lengths_line import is_a_line, read_line
from settingsdesk.domain.settings.settings import Setting

_SCANNED = re.compile(
    rf"(?P<address>.*?)(?P<code>[{SYMBOLS}]{{{CARD_CODE_LENGTH}}})"
    r"(?:[^0-9A-Z](?P<line>[0-9]{6,40}))?[^0-9A-Z]*",
    re.DOTALL,
)


@dataclass(frozen=True, slots=True)
class ReadOff:
    """A code, long or short, a line of lengths, or both; ``address`` is what stood before them."""

    code: str = ""
    line: str = ""
    address: str = ""

    @property
    def is_a_stations(self) -> bool:
        """Whether the address is a station's, whose code lets a phone in."""
        return self.address[-2:-1] == "S"

    @property
    def setting(self) -> Setting | None:
        """What the line says; None without one. Raises ``LineRefused``."""
        return read_line(self.line) if self.line else None

    def is_of(self, code_key: CodeKey) -> bool:
        """Whether the address is the one that this desk's own cards carry today."""
        return bool(self.address) and _plain(self.address).startswith(_plain(code_key.public_url))

    def is_of_another(self, code_key: CodeKey) -> bool:
        """Whether the desk at that address, or at none where there is a line, is another one.

        It is for a code that this desk does not know: where its address changed, so did that of
        its older cards.
        """
        return bool(self.address or self.line) and not self.is_of(code_key)


def read_off(typed: str) -> ReadOff:
    """The code and the line in what was typed.

    Raises what is wrong with a short code, or ``LineRefused`` where a line alone is mistyped.
    """
    text = typed.strip().upper()
    if found := _SCANNED.fullmatch(text):
        return ReadOff(found["code"], found["line"] or "", found["address"])
    if is_a_line(typed):
        read_line(typed)
        return ReadOff(line=typed)
    text = text.partition("?")[0].partition("#")[0].rstrip("/")
    if len(text) < CARD_CODE_LENGTH:
        return ReadOff(read_short_code(typed))
    return ReadOff(text[-CARD_CODE_LENGTH:], address=text[:-CARD_CODE_LENGTH])


class PrintedElsewhere(SettingsDeskError):
    """A code that no card of this desk has, and no line of lengths beside it."""

    sentence = (
        "No card of this desk has this code: compare it with the card. If another club printed it,"
        " type the long line of digits that is printed on it"
    )


def _plain(address: str) -> str:
    """What of an address every keyboard types alike."""
    return "".join(sign for sign in address.upper() if sign.isascii() and sign.isalnum())
