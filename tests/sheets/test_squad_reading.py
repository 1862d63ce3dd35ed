"""What a squad sheet says, and every cell that says something else."""

from datetime import date

import pytest

from settingsdesk.sheets.columns import SquadColumns
from settingsdesk.sheets.squad import Entry, EntryKind, Fault, SquadRow, SquadSheet
from settingsdesk.sheets.squad_reading import read_squad_file
from tests.sheets.books import book, saved, with_number

AXES = ("Low rail height", "High rail height", "Rail spread")
NAMES = ["Family name", "Given name", "Model"]
LOW, HIGH = "Low rail height (cm)", "High rail height (cm)"


def squad(*rows: list[object]) -> SquadSheet:
    """The sheet as it is read from a workbook."""
    return read_squad_file(saved(book(*rows)), "squad.xlsx", AXES)


def faults(*rows: list[object]) -> list[str]:
    return [str(fault) for fault in squad(*rows).faults]


def wanted(cell: object, header: str = LOW) -> tuple[Entry | None, list[str]]:
    """What one length cell says, in a row that is otherwise sound."""
    sheet = squad([*NAMES, header], ["Quill", "Edda", "Hall A", cell])
    axis = header.partition(" (")[0]
    entry = sheet.rows[0].wanted.get(axis) if sheet.rows else None
    return entry, [str(fault) for fault in sheet.faults]


class TestSoundSheet:
    def test_a_row_says_who_wants_what_on_which_model(self):
        """The whole of an athlete's settings in one line."""
        sheet = squad(
            [
                *("Family name", "Given name", "Printed name", "Group", "Model", LOW),
                *("Low rail height accepts (± cm)", "High rail height (mark)", "Reason"),
            ],
            ["Quill", "Edda", "Edda Q.", "Juniors", "Hall A", 162.5, 0.5, 7, "long legs"],
        )

        assert sheet.faults == ()
        assert sheet.rows == (
            SquadRow(
                number=2,
                family_name="Quill",
                given_name="Edda",
                printed_name="Edda Q.",
                group="Juniors",
                model="Hall A",
                wanted={
                    "Low rail height": Entry(EntryKind.CENTIMETRES, "162.5", 1625, "F"),
                    "High rail height": Entry(EntryKind.MARK, "7", None, "H"),
                },
                accepts_mm={"Low rail height": 5},
                reason="long legs",
            ),
        )

    def test_every_row_and_entry_knows_its_place(self):
        """A height that the apparatus cannot do is pointed at in the sheet, too."""
        sheet = squad([], ["Squad of spring"], [*NAMES, LOW], ["Quill", "Edda", "Hall A", 160])

        assert (sheet.sheet, sheet.header_row, sheet.rows[0].number) == ("Squad", 3, 4)
        assert sheet.columns[LOW] == "D"
        assert sheet.rows[0].wanted["Low rail height"].column == "D"

    def test_an_athlete_may_come_without_model_and_settings(self):
        """The roster first, the tape measure later."""
        sheet = squad(NAMES, ["Quill", "Edda"])

        assert (sheet.rows[0].model, sheet.rows[0].wanted, sheet.faults) == ("", {}, ())

    def test_an_athlete_has_a_row_for_each_model(self):
        """At home on one make, at the meet on another."""
        sheet = squad(NAMES, ["Quill", "Edda", "Hall A"], ["Quill", "Edda", "Hall B"])

        assert [row.model for row in sheet.rows] == ["Hall A", "Hall B"]

    def test_names_are_tidied_but_not_changed(self):
        """One athlete must not become two by a blank or by the way an accent is stored."""
        sheet = squad(NAMES, ["  O\u0308st \u00a0 berg ", "Zoe\u0308\u200b", " Hall  A "])

        assert (sheet.rows[0].family_name, sheet.rows[0].given_name) == ("Öst berg", "Zoë")
        assert sheet.rows[0].model == "Hall A"

    def test_headers_are_known_however_they_are_typed(self):
        """Capitals and blanks are not what a coach has to care about."""
        sheet = squad(
            [
                *("FAMILY NAME", "given  name", " Model ", "low rail height(CM)"),
                "Low rail height accepts (+/- cm)",
            ],
            ["Quill", "Edda", "Hall A", "162,5", "± 0,5"],
        )

        assert sheet.faults == ()
        assert sheet.rows[0].wanted["Low rail height"].length_mm == 1625
        assert sheet.rows[0].accepts_mm == {"Low rail height": 5}

    def test_blank_rows_are_skipped(self):
        """Between two groups there is often one."""
        sheet = squad(NAMES, ["Quill", "Edda"], [None, " "], ["Ash", "Juno"])

        assert [row.number for row in sheet.rows] == [2, 4]

    def test_text_that_looks_like_a_formula_stays_text(self):
        """It is nobody's name, but it is for the coach to say so."""
        content = b"Family name,Given name,Model\n=1+1,@Edda,-x\n"

        row = read_squad_file(content, "squad.csv", AXES).rows[0]

        assert (row.family_name, row.given_name, row.model) == ("=1+1", "@Edda", "-x")

    def test_a_reason_keeps_its_lines(self):
        """Some reasons are longer than a word."""
        sheet = squad([*NAMES, "Reason"], ["Quill", "Edda", "Hall A", " tall\r\nnew grip \n"])

        assert sheet.rows[0].reason == "tall\nnew grip"


