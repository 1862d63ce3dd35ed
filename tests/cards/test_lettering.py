"""Letters that a face lacks are refused, not lost."""

import unicodedata

import pytest

from settingsdesk.cards.lettering import (
    CharacterNotInFont,
    Face,
    advances,
    as_read,
    in_sight,
    lettered,
    width_mm,
)
from settingsdesk.words.language import ENGLISH

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
            ("नूर", "“न” (U+0928, DEVANAGARI LETTER NA)"),
            ("Mi\u200bra", "“ ” (U+200B, ZERO WIDTH SPACE)"),
            ("Mi\x00ra", "“ ” (U+0000, a character without a name)"),
        ],
    )
    @pytest.mark.usefixtures("no_letters_beside")
    def test_a_character_that_cannot_be_printed_is_named(self, text, told):
        """Half a name on a card would be worse than a sentence that says which letter."""
        with pytest.raises(CharacterNotInFont) as refused:
            lettered(text)
        assert told in str(refused.value)

    @pytest.mark.usefixtures("no_letters_beside")
    def test_what_can_be_installed_is_said_where_it_is_missing(self):
        """Whoever types the name reads what to ask for, and how to write it till then."""
        with pytest.raises(CharacterNotInFont) as refused:
            lettered("李 Mei")
        assert "pip install 'settingsdesk[letters]'" in str(refused.value)
        with pytest.raises(CharacterNotInFont) as refused:
            lettered("नूर")
        assert "pip install" not in str(refused.value)

    @pytest.mark.usefixtures("letters_for_japanese")
    @pytest.mark.parametrize("face", Face)
    def test_what_is_installed_is_printed(self, face):
        assert width_mm(lettered("李 Mei"), face, 10) > width_mm(lettered(" Mei"), face, 10)


class TestArabic:
    def test_its_letters_are_joined(self):
        """Four letters, each in the form that it has at its place in the word."""
        assert lettered("سلمى") == "\ufeb3\ufee0\ufee4\ufef0"

    def test_lam_and_alif_are_one(self):
        assert lettered("لا") == "\ufefb"

    def test_a_name_runs_from_right_to_left_among_others(self):
        name = ENGLISH.apart("سلمى")
        seen = in_sight(lettered(f"Runa, {name}, 5 / 4"), is_rtl=False)
        assert seen == "Runa, \ufef0\ufee4\ufee0\ufeb3, 5 / 4"

    def test_in_its_own_lines_marks_stay_as_they_are(self):
        """The first word is on the right, and within a length nothing is turned round."""
        seen = in_sight(lettered("بالشريط \u2068170.4\u2069 سم (5)"), is_rtl=True)
        assert seen.index("(5)") < seen.index("170.4")
        assert seen.endswith(lettered("ب")[0]) or seen[-1] == "\ufe91"

    def test_a_name_that_stands_alone_runs_as_it_does_everywhere(self):
        assert in_sight("Almira O.", is_rtl=True) == "Almira O."

    def test_it_is_heard_and_copied_in_plain_letters(self):
        assert as_read(lettered("سلمى لا \u20685\u2069")) == "سلمى لا 5"


class TestTheFaces:
    def test_both_have_the_same_letters(self):
        """What passes for the small print passes for the name in bold as well."""
        assert advances(Face.REGULAR).keys() == advances(Face.BOLD).keys()
