"""The texts that cells share: all that a sheet can show, and an end to them."""

import pytest

from settingsdesk.sheets.reading import read_table
from settingsdesk.sheets.refusals import CellTextTooLong, WorkbookHoldsTooMuch
from settingsdesk.sheets.strings_xml import MOST_TEXTS
from tests.sheets.books import with_strings

FIRST_TEXT = '<row><c t="s"><v>0</v></c></row>'


def text_of(strings: str) -> str:
    (row,) = read_table(with_strings(strings, FIRST_TEXT), "squad.xlsx").rows
    return row.cells[0].text


def numbered(texts: int) -> str:
    return "".join(f"<si><t>{number}</t></si>" for number in range(texts))


class TestSharedText:
    @pytest.mark.parametrize(
        ("strings", "text"),
        [
            ("<si><t>Quill</t></si>", "Quill"),
            ("<si><t xml:space='preserve'> Quill </t></si>", " Quill "),
            ("<si><r><rPr><b/></rPr><t>Qu</t></r><r><t>ill</t></r></si>", "Quill"),
            ("<si><t>Qu&amp;ill</t></si>", "Qu&ill"),
            ("<si>\n  <t>Quill</t>\n</si>", "Quill"),
        ],
    )
    def test_it_is_what_the_cell_shows(self, strings: str, text: str):
        """Bold letters within a name do not change it, and tidy XML adds nothing to it."""
        assert text_of(strings) == text

    def test_how_a_name_sounds_is_no_part_of_it(self):
        """Japanese lists have the reading of a name stored beside its signs."""
        assert text_of("<si><t>山田</t><rPh sb='0' eb='2'><t>ヤマダ</t></rPh></si>") == "山田"

    @pytest.mark.parametrize(
        ("stored", "text"),
        [("one_x000D_\ntwo", "one\r\ntwo"), ("_x005F_x000D_", "_x000D_"), ("a_x_b", "a_x_b")],
    )
    def test_escaped_signs_are_themselves_again(self, stored: str, text: str):
        """What somebody typed that looks like an escape stays what they typed."""
        assert text_of(f"<si><t>{stored}</t></si>") == text


class TestBounds:
    def test_the_most_texts_are_read(self):
        """The guard lets in no more markup than so many texts and their cells need."""
        assert text_of(numbered(MOST_TEXTS)) == "0"

    def test_one_text_more_refuses_the_file_and_the_bound_is_named(self):
        """Texts that no cell shows take a small file and a long time."""
        with pytest.raises(WorkbookHoldsTooMuch) as refused:
            text_of(numbered(MOST_TEXTS + 1))

        assert str(refused.value) == (
            "'squad.xlsx' has more than 120,000 different texts: "
            "copy the table alone into a new workbook and save that"
        )

    def test_texts_too_long_in_all_refuse_the_file_and_the_bound_is_named(self):
        """One sign beyond the usual planes makes every sign of a text take four bytes."""
        parts = [f"{part:x}" for part in range(4_000)]
        texts = (f"{number:06d}".join(["", *parts]) for number in range(310))

        with pytest.raises(WorkbookHoldsTooMuch) as refused:
            text_of("".join(f"<si><t>💥{text}</t></si>" for text in texts))

        assert str(refused.value) == (
            "'squad.xlsx' has more than 10,000,000 characters of text: "
            "copy the table alone into a new workbook and save that"
        )

    def test_one_text_of_pieces_without_end_is_too_long_for_its_cell(self):
        """Each piece is small; all together are no text of a list."""
        pieces = "".join(f"<r><t>{number}</t></r>" for number in range(20_000))

        with pytest.raises(CellTextTooLong):
            text_of(f"<si>{pieces}</si>")
