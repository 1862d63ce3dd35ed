"""Sheets going out: text stays text, and nothing is lost silently."""

from collections.abc import Iterator
from io import BytesIO
from typing import Any

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.sheets.formula_guard import with_guard, without_guard
from settingsdesk.sheets.reading import read_table
from settingsdesk.sheets.writing import (
    Centimetres,
    Page,
    TextTooLongForCell,
    csv_bytes,
    filled,
    sheet_name,
    workbook_of,
    writable,
    xlsx_bytes,
)

LIVE = [
    "=1+1",
    "+1",
    "-1",
    "@SUM(A1)",
    "\t=1",
    "\r=1",
    "\n=1",
    "  =1",
    "＝1",
    "'=1",
    '=cmd|"/c x"!A1',
]


def page(*values: Any) -> Page:
    return Page("Rotation", ("Turn", "Name", "Low rail")[: len(values)], (values,))


def opened(content: bytes) -> Any:
    return openpyxl.load_workbook(BytesIO(content)).worksheets[0]


class TestWorkbook:
    def test_lengths_are_numbers_and_names_are_text(self):
        """The sheet can be sorted, and shows a height as the cards do."""
        sheet = opened(xlsx_bytes([page(1, "Edda", Centimetres(1600))]))

        assert [(cell.value, cell.data_type) for cell in sheet[2]] == [
            (1, "n"),
            ("Edda", "s"),
            (160, "n"),
        ]
        assert sheet["C2"].number_format == "0.0"

    @pytest.mark.parametrize("text", LIVE)
    def test_text_is_never_a_formula(self, text: str):
        """ASVS 1.2.10: a name must not run in the spreadsheet of whoever opens the list."""
        cell = opened(xlsx_bytes([page(text)]))["A2"]

        assert cell.data_type == "s"
        assert cell.quotePrefix

    @pytest.mark.parametrize("text", ["#N/A", "TRUE", "1", "2031-05-16"])
    def test_text_is_no_error_number_or_date_either(self, text: str):
        """A group may be called 1."""
        cell = opened(xlsx_bytes([page(text)]))["A2"]

        assert (cell.value, cell.data_type) == (text, "s")

    def test_the_headers_stay_in_view_and_on_every_printed_page(self):
        """At the apparatus nobody scrolls back."""
        sheet = opened(xlsx_bytes([page(1, "Edda")]))

        assert sheet.freeze_panes == "A2"
        assert sheet.print_title_rows == "$1:$1"
        assert (sheet.sheet_properties.pageSetUpPr.fitToPage, sheet.page_setup.fitToHeight) == (
            True,
            0,
        )

    @pytest.mark.parametrize(
        ("name", "written"),
        [
            ("Bars 1/2: [spring]", "Bars 1 2   spring"),
            ("'quoted'", "quoted"),
            ("x" * 40, "x" * 31),
            ("?*", "Sheet"),
            ("", "Sheet"),
            ("a\x07b", "a�b"),
        ],
    )
    def test_a_sheet_has_a_name_it_may_have(self, name: str, written: str):
        """An apparatus can have a name that a sheet cannot."""
        assert sheet_name(name) == written
        assert opened(xlsx_bytes([Page(name, (), ())])).title == written

    @pytest.mark.parametrize("text", ["a\rb", "a\nb", "a\r\nb", " a ", "\ta\n", "<a> & 'b' \"c\""])
    def test_every_sign_comes_back_as_it_was(self, text: str):
        """A reason may have several lines, or what a file of this kind is written with."""
        content = xlsx_bytes([page(text)])

        assert opened(content)["A2"].value == text
        assert read_table(content, "a.xlsx").rows[1].cells[0].text == text

    def test_it_is_sent_while_its_rows_are_made(self):
        """A squad of any size begins to come at once, and is never in memory as a whole."""
        made: list[int] = []

        def rows() -> Iterator[tuple[str, int]]:
            for number in range(5_000):
                made.append(number)
                yield f"{number * number % 7919}", number

        pages = [Page("Rotation", ("Turn", "Name"), rows())]
        parts = filled(workbook_of(pages), pages)
        first = next(parts)
        made_by_then = len(made)
        whole = first + b"".join(parts)

        assert first.startswith(b"PK")
        assert made_by_then < 1_000
        assert [row[1].value for row in opened(whole).iter_rows(min_row=2)] == list(range(5_000))

    def test_what_stands_over_and_under_the_rows_is_in_its_place(self):
        """A crew sheet's headers are repeated on each page of paper, what is over them is not."""
        sheet = opened(
            xlsx_bytes([Page("S", ("Turn",), ((1,), (2,)), ("Session 1",), ("End",), (40,))])
        )

        column = [(cell.value, cell.font.bold, cell.alignment.wrap_text) for cell in sheet["A"]]
        assert column == [
            ("Session 1", True, None),
            ("Turn", True, True),
            (1, False, True),
            (2, False, True),
            ("End", False, None),
        ]
        assert sheet.print_title_rows == "$2:$2"


