"""The QR symbol: as small as the address allows, and readable."""

import pytest
import zxingcpp
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from settingsdesk.cards.symbol import (
    LARGEST_SIDE,
    LONGEST_ADDRESS,
    AddressTooLong,
    CharacterNotInSymbol,
    Symbol,
    qr_symbol,
    screen_symbol,
)


def read(symbol: Symbol) -> zxingcpp.Barcode:
    """The symbol, drawn with 3 pixels a module and its quiet zone, as a decoder sees it."""
    side = symbol.side_modules
    image = Image.new("L", (side + 8, side + 8), 255)
    for y, row in enumerate(symbol.rows):
        for x, dark in enumerate(row):
            if dark:
                image.putpixel((x + 4, y + 4), 0)
    codes = zxingcpp.read_barcodes(image.resize((3 * (side + 8), 3 * (side + 8)), Image.NEAREST))
    assert len(codes) == 1
    return codes[0]


def address(length: int) -> str:
    host = "HTTPS://H.EXAMPLE/K/"
    return host + "7" * (length - len(host))


class TestOnAScreen:
    def test_any_text_is_read_back(self) -> None:
        """What an app for one-time codes is given has small letters and signs of questions."""
        text = "otpauth://totp/settingsdesk:Zo%C3%AB?secret=ABCDEFGH234567&issuer=settingsdesk"

        assert read(screen_symbol(text)).text == text


class TestTheAddress:
    @given(st.text("23456789ABCDEFGHJKMNPQRSTUVWXYZ", min_size=26, max_size=26))
    def test_a_decoder_reads_back_what_was_put_in(self, code):
        """A volunteer's phone opens exactly this athlete's card."""
        symbol = qr_symbol(f"HTTPS://SETTINGS.HALL.EXAMPLE/K/{code}")
        assert read(symbol).text == f"HTTPS://SETTINGS.HALL.EXAMPLE/K/{code}"

    def test_scheme_and_host_are_written_in_capitals_and_the_path_is_left_alone(self):
        """Capitals make the modules larger; names of hosts mean the same in either case."""
        symbol = qr_symbol("https://settings.hall.example:8443/K/7KM4")
        assert symbol.text == "HTTPS://SETTINGS.HALL.EXAMPLE:8443/K/7KM4"

    def test_a_path_in_small_letters_is_refused_with_its_first_such_letter(self):
        """A path is another path in capitals, so that nobody may change it on the quiet."""
        with pytest.raises(CharacterNotInSymbol) as refused:
            qr_symbol("https://hall.example/bars/K/7KM4")
        assert refused.value.character == "b"
        assert "--public-url" in str(refused.value)

    def test_an_address_one_character_too_long_is_refused_with_both_numbers(self):
        """Whoever runs the server reads by how much the address must shrink."""
        qr_symbol(address(LONGEST_ADDRESS))
        with pytest.raises(AddressTooLong) as refused:
            qr_symbol(address(LONGEST_ADDRESS + 1))
        assert (refused.value.length, refused.value.limit) == (88, 87)
        assert "has 88 characters" in str(refused.value)
        assert "Choose a --public-url that is shorter by 1." in str(refused.value)


LINE = "171250006002500050"
"""Of the kind with the most digits."""


class TestTheLine:
    @pytest.mark.parametrize("length", [40, 54, 70, 73])
    def test_is_read_back_behind_the_address(self, length):
        """By another hall's desk, which knows no code of ours."""
        symbol = qr_symbol(address(length), LINE)
        assert symbol.text == f"{address(length)}/{LINE}"
        assert read(symbol).text == symbol.text
        assert symbol.side_modules <= LARGEST_SIDE

    def test_costs_no_larger_symbol_where_the_address_is_short(self):
        """Digits take ten bits for three of them, other signs eleven for two."""
        assert qr_symbol(address(52), LINE).version == qr_symbol(address(52)).version == 4

    def test_is_left_to_the_print_beside_an_address_that_leaves_it_no_room(self):
        """The symbol still opens the card, at modules as large as ever."""
        assert qr_symbol(address(LONGEST_ADDRESS), LINE) == qr_symbol(address(LONGEST_ADDRESS))


class TestTheSize:
    @pytest.mark.parametrize(
        ("length", "version", "level"),
        [(25, 2, "Q"), (35, 3, "H"), (36, 3, "Q"), (47, 3, "Q"), (48, 4, "H"), (51, 4, "Q")],
    )
    def test_the_smallest_version_and_then_the_higher_level_is_taken(self, length, version, level):
        """Large modules read from further away; damage that costs nothing is survived."""
        symbol = qr_symbol(address(length))
        assert (symbol.version, symbol.level) == (version, level)
        assert symbol.side_modules == 17 + 4 * version

    @given(st.integers(21, LONGEST_ADDRESS))
    def test_every_length_fits_the_room_that_cards_have(self, length):
        """No card is laid out for a symbol larger than this."""
        symbol = qr_symbol(address(length))
        assert symbol.side_modules <= LARGEST_SIDE
        assert len(symbol.rows) == len(symbol.rows[0])
