"""ISO/IEC 7064 check characters against published numbers (FACTS C09 to C12)."""

import pytest

from settingsdesk.domain.codes import check_mod_37_2, check_mod_37_36

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

# Source: identifiers of sound recordings (GRid, A1-2425G-ABC1234002-M, the example of its
# standard) and of audiovisual works (ISAN, 0000-0000-C36D-002B-K-0000-0000-E, the example of its
# user guide), which use MOD 37,36; quoted in the same kind of test file, recomputed.
RECORDINGS_AND_FILMS = [
    "A12425GABC1234002M",
    "00000000C36D002BK",
    "00000000C36D002B00000000E",
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


class TestMod37And36:
    @pytest.mark.parametrize("number", RECORDINGS_AND_FILMS)
    def test_published_numbers_end_in_our_check_character(self, number):
        """The hybrid system never needs the extra character *."""
        assert check_mod_37_36(number[:-1]) == number[-1]

    def test_the_worked_trace_of_a12(self):
        """Computed on paper: 46-36=10, 20; 21, 42-37=5; 7, 14; so 23, which is N."""
        assert check_mod_37_36("A12") == "N"
