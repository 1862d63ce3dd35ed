"""How much a QR symbol holds, against the published capacities.

Source: alphanumeric capacities of ISO/IEC 18004, versions 1 to 5, as given in public tables and
recomputed from the norm's numbers of code words (FACTS C05). Wrong tables are in circulation; each
cell below is checked here by encoding a text that just fits and one that no longer does.
"""

import pytest
from qrcode.constants import ERROR_CORRECT_H, ERROR_CORRECT_Q
from qrcode.exceptions import DataOverflowError
from qrcode.main import QRCode
from qrcode.util import QRData

from settingsdesk.cards.symbol import CharacterNotInSymbol, qr_symbol

SIDES = {1: 21, 2: 25, 3: 29, 4: 33, 5: 37}
CAPACITIES = [
    (1, "Q", 16),
    (1, "H", 10),
    (2, "Q", 29),
    (2, "H", 20),
    (3, "Q", 47),
    (3, "H", 35),
    (4, "Q", 67),
    (4, "H", 50),
    (5, "Q", 87),
    (5, "H", 64),
]
LEVELS = {"Q": ERROR_CORRECT_Q, "H": ERROR_CORRECT_H}


def encode(text: str, version: int, level: str) -> None:
    code = QRCode(version=version, error_correction=LEVELS[level], mask_pattern=2)
    code.add_data(QRData(text), optimize=0)
    code.make(fit=False)


class TestCapacities:
    @pytest.mark.parametrize(("version", "level", "characters"), CAPACITIES)
    def test_the_encoder_agrees_with_the_published_table(self, version, level, characters):
        """Our choice of version rests on the table, and the encoder must bear it out."""
        encode("A" * characters, version, level)
        with pytest.raises(DataOverflowError):
            encode("A" * (characters + 1), version, level)

    @pytest.mark.parametrize(("version", "level", "characters"), CAPACITIES)
    def test_no_larger_symbol_and_no_lower_level_is_taken_than_the_table_calls_for(
        self, version, level, characters
    ):
        """A text that just fills a cell gets that version, and the best level it allows."""
        symbol = qr_symbol("A" * characters)
        fitting = [cell for cell in CAPACITIES if cell[2] >= characters]
        smallest = min(cell[0] for cell in fitting)
        assert symbol.version == smallest <= version
        assert symbol.side_modules == SIDES[smallest]
        best = "H" if (smallest, "H") in {cell[:2] for cell in fitting} else "Q"
        assert symbol.level == best


class TestTheCharacterSet:
    def test_it_is_that_of_alphanumeric_mode(self):
        """Source: ISO/IEC 18004, the 45 characters, as given in public tables; from memory."""
        allowed = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"
        assert len(allowed) == 45
        assert qr_symbol(allowed).text == allowed
        for character in "abz_?#=&~ä":
            with pytest.raises(CharacterNotInSymbol):
                qr_symbol(character)