class TestLengthCell:
    @pytest.mark.parametrize("cell", [162.5, "162.5", "162,5", "162,5 cm", 162.49999999999997])
    def test_a_length_is_read_however_it_was_typed(self, cell: object):
        """Number or text, point or comma."""
        assert wanted(cell) == (Entry.of_length(1625), [])

    def test_what_was_read_and_what_is_expected_are_said(self):
        """The coach finds the cell and knows what to type."""
        entry, (fault,) = wanted("24,5x", HIGH)

        assert entry is None
        assert fault == (
            "Sheet 'Squad', row 2, column D, High rail height (cm): '24,5x' was read; "
            "a number of centimetres like 245 or 247.5 is expected"
        )

    @pytest.mark.parametrize(
        ("cell", "words"),
        [
            (162.50000001, "lengths are kept to the millimetre, type 162.5 or 162.6"),
            ("162.55", "type 162.5 or 162.6"),
            ("1 62", "a number has no gap, type 162"),
            ("5 ft 4", "type the whole length in centimetres"),
            (-5, "it must not be below zero"),
            (date(2031, 5, 16), "'2031-05-16 00:00:00' was read"),
            (date(2031, 5, 16), "the cell is formatted as a date or time"),
            (True, "'TRUE' was read"),
            (True, "the cell holds true or false"),
            ("=A1", "the formula has no result"),
            (1e300, "'1e+300' was read"),
            ("½", "'½' was read"),
        ],
    )
    def test_nothing_is_guessed_or_rounded(self, cell: object, words: str):
        """A wrong height is worse than none."""
        entry, (fault,) = wanted(cell)

        assert entry is None
        assert words in fault

    def test_a_length_and_a_mark_for_one_axis_are_refused(self):
        """Which of the two was meant?"""
        (fault,) = faults(
            [*NAMES, LOW, "Low rail height (mark)"], ["Quill", "Edda", "Hall A", 160, "C"]
        )

        assert fault == (
            "Sheet 'Squad', row 2, column E, Low rail height (mark): 'C' was read; "
            "a length or a mark and not both is expected: column D has '160', clear one of the two"
        )

    def test_a_deviation_from_nothing_is_refused(self):
        """It probably stands one column off."""
        (fault,) = faults([*NAMES, "Rail spread accepts (± cm)"], ["Quill", "Edda", "Hall A", "±1"])

        assert "'±1' was read; a length or a mark that this deviation is from is expected" in fault

    def test_a_mark_that_became_a_date_is_refused(self):
        """3-4 is the fourth of March to a spreadsheet."""
        _, (fault,) = wanted(date(2031, 3, 4), "Low rail height (mark)")

        assert "the cell is formatted as a date" in fault

    def test_settings_without_a_model_are_refused(self):
        """A mark means nothing without the scale it is on."""
        (fault,) = faults([*NAMES, LOW], ["Quill", "Edda", None, 160])

        assert fault == (
            "Sheet 'Squad', row 2, column C, Model: nothing was read; "
            "the model that the lengths and marks of this row belong to is expected"
        )


