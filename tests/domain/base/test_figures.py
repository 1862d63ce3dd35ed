"""Reading and writing a length as people in a hall type it."""

import copy
import pickle

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from settingsdesk.domain.base.figures import (
    LengthBelowZero,
    LengthHasAGap,
    LengthHasTwoSeparators,
    LengthInAnotherUnit,
    LengthInFeet,
    LengthMissing,
    LengthNotANumber,
    LengthNotRead,
    LengthTooFine,
    LengthTooLong,
    compared_length,
    compared_most,
    difference_in_words,
    fine_length,
    format_least,
    format_length,
    format_most,
    least_in_words,
    length_in_words,
    length_on_floor,
    lower_first,
    minutes,
    most_in_words,
    quoted,
    read_length_mm,
    upper_first,
)
from settingsdesk.domain.base.units import Unit, unit_label

CM, INCH = Unit.CENTIMETRE, Unit.INCH
FIELD = "high rail height"


def refusal(text: str, unit: Unit = CM, field: str = FIELD) -> LengthNotRead:
    with pytest.raises(LengthNotRead) as refused:
        read_length_mm(text, field, unit)
    return refused.value


def read_or_refusal(text: str, unit: Unit) -> int | LengthNotRead:
    try:
        return read_length_mm(text, FIELD, unit)
    except LengthNotRead as refused:
        return refused


class TestCentimetres:
    @pytest.mark.parametrize(
        ("text", "mm"),
        [
            ("250", 2500),
            ("250.0", 2500),
            ("250,0", 2500),
            ("247.5", 2475),
            ("250 cm", 2500),
            ("250cm", 2500),
            ("250 CM.", 2500),
            (" 162,5 cm", 1625),
            ("162.5\u00a0centimetres", 1625),
            ("２５０．５", 2505),
            ("１６２，５ ㎝", 1625),
            ("162.50", 1625),
            ("0", 0),
            ("007", 70),
        ],
    )
    def test_a_length_is_read_however_a_coach_types_it(self, text: str, mm: int):
        """Comma or point, unit or none: the keyboard of the hall decides, not the program."""
        assert read_length_mm(text, FIELD, CM) == mm

    def test_a_length_between_two_millimetres_is_refused_and_both_are_named(self):
        """A number is never changed silently, not even by half a millimetre."""
        refused = refusal("162.55")

        assert isinstance(refused, LengthTooFine)
        assert str(refused) == (
            "High rail height was read as '162.55': "
            "lengths are stored to the millimetre, type 162.5 or 162.6"
        )

    def test_noughts_after_the_millimetre_may_be_thousands_and_are_not_dropped(self):
        """Whoever types 1,000 may mean ten metres or one centimetre: ask."""
        assert isinstance(refusal("1,000"), LengthTooFine)


