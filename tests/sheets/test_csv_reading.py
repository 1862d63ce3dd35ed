"""CSV files as tables, from whatever country and program they come."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.sheets.reading import read_table
from settingsdesk.sheets.refusals import (
    CellTextTooLong,
    FileRefused,
    QuoteNotClosed,
    SeparatorUnclear,
    TableRefused,
    TableTooLarge,
    TextNotReadable,
    WorkbookHoldsTooMuch,
)
from settingsdesk.sheets.table import Cell, Row, Table


def table_of(content: bytes | str) -> Table:
    data = content.encode() if isinstance(content, str) else content
    return read_table(data, "squad.csv")


def texts_of(content: bytes | str) -> list[list[str]]:
    return [[cell.text for cell in row.cells] for row in table_of(content).rows]


def refused(content: bytes | str) -> FileRefused:
    with pytest.raises(FileRefused) as refusal:
        table_of(content)
    return refusal.value


class TestDittos:
    """A quotation mark alone in its cell, as people type it below what is the same."""

    @pytest.mark.parametrize(
        "row", ['a;";165', 'a;";";165', 'a;";165\nb;";170', '";";165\n";";170', 'a;165;"\nb;170;"']
    )
    def test_swallow_no_cells(self, row: str):
        """What stands behind two of them moved to the column of another rail."""
        cells = [cell or None for line in row.split("\n") for cell in line.split(";")]
        header = ";".join("wxyz"[: row.partition("\n")[0].count(";") + 1])
        read = [cell for line in texts_of(f"{header}\n{row}\n".encode())[1:] for cell in line]
        assert read == cells

    def test_are_no_quoted_separators(self):
        assert texts_of(b'x;y\n"Lea;";"5;"""\n')[1] == ["Lea;", '5;"']


class TestEncoding:
    @pytest.mark.parametrize(
        ("encoding", "read_as"),
        [
            ("utf-8", "UTF-8"),
            ("utf-8-sig", "UTF-8"),
            ("utf-16", "UTF-16"),
            ("utf-16-le", "UTF-16"),
            ("utf-16-be", "UTF-16"),
            ("cp1252", "Windows-1252"),
        ],
    )
    def test_names_come_out_as_they_were_typed(self, encoding: str, read_as: str):
        """The preview says how the file was read, for one encoding is a guess."""
        content = "Family name;Given name\r\nÖstergård;Zoë\r\n".encode(encoding)

        assert table_of(content) == Table(
            sheet="",
            read_as=f"{read_as}, separated by semicolons",
            rows=(
                Row(1, (Cell("A", "Family name"), Cell("B", "Given name"))),
                Row(2, (Cell("A", "Östergård"), Cell("B", "Zoë"))),
            ),
        )

    @pytest.mark.parametrize("encoding", ["cp1250", "iso8859_2"])
    @pytest.mark.parametrize(
        "rows",
        [
            [["Nazwisko", "Imię"], ["Śmigłocka", "Świętosława"]],
            [["Nazwisko", "Imie"], ["Śmigłocka", "Świętosława"]],
            [["Surname", "First name"], ["Śmigłocka", "Świętosława"]],
            [["Příjmení", "Jméno"], ["Šťovíčková", "Žofie"]],
        ],
    )
    def test_both_encodings_of_middle_europe_are_told_apart(self, encoding: str, rows: list):
        """What is Ś in one is a broken stroke in the other, and nobody is called "¦więtosława"."""
        content = "\n".join(";".join(row) for row in rows).encode(encoding)

        assert texts_of(content) == rows

    def test_big_endian_utf_16_is_read(self):
        """Its byte order mark says so."""
        assert texts_of(b"\xfe\xff" + "a;b".encode("utf-16-be")) == [["a", "b"]]

    @pytest.mark.parametrize(
        "content",
        [
            b"a,b\r\nc,\x81\r\n",
            b"\xef\xbb\xbfa,b\r\nc,\xff\r\n",
            "a,b\r\nc,\x00d".encode("utf-16"),
        ],
    )
    def test_bytes_that_are_no_text_are_refused_with_their_row(self, content: bytes):
        """One sign that is lost would be a name that is wrong."""
        refusal = refused(content)

        assert isinstance(refusal, TextNotReadable)
        assert str(refusal) == (
            "'squad.csv', row 2: a character cannot be read; "
            "save it again as CSV in UTF-8, or as .xlsx"
        )

    def test_half_a_sign_at_the_end_is_refused(self):
        """A copy that broke off."""
        assert isinstance(refused("a,b".encode("utf-16")[:-1]), TextNotReadable)


