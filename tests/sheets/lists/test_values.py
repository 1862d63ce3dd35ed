"""What a cell of a coach's list is read as, and what is left to a person."""

import pytest

from settingsdesk.domain.base.datums import Edge, HeightDatum, Level, Section, SpreadDatum
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.sheets.lists.values import Doubt, ListUnit, Said, Value, read_value
from settingsdesk.sheets.lists.values_ranges import ANY_LENGTH, range_of
from settingsdesk.sheets.table import CellKind

HIGH = Said(axis="high_rail", kind="uneven_bars")
HIGH_CM = Said(axis="high_rail", kind="uneven_bars", unit=ListUnit.CM)
HIGH_INCH = Said(axis="high_rail", kind="uneven_bars", unit=ListUnit.INCH)
HIGH_MARK = Said(axis="high_rail", kind="uneven_bars", unit=ListUnit.MARK)
ROUND_RAIL = Section(40, 40)


def value(text: str, said: Said = HIGH, kind: CellKind = CellKind.TEXT) -> Value:
    read = read_value(text, kind, said)
    assert isinstance(read, Value), read
    return read


def why(text: str, said: Said = HIGH_CM, kind: CellKind = CellKind.TEXT) -> str:
    read = read_value(text, kind, said)
    assert isinstance(read, Doubt), read
    return read.why


class TestALengthWithItsUnit:
    @pytest.mark.parametrize(
        "text",
        [
            "245,5 cm",
            "245.5cm",
            "245,50 cm",
            "cm 245,5",
            "245,5 centimètres",
            "245,5 Zentimeter",
            "2,455 m",
            "2.455 metri",
            "2455 mm",
            "2\u202f455 mm",
            "2\u00a0455 mm",
            "245,5\u2009cm",
            "245,5\u00a0cm",
            "２４５．５ｃｍ",
            "245.5㎝",
            "245.5センチ",
            "245.5 厘米",
            "٢٤٥٫٥ سم",
            "۲۴۵٫۵ سانتی‌متر",
            "२४५.५ सेमी",
            "245,5 см",
            "\u200f245.5 سم\u200f",
            "245,5 cm ü. Boden",
            "245,5 cm (ab Boden)",
            "245.5 cm above the floor",
        ],
    )
    def test_is_read_in_every_script_and_spelling(self, text):
        """A club writes as it is used to; the rail is set to the same millimetre."""
        assert value(text).value_mm == 2455

    @pytest.mark.parametrize(
        ("text", "mm"),
        [
            ('98 3/8"', 2499),
            ("98⅜ in", 2499),
            ("98-3/8 in", 2499),
            ("98.375 inches", 2499),
            ("98,5 Zoll", 2502),
            ("98 1/2”", 2502),
            ("98 pouces", 2489),
            ("8'2\"", 2489),
            ("8′ 2″", 2489),
            ("8 ft 2 1/2 in", 2502),
            ("8' 0 5/8\"", 2454),
            ("8'", 2438),
            ('96 5/8"', 2454),
        ],
    )
    def test_in_inches_is_read_to_the_nearest_millimetre(self, text, mm):
        """Eighths of an inch lie 3 mm apart: each has a millimetre of its own."""
        assert value(text).value_mm == mm

    @pytest.mark.parametrize(
        ("text", "mm"), [("2m45", 2450), ("2 m 45 cm", 2450), ("2 m 5 cm", 2050)]
    )
    def test_in_metres_and_centimetres_is_read(self, text, mm):
        """People say two metres forty-five."""
        assert value(text).value_mm == mm

    def test_of_one_digit_after_the_metres_is_not_read(self):
        """2m5 is 2.05 to one and 2.5 to another."""
        assert "Several values" in why("2m5")

    def test_says_how_it_was_read_and_that_the_datum_was_not_stated(self):
        """The coach sees before anything is kept what became of the cell."""
        assert value("2,45 m").converted == (
            "2,45 m = 245.0 cm, upper edge of the rail, above the floor"
            " (taken so, as the list states nothing else)"
        )
        assert value("245,0 cm ab Boden").converted == (
            "245.0 cm, upper edge of the rail, above the floor"
        )

    def test_with_a_known_axis_of_no_known_kind_is_read(self):
        """A spread is a spread on both kinds of bars."""
        spread = Said(axis="spread", unit=ListUnit.CM)
        assert value("180", spread).value_mm == 1800
        assert value("45", spread).value_mm == 450