class TestInches:
    @pytest.mark.parametrize(
        ("text", "mm"),
        [
            ("98 3/8", 2499),  # 98.375 in = 2498.725 mm
            ('98 3/8"', 2499),
            ("98 3/8″", 2499),
            ("98⅜", 2499),
            ("98 3⁄8 in", 2499),
            ("98.375", 2499),
            ("98.5 in", 2502),  # 2501.9 mm
            ("98,5 inches", 2502),
            ("98", 2489),  # 2489.2 mm
            ("3/8", 10),  # 9.525 mm
            ("98 2/4", 2502),
            ("10 in", 254),
            ("2 1/2", 64),  # 63.5 mm: half a millimetre goes to the even one
            ("98-3/8", 2499),
            ("98-3/8 in.", 2499),
            ("98‐3/8", 2499),
        ],
    )
    def test_inches_are_read_to_the_eighth_and_kept_to_the_millimetre(self, text: str, mm: int):
        """A hall that thinks in inches is served in inches."""
        assert read_length_mm(text, FIELD, INCH) == mm

    @pytest.mark.parametrize(
        ("text", "inches"),
        [
            ("5' 4 1/2\"", "64 1/2"),
            ("5′ 4½″", "64 1/2"),
            ("5'4\"", "64"),
            ("5'4''", "64"),
            ("5' 4", "64"),
            ("5'-4 1/2\"", "64 1/2"),
            ("5' 4-1/2\"", "64 1/2"),
            ("5 ft 4 in", "64"),
            ("5ft. 4in.", "64"),
            ("5 feet 4.5 inches", "64 1/2"),
            ("1 foot 1/2 in", "12 1/2"),
            ("5'", "60"),
            ("5 FT", "60"),
            ("8 ft 0 in", "96"),
        ],
    )
    def test_feet_and_inches_are_read_where_they_can_mean_one_length_only(self, text, inches):
        """A tape in feet is what hangs in halls that think in inches."""
        assert read_length_mm(text, FIELD, INCH) == read_length_mm(inches, FIELD, INCH)

    @pytest.mark.parametrize(
        "text",
        [
            *("5 ft 14 in", "5' 12\"", "5.5 ft", "5,5'", "5.5 ft 2 in", "5 ft 4 ft", "5' 4'"),
            *("5' 4 1/2 3\"", "5 ft 4 cm", "5' 4\" 2", "5' x", "5 ft in", "5' 9/8\""),
        ],
    )
    def test_feet_that_may_mean_several_lengths_are_refused_and_the_way_is_named(self, text):
        """5' 12\" may be six feet, or 5' 1 1/2\" with a sign that was missed."""
        refused = refusal(text, INCH)

        assert isinstance(refused, LengthInFeet)
        assert str(refused).endswith(
            "feet are whole, with fewer than 12 inches behind them, like 8 ft 2 3/8 in; or type"
            " the whole length in inches"
        )

    @pytest.mark.parametrize("text", ["98.4", "98 7/16", "98 41/100", "8 ft 2 7/16 in", "8' 2.4\""])
    def test_an_inch_figure_between_two_eighths_is_refused_and_both_are_named(self, text: str):
        """Sixteenths look exact on the tape, but no screen here would show them again."""
        refused = refusal(text, INCH)

        assert isinstance(refused, LengthTooFine)
        assert str(refused).endswith("stored to the eighth of an inch, type 98 3/8 or 98 1/2")

    @pytest.mark.parametrize(
        "text", ["98 9/8", "98 3/0", "98 8/8", "1 62", "98 3", "98 - 3/8", "98--3/8", "98-3", "5-4"]
    )
    def test_a_fraction_that_is_none_is_refused(self, text: str):
        """A slip in a fraction must not become another length."""
        assert isinstance(refusal(text, INCH), LengthNotANumber)


METRES = ("1.65 m", "1,65 m", "1.65m", "1 m 65", "1m65", "1 m 65 cm", "1650 mm", "1.65 metres")


