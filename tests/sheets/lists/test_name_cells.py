"""Cells of names: what is the name, and what only stands beside it."""

import pytest

from settingsdesk.sheets.lists.name_cells import A_NUMBER_BESIDE, CLEANED, read_name


class TestWhatStandsBesideAName:
    @pytest.mark.parametrize(
        ("text", "name", "year"),
        [
            ("1. Ida Marsh", "Ida Marsh", ""),
            ("12) Marsh, Ida", "Marsh, Ida", ""),
            ("3 - Ida Marsh", "Ida Marsh", ""),
            ("Ida Marsh (2012)", "Ida Marsh", "2012"),
            ("Ida Marsh (Jg. 12)", "Ida Marsh", "12"),
            ("Ida Marsh 2012", "Ida Marsh", "2012"),
            ("Ida (2012)", "Ida", "2012"),
            ("Marsh, Ida, 12", "Marsh, Ida", "12"),
        ],
    )
    def test_is_left_out_and_said_where_it_is_a_number(self, text: str, name: str, year: str):
        """ "Ida (2012)" would be on her card, and "Ida Marsh, 12" a gymnast called 12."""
        read = read_name(text)
        assert (read.name, read.year, read.said) == (name, year, A_NUMBER_BESIDE)
        assert not read.is_unsure

    def test_is_left_out_where_it_is_a_footnotes_sign_or_unseen(self):
        assert read_name("Marsh, Ida*").name == "Marsh, Ida"
        assert read_name("Marsh,\u200b Ida").said == CLEANED

    @pytest.mark.parametrize(
        "text",
        [
            "Ida & Una Marsh",
            "Ida/Una Marsh",
            "Marsh I. + U.",
            "Marsh, Ida, TV Tarn",
            "Ida Marsh - TV Tarn",
            "ida@tarn.example",
        ],
    )
    def test_is_asked_about_where_it_may_be_more_than_one_name(self, text: str):
        """Two sisters in one row are no athlete of that name."""
        assert read_name(text).is_unsure

    @pytest.mark.parametrize(
        "text",
        [
            "O'Hara-Vance, Ida",
            "Ida Marsh 2",
            "Athlete 2012",
            "van 't Hout Ida",
            "Marsh-Fenn Ida",
            "d’Arbois Mä",
            "谷城 ほのみ",
        ],
    )
    def test_is_nothing_of_the_name(self, text: str):
        read = read_name(text)
        assert (read.name, read.said, read.is_unsure) == (text, "", False)
