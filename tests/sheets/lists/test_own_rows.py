"""What a sheet of our own columns says, and every cell that says something else."""

from datetime import date

import pytest

from settingsdesk.sheets.columns import SquadColumns
from settingsdesk.sheets.lists.preview import Accepted, ListPreview
from settingsdesk.sheets.lists.reading import read_lists
from tests.sheets.books import book, saved, with_number

MODELS = dict.fromkeys(("Hall A", "Hall B", "Hall C"), "uneven_bars") | {"Bars P": "parallel_bars"}
NAMES = ["Family name", "Given name", "Model"]
LOW, HIGH, SPREAD = "Low rail height (cm)", "High rail height (cm)", "Rail spread (cm)"
LOW_MARK, LOW_ACCEPTS = "Low rail height (mark)", "Low rail height accepts (± cm)"


def squad(*rows: list[object]) -> ListPreview:
    """The sheet as it is read from a workbook."""
    return read_lists(saved(book(*rows)), "squad.xlsx", MODELS)


def asked(*rows: list[object]) -> list[tuple[int, str, str, str]]:
    """Row, column, what was read and why it is not taken, of each query."""
    return [(one.row, one.column, one.read, one.why) for one in squad(*rows).queries]


def named(sheet: ListPreview) -> list[tuple[str, str]]:
    return [(one.family_name, one.given_name) for one in sheet.persons]


def wanted(cell: object, header: str = LOW) -> tuple[Accepted | None, list[str]]:
    """What one length cell says, in a row that is otherwise sound."""
    sheet = squad([*NAMES, header, HIGH, SPREAD], ["Quill", "Edda", "Hall A", cell, 245, 170])
    values = {one.axis: one for one in sheet.accepted}
    return values.get("low_rail"), [f"{one.read!r}: {one.why}" for one in sheet.queries]


