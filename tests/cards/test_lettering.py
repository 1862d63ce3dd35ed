"""Letters that a face lacks are refused, not lost."""

import unicodedata

import pytest

from settingsdesk.cards.lettering import CharacterNotInFont, Face, advances, lettered, width_mm

PRINTABLE = [
    "Siân Ó Briain-Müller",
    "Đặng Thị Mỹ Hường",
    "Ἑλένη Παπαδοπούλου",
    "Щербаківна Ґалина",
    "Łucja Żółć",
    "İpek Ağaoğlu",
    "± 1.0 cm × 2 ° ⌀ 40 → ↑ ↓ ← ⅛ ⅜ ½ − ≤",
    "„“”‚‘’–—…·•",
]


class TestLettered:
    @pytest.mark.parametrize("text", PRINTABLE)
    @pytest.mark.parametrize("face", Face)
    def test_names_of_many_languages_are_printed_whole(self, text, face):
        """An athlete finds her own name on her card, with every mark."""
        assert width_mm(lettered(text), face, 10) > 0

    def test_a_letter_and_its_accent_become_one(self):
        """Names typed on some machines come in pieces, and would print with gaps."""
        assert lettered(unicodedata.normalize("NFD", "Đặng")) == "Đặng"

    def test_an_accent_without_a_composed_letter_is_kept(self):
        """M with a macron has no letter of its own; the mark stands over the letter."""
        assert lettered("M\u0304ira") == "M\u0304ira"
        assert width_mm("M\u0304", Face.BOLD, 10) == width_mm("M", Face.BOLD, 10)

    def test_a_break_or_a_run_of_spaces_is_one_space(self):
        """What was pasted from a table does not end up half outside the card."""
        assert lettered(" Mira\n\tK. ") == "Mira K."

    @pytest.mark.parametrize(
        ("text", "told"),
        [
            ("李 Mei", "“李” (U+674E, CJK UNIFIED IDEOGRAPH-674E) in “李 Mei” cannot be printed"),
            ("Mira 🤸", "“🤸” (U+1F938, PERSON DOING CARTWHEEL) in “Mira 🤸”"),
            ("نور", "“ن” (U+0646, ARABIC LETTER NOON)"),
            ("Mi\u200bra", "“ ” (U+200B, ZERO WIDTH SPACE)"),
            ("Mi\x00ra", "“ ” (U+0000, a character without a name)"),
        ],
    )
    def test_a_character_that_cannot_be_printed_is_named(self, text, told):
        """Half a name on a card would be worse than a sentence that says which letter."""
        with pytest.raises(CharacterNotInFont) as refused:
            lettered(text)
        assert told in str(refused.value)


class TestTheFaces:
    def test_both_have_the_same_letters(self):
        """What passes for the small print passes for the name in bold as well."""
        assert advances(Face.REGULAR).keys() == advances(Face.BOLD).keys()
