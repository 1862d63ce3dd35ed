"""Workbooks as tables: everything that is there, and nothing that is not."""

from datetime import date, datetime, time

import openpyxl
import pytest
from openpyxl import Workbook
from openpyxl.chart import BarChart, Reference

from settingsdesk.sheets.reading import read_table
from settingsdesk.sheets.refusals import (
    CellNotReadable,
    CellTextTooLong,
    FileRefused,
    RowFarBelow,
    RowsOutOfOrder,
    TableTooLarge,
    WorkbookHasNoSheet,
    WorkbookIsDamaged,
    XmlGuardMissing,
)
from settingsdesk.sheets.table import Cell, CellKind, Row, Table
from tests.sheets.books import (
    SHEET,
    XMLNS,
    book,
    packed,
    parts_of,
    saved,
    with_number,
    with_parts,
    with_sheet,
    with_strings,
)


def table_of(content: bytes, sheet: str = "") -> Table:
    return read_table(content, "squad.xlsx", sheet)


def refused(content: bytes) -> FileRefused:
    with pytest.raises(FileRefused) as refusal:
        table_of(content)
    return refusal.value


def only_cell(content: bytes) -> Cell:
    (row,) = table_of(content).rows
    (cell,) = row.cells
    return cell


class TestCells:
    def test_every_cell_keeps_its_sheet_row_and_column(self):
        """A message can say where to look."""
        content = saved(book(["Family name", None, "Model"], [], [None, 162.5]))

        assert table_of(content) == Table(
            sheet="Squad",
            read_as="workbook",
            rows=(
                Row(1, (Cell("A", "Family name"), Cell("C", "Model"))),
                Row(3, (Cell("B", "162.5", CellKind.NUMBER),)),
            ),
        )

    @pytest.mark.parametrize(
        ("stored", "shown"),
        [
            ("162.5", "162.5"),
            ("162.50000001", "162.50000001"),
            ("162.49999999999997", "162.5"),  # what 1.625 * 100 leaves behind
            ("250", "250"),
            ("250.0", "250"),
            ("2.5E2", "250"),
            ("1E+20", "1e+20"),
            ("1E999", "inf"),
        ],
    )
    def test_a_number_is_shown_to_15_digits_as_a_spreadsheet_shows_it(
        self, stored: str, shown: str
    ):
        """Rubble of binary arithmetic is no finer wish; a real eighth decimal is."""
        assert only_cell(with_number(stored)) == Cell("B", shown, CellKind.NUMBER)

    @pytest.mark.parametrize(
        ("value", "shown"),
        [
            (date(2031, 5, 16), "2031-05-16"),
            (datetime(2031, 5, 16, 9, 30), "2031-05-16 09:30:00"),  # noqa: DTZ001 -- cells have no zone
            (time(16, 5), "16:05:00"),
        ],
    )
    def test_dates_and_times_are_flagged_and_not_taken_for_numbers(self, value: object, shown: str):
        """A spreadsheet makes 16 May of 16.5 behind the coach's back."""
        assert only_cell(saved(book([value]))) == Cell("A", shown, CellKind.DATE)

    def test_a_number_formatted_as_a_date_is_flagged(self):
        """245 looks like a day of the year 1900 then."""
        workbook = book([245])
        workbook["Squad"]["A1"].number_format = "dd.mm.yyyy"

        assert only_cell(saved(workbook)).kind is CellKind.DATE

    @pytest.mark.filterwarnings("ignore:Cell A1 is marked as a date:UserWarning")
    def test_a_number_too_large_for_its_date_format_is_flagged(self):
        """The reader library makes an error of it."""
        workbook = book([99_999_999])
        workbook["Squad"]["A1"].number_format = "dd.mm.yyyy"

        assert only_cell(saved(workbook)).kind is CellKind.ERROR

    def test_true_and_false_are_flagged_and_not_taken_for_one_and_nought(self):
        """A tick box is no height."""
        assert only_cell(saved(book([True]))) == Cell("A", "TRUE", CellKind.BOOLEAN)

    def test_an_error_is_flagged(self):
        """A lookup that failed."""
        cell = only_cell(with_number("#N/A", 't="e"'))

        assert cell == Cell("B", "#N/A", CellKind.ERROR)

    def test_a_formula_counts_as_its_result(self):
        """What the coach sees in the cell is what is read."""
        content = with_sheet('<row><c r="A1"><f>B1*100</f><v>162.5</v></c></row>')

        assert only_cell(content) == Cell("A", "162.5", CellKind.NUMBER)

    def test_a_formula_without_a_result_is_flagged_and_not_taken_for_blank(self):
        """Programs that only write workbooks do not calculate them."""
        assert only_cell(saved(book(["=B1*100"]))).kind is CellKind.FORMULA

    def test_a_formula_whose_result_is_no_text_is_blank(self):
        """IF(…;"") is how forms leave a cell empty."""
        content = with_sheet('<row><c r="A1" t="str"><f>IF(B1,B1,"")</f><v></v></c></row>')

        assert table_of(content).rows == ()

    def test_text_is_text_however_it_is_stored(self):
        """In the cell, in the table of strings, in pieces of different colour."""
        content = with_strings(
            "<si><t>plain</t></si><si><r><t>two </t></r><r><t>colours</t></r></si>",
            '<row><c t="s"><v>0</v></c><c t="s"><v>1</v></c>'
            '<c t="inlineStr"><is><t>here_x000D_</t></is></c></row>',
        )

        assert [cell.text for cell in table_of(content).rows[0].cells] == [
            "plain",
            "two colours",
            "here\r",
        ]