class TestRefusal:
    def test_an_empty_field_asks_for_the_length(self):
        """The words are those of the page's other fields."""
        assert str(refusal(" ")) == "Enter the high rail height"
        assert str(refusal("", field="High rail height")) == "Enter the high rail height"
        assert isinstance(refusal("\u3000"), LengthMissing)

    def test_a_field_named_by_letters_keeps_its_capitals(self):
        """HB is not hB."""
        assert str(refusal("", field="HB height")) == "Enter the HB height"

    @pytest.mark.parametrize(
        "text",
        [
            *("abc", "250.", ".5", "250,,5", "1e3", "inf", "-inf", "nan", "∞", "+250", "240-250"),
            *(
                "25²",
                "²5",
                "②50",
                "٢٥٠",
                "0x10",
                "1_000",
                "250 cm 5",
                "cm",
                "1\x00",
                "162½",
                "=250",
            ),
        ],
    )
    def test_anything_but_one_number_is_refused_in_full_view(self, text: str):
        """Raised or foreign digits, exponents and words: nothing is guessed."""
        refused = refusal(text)

        assert type(refused) is LengthNotANumber
        assert refused.read == text

    def test_the_message_says_what_was_read_and_what_is_read(self):
        """The coach corrects the field without looking anything up."""
        assert str(refusal("tall")) == (
            "High rail height must be a number, like 250 or 247.5; 'tall' was read"
        )

    def test_a_gap_in_a_number_is_pointed_at(self):
        """A thumb on the space bar must not make 1 of 162."""
        refused = refusal("1 62")

        assert isinstance(refused, LengthHasAGap)
        assert str(refused) == (
            "High rail height was read as '1 62': a number has no gap, type 162"
        )

    @pytest.mark.parametrize("text", ["5 ft 4", "5'4\"", "5 feet", "5ft", "5′", "5.5 foot"])
    def test_feet_are_not_read_as_centimetres_and_the_unit_to_type_is_named(self, text: str):
        """Whoever types them stands in another hall's unit."""
        refused = refusal(text, CM)

        assert isinstance(refused, LengthInFeet)
        assert "feet are not read, type the whole length in centimetres" in str(refused)

    @pytest.mark.parametrize(
        ("text", "unit"),
        [("98 in", CM), ('98 3/8"', CM), ("2450 mm", CM), ("2.45 m", CM), ("250 cm", INCH)],
    )
    def test_another_unit_is_refused_and_not_converted(self, text: str, unit: Unit):
        """The unit in use is the one on the label."""
        assert isinstance(refusal(text, unit), LengthInAnotherUnit)

    def test_the_unit_in_use_is_named(self):
        """Whoever read the tape in millimetres moves the point without looking anything up."""
        assert str(refusal("2450 mm")) == (
            "High rail height must be in centimetres, like 250 or 247.5; '2450 mm' was read:"
            " that is 245 cm, type 245 if it is meant"
        )

    @pytest.mark.parametrize(
        ("text", "unit", "advice"),
        [
            *((text, CM, "that is 165 cm, type 165 if it is meant") for text in METRES),
            ("1 m 5 cm", CM, "that is 105 cm, type 105 if it is meant"),
            ("1.6555 m", CM, "that is about 165.6 cm, type 165.6 if it is meant"),
            ("64 1/2 in", CM, "that is about 163.8 cm, type 163.8 if it is meant"),
            ("5' 4\"", CM, "that is about 162.6 cm, type 162.6 if it is meant"),
            ("1.65 m", INCH, "that is about 65 in, type 65 if it is meant"),
            ("165 cm", INCH, "that is about 65 in, type 65 if it is meant"),
        ],
    )
    def test_what_a_figure_in_another_unit_is_in_this_one_is_named(self, text, unit, advice):
        """A coach who thinks in metres reads what to type; nothing is typed for anybody."""
        assert str(refusal(text, unit)).endswith(advice)

    @pytest.mark.parametrize("text", ["0 m", "1.65 km", "1..2 m", "1 m 5"])
    def test_of_what_may_be_several_lengths_none_is_named(self, text):
        """1 m 5 may be a metre and five centimetres, or and a half."""
        assert "type" not in str(refusal(text))

    @pytest.mark.parametrize("text", ["-5", "−5", "- 5", "-0.5 cm", "–12,5"])
    def test_a_number_below_zero_is_refused(self, text: str):
        """No rail stands below the floor."""
        assert isinstance(refusal(text), LengthBelowZero)

    @pytest.mark.parametrize("text", ["1,234.5", "1.234,5"])
    def test_point_and_comma_in_one_number_are_refused(self, text: str):
        """Which of the two is the decimal sign depends on the country."""
        refused = refusal(text)

        assert isinstance(refused, LengthHasTwoSeparators)
        assert refused.retyped == "1234.5"

    def test_a_text_far_too_long_is_cut_in_the_message(self):
        """A page pasted into a field must not become a page of message."""
        refused = refusal("9" * 100_000)

        assert isinstance(refused, LengthTooLong)
        assert len(str(refused)) < 150

    @given(st.text(), st.sampled_from(Unit))
    @example("9" * 38 + ".5", INCH)
    @example("1/" + "0" * 30, INCH)
    def test_every_text_is_read_or_refused_with_its_facts(self, text: str, unit: Unit):
        """No text whatever ends in a stack trace."""
        outcome = read_or_refusal(text, unit)

        if isinstance(outcome, int):
            assert outcome >= 0
        else:
            assert (outcome.field, outcome.read, outcome.unit) == (FIELD, text, unit)
            assert str(outcome).isprintable()
            assert outcome.expected.startswith("a number of ")

    @pytest.mark.parametrize("text", ["", "abc", "1 62", "162.55", "5 ft", "1,234.5"])
    def test_a_refusal_survives_copying(self, text: str):
        """Checks may run in another process."""
        refused = refusal(text)

        assert str(copy.copy(refused)) == str(refused)
        assert str(pickle.loads(pickle.dumps(refused))) == str(refused)  # noqa: S301 -- our own


