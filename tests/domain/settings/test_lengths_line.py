"""The line of lengths on a card: any desk reads what another one printed, or says what is wrong."""

from collections.abc import Iterator

import pytest
from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.domain.base.codes import card_code, read_short_code, short_code
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.domain.settings.lengths_line import (
    SIGNS,
    DigitCannotBeRight,
    LineDoesNotFit,
    LineRefused,
    NewerLine,
    check_mod_97_10,
    in_groups,
    is_a_line,
    line_of,
    read_line,
)
from settingsdesk.domain.settings.settings import Setting, Wanted

PRINTED = {
    "uneven_bars": ((1700, 2500, 1650), "11-1700-2500-1650-32"),
    "parallel_bars": ((1950, 420), "12-1950-0420-17"),
    "horizontal_bar": ((2800,), "13-2800-77"),
    "rings": ((2755,), "14-2755-88"),
    "pommel_horse": ((1150, 425), "15-1150-0425-18"),
    "balance_beam": ((1250,), "16-1250-87"),
    "vault_table": ((1250, 600, 25_000), "17-1250-00600-25000-50"),
}
"""One line of each kind: whatever this desk prints must be read for as long as cards are kept."""


def setting(kind_key: str, *lengths_mm: int, accepts_mm: int = 0) -> Setting:
    kind = KINDS[kind_key]
    axes = zip(kind.axes, lengths_mm, strict=True)
    return Setting(kind, {axis.key: Wanted(mm, accepts_mm) for axis, mm in axes})


@st.composite
def believed(draw: st.DrawFn) -> Setting:
    """Any setting that is believed, of any kind."""
    kind = draw(st.sampled_from(list(KINDS.values())))
    lengths_mm = [draw(st.integers(*axis.believed)) for axis in kind.axes]
    if kind.key == "uneven_bars":
        low, high = sorted(lengths_mm[:2])
        lengths_mm[:2] = [low - 1 if low == high and low > 1000 else low, max(high, low + 1)]
    return setting(kind.key, *lengths_mm)


def one_slip(line: str) -> Iterator[str]:
    """The line with one digit mistyped, or two neighbours swapped, in every way."""
    for place, digit in enumerate(line):
        yield from (
            line[:place] + other + line[place + 1 :] for other in "0123456789".replace(digit, "")
        )
        if place and line[place - 1] != digit:
            yield line[: place - 1] + digit + line[place - 1] + line[place + 1 :]


class TestWhatIsPrinted:
    @pytest.mark.parametrize("kind_key", KINDS)
    def test_each_kind_has_a_line_that_stays_as_it_is(self, kind_key: str) -> None:
        """A visiting club's cards were printed weeks ago, and by another version of the program."""
        lengths_mm, printed = PRINTED[kind_key]
        line = line_of(setting(kind_key, *lengths_mm))

        assert in_groups(line) == printed
        assert read_line(printed) == setting(kind_key, *lengths_mm)

    def test_no_two_kinds_share_a_sign(self) -> None:
        assert SIGNS.keys() == KINDS.keys()
        assert sorted(SIGNS.values()) == list("1234567")

    @given(believed())
    def test_every_millimetre_comes_back_as_it_was(self, wanted: Setting) -> None:
        """Nothing is rounded on the way."""
        assert read_line(line_of(wanted)) == wanted

    def test_it_says_nothing_of_what_the_athlete_accepts(self) -> None:
        assert line_of(setting("rings", 2755, accepts_mm=10)) == line_of(setting("rings", 2755))

    def test_a_length_that_has_no_room_makes_no_line(self) -> None:
        """Half a length would be another one."""
        assert line_of(setting("rings", 10_000)) == ""

    def test_a_length_that_only_this_coach_believes_is_read_all_the_same(self) -> None:
        """What was asked about and kept as typed is printed as typed."""
        small = setting("balance_beam", 400)
        assert read_line(line_of(small)) == small