class TestSoundSheet:
    def test_a_row_says_who_wants_what_on_which_model(self):
        """The whole of an athlete's settings in one line."""
        sheet = squad(
            [
                *("Family name", "Given name", "Printed name", "Group", "Model", LOW, LOW_ACCEPTS),
                *("High rail height (mark)", SPREAD, "Reason"),
            ],
            ["Quill", "Edda", "Edda Q.", "Juniors", "Hall A", 162.5, 0.5, 7, 170, "long legs"],
        )
        [edda] = sheet.persons

        assert sheet.queries == ()
        assert (edda.family_name, edda.given_name) == ("Quill", "Edda")
        assert (edda.printed_name, edda.group) == ("Edda Q.", "Juniors")
        assert edda.reasons == {"Hall A": "long legs"}
        assert edda.accepts_mm == {("Hall A", "uneven_bars", "low_rail"): 5}
        assert [
            (one.model, one.axis, one.value_mm, one.mark, one.read, one.column)
            for one in sheet.accepted
        ] == [
            ("Hall A", "low_rail", 1625, None, "162.5", "F"),
            ("Hall A", "high_rail", None, "7", "7", "H"),
            ("Hall A", "spread", 1700, None, "170", "I"),
        ]

    def test_every_row_and_value_knows_its_place(self):
        """A height that the apparatus cannot do is pointed at in the sheet, too."""
        sheet = squad(
            [],
            ["Squad of spring"],
            [*NAMES, LOW, HIGH, SPREAD],
            ["Quill", "Edda", "Hall A", 160, 245, 170],
        )

        assert (sheet.tables[0].sheet, sheet.tables[0].header_row) == ("Squad", 3)
        assert sheet.persons[0].at == ("Squad", 4, "A")
        low = sheet.accepted[0]
        assert (low.row, low.column) == (4, "D")
        assert sheet.queries == ()

    def test_an_athlete_may_come_without_model_and_settings(self):
        """The roster first, the tape measure later."""
        sheet = squad(NAMES, ["Quill", "Edda"])

        assert (named(sheet), sheet.accepted, sheet.queries) == ([("Quill", "Edda")], (), ())

    def test_an_athlete_has_a_row_for_each_model(self):
        """At home on one make, at the meet on another."""
        header = [*NAMES, LOW, HIGH, SPREAD]
        sheet = squad(
            header,
            ["Quill", "Edda", "Hall A", 160, 245, 170],
            ["Quill", "Edda", "Hall B", 161, 246, 171],
        )

        assert named(sheet) == [("Quill", "Edda")]
        assert sheet.queries == ()
        assert {one.model for one in sheet.accepted} == {"Hall A", "Hall B"}

    def test_columns_of_one_name_are_of_the_kind_of_the_rows_model(self):
        """The spread of uneven bars and that of parallel bars stand in one column."""
        sheet = squad(
            [*NAMES, "Rail height (cm)", SPREAD], ["Quill", "Edda", "Bars P", 180, "45,5"]
        )

        assert sheet.queries == ()
        assert [(one.kind, one.axis, one.value_mm) for one in sheet.accepted] == [
            ("parallel_bars", "rails", 1800),
            ("parallel_bars", "spread", 455),
        ]

    def test_names_are_tidied_but_not_changed(self):
        """One athlete must not become two by a blank or by the way an accent is stored."""
        sheet = squad(NAMES, ["  O\u0308st \u00a0 berg ", "Zoe\u0308\u200b"])

        assert named(sheet) == [("Öst berg", "Zoë")]

    @pytest.mark.parametrize("name", ["Total", "Mean: 3", "Ana?", "Ana (old)", "*Ana", "12", "cm"])
    def test_no_name_is_taken_for_a_total_a_note_or_a_header(self, name: str):
        """In our own columns a row is an athlete's, whatever she is called."""
        sheet = squad(NAMES, ["Quill", "Edda"], [name, "Ana"])

        assert named(sheet) == [("Quill", "Edda"), (name, "Ana")]
        assert sheet.queries == ()

    def test_names_that_are_only_alike_are_two_athletes(self):
        """The desk has written them out as two, so they come in again as two."""
        rows = [["O'Shea", "Zoë"], ["O’Shea", "Zoë"], ["O'Shea", "Zoe"], ["Zoë", "O'Shea"]]
        sheet = squad(NAMES, *rows)

        assert [list(name) for name in named(sheet)] == rows
        assert sheet.queries == ()

    def test_headers_are_known_however_they_are_typed(self):
        """Capitals and blanks are not what a coach has to care about."""
        sheet = squad(
            [
                *("FAMILY NAME", "given  name", " Model ", "low rail height(CM)"),
                *("Low rail height accepts (+/- cm)", HIGH, SPREAD),
            ],
            ["Quill", "Edda", "hall  a", "162,5", "± 0,5", 245, 170],
        )

        assert sheet.is_ours
        assert sheet.queries == ()
        assert (sheet.accepted[0].value_mm, sheet.accepted[0].model) == (1625, "Hall A")
        assert list(sheet.persons[0].accepts_mm.values()) == [5]

    def test_blank_rows_are_skipped(self):
        """Between two groups there is often one."""
        sheet = squad(NAMES, ["Quill", "Edda"], [None, " "], ["Ash", "Juno"])

        assert [one.at[1] for one in sheet.persons] == [2, 4]

    def test_text_that_looks_like_a_formula_stays_text(self):
        """It is nobody's name, but it is for the coach to say so."""
        sheet = read_lists(b"Family name,Given name,Model\n=1+1,@Edda,\n", "squad.csv")

        assert (named(sheet), sheet.queries) == ([("=1+1", "@Edda")], ())

    def test_a_reason_keeps_its_lines(self):
        """Some reasons are longer than a word."""
        sheet = squad(
            [*NAMES, LOW, HIGH, SPREAD, "Reason"],
            ["Quill", "Edda", "Hall A", 160, 245, 170, " tall, was 165?\r\nnew grip \n"],
        )

        assert sheet.persons[0].reasons == {"Hall A": "tall, was 165?\nnew grip"}
        assert sheet.queries == ()

    def test_of_a_workbook_the_sheet_of_that_name_is_read(self):
        """The explanations beside it, and whatever else a coach keeps there, are no squad."""
        workbook = book(NAMES, ["Quill", "Edda"])
        workbook.create_sheet("Older", 0).append(["Family name", "Given name", "Model"])
        workbook["Older"].append(["Ash", "Juno"])

        sheet = read_lists(saved(workbook), "squad.xlsx", MODELS)

        assert (named(sheet), sheet.queries) == ([("Quill", "Edda")], ())


