"""ISO/IEC 7064 MOD 97-10, which ends the line of lengths, against published numbers."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum.iso7064 import mod_97_10

from settingsdesk.domain.settings.lengths_line import check_mod_97_10

# Source: the documentation of python-stdnum, module stdnum.iso7064.mod_97_10: digits and the two
# check digits that belong to them.
WITH_CHECKS = [
    ("99991234567890121414", "90"),
    ("4354111611551114", "31"),
    ("22181321402534321446701611", "35"),
]

# Source: ISO 13616 and ISO 11649 as quoted in public pages: the example account number of Great
# Britain, GB82 WEST 1234 5698 7654 32, and the example reference RF18 5390 0754 7034. Both are
# checked by MOD 97-10 with their letters as numbers from A = 10 and the first four signs last.
PUBLISHED = ["3214282912345698765432161182", "539007547034271518"]


class TestMod97And10:
    @pytest.mark.parametrize(("digits", "check"), WITH_CHECKS)
    def test_published_numbers_end_in_our_check_digits(self, digits: str, check: str) -> None:
        """The arithmetic is the standard's, so any other program can read our lines."""
        assert check_mod_97_10(digits) == check

    @pytest.mark.parametrize("number", PUBLISHED)
    def test_published_account_numbers_and_references_do_too(self, number: str) -> None:
        assert check_mod_97_10(number[:-2]) == number[-2:]

    def test_the_worked_trace_of_13_2800(self) -> None:
        """Computed on paper: 13280000 is 136907 × 97 and 21, and 98 less 21 is 77."""
        assert check_mod_97_10("132800") == "77"

    @given(st.text("0123456789", min_size=1, max_size=20))
    def test_a_general_library_of_standard_numbers_agrees(self, digits: str) -> None:
        assert mod_97_10.is_valid(digits + check_mod_97_10(digits))
