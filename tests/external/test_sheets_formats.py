"""Sheets and typed lengths against published rules."""

import csv
import re
from io import BytesIO, StringIO
from zipfile import ZipFile

import pytest

from settingsdesk.domain.base.figures import read_length_mm
from settingsdesk.domain.base.units import Unit
from settingsdesk.sheets.writing import Centimetres, Page, csv_bytes, xlsx_bytes


class TestInch:
    def test_an_inch_is_25_point_4_millimetres_exactly(self):
        """Source: international yard and pound agreement, 1959 (from memory)."""
        assert read_length_mm("10", "height", Unit.INCH) == 254
        assert [read_length_mm(f"{inches}", "height", Unit.INCH) for inches in (5, 50, 100)] == [
            127,
            1270,
            2540,
        ]


class TestRfc4180:
    """Source: RFC 4180 section 2, rules by number (from memory)."""

    def test_each_record_ends_with_crlf(self):
        """Rules 1 and 2."""
        content = csv_bytes(Page("", ("a",), (("b",), ("c",)))).decode("utf-8-sig")

        assert content == "a\r\nb\r\nc\r\n"

    def test_each_line_has_the_same_number_of_fields(self):
        """Rule 4: blank cells are written, too."""
        content = csv_bytes(Page("", ("a", "b", "c"), ((None, "x", None),))).decode("utf-8-sig")

        assert {len(row) for row in csv.reader(StringIO(content))} == {3}

    @pytest.mark.parametrize("text", ["a,b", 'a"b', "a\r\nb", "a\nb", '"', ","])
    def test_fields_with_separators_quotes_and_line_ends_are_quoted(self, text: str):
        """Rules 6 and 7: quoted, and a quote within is doubled."""
        content = csv_bytes(Page("", (text, "x"), ())).decode("utf-8-sig")

        assert content == '"' + text.replace('"', '""') + '",x\r\n'


class TestFormulaInjection:
    """Source: OWASP ASVS 5.0.0, 1.2.10, and its page on CSV injection."""

    @pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\t", "\r"])
    def test_each_named_sign_is_guarded_in_csv(self, sign: str):
        """The field begins with a quote instead."""
        content = csv_bytes(Page("", (f"{sign}x", "y"), ())).decode("utf-8-sig")

        assert next(csv.reader(StringIO(content, newline="")))[0] == f"'{sign}x"

    @pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\t", "\r"])
    def test_no_workbook_holds_a_formula(self, sign: str):
        """Not one <f> element in the sheet."""
        with ZipFile(BytesIO(xlsx_bytes([Page("S", ("a",), ((f"{sign}1+1",),))]))) as archive:
            sheet = archive.read("xl/worksheets/sheet1.xml").decode()

        assert re.search(r"<f[ >]", sheet) is None


class TestSpreadsheetMl:
    """Source: ECMA-376 part 1 (from memory)."""

    @pytest.mark.parametrize("text", ["_x0041_", "_x000D_", "_x005F_"])
    def test_text_like_an_escape_is_escaped_itself(self, text: str):
        """22.9.2.19 ST_Xstring: _xHHHH_ stands for a character, and _x005F_ for its first sign."""
        with ZipFile(BytesIO(xlsx_bytes([Page("S", (text,), ())]))) as archive:
            sheet = archive.read("xl/worksheets/sheet1.xml").decode()

        assert f"<t>_x005F{text}</t>" in sheet

    def test_lengths_are_stored_with_a_point(self):
        """18.3.1.96 v: numbers do not depend on the country."""
        with ZipFile(BytesIO(xlsx_bytes([Page("S", ("a",), ((Centimetres(1625),),))]))) as archive:
            assert "<v>162.5</v>" in archive.read("xl/worksheets/sheet1.xml").decode()