class TestSeparator:
    @pytest.mark.parametrize("separator", [",", ";", "\t"])
    def test_comma_semicolon_and_tab_are_found(self, separator: str):
        """Which of them a spreadsheet writes depends on the country it is set to."""
        assert texts_of(f"a{separator}b\nc{separator}d\n") == [["a", "b"], ["c", "d"]]

    def test_decimal_commas_do_not_divide(self):
        """162,5 must not become 162 and 5, the most dangerous misreading of all."""
        content = "Name;Low;High;Reason\nA;162,5;245,5;tall, strong, quick\nB;163,5;247,5;\n"

        assert texts_of(content)[1] == ["A", "162,5", "245,5", "tall, strong, quick"]

    def test_decimal_commas_between_commas_stand_in_quotes(self):
        """So does a spreadsheet write them."""
        assert texts_of('Name,Low\nA,"162,5"\n')[1] == ["A", "162,5"]

    def test_a_title_above_the_table_does_not_decide(self):
        """Squad, spring: that comma separates nothing."""
        assert texts_of("Squad, spring\n\na;b;c\nd;e;f\n")[1] == ["a", "b", "c"]

    def test_one_column_needs_no_separator(self):
        """A list of names alone."""
        assert texts_of("Family name\nQuill\n") == [["Family name"], ["Quill"]]

    def test_two_separators_that_do_equally_well_are_refused(self):
        """A guess would be wrong in half of the cases."""
        assert isinstance(refused("a,b;c\nd,e;f\n"), SeparatorUnclear)


class TestRows:
    def test_quoted_text_may_hold_separators_quotes_and_line_ends(self):
        """RFC 4180, rules 6 and 7."""
        assert texts_of('a,b\n"x,\r\ny","say ""ja"""\n')[1] == ["x,\r\ny", 'say "ja"']

    def test_rows_are_numbered_as_a_spreadsheet_numbers_them(self):
        """A line end within quotes begins no row; a blank line is one."""
        rows = table_of('a,b\n"x\ny",1\n\nc,d').rows

        assert [row.number for row in rows] == [1, 2, 4]

    @pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
    def test_any_line_end_will_do(self, ending: str):
        """Three kinds of computers, three line ends."""
        assert texts_of(f"a,b{ending}c,d{ending}") == [["a", "b"], ["c", "d"]]

    @pytest.mark.parametrize("content", ['a,b\n"c,d\ne,f\n', 'a,b\n"c"x,d\n'])
    def test_a_quote_that_is_not_closed_is_refused_with_its_row(self, content: str):
        """It would swallow the rest of the squad into one cell."""
        refusal = refused(content)

        assert isinstance(refusal, QuoteNotClosed)
        assert refusal.place == "row 2"

    def test_text_that_was_guarded_against_calculation_is_itself_again(self):
        """What was exported comes back; a quote before anything else is kept."""
        assert texts_of("a,b\n'=1+1,'tis\n")[1] == ["=1+1", "'tis"]

    @pytest.mark.parametrize(
        ("content", "refusal"),
        [
            ("a,b\n" * 5_001, TableTooLarge),
            ("a" + ",a" * 60, TableTooLarge),
            ("a,b\n" + "x" * 40_000 + ",", CellTextTooLong),
        ],
    )
    def test_the_bounds_are_those_of_workbooks(self, content: str, refusal: type[TableRefused]):
        """Nothing is cut off silently."""
        assert isinstance(refused(content), refusal)

    @pytest.mark.parametrize(
        "content",
        ["a,b\n" + "," * 1_000_000, "a,b\n" + "\n" * 1_000_000, "a;b\n" + ";,\t|" * 250_000],
    )
    def test_separators_and_line_ends_without_end_are_counted_and_the_bound_is_named(
        self, content: str
    ):
        """Ten million blank cells took as much memory as all else that the desk does."""
        refusal = refused(content)

        assert isinstance(refusal, WorkbookHoldsTooMuch)
        assert str(refusal) == (
            "'squad.csv' has more than 1,000,000 separators and line ends: "
            "copy the table alone into a new workbook and save that"
        )

    def test_blank_cells_and_lines_below_that_bound_do_no_harm(self):
        """Programs save whatever was once coloured."""
        assert texts_of("a,b\n" + ",\n" * 499_000) == [["a", "b"]]

    def test_a_column_beyond_those_of_a_spreadsheet_is_named_by_its_number(self):
        """No letters are made for it, and the coach still learns where to look."""
        refusal = refused("a,b\n" + "," * 20_000 + "x")

        assert str(refusal) == (
            "'squad.csv', row 2, column 20001: a table of at most 60 columns is read; "
            "delete what does not belong to the table, or keep one squad to a file"
        )

    @given(st.text())
    def test_any_text_is_read_or_refused(self, text: str):
        """No file whatever ends in a stack trace."""
        try:
            rows = read_table(text.encode("utf-8", "replace"), "squad.csv").rows
        except FileRefused as refusal:
            assert str(refusal).isprintable()  # noqa: PT017 -- either outcome is right
        else:
            assert all(row.cells for row in rows)