class TestFaultyRows:
    def test_every_faulty_cell_has_its_line_and_the_sound_rows_are_kept(self):
        """One look at the preview, one visit to the sheet."""
        sheet = squad(
            [*NAMES, LOW, HIGH],
            ["Quill", "Edda", "Hall A", 160, 245],
            ["Ash", None, "Hall A", "x", "y"],
            ["Reed", "Sol", "Hall A", 158, 240],
        )

        assert [row.family_name for row in sheet.rows] == ["Quill", "Reed"]
        assert [(fault.row, fault.column) for fault in sheet.faults] == [
            (3, "B"),
            (3, "D"),
            (3, "E"),
        ]

    @pytest.mark.parametrize("names", [["", "Edda"], ["Quill", ""], ["\u200b", "Edda"]])
    def test_an_athlete_has_both_names(self, names: list[object]):
        """A row without a name belongs to nobody."""
        (fault,) = faults(NAMES, [*names, "Hall A"])

        assert "the athlete's" in fault

    def test_the_same_athlete_and_model_twice_is_refused(self):
        """The second would silently replace the first."""
        (fault,) = faults(NAMES, ["Quill", "Edda", "Hall A"], ["QUILL", " Edda", "hall a"])

        assert fault == (
            "Sheet 'Squad', row 3: 'QUILL, Edda, hall a' was read; "
            "one row per athlete and model is expected: row 2 is of the same athlete and model"
        )

    @pytest.mark.parametrize("header", ["Group", "Printed name"])
    def test_an_athlete_is_called_the_same_in_every_row(self, header: str):
        """Which group is it?"""
        (fault,) = faults(
            [*NAMES, header],
            ["Quill", "Edda", "Hall A", "one"],
            ["Quill", "Edda", "Hall B", None],
            ["Quill", "Edda", "Hall C", "two"],
        )

        assert fault == (
            f"Sheet 'Squad', row 4, column D, {header}: 'two' was read; 'one' is expected: "
            "row 2 is of the same athlete"
        )

    @pytest.mark.parametrize("name", ["Ed\x07da", "Ed�da", "Ed\x85da"])
    def test_signs_that_cannot_be_printed_are_refused(self, name: str):
        """A name that an export had to mend does not come back mended."""
        content = f"Family name,Given name,Model\nQuill,{name}x,\n".encode()

        (fault,) = read_squad_file(content, "squad.csv", AXES).faults

        assert str(fault).startswith("Row 2, column B, Given name: 'Ed�dax' was read")

    def test_a_name_that_became_a_date_is_refused(self):
        """May is a month to a spreadsheet."""
        (fault,) = faults(NAMES, [date(2031, 5, 1), "Edda"])

        assert "text is expected: the cell is formatted as a date" in fault


class TestHeader:
    def test_an_unknown_header_is_named_and_the_rest_is_read(self):
        """A misspelt axis must not vanish without a word."""
        sheet = squad([*NAMES, "Low rial height (cm)"], ["Quill", "Edda", "Hall A", 160])

        (fault,) = sheet.faults

        assert str(fault) == (
            "Sheet 'Squad', row 1, column D: 'Low rial height (cm)' was read; "
            "one of the headers in the template is expected"
        )
        assert len(sheet.rows) == 1

    def test_a_header_twice_is_refused(self):
        """Two columns of one name: which counts?"""
        sheet = squad([*NAMES, LOW, LOW.upper()], ["Quill", "Edda", "Hall A", 160, 170])

        assert sheet.rows == ()
        assert [fault.column for fault in sheet.faults] == ["E"]

    def test_a_missing_header_is_named(self):
        """And nothing is taken from a sheet that lacks it."""
        sheet = squad(["Family name", "Model", LOW], ["Quill", "Hall A", 160])

        assert sheet.rows == ()
        assert sheet.faults == (Fault("Squad", 1, "", "", "", "the header 'Given name'"),)

    @pytest.mark.parametrize("rows", [[], [["start list"], [1, 2, 3]]])
    def test_a_sheet_without_headers_is_said(self, rows: list[list[object]]):
        """Another table altogether."""
        (fault,) = faults(*rows)

        assert "a row of headers with 'Family name', 'Given name' and 'Model' is expected" in fault

    def test_a_cell_under_no_header_is_refused(self):
        """A note beside the table, or a length one column off."""
        (fault,) = faults(NAMES, ["Quill", "Edda", "Hall A", None, 160])

        assert fault == (
            "Sheet 'Squad', row 2, column E: '160' was read; a header above this cell is expected"
        )

    def test_other_axes_are_other_columns(self):
        """The kinds say which axes there are; their order and number are open."""
        columns = SquadColumns(["Bar height", "Rail spread", "bar  height"])

        assert [column.header for column in columns][5:-1] == [
            "Bar height (cm)",
            "Bar height (mark)",
            "Bar height accepts (± cm)",
            "Rail spread (cm)",
            "Rail spread (mark)",
            "Rail spread accepts (± cm)",
        ]

    def test_a_file_of_another_kind_is_refused_as_a_whole(self):
        """A cell that cannot be read at all ends the reading, with its place."""
        with pytest.raises(Exception, match="row 3, column B: the cell cannot be read"):
            read_squad_file(with_number("x"), "squad.xlsx", AXES)
