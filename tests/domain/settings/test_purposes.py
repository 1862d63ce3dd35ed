"""What settings are for: the usual one, and those beside it."""

import pytest

from settingsdesk.domain.settings.purposes import (
    OTHERS,
    SETTINGS_FOR,
    USUAL,
    USUAL_INSTEAD,
    Purpose,
    purpose_of,
)


class TestPurposes:
    def test_cards_and_meets_go_by_the_one_for_competition(self) -> None:
        assert USUAL is Purpose.COMPETITION
        assert USUAL not in OTHERS

    def test_each_is_said_and_of_each_beside_the_usual_one_that_it_is_lacking(self) -> None:
        assert set(SETTINGS_FOR) == set(Purpose)
        assert set(USUAL_INSTEAD) == set(OTHERS)

    @pytest.mark.parametrize("purpose", Purpose)
    def test_a_word_says_which_is_meant(self, purpose: Purpose) -> None:
        assert purpose_of(str(purpose)) is purpose

    @pytest.mark.parametrize("word", ["", "Training", "warm-up", "competition "])
    def test_any_other_says_nothing(self, word: str) -> None:
        assert purpose_of(word) is None