class TestTheUnitOfTheColumn:
    def test_is_taken_where_the_cell_has_none(self):
        """Most lists say the unit once, above."""
        assert value("245,5", HIGH_CM).value_mm == 2455
        assert value("2.455", Said("high_rail", ListUnit.M)).value_mm == 2455
        assert value("98 3/8", HIGH_INCH).value_mm == 2499
        assert value("245.5", HIGH_CM, CellKind.NUMBER).value_mm == 2455

    def test_gives_way_to_the_cells_own(self):
        """One metre among centimetres is told by the cell itself."""
        assert value("2,45 m", HIGH_CM).value_mm == 2450
        assert value('98 3/8"', HIGH_CM).value_mm == 2499

    def test_is_in_doubt_where_the_number_could_be_right_in_both(self):
        """A rail at 110 cm is for small children, one at 110 in for tall people: either can be."""
        assert why("110 in") == (
            "The cell says inches and its column centimetres, and both could be:"
            " ask in which unit it is"
        )

    def test_that_nobody_states_is_asked_for(self):
        """245 may be centimetres, and 7 a hole; nobody guesses."""
        assert why("245", HIGH).startswith("No unit is stated")
        assert why("98 3/8", HIGH).startswith("No unit is stated")

    def test_is_not_that_of_a_mark_and_a_length_at_once(self):
        """A hole in a column of centimetres is a slip, whichever of the two is wrong."""
        assert "names a mark" in why("Loch 7", HIGH_CM)
        assert "states a length" in why("245 cm", HIGH_MARK)

    def test_that_is_metric_has_no_fractions(self):
        """51 1/2 under centimetres is most likely a width in inches."""
        spread = Said("spread", ListUnit.CM, kind="parallel_bars")
        assert "A fraction belongs to inches" in why("51 1/2", spread)


class TestAMark:
    @pytest.mark.parametrize(
        "text",
        ["Loch 7", "hole 7", "Hole no. 7", "7. dziura", "第7穴", "ثقب ٧", "trou n° 7", "lỗ số 7",
         "7th hole", "7e trou", "отверстие №7", "otwór nr 7", "foro 7", "7番目の穴", "nấc 7"],
    )  # fmt: skip
    def test_is_read_where_the_cell_names_it(self, text):
        """The word may stand before the number or after it."""
        assert value(text).mark == "7"

    @pytest.mark.parametrize(
        ("text", "label"),
        [
            ("7", "7"),
            ("٧", "7"),
            ("７", "7"),
            ("7a", "7a"),
            ("A3", "A3"),
            ("C", "C"),
            ("7.5", "7.5"),
        ],
    )
    def test_is_the_label_as_it_stands_where_the_column_holds_marks(self, text, label):
        """What is printed at the mark is text."""
        assert value(text, HIGH_MARK).mark == label
        assert value(text, HIGH_MARK).value_mm is None
        assert value(text, HIGH_MARK).converted == f"mark {label}"

    @pytest.mark.parametrize("text", ["3/5", "3-5", "3 5", "3,5", "7?", "x", "7 oder 8", "no"])
    def test_is_not_guessed_from_a_pair_or_a_tick(self, text):
        """Which of two holes is meant is known to the coach alone."""
        assert why(text, HIGH_MARK)