class TestLengthCell:
    @pytest.mark.parametrize("cell", [162.5, "162.5", "162,5", "162,5 cm", 162.49999999999997])
    def test_a_length_is_read_however_it_was_typed(self, cell: object):
        """Number or text, point or comma."""
        value, queries = wanted(cell)

        assert value is not None
        assert (value.value_mm, queries) == (1625, [])

    def test_what_was_read_and_what_is_to_be_done_are_said_with_the_place(self):
        """The coach finds the cell and knows what to type."""
        assert asked([*NAMES, LOW, HIGH, SPREAD], ["Quill", "Edda", "Hall A", 160, "24,5x", 170])[
            0
        ] == (
            2,
            "E",
            "24,5x",
            "More than a value stands in the cell: type the value alone, and the rest as a remark",
        )

    @pytest.mark.parametrize(
        ("cell", "words"),
        [
            (162.50000001, "'162.50000001': "),
            (162.50000001, "type the value alone"),
            ("162.55", "type 162.5 cm or 162.6 cm"),
            ("1 62", "There is a gap in the number"),
            ("5 ft 4", "Several values or a range stand in one cell"),
            (-5, "The value is below zero"),
            (0, "The value is nought"),
            (date(2031, 5, 16), "'2031-05-16"),
            (date(2031, 5, 16), "The cell is a date or time"),
            (True, "'TRUE': The cell holds true or false"),
            ("=A1", "The cell is a formula without a result"),
            (1e300, "'1e+300': The number is larger"),
            ("½", "Several values or a range stand in one cell"),
            (1.7, "in metres it would be 170.0 cm"),
        ],
    )
    def test_nothing_is_guessed_or_rounded(self, cell: object, words: str):
        """A wrong height is worse than none."""
        value, (query,) = wanted(cell)

        assert value is None
        assert words in query

    def test_a_length_that_is_hardly_one_of_its_axis_is_told_apart(self):
        """The desk asks nobody about it whose it is already."""
        header, row = [*NAMES, LOW, HIGH, SPREAD], ["Quill", "Edda", "Hall A", 99, 245, 170]
        [doubtful] = squad(header, row).unbelieved

        assert (doubtful.axis, doubtful.value_mm, doubtful.row, doubtful.column) == (
            *("low_rail", 990),
            *(2, "D"),
        )

    def test_a_length_and_a_mark_for_one_axis_are_refused(self):
        """Which of the two was meant?"""
        queries = asked(
            [*NAMES, LOW, LOW_MARK, HIGH, SPREAD], ["Quill", "Edda", "Hall A", 160, "C", 245, 170]
        )

        assert queries == [
            (
                *(2, "E", "C"),
                "Column D has '160' for the same: leave a length or a mark, and not both",
            )
        ]

    def test_a_deviation_from_nothing_is_refused(self):
        """It probably stands one column off."""
        header = [*NAMES, LOW, LOW_ACCEPTS, HIGH, SPREAD]
        queries = asked(header, ["Quill", "Edda", "Hall A", None, "±1", 245, 170])

        assert [query[:3] for query in queries] == [(2, "E", "±1")]
        assert "No length or mark stands in this row that this deviation is from" in queries[0][3]

    @pytest.mark.parametrize(("cell", "words"), [("88", "at most 50 cm"), ("much", "± 1 cm")])
    def test_a_deviation_that_is_none_is_refused(self, cell: str, words: str):
        header = [*NAMES, LOW, LOW_ACCEPTS, HIGH, SPREAD]
        [query] = asked(header, ["Quill", "Edda", "Hall A", 160, cell, 245, 170])

        assert query[:3] == (2, "E", cell)
        assert words in query[3]

    def test_a_mark_that_became_a_date_is_refused(self):
        """3-4 is the fourth of March to a spreadsheet."""
        _, (query,) = wanted(date(2031, 3, 4), LOW_MARK)

        assert "a date or time, and text is expected" in query

    def test_a_mark_is_whatever_is_printed_there(self):
        """No rule says what a maker prints beside a hole."""
        value, queries = wanted("III / b", LOW_MARK)

        assert value is not None
        assert (value.mark, queries) == ("III / b", [])

    def test_settings_without_a_model_are_refused(self):
        """A mark means nothing without the scale it is on."""
        [query] = asked([*NAMES, LOW], ["Quill", "Edda", None, 160])

        assert query[:3] == (2, "C", "")
        assert query[3].startswith("Lengths and marks stand in this row, and no model")

    def test_a_model_that_is_not_known_is_asked_about(self):
        [query] = asked([*NAMES, LOW], ["Quill", "Edda", "Hall X", 160])

        assert query[:3] == (2, "C", "Hall X")
        assert "write one of Hall A, Hall B, Hall C, Bars P in the list" in query[3]

    def test_an_adjustment_that_is_lacking_is_named_at_its_cell(self):
        """The model needs every axis, and blank is not nought."""
        queries = asked([*NAMES, LOW, HIGH], ["Quill", "Edda", "Hall A", 160, None])

        assert [query[:3] for query in queries] == [(2, "C", "Hall A"), (2, "E", "")]
        assert queries[0][3].startswith("Rail spread: a length or a mark is missing, and Hall A")
        assert queries[1][3].startswith("High rail height: a length or a mark is missing")

    def test_an_adjustment_that_the_model_does_not_have_is_refused(self):
        """Probably the row of another apparatus."""
        header = [*NAMES, LOW, "Rail height (cm)", SPREAD]
        queries = asked(header, ["Quill", "Edda", "Bars P", 160, 180, 45])

        assert queries == [
            (2, "D", "160", "Bars P is parallel bars and has no such adjustment: clear the cell")
        ]