class TestWriting:
    @pytest.mark.parametrize(
        ("mm", "unit", "text"),
        [
            (2500, CM, "250.0"),
            (2475, CM, "247.5"),
            (7, CM, "0.7"),
            (2451.37, CM, "245.1"),
            (-0.3, CM, "0.0"),
            (-3, CM, "-0.3"),
            (2499, INCH, "98 3/8"),
            (2502, INCH, "98 1/2"),
            (2489, INCH, "98"),
            (9.525, INCH, "3/8"),
            (0, INCH, "0"),
            (-9.5, INCH, "-3/8"),
        ],
    )
    def test_a_length_is_shown_to_the_millimetre_or_the_eighth(
        self, mm: float, unit: Unit, text: str
    ):
        """Every page, card and sheet shows a length alike."""
        assert format_length(mm, unit) == text

    def test_the_unit_has_its_sign(self):
        """The sign stands beside the field, on cards and in sheets."""
        assert [unit_label(unit) for unit in Unit] == ["cm", "in"]

    @given(st.integers(min_value=0, max_value=100_000))
    def test_centimetres_are_read_back_to_the_millimetre(self, mm: int):
        """Showing a form and saving it unchanged changes nothing."""
        assert read_length_mm(format_length(mm, CM), FIELD, CM) == mm

    @given(st.integers(min_value=0, max_value=40_000))
    def test_an_inch_figure_that_was_read_is_shown_again_unchanged(self, eighths: int):
        """What the coach typed is what the coach sees."""
        shown = format_length(eighths * 3.175, INCH)

        assert format_length(read_length_mm(shown, FIELD, INCH), INCH) == shown

    @given(st.floats(min_value=0, max_value=10_000))
    def test_what_is_shown_is_less_than_half_a_step_away(self, mm: float):
        """Half a millimetre, or half an eighth of an inch with its rounding to a millimetre."""
        assert abs(read_length_mm(format_length(mm, CM), FIELD, CM) - mm) <= 0.5
        assert abs(read_length_mm(format_length(mm, INCH), FIELD, INCH) - mm) <= 3.175 / 2 + 0.5


class TestALimit:
    @given(st.integers(min_value=0, max_value=4_000))
    def test_is_shown_as_no_more_than_it_is_or_as_no_less(self, mm):
        """Nobody accepts more than was said because an eighth of an inch is coarse."""
        most, least = (
            read_length_mm(shown(mm, INCH), FIELD, INCH) for shown in (format_most, format_least)
        )
        assert mm - 4 < most <= mm <= least < mm + 4
        assert read_length_mm(format_most(mm, CM), FIELD, CM) == mm
        assert read_length_mm(format_least(mm, CM), FIELD, CM) == mm

    @given(st.integers(min_value=0, max_value=1_000))
    def test_that_was_typed_in_inches_is_shown_as_it_was_typed(self, eighths):
        typed = format_length(eighths * 3.175, INCH)
        kept_mm = read_length_mm(typed, FIELD, INCH)

        assert format_most(kept_mm, INCH) == format_least(kept_mm, INCH) == typed

    def test_is_said_so_with_its_unit_without_it_and_beside_centimetres(self):
        assert most_in_words(12, INCH) == "3/8\u00a0in"
        assert most_in_words(12, CM).in_unit(INCH).alone == "3/8"
        assert least_in_words(12, INCH) == "1/2\u00a0in"
        assert compared_most(12, INCH) == "3/8\u00a0in (1.2 cm)"
        assert most_in_words(12, INCH).nearest == length_in_words(12, INCH) == "1/2\u00a0in"

    def test_is_known_of_a_copy_too(self):
        """What is kept for a while, or worked out in another process."""
        again = pickle.loads(pickle.dumps(compared_most(12, INCH)))  # noqa: S301 -- our own
        assert again.in_unit(CM) == "1.2 cm"