class TestRows:
    def test_a_dimension_tag_that_lies_drops_nothing(self):
        """Some programs never correct it; the library would believe it."""
        content = with_sheet(
            '<row r="1"><c r="A1"><v>1</v></c></row><row r="40"><c r="F40"><v>2</v></c></row>',
            before='<dimension ref="A1:A1"/>',
        )

        assert [row.number for row in table_of(content).rows] == [1, 40]

    def test_rows_and_cells_without_their_numbers_are_counted(self):
        """The standard lets them out."""
        content = with_sheet('<row/><row><c/><c t="str"><v>x</v></c></row>')

        assert table_of(content).rows == (Row(2, (Cell("B", "x"),)),)

    @pytest.mark.parametrize("reference", ["b3", "B03"])
    def test_a_reference_may_be_written_in_small_letters_or_with_noughts(self, reference: str):
        """The cell is that of column B all the same."""
        content = with_sheet(f'<row r="3"><c r="{reference}"><v>1</v></c></row>')

        assert only_cell(content) == Cell("B", "1", CellKind.NUMBER)

    def test_blank_rows_and_blank_cells_are_left_out(self):
        """Borders drawn around nothing are nothing."""
        workbook = book(["x"], ["  "], [""])
        workbook["Squad"]["C9"].number_format = "0.0"

        assert table_of(saved(workbook)).rows == (Row(1, (Cell("A", "x"),)),)

    def test_merged_cells_have_their_text_in_the_first(self):
        """A title over the whole table."""
        workbook = book(["Squad of spring"], ["Family name", "Given name"])
        workbook["Squad"].merge_cells("A1:F1")

        assert table_of(saved(workbook)).rows[0] == Row(1, (Cell("A", "Squad of spring"),))

    def test_a_row_far_below_is_refused_and_not_left_out(self):
        """Nothing is dropped silently, even where nobody scrolls."""
        refusal = refused(with_sheet('<row r="300"><c r="A300"><v>1</v></c></row>'))

        assert isinstance(refusal, RowFarBelow)
        assert str(refusal) == (
            "'squad.xlsx', sheet 'Squad', row 300: something stands here, far below the table; "
            "delete it, or move it up to the other rows"
        )

    def test_200_blank_rows_are_no_end(self):
        """Two squads in one sheet, one below the other."""
        content = with_sheet(
            '<row r="1"><c><v>1</v></c></row><row r="202"><c r="A202"><v>1</v></c></row>'
        )

        assert len(table_of(content).rows) == 2

    def test_the_row_beyond_the_bound_is_named(self):
        """The coach learns how many rows are read."""
        rows = "".join("<row><c><v>1</v></c></row>" for _ in range(5_001))
        refusal = refused(with_sheet(rows))

        assert isinstance(refusal, TableTooLarge)
        assert refusal.place == "sheet 'Squad', row 5001"
        assert "at most 5,000 rows" in str(refusal)

    @pytest.mark.parametrize(("cell", "column"), [("BI1", "BI"), ("XFD1", "XFD")])
    def test_the_column_beyond_the_bound_is_named(self, cell: str, column: str):
        """Notes far to the right are easily forgotten."""
        refusal = refused(with_sheet(f'<row><c r="{cell}"><v>1</v></c></row>'))

        assert isinstance(refusal, TableTooLarge)
        assert refusal.place.endswith(f"row 1, column {column}")

    def test_a_blank_cell_beyond_the_bound_does_no_harm(self):
        """Whole rows get coloured."""
        assert table_of(with_sheet('<row><c r="XFD1" s="0"/></row>')).rows == ()

    @pytest.mark.parametrize(
        "data",
        [
            '<row r="2"/><row r="1"/>',
            '<row r="2"/><row r="2"/>',
            '<row r="0"/>',
            '<row r="-1"/>',
            '<row><c r="B1"><v>1</v></c><c r="A1"><v>2</v></c></row>',
            '<row><c r="A1"><v>1</v></c><c r="A1"><v>2</v></c></row>',
            '<row r="1"><c r="A2"><v>1</v></c></row>',
            '<row r="1"><c r="XFE1"><v>1</v></c></row>',
        ],
    )
    def test_rows_and_cells_out_of_order_are_refused(self, data: str):
        """The second of two same cells would win, and nobody would know."""
        assert isinstance(refused(with_sheet(data)), RowsOutOfOrder)