class TestFaultyRows:
    def test_every_faulty_cell_has_its_line_and_the_sound_rows_are_read(self):
        """One look at the preview, one visit to the sheet."""
        sheet = squad(
            [*NAMES, LOW, HIGH, SPREAD],
            ["Quill", "Edda", "Hall A", 160, 245, 170],
            [None, None, "Hall A", "x", "y", 170],
            ["Reed", "Sol", "Hall A", 158, 240, 170],
        )

        assert {one.athlete for one in sheet.accepted} == {"Quill, Edda", "", "Reed, Sol"}
        assert [(one.row, one.column) for one in sheet.queries] == [(3, "A"), (3, "D"), (3, "E")]

    @pytest.mark.parametrize("family", [None, "\u200b"])
    def test_a_row_without_a_name_belongs_to_nobody(self, family: str | None):
        [query] = asked([*NAMES, "Group"], [family, None, None, "Juniors"])

        assert query[:2] == (2, "A")
        assert "write the athlete's family name and given name" in query[3]

    def test_the_same_athlete_and_model_twice_is_refused(self):
        """The second would silently replace the first."""
        header = [*NAMES, LOW, HIGH, SPREAD]
        row = [160, 245, 170]
        [query] = asked(
            header, ["Quill", "Edda", "Hall A", *row], ["QUILL", " Edda", "hall a", *row]
        )

        assert query == (
            *(3, "A", "QUILL"),
            "Row 2 is of the same athlete, model and purpose: leave one of the two rows",
        )

    def test_an_athlete_is_printed_under_the_same_name_in_every_row(self):
        """Which of them is it?"""
        [query] = asked(
            [*NAMES, LOW, HIGH, SPREAD, "Printed name"],
            ["Quill", "Edda", "Hall A", 160, 245, 170, "one"],
            ["Quill", "Edda", "Hall B", 160, 245, 170, None],
            ["Quill", "Edda", "Hall C", 160, 245, 170, "two"],
        )

        assert query == (
            *(4, "G", "two"),
            "Row 2 is of the same athlete and has 'one': leave one of the two",
        )

    @pytest.mark.parametrize("name", ["Ed\x07da", "Ed�da", "Ed\x85da"])
    def test_signs_that_cannot_be_printed_are_refused(self, name: str):
        """A name that an export had to mend does not come back mended."""
        content = f"Family name,Given name,Model\nQuill,{name}x,\n".encode()

        (query,) = read_lists(content, "squad.csv").queries

        assert (query.row, query.column) == (2, "B")
        assert "type it again without the sign �" in query.why

    def test_a_name_that_became_a_date_is_refused(self):
        """May is a month to a spreadsheet."""
        (query,) = asked(NAMES, [date(2031, 5, 1), "Edda"])

        assert query[3].startswith("The cell holds a date or time, and text is expected")

    @pytest.mark.parametrize("column", range(4))
    def test_a_name_that_no_card_has_room_for_is_found_in_its_cell(self, column: int):
        row: list[object] = ["Quill", "Edda", None, None]
        row[column] = "A" * 81
        (query,) = asked(["Family name", "Given name", "Printed name", "Group", "Model"], row)

        assert (query[0], query[1]) == (2, "ABCD"[column])
        assert query[3].startswith("A name has at most 80 characters, and this one has 81")