class TestCsv:
    def test_the_file_is_rfc_4180_in_utf_8_with_a_mark(self):
        """Without the mark spreadsheets take it for something else."""
        content = csv_bytes(page(1, 'Edda "E", Quill\nx', Centimetres(1625)))

        assert content == (b'\xef\xbb\xbfTurn,Name,Low rail\r\n1,"Edda ""E"", Quill\nx",162.5\r\n')

    @pytest.mark.parametrize("text", LIVE)
    def test_live_text_gets_a_quote(self, text: str):
        """ASVS 1.2.10, and what was guarded reads back as itself."""
        content = csv_bytes(Page("", ("a", "b"), (("x", text),)))

        assert f"x,'{text[0]}" in content.decode().replace('"', "")
        (_, row) = read_table(content, "a.csv").rows
        assert row.cells[1].text == text

    def test_numbers_get_no_quote(self):
        """A deviation below zero is a number and not a formula."""
        assert csv_bytes(page(-3, "x", Centimetres(-5))).endswith(b"-3,x,-0.5\r\n")

    @given(st.text(alphabet="'=+-@\t\r\n aＡ＝"))
    def test_the_guard_can_always_be_taken_off(self, text: str):
        """Whatever quotes a name already has."""
        assert without_guard(with_guard(text)) == text


class TestSignsThatNoSheetCanHold:
    @pytest.mark.parametrize(
        "sign", ["\x00", "\x07", "\x0b", "\x1f", "\x7f", "\x85", "\ud800", "\uffff"]
    )
    def test_one_such_sign_does_not_stop_the_whole_sheet(self, sign: str):
        """The list is needed at the apparatus now; the sign is shown as �."""
        for content in (xlsx_bytes([page(f"Ed{sign}da")]), csv_bytes(page(f"Ed{sign}da"))):
            name = "a.xlsx" if content.startswith(b"PK") else "a.csv"
            assert read_table(content, name).rows[1].cells[0].text == "Ed�da"

    def test_tabs_and_line_ends_are_kept(self):
        """They can be held."""
        assert writable("a\tb\nc") == "a\tb\nc"

    @pytest.mark.parametrize("text", ["x" * 32_768, "_x0041_" * 4_600])
    def test_a_text_that_does_not_fit_is_refused_and_not_cut(self, text: str):
        """A remark cut in the middle may say the opposite."""
        with pytest.raises(TextTooLongForCell, match="and a cell holds 32,767: shorten it"):
            xlsx_bytes([page(text)])

    def test_the_longest_text_that_fits_is_kept(self):
        """To the last letter."""
        content = xlsx_bytes([page("x" * 32_767)])

        assert len(read_table(content, "a.xlsx").rows[1].cells[0].text) == 32_767

    @given(st.lists(st.sampled_from(["_", "x", "0041", "005F", "000D", "X", "a"])).map("".join))
    def test_text_that_looks_like_an_escape_is_kept(self, text: str):
        """The format has escapes like _x0041_, which a spreadsheet would show as A."""
        rows = read_table(xlsx_bytes([page(f"{text}.")]), "a.xlsx").rows

        assert rows[1].cells[0].text == f"{text}."