class TestCellThatCannotBeRead:
    @pytest.mark.parametrize(
        ("stored", "attributes"),
        [
            ("24,5", ""),
            ("tall", ""),
            ("NaN", ""),
            ("9" * 5_000, ""),
            ("7", 't="s"'),
            ("x", 't="s"'),
            ("x", 't="b"'),
            ("yesterday", 't="d"'),
            ("1", 's="first"'),
        ],
    )
    def test_it_is_named(self, stored: str, attributes: str):
        """The library alone would end without a word about which cell."""
        refusal = refused(with_number(stored, attributes))

        assert isinstance(refusal, CellNotReadable)
        assert str(refusal) == (
            "'squad.xlsx', sheet 'Squad', row 3, column B: the cell cannot be read; "
            "clear it, type its content again and save the file"
        )

    @pytest.mark.parametrize("reference", ["3B", "B", "ABCD3", "B99999999999999999999", "💥"])
    def test_a_reference_that_is_none_is_refused(self, reference: str):
        """A crafted reference makes no crafted message."""
        refusal = refused(with_sheet(f'<row r="3"><c r="{reference}"><v>1</v></c></row>'))

        assert isinstance(refusal, (CellNotReadable, RowsOutOfOrder))
        assert refusal.place.startswith("sheet 'Squad', row 3, column ")

    def test_a_reference_without_its_row_is_refused_in_a_column_that_is_known_too(self):
        """Where the column stood above, the row is still not guessed."""
        refusal = refused(
            with_sheet('<row><c r="A1"><v>1</v></c></row><row><c r="A"><v>1</v></c></row>')
        )

        assert isinstance(refusal, CellNotReadable)
        assert refusal.place == "sheet 'Squad', row 2, column A"

    def test_more_text_than_a_cell_holds_is_refused(self):
        """A long text that thousands of cells share would fill the memory."""
        content = with_sheet(f'<row><c t="inlineStr"><is><t>{"ab" * 20_000}</t></is></c></row>')

        assert isinstance(refused(content), CellTextTooLong)

    def test_a_long_text_shared_by_many_cells_is_refused(self):
        """32,000 characters are one entry in the file and thousands of copies in memory."""
        content = with_strings(
            f"<si><t>{'ab' * 16_000}</t></si>", '<row><c t="s"><v>0</v></c></row>' * 400
        )

        assert isinstance(refused(content), TableTooLarge)