class TestHeader:
    def test_with_an_unknown_header_it_is_read_as_any_list(self):
        """A column that nobody knows must not vanish without a word."""
        sheet = squad([*NAMES, LOW, "Shoe"], ["Quill", "Edda", "Hall A", 160, 38])

        assert not sheet.is_ours
        assert [one.value_mm for one in sheet.accepted] == [1600]
        assert [(one.row, one.column, one.read) for one in sheet.queries] == [(1, "E", "Shoe")]

    def test_a_header_twice_takes_neither_column(self):
        """Two columns of one name: which counts?"""
        sheet = squad([*NAMES, LOW, LOW.upper()], ["Quill", "Edda", "Hall A", 160, 170])

        assert (sheet.is_ours, sheet.accepted) == (False, ())
        assert [one.column for one in sheet.queries] == ["D", "E"]

    def test_without_one_of_the_names_it_is_nobodys_sheet_of_ours(self):
        assert not squad(["Family name", "Model", LOW], ["Quill", "Hall A", 160]).is_ours

    @pytest.mark.parametrize("rows", [[["start list"], [1, 2, 3]], [["a"]]])
    def test_a_sheet_without_headers_is_said(self, rows: list[list[object]]):
        """Another table altogether."""
        (query,) = asked(*rows)

        assert "No header that names athletes and what they want was found" in query[3]

    def test_a_cell_under_no_header_is_refused(self):
        """A note beside the table, or a length one column off."""
        (query,) = asked(NAMES, ["Quill", "Edda", None, None, 160])

        assert query == (
            *(2, "E", "160"),
            "No header stands above this cell: say what its column holds",
        )

    def test_a_title_that_may_change_what_lengths_mean_is_asked_about(self):
        """No header of ours says "mat", and 20 cm would be missing."""
        header, row = [*NAMES, LOW, HIGH, SPREAD], ["Quill", "Edda", "Hall A", 160, 245, 170]

        assert asked(["Squad of spring, in cm"], header, row) == []
        [query] = asked(["Heights above the mat"], header, row)
        assert query[:3] == (1, "A", "Heights above the mat")

    def test_a_hidden_row_is_asked_about(self):
        """Whoever filtered the sheet may have forgotten whom it hides."""
        workbook = book(NAMES, ["Quill", "Edda"], ["Ash", "Juno"])
        workbook["Squad"].row_dimensions[3].hidden = True
        content = saved(workbook)

        [query] = read_lists(content, "squad.xlsx", MODELS).queries
        assert (query.row, query.why.partition(",")[0]) == (3, "This row is hidden")
        counted = read_lists(content, "squad.xlsx", MODELS, answers={query.key: "read"})
        assert counted.queries == ()
        assert named(counted) == [("Quill", "Edda"), ("Ash", "Juno")]

    def test_other_axes_are_other_columns(self):
        """The kinds say which axes there are; their order and number are open."""
        columns = SquadColumns(["Bar height", "Rail spread", "bar  height"])

        assert [column.header for column in columns][5:-2] == [
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
            read_lists(with_number("x"), "squad.xlsx")