class TestADatum:
    def test_above_the_mat_is_converted_once_somebody_says_how_thick_it_is(self):
        """A list cannot know the mats of the hall: 230 over 20 cm of mat is 250."""
        said = Said("high_rail", ListUnit.CM, HeightDatum(Level.MAT), kind="uneven_bars")
        assert "how thick the mat is" in why("230", said)
        known = Said(
            "high_rail", ListUnit.CM, HeightDatum(Level.MAT), kind="uneven_bars", mat_mm=200
        )
        assert value("230", known).value_mm == 2500
        assert value("230", known).converted == (
            "230.0 cm, upper edge of the rail, above the mat"
            " = 250.0 cm, upper edge of the rail, above the floor"
        )

    def test_of_the_underside_is_converted_by_the_rail(self):
        """246 to the underside of a 4 cm rail is 250 to its upper edge."""
        datum = HeightDatum(edge=Edge.UNDERSIDE)
        assert "how thick the rail is" in why("246", Said("high_rail", ListUnit.CM, datum))
        known = Said("high_rail", ListUnit.CM, datum, section=ROUND_RAIL)
        assert value("246", known).value_mm == 2500

    def test_of_a_rail_is_no_datum_of_a_beam(self):
        """A beam has no rail to whose centre a height could go."""
        said = Said("beam", ListUnit.CM, HeightDatum(edge=Edge.CENTRE), section=ROUND_RAIL)
        assert "there is no rail" in why("125", said)

    def test_in_a_cell_that_contradicts_its_column_is_asked_about(self):
        """Twenty centimetres of mat are at stake."""
        floor = Said("high_rail", ListUnit.CM, HeightDatum())
        assert "another level" in why("230 cm über Matte", floor)
        assert "another edge" in why("246 cm Unterkante", floor)

    def test_of_a_spread_between_centres_is_converted_by_the_rail_alone(self):
        """The diagonal of the centres less one diameter is the inner one."""
        said = Said("spread", ListUnit.CM, spread=SpreadDatum.CENTRES_DIAGONAL, kind="uneven_bars")
        assert "how thick the rails are" in why("184", said)
        known = Said(
            "spread",
            ListUnit.CM,
            spread=SpreadDatum.CENTRES_DIAGONAL,
            kind="uneven_bars",
            section=ROUND_RAIL,
        )
        assert value("184", known).value_mm == 1800

    def test_of_a_horizontal_spread_is_settled_only_where_the_rails_are_level(self):
        """On uneven bars the heights come into it, and one cell does not know them."""
        datum = SpreadDatum.CENTRES_HORIZONTAL
        uneven = Said("spread", ListUnit.CM, None, datum, "uneven_bars", section=ROUND_RAIL)
        level = Said("spread", ListUnit.CM, None, datum, "parallel_bars", section=ROUND_RAIL)
        assert "horizontal distance" in why("165", uneven)
        assert value("49", level).value_mm == 450


class TestASlip:
    def test_can_be_caught_on_every_axis_of_every_kind(self):
        """A kind that is added needs a range too, or no slip on it is ever seen."""
        for kind in KINDS.values():
            for axis in kind.axes:
                assert range_of(kind.key, axis.key) == axis.believed != ANY_LENGTH

    @pytest.mark.parametrize(
        ("text", "part"),
        [
            ("24,5", "it is ten times too small if 245.0 cm is meant"),
            ("2450", "it is ten times too large if 245.0 cm is meant"),
            ("2.45", "in metres it would be 245.0 cm"),
            ("98", "in inches it would be 248.9 cm"),
            ("9000", "ask which value is meant"),
        ],
    )
    def test_is_named_where_it_explains_a_length_that_cannot_be(self, text, part):
        """A rail of 24 metres was a decimal point that nobody saw."""
        assert why(text).startswith("High rail height lies between 100.0 cm and 300.0 cm, and ")
        assert part in why(text)

    @pytest.mark.parametrize("text", ["245,000", "2,450 cm", "1.234 cm"])
    def test_of_thousands_or_decimals_is_asked_about(self, text):
        """A comma before three digits means one thing here and another there."""
        assert "thousands or of decimals" in why(text)

    @pytest.mark.parametrize("text", ["2,450 mm", "2.450 mm", "2 450 mm"])
    def test_is_none_where_millimetres_can_only_be_thousands(self, text):
        """As 2.450 m it would be the same rail, and at 2.45 mm there is none."""
        read = read_value(text, CellKind.TEXT, HIGH_CM)
        assert isinstance(read, Value)
        assert read.value_mm == 2450
        assert "gap" in why("2 450")

    def test_of_a_length_finer_than_is_kept_names_both_neighbours(self):
        """Nothing is rounded without a word."""
        assert why("245,55") == ("245,55 cm is finer than a millimetre: type 245.5 cm or 245.6 cm")
        assert why("245.00001", HIGH_CM, CellKind.NUMBER).startswith("245.00001 cm is finer")
        assert why("98.4 in") == "98.4 in is no eighth of an inch: type 98 3/8 or 98 1/2"


