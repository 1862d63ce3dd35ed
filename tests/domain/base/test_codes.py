"""Codes that can be printed, typed and checked, and not guessed."""

import re

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from settingsdesk.domain.base.codes import (
    SYMBOLS,
    CharacterInNoCode,
    CheckCharacterDoesNotFit,
    ShortCodeLength,
    card_code,
    check_mod_37_2,
    code_hash,
    grouped,
    read_short_code,
    short_code,
)
from settingsdesk.domain.base.errors import SettingsDeskError

SECRET = b"a secret for tests"

card_ids = st.text(min_size=1, max_size=40)
check_texts = st.text("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ", min_size=1, max_size=30)


@st.composite
def texts_with_one_other_character(draw):
    text = draw(check_texts)
    place = draw(st.integers(0, len(text) - 1))
    other = draw(st.sampled_from("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"))
    assume(other != text[place])
    return text, text[:place] + other + text[place + 1 :]


class TestTheSymbols:
    def test_no_two_look_alike(self):
        """A volunteer who reads a worn card must not have to guess between 0 and O."""
        assert not set("01OIL") & set(SYMBOLS)
        assert len(SYMBOLS) == len(set(SYMBOLS)) == 31


class TestCheckCharacters:
    @given(texts_with_one_other_character())
    def test_one_mistyped_character_is_always_found(self, pair):
        """Promised by ISO/IEC 7064."""
        right, wrong = pair
        assert check_mod_37_2(right) != check_mod_37_2(wrong)

    @given(check_texts, st.data())
    def test_two_neighbours_that_changed_places_are_always_found_by_37_2(self, text, data):
        """The commonest slip of somebody in a hurry."""
        place = data.draw(st.integers(0, max(0, len(text) - 2)))
        swapped = text[:place] + text[place : place + 2][::-1] + text[place + 2 :]
        assume(swapped != text)
        assert check_mod_37_2(swapped) != check_mod_37_2(text)


class TestCardCode:
    def test_it_carries_128_bits(self):
        """Nobody finds an athlete's card by trying addresses."""
        assert len(SYMBOLS) ** len(card_code(SECRET, "1")) > 2**128

    @given(card_ids)
    def test_a_reprint_carries_the_same_code(self, card_id):
        """The coach who prints a lost card again does not make the first one void."""
        assert card_code(SECRET, card_id) == card_code(SECRET, card_id)
        assert set(card_code(SECRET, card_id)) <= set(SYMBOLS)

    def test_another_card_or_another_secret_gives_another_code(self):
        """A code of one hall opens nothing in another hall."""
        codes = [
            card_code(SECRET, "1"),
            card_code(SECRET, "2"),
            card_code(b"another", "1"),
        ]
        assert len(set(codes)) == 3

    def test_the_first_characters_use_the_whole_alphabet(self):
        """A code whose symbols were not even would be easier to guess than it looks."""
        first = {card_code(SECRET, str(number))[0] for number in range(600)}
        last = {card_code(SECRET, str(number))[-1] for number in range(600)}
        assert first == last == set(SYMBOLS)


class TestShortCode:
    @given(card_ids)
    def test_every_character_is_one_that_cannot_be_misread(self, card_id):
        """The check character too: never *, 0, O, 1, I or L."""
        code = short_code(SECRET, card_id)
        assert len(code) == 9
        assert set(code) <= set(SYMBOLS)
        assert code[-1] == check_mod_37_2(code[:-1])

    @given(card_ids)
    def test_what_is_printed_can_be_typed_back(self, card_id):
        """With or without the gaps, in small letters, with hyphens."""
        code = short_code(SECRET, card_id)
        assert read_short_code(grouped(code)) == code
        assert read_short_code(code.lower()) == code
        assert read_short_code(grouped(code).replace(" ", "-")) == code

    def test_it_says_nothing_about_the_long_code(self):
        """Whoever hears a short code read out cannot work out the address."""
        assert not card_code(SECRET, "1").startswith(short_code(SECRET, "1")[:4])

    def test_it_is_printed_in_groups_of_four(self):
        """Four characters are what one remembers between looking and typing."""
        assert grouped("7KM4Q2XPR") == "7KM4 Q2XP R"


class TestReadingATypedCode:
    CODE = short_code(SECRET, "a card")

    def test_full_width_characters_of_an_east_asian_keyboard_are_understood(self):
        """A visiting coach's phone types them without being asked."""
        wide = "".join(chr(ord(character) - 0x21 + 0xFF01) for character in self.CODE)
        assert read_short_code(wide) == self.CODE

    def test_typographic_dashes_and_unseen_characters_of_a_message_are_ignored(self):
        """Codes get passed on in messages, which turn hyphens into dashes."""
        typed = f"\u200b{self.CODE[:4]}–{self.CODE[4:8]}—{self.CODE[8]}\n"
        assert read_short_code(typed) == self.CODE

    def test_a_missing_character_is_counted(self):
        """The volunteer sees at once that one was left out."""
        with pytest.raises(ShortCodeLength) as refused:
            read_short_code(self.CODE[:8])
        assert refused.value.length == 8
        assert str(refused.value) == (
            "A short code has 9 characters, such as 7KM4 Q2XP R; 8 were typed."
        )

    def test_nothing_typed_is_a_code_of_no_characters(self):
        """An empty field gets the same plain answer."""
        with pytest.raises(ShortCodeLength, match="0 were typed"):
            read_short_code("  ")

    def test_a_character_that_no_code_has_is_named_with_its_place(self):
        """An O cannot be read as 0, for neither is ever printed."""
        with pytest.raises(CharacterInNoCode) as refused:
            read_short_code("7KMO Q2XP R")
        assert (refused.value.character, refused.value.position) == ("O", 4)
        assert str(refused.value).startswith("Character 4 is “O”, which no code has.")

    @given(st.integers(0, 8), st.sampled_from(SYMBOLS))
    def test_one_mistyped_character_is_noticed(self, place, other):
        """Somebody else's settings must never be shown for a slip of the finger."""
        assume(other != self.CODE[place])
        typed = self.CODE[:place] + other + self.CODE[place + 1 :]
        with pytest.raises(CheckCharacterDoesNotFit, match=r"^One character is mistyped"):
            read_short_code(typed)

    @given(st.text(max_size=40))
    def test_whatever_is_typed_gets_a_code_or_a_sentence(self, typed):
        """No input reaches anybody as a stack trace."""
        try:
            answer = read_short_code(typed)
        except SettingsDeskError as refused:
            answer = str(refused)
        assert len(answer) == 9 or answer.endswith(".")


class TestTheHash:
    def test_it_is_64_hexadecimal_digits_and_not_the_code(self):
        """A stolen copy of the database opens no card."""
        assert re.fullmatch("[0-9a-f]{64}", code_hash("7KM4Q2XPR"))
        assert code_hash("7KM4Q2XPR") != code_hash("7KM4Q2XPS")
