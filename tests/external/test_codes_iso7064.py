"""ISO/IEC 7064 MOD 37-2 against published numbers and another implementation."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum.iso7064 import mod_37_2

from settingsdesk.domain.base.codes import check_mod_37_2

# Source: numbering guides for units of blood (ISBT 128), which use MOD 37-2, as quoted in a
# public validation library's test file; each recomputed by hand-written arithmetic.
BLOOD_UNITS = [
    "A999914123456N",
    "C0003070014666",
    "A999922123459H",
    "A999922654321S",
    "A999922123458J",
    "A999922012346*",
    "A999522123456*",
    "G123498654321H",
    "ZZZZO",
    "ABCDEFGHIJKLMNOPQRSTUVWX*",
]

# Source: the same test file: numbers with one slip each, which must be refused.
BLOOD_UNITS_WITH_A_SLIP = [
    "A999915123456N",
    "F123498654321H",
    "A999922564321S",
    "A999920212346*",
    "A999933123458J",
    "G123468954321H",
]


class TestMod37And2:
    @pytest.mark.parametrize("number", BLOOD_UNITS)
    def test_published_numbers_end_in_our_check_character(self, number):
        """The arithmetic is the standard's, so any other program can check our codes."""
        assert check_mod_37_2(number[:-1]) == number[-1]

    @pytest.mark.parametrize("number", BLOOD_UNITS_WITH_A_SLIP)
    def test_published_slips_are_found(self, number):
        """A check character that accepted everything would pass the test above as well."""
        assert check_mod_37_2(number[:-1]) != number[-1]

    def test_the_worked_trace_of_a12(self):
        """Computed on paper: 20, 5, 14, so the check value is 24, which is O."""
        assert check_mod_37_2("A12") == "O"

    @given(st.text("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ", min_size=1, max_size=20))
    def test_a_general_library_of_standard_numbers_agrees(self, text):
        """Source: python-stdnum, module stdnum.iso7064.mod_37_2."""
        assert check_mod_37_2(text) == mod_37_2.calc_check_digit(text)