DOUBTS = [
    ("±1", "deviation stands where a value"),
    ("+/- 1", "deviation stands where a value"),
    ("245 ± 1", "a deviation stand in one cell"),
    ("245 +/- 1 cm", "a deviation stand in one cell"),
    ("ca. 245", "approximate"),
    ("~245", "approximate"),
    ("≈ 245 cm", "approximate"),
    ("約245cm", "approximate"),
    ("245 environ", "approximate"),
    ("> 240", "limit"),
    ("≤245", "limit"),
    ("max. 245", "limit"),
    ("240-245", "Several values or a range"),
    ("240/245", "Several values or a range"),
    ("240–245 cm", "Several values or a range"),
    ("240 bis 245", "Several values or a range"),
    ("245 (250)", "Several values or a range"),
    ("same as Ada", "points to another value"),
    ("wie oben", "points to another value"),
    ("wie Ada", "points to another value"),
    ("comme Ada", "points to another value"),
    ("come sopra", "points to another value"),
    ("igual que Ada", "points to another value"),
    ("jak wyżej", "points to another value"),
    ("idem", "points to another value"),
    ("同上", "points to another value"),
    ("như trên", "points to another value"),
    ("مثل أعلاه", "points to another value"),
    ('"', "points to another value"),
    ("〃", "points to another value"),
    ('-"-', "points to another value"),
    ("''", "points to another value"),
    ("?", "question mark"),
    ("245?", "question mark"),
    ("245？", "question mark"),
    ("؟ ٢٤٥", "question mark"),
    ("tbd", "still to be settled"),
    ("offen", "still to be settled"),
    ("à définir", "still to be settled"),
    ("da definire", "still to be settled"),
    ("por definir", "still to be settled"),
    ("do ustalenia", "still to be settled"),
    ("未定", "still to be settled"),
    ("chưa xác định", "still to be settled"),
    ("غير محدد", "still to be settled"),
    ("-", "no value"),
    ("—", "no value"),
    ("n/a", "no value"),
    ("x", "no value"),
    ("✓", "no value"),
    ("03.05.2026", "reads like a date"),
    ("3. Mai", "reads like a date"),
    ("3-May", "reads like a date"),
    ("May-03", "reads like a date"),
    ("2026-05-03", "reads like a date"),
    ("12:30", "reads like a time"),
    ("TRUE", "true or false"),
    ("WAHR", "true or false"),
    ("#REF!", "error"),
    ("#WERT!", "error"),
    ("=B2+5", "formula"),
    ("=CMD|'/c x'!A1", "formula"),
    ("-245", "below zero"),
    ("−245 cm", "below zero"),
    ("0", "nought"),
    ("0,0", "nought"),
    ("+245", "plus sign"),
    ("0245", "begins with a nought"),
    ("245*", "footnote"),
    ("245 cm†", "footnote"),
    ("2,4,5", "Several values"),
    ("1.234,5", "two points or commas"),
    ("2 45", "gap in the number"),
    ("245000000000", "longer than that of any length"),
    ("1e3", "larger or smaller"),
    ("245 dm", "More than a value"),
    ("245 cm neu", "More than a value"),
    ("(245)", "More than a value"),
    ("24²5", "Several values"),
    ("2٤5", "Several values"),
    ("240、245", "Several values"),
    ("245·5", "Several values"),
    ("6'13/8\"", "Several values"),
    ('963/8"', "Several values"),
    ("96 3/7 in", "no eighth of an inch"),
    ("hoch", "No number"),
    ("   ", "blank"),
    ("245 " + "x" * 80, "More is written"),
]


class TestADoubt:
    @pytest.mark.parametrize(("text", "part"), DOUBTS)
    def test_says_for_each_way_of_writing_what_is_in_doubt(self, text, part):
        """The coach of the club is asked one clear question per cell."""
        assert part in why(text)

    @pytest.mark.parametrize(
        ("kind", "part"),
        [
            (CellKind.DATE, "a pair such as 3/5"),
            (CellKind.BOOLEAN, "true or false"),
            (CellKind.FORMULA, "formula without a result"),
            (CellKind.ERROR, "error"),
        ],
    )
    def test_is_told_of_every_cell_that_holds_no_text_and_no_number(self, kind, part):
        """A spreadsheet turns holes 3/5 into a day in May, and no day is a length."""
        assert part in why("245", HIGH_CM, kind)

    @pytest.mark.parametrize(("text", "part"), DOUBTS)
    def test_says_what_to_do(self, text, part):
        """A sentence that only complains leaves the coach alone."""
        advice = why(text).split(":", 1)[1]
        assert any(word in advice for word in ("ask", "type", "read", "choose")), why(text)