class TestSheets:
    def test_the_named_sheet_is_read_wherever_it_stands(self):
        """The squad's workbook may hold more than the squad."""
        workbook = book(["other"], title="Notes")
        workbook.create_sheet("SQUAD ").append(["wanted"])

        assert table_of(saved(workbook), "Squad").rows[0].cells[0].text == "wanted"

    def test_without_it_the_first_sheet_that_is_shown_is_read(self):
        """Hidden sheets are forgotten ones."""
        workbook = book(["hidden"], title="Squad")
        workbook.create_sheet("Shown").append(["shown"])
        workbook["Squad"].sheet_state = "hidden"

        assert table_of(saved(workbook), "Squad").sheet == "Shown"

    def test_no_sheet_that_is_shown_is_said(self):
        """Reading what is hidden would take over what nobody looked at."""
        parts = parts_of(saved(book(["hidden"])))
        parts["xl/workbook.xml"] = parts["xl/workbook.xml"].replace(b'"visible"', b'"hidden"')

        assert isinstance(refused(packed(parts)), WorkbookHasNoSheet)

    def test_a_sheet_of_charts_is_passed_over(self):
        """A chart is no table."""
        workbook = book(["squad"])
        chart = BarChart()
        chart.add_data(Reference(workbook["Squad"], min_col=1, min_row=1))
        workbook.create_chartsheet("Chart", 0).add_chart(chart)

        assert table_of(saved(workbook)).sheet == "Squad"

    def test_a_sheet_without_rows_is_an_empty_table(self):
        """Whether that is a fault is for the reader of the squad to say."""
        assert table_of(saved(Workbook())).rows == ()

    @pytest.mark.parametrize(
        "parts",
        [
            {SHEET: "<worksheet"},
            {SHEET: ""},
            {SHEET: f"<worksheet {XMLNS}><sheetData><row r='x'/></sheetData></worksheet>"},
            {"xl/workbook.xml": "<nothing/>"},
            {"xl/styles.xml": f"<x {XMLNS}><cellXfs><xf fontId='x'/></cellXfs></x>"},
            {"docProps/core.xml": "<broken"},
            {"xl/_rels/workbook.xml.rels": "<Relationships/>"},
            {SHEET: f"<x {XMLNS}><mergeCells><mergeCell ref='?'/></mergeCells></x>"},
        ],
    )
    def test_a_damaged_part_is_said(self, parts: dict[str, str]):
        """Whatever the library stumbles over, the coach reads one sentence."""
        assert isinstance(refused(with_parts(parts)), (WorkbookIsDamaged, WorkbookHasNoSheet))


class TestHardening:
    def test_the_library_reads_xml_through_defusedxml(self):
        """ASVS 1.5.1, the second line behind the guard."""
        assert openpyxl.DEFUSEDXML is True

    def test_without_it_no_workbook_is_read(self, monkeypatch: pytest.MonkeyPatch):
        """An installation that lost the package must not read on as if nothing had happened."""
        monkeypatch.setattr(openpyxl, "DEFUSEDXML", False)

        with pytest.raises(XmlGuardMissing, match="defusedxml"):
            table_of(saved(book(["x"])))
