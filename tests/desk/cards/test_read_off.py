"""What comes from a reader, a camera or a keyboard, taken apart into code and line."""

import pytest

from settingsdesk.desk.cards.code_address import CodeKey
from settingsdesk.desk.cards.read_off import ReadOff, read_off
from settingsdesk.domain.base.codes import (
    CharacterInNoCode,
    CheckCharacterDoesNotFit,
    ShortCodeLength,
    grouped,
    short_code,
)
from settingsdesk.domain.settings.lengths_line import LineRefused

CODE = "7KM4Q2XPRTUVWXYZ23456789AB"
LINE = "1117002500165032"
HERE = CodeKey(b"k" * 32, "http://desk.example:8000")


class TestAnAddress:
    @pytest.mark.parametrize(
        "typed",
        [
            f"HTTPS://OTHER.EXAMPLE/C/{CODE}/{LINE}",
            f" https://other.example/c/{CODE.lower()}/{LINE}\r\n",
            f"HTTPS.__OTHER.EXAMPLE_C_{CODE}_{LINE}",
            f"HTTPSÖ--OTHER.EXAMPLE-C-{CODE}-{LINE}",
            f"HTTPS://OTHER.EXAMPLE/C/{CODE}?{LINE}",
            f"HTTPS://OTHER.EXAMPLE/C/{CODE}#{LINE}",
            f"HTTPS://OTHER.EXAMPLE/C/{CODE}/{LINE}/",
        ],
        ids=["scanned", "small", "keyboard", "other keyboard", "query", "fragment", "slash"],
    )
    def test_ends_in_the_code_and_the_line_whatever_the_keyboard_makes_of_it(
        self, typed: str
    ) -> None:
        shown = read_off(typed)

        assert (shown.code, shown.line) == (CODE, LINE)
        assert shown.is_of_another(HERE)

    def test_of_a_card_without_a_line_is_read_as_ever(self) -> None:
        """Cards that were printed before stay valid."""
        for typed in (
            f"HTTP://DESK.EXAMPLE:8000/C/{CODE}",
            f"HTTP://DESK.EXAMPLE:8000/C/{CODE}?a=1",
        ):
            assert read_off(typed).code == CODE
        assert read_off(CODE) == ReadOff(CODE)

    def test_says_whether_it_is_this_desks(self) -> None:
        ours = read_off(f"HTTP.__DESK.EXAMPLE.8000_C_{CODE}_{LINE}")
        assert ours.is_of(HERE)
        assert not ours.is_of_another(HERE)
        bare = read_off(CODE)
        assert not bare.is_of(HERE)
        assert not bare.is_of_another(HERE)

    def test_of_a_station_is_no_cards(self) -> None:
        assert read_off(f"HTTP://DESK.EXAMPLE:8000/S/{CODE}").is_a_stations
        assert not read_off(f"HTTP://DESK.EXAMPLE:8000/C/{CODE}").is_a_stations


class TestWhatIsTyped:
    def test_a_short_code(self) -> None:
        code = short_code(b"k", "a card")
        for typed in (grouped(code), grouped(code).lower().replace(" ", "-")):
            assert read_off(typed) == ReadOff(code)

    def test_a_line_alone(self) -> None:
        shown = read_off("11-1700-2500-1650-32")
        assert shown.code == ""
        assert shown.setting is not None
        assert shown.setting.axes["spread"].wanted_mm == 1650

    @pytest.mark.parametrize(
        ("typed", "refusal"),
        [
            ("7KM4 Q2XP", ShortCodeLength),
            ("7KM4 Q2XP S", CheckCharacterDoesNotFit),
            ("7KM4 Q2XO R", CharacterInNoCode),
            ("11-1700-2500-1650-33", LineRefused),
            ("", ShortCodeLength),
        ],
    )
    def test_a_slip_is_named_as_one_of_what_was_meant(
        self, typed: str, refusal: type[Exception]
    ) -> None:
        with pytest.raises(refusal):
            read_off(typed)