class TestLengthsInASentence:
    def test_a_length_has_its_unit(self):
        assert length_in_words(2500, CM) == "250.0 cm"
        assert length_in_words(2502, CM).alone == "250.2"

    def test_one_in_inches_is_never_torn_at_the_end_of_a_line(self):
        """Half of it would be another length: 98 inches, or 3/8 of one."""
        assert length_in_words(2500, INCH) == "98\u00a03/8\u00a0in"
        assert length_in_words(2500, INCH).alone == "98\u00a03/8"

    def test_one_that_is_compared_has_centimetres_beside_inches(self):
        """An eighth of an inch would make 12 mm look like the 11 mm that are accepted."""
        assert compared_length(12, CM) == "1.2 cm"
        assert compared_length(12, INCH) == "1/2\u00a0in (1.2 cm)"
        assert compared_length(11, INCH) == "3/8\u00a0in (1.1 cm)"


class TestADifference:
    @given(*[st.integers(0, 20_000)] * 2)
    def test_of_lengths_typed_in_eighths_is_as_many_eighths_as_anybody_counts(self, a: int, b: int):
        """Each was kept to the millimetre, and still the account of them holds."""
        one_mm, other_mm = (read_length_mm(f"{n // 8} {n % 8}/8", FIELD, INCH) for n in (a, b))
        counted = format_length(abs(a - b) * 25.4 / 8, INCH)
        assert format_length(abs(one_mm - other_mm), INCH) == counted

    def test_of_other_lengths_is_no_eighth_that_looks_miscounted(self):
        """2497 mm are nearest to 98 1/4 in, 2475 mm to 97 1/2 in, and lie no 3/4 in apart."""
        assert [format_length(mm, INCH) for mm in (2497, 2475)] == ["98 1/4", "97 1/2"]
        assert difference_in_words(22, INCH) == "0.87\u00a0in (2.2 cm)"
        assert difference_in_words(22, CM) == "2.2 cm"

    def test_what_is_less_than_a_sixteenth_is_never_nothing(self):
        """A millimetre is not "0 in"."""
        for said in (
            compared_length(1, INCH),
            compared_most(1, INCH),
            difference_in_words(1, INCH),
        ):
            assert said == "0.04\u00a0in (0.1 cm)"
        assert compared_length(0, INCH) == "0\u00a0in (0.0 cm)"


class TestAFineLength:
    def test_is_told_to_a_tenth_of_a_millimetre_in_either_unit(self):
        """What a mark is off its scale is less than an eighth of an inch, most often."""
        assert fine_length(3.36, CM) == "3.4 mm"
        assert fine_length(3.36, INCH) == "0.13 in (3.4 mm)"


class TestQuoted:
    def test_what_was_read_is_shown_on_one_line_and_cut(self):
        """A message stays one sentence, whatever was pasted."""
        assert quoted(" a\n b\x07 ") == "'a b�'"
        assert quoted("x" * 500) == "'" + "x" * 29 + "…'"


class TestALengthOnTheFloor:
    @pytest.mark.parametrize(
        ("mm", "said"),
        [(900, "90 cm"), (905, "90.5 cm"), (3000, "3 m"), (20_000, "20 m"), (21_350, "21.35 m")],
    )
    def test_it_is_said_as_in_the_hall(self, mm, said):
        """Nobody calls a run-up 2000.0."""
        assert str(length_on_floor(mm, Unit.CENTIMETRE)) == said

    def test_in_inches_it_stays_in_inches(self):
        assert str(length_on_floor(20_002, Unit.INCH)) == "787\u00a01/2\u00a0in"


class TestMinutes:
    @pytest.mark.parametrize(
        ("seconds", "said"),
        [
            (0, "0:00 min"),
            (705, "11:45 min"),
            (3599, "59:59 min"),
            (3600, "1 h 00:00 min"),
            (14_758, "4 h 05:58 min"),
        ],
    )
    def test_from_an_hour_on_the_hours_are_said(self, seconds, said):
        """Nobody hears how long 245 minutes are."""
        assert str(minutes(seconds)) == said


class TestALabel:
    def test_goes_on_inside_a_sentence_and_begins_one(self):
        assert lower_first("High rail height") == "high rail height"
        assert upper_first("high rail height") == "High rail height"
        assert (lower_first(""), upper_first("")) == ("", "")