class TestASlip:
    @pytest.mark.parametrize("kind_key", KINDS)
    def test_no_mistyped_digit_and_no_swap_goes_unnoticed(self, kind_key: str) -> None:
        line = PRINTED[kind_key][1].replace("-", "")
        slips = list(one_slip(line))
        assert len(slips) > 9 * len(line)
        for typed in slips:
            with pytest.raises(LineRefused):
                read_line(typed)

    @given(believed(), st.data())
    def test_the_place_is_named_wherever_places_are(
        self, wanted: Setting, data: st.DataObject
    ) -> None:
        """Whoever looks where the desk says finds the slip, whichever it was."""
        line = line_of(wanted)
        place = data.draw(st.integers(2, len(line) - 1))
        other = data.draw(
            st.sampled_from([digit for digit in "0123456789" if digit != line[place]])
        )
        with pytest.raises((LineDoesNotFit, DigitCannotBeRight)) as refused:
            read_line(line[:place] + other + line[place + 1 :])

        match refused.value:
            case LineDoesNotFit(suspects=places):
                assert not places or place + 1 in places
            case DigitCannotBeRight(first=first, position=last):
                assert first <= place + 1 <= last

    @pytest.mark.parametrize(
        ("typed", "told"),
        [
            ("11 17O0 2500 1650 32", "Sign 5 is “O”, and that cannot be right"),
            ("11 9700 2500 1650 32", "Digit 3 cannot be right: the low rail height lies between"),
            (
                "11 1700 3500 1650 32",
                "Digits 7 to 8 cannot be right: the high rail height lies",
            ),
            ("71 1700 2500 1650 32", "Digit 1 cannot be right: every line begins with 1"),
            ("10 1700 2500 1650 32", "Digit 2 cannot be right: it tells the apparatus"),
            ("11 1700 2500 165 32", "A line for uneven bars has 16 digits; 15 were typed"),
            ("11 1700 2500 1650 33", "11-1700-2500-1650-33 cannot be right: its last two digits"),
            ("13 2800 78", "look first at digit"),
            ("1", "Digit 2 cannot be right"),
        ],
    )
    def test_it_says_what_is_wrong_and_where(self, typed: str, told: str) -> None:
        with pytest.raises(LineRefused) as refused:
            read_line(typed)
        assert told in str(refused.value)

    def test_the_low_rail_is_never_read_above_the_high_one(self) -> None:
        body = "11250017001650"
        with pytest.raises(LineDoesNotFit):
            read_line(body + check_mod_97_10(body))


class TestHowItArrives:
    @pytest.mark.parametrize(
        "typed",
        [
            "1117002500165032",
            "11 1700 2500 1650 32",
            " 11 1700\t2500 1650 32\r\n",
            "１１１７００２５００１６５０３２",
            "١١ ١٧٠٠ ٢٥٠٠ ١٦٥٠ ٣٢",
        ],
        ids=["one word", "gaps", "a reader's Enter", "full width", "Arabic digits"],
    )
    def test_it_is_understood_however_it_is_spelt(self, typed: str) -> None:
        assert read_line(typed) == setting("uneven_bars", 1700, 2500, 1650)

    @given(believed(), st.text("0123456789 ", min_size=0, max_size=1))
    def test_it_is_told_from_codes(self, wanted: Setting, more: str) -> None:
        """One field takes both; a line with a digit too many is still one."""
        assert is_a_line(in_groups(line_of(wanted)))
        assert is_a_line(line_of(wanted) + more)

    @given(st.integers(0))
    def test_codes_are_told_from_it(self, number: int) -> None:
        typed = short_code(b"k", str(number))
        assert not is_a_line(typed)
        assert read_short_code(typed) == typed
        assert not is_a_line(card_code(b"k", str(number)))


class TestAFormThatIsNotKnownYet:
    @pytest.mark.parametrize("body", ["2117002500165000123", "18123456"])
    def test_it_is_no_slip(self, body: str) -> None:
        """A newer program's card is right: nobody types it again and again."""
        with pytest.raises(NewerLine, match="newer form"):
            read_line(body + check_mod_97_10(body))
