"""Lists as coaches lay them out: what is read from each, and what is left to a person."""

import unicodedata

import pytest
from openpyxl import Workbook

from settingsdesk.sheets.lists.deviations import NO_UNIT, NOT_A_DEVIATION, TOO_LARGE
from settingsdesk.sheets.lists.preview import (
    EVERY_AXIS,
    Accepted,
)
from settingsdesk.sheets.lists.reading import ACROSS, DOWN, LONG, layout_key, read_lists
from settingsdesk.sheets.lists.rows import NO_HEADER
from settingsdesk.sheets.refusals import FileIsEmpty
from tests.sheets.books import book, saved
from tests.sheets.lists.listing import IDA, list_of, queried, taken


class TestWhereTheTableLies:
    def test_a_value_says_what_was_read_and_where(self):
        """The coach compares each with the club's file."""
        found = list_of("Family name;Given name;Club;Beam height (cm)\nMarsh;Ida;Fen;125,5\n")

        assert found.accepted == (
            Accepted(
                athlete="Marsh, Ida",
                club="Fen",
                model=None,
                kind="balance_beam",
                axis="beam",
                value_mm=1255,
                mark=None,
                read="125,5",
                converted=found.accepted[0].converted,
                sheet="",
                row=2,
                column="D",
                person=0,
            ),
        )
        assert "125.5 cm" in found.accepted[0].converted

    def test_titles_say_unit_and_datum_for_all(self):
        """Above the table, as most clubs write them."""
        found = list_of(
            "Autumn Meet\nAll heights in cm, above the mat\n\nName;Low rail;High rail\n"
            '"Marsh, Ida";165;245\n'
        )

        assert {(query.row, query.column) for query in found.queries} == {(5, "B"), (5, "C")}
        assert all("mat" in query.why for query in found.queries)

    def test_merged_headers_stand_over_all_their_columns(self):
        """Uneven bars over low, high and spread."""
        workbook = book(
            ["Name", "Uneven bars (cm)", None, None],
            [None, "low", "high", "spread"],
            ["Marsh, Ida", 165, 245, 170],
        )
        workbook["Squad"].merge_cells("A1:A2")
        workbook["Squad"].merge_cells("B1:D1")
        found = read_lists(saved(workbook), "list.xlsx")

        assert taken(found) == [*IDA, ("Marsh, Ida", "spread", 1700)]
        assert found.tables[0].header_row == 2

    def test_a_merged_name_is_that_of_all_its_rows(self):
        """One value in each row, the name once."""
        workbook = book(
            ["Name", "Adjustment", "cm"],
            ["Marsh, Ida", "Low rail", 165],
            [None, "High rail", 245],
        )
        workbook["Squad"].merge_cells("A2:A3")
        found = read_lists(saved(workbook), "list.xlsx")

        assert taken(found) == IDA
        assert found.tables[0].layout == LONG

    def test_athletes_may_stand_in_columns(self):
        """Rows are numbered as in the file all the same."""
        found = list_of("Athlete;Marsh, Ida;Fenn, Una\nLow rail (cm);165;160\nHigh rail (cm);245;?")

        assert [(one.row, one.column) for one in found.accepted] == [(2, "B"), (2, "C"), (3, "B")]
        assert queried(found) == [(3, "C", "?")]
        assert found.tables[0].layout == ACROSS

    def test_several_tables_below_each_other_are_all_read(self):
        """Each with a title that says its apparatus."""
        found = list_of(
            "Balance beam\nName;Height (cm)\nMarsh, Ida;125\n\nUneven bars\n"
            "Name;low (cm);high (cm)\nMarsh, Ida;165;245\n".replace("Marsh, Ida", '"Marsh, Ida"')
        )

        assert taken(found) == [("Marsh, Ida", "beam", 1250), *IDA]
        assert [table.layout for table in found.tables] == [DOWN, DOWN]
        assert len(found.persons) == 1

    def test_every_sheet_is_read_and_its_name_says_the_apparatus(self):
        """One sheet per apparatus."""
        workbook = book(["Name", "Height (cm)"], ["Marsh, Ida", 125], title="Balance beam")
        sheet = workbook.create_sheet("Uneven bars")
        sheet.append(["Name", "low (cm)", "high (cm)"])
        sheet.append(["Marsh, Ida", 165, 245])
        found = read_lists(saved(workbook), "list.xlsx")

        assert taken(found) == [("Marsh, Ida", "beam", 1250), *IDA]
        assert [one.sheet for one in found.accepted] == ["Balance beam"] + ["Uneven bars"] * 2

    def test_hidden_rows_are_said_and_taken_only_if_asked_for(self):
        """Filtered rows are hidden too: an athlete in one must not be forgotten."""
        workbook = book(["Name", "Low rail (cm)"], ["Marsh, Ida", 165])
        workbook["Squad"].row_dimensions[2].hidden = True
        found = read_lists(saved(workbook), "list.xlsx")

        assert taken(found) == []
        assert [(query.row, query.read) for query in found.queries] == [(2, "Marsh, Ida")]
        assert found.tables[0].hidden
        answers = {found.queries[0].key: "read"}
        assert taken(read_lists(saved(workbook), "list.xlsx", answers=answers)) == IDA[:1]

    def test_a_rule_drawn_below_the_header_is_nobody(self):
        """As tables in text files and mails have it."""
        found = list_of("| Name | High rail (cm) |\n|------|---:|\n| Marsh, Ida | 245 |\n")
        assert taken(found) == [("Marsh, Ida", "high_rail", 2450)]
        assert found.queries == ()

    def test_sentences_with_lengths_in_them_are_no_header(self):
        """A mail pasted as it came: who wrote it is no athlete."""
        found = list_of(
            "Hi, here are ours:\nIda Marsh: low 165, high 245\nUna Fenn: low 160, high 240\n"
        )
        assert (found.tables, found.persons) == ((), ())

    def test_a_model_with_a_number_is_no_sentence(self):
        found = list_of('Name;Frame 200 low (cm);Frame 250 low (cm)\n"Marsh, Ida";165;160\n')
        assert [column.header for column in found.tables[0].columns][1:] == [
            "Frame 200 low (cm)",
            "Frame 250 low (cm)",
        ]

    def test_who_signs_below_the_table_is_no_athlete(self):
        """A greeting, and a name right below it."""
        found = list_of(
            'Name;High rail (cm)\n"Marsh, Ida";245\n\nMit freundlichen Grüßen\nRia Wendt\n'
        )
        assert [person.shown for person in found.persons] == ["Marsh, Ida"]

    def test_a_header_that_comes_again_is_no_athlete(self):
        """On every printed page."""
        found = list_of(
            'Name;Low rail (cm)\n"Marsh, Ida";165\nName;Low rail (cm)\n"Fenn, Una";160\n'
        )

        assert taken(found) == [("Marsh, Ida", "low_rail", 1650), ("Fenn, Una", "low_rail", 1600)]
        assert found.queries == ()

    @pytest.mark.parametrize("first", ["Total", "Mittelwert", "Moyenne", "Średnia", "* new bars"])
    def test_totals_and_notes_are_said_and_not_taken(self, first: str):
        """An average is nobody's setting."""
        found = list_of(f'Name;Low rail (cm)\n"Marsh, Ida";165\n{first};163\n')

        assert taken(found) == IDA[:1]
        assert queried(found) == [(3, "A", first)]

    def test_a_file_without_a_header_is_said_once(self):
        """Numbers alone say nothing."""
        found = list_of("1;2;3\n4;5;6\n")

        assert queried(found) == [(1, "A", "1")]
        assert found.tables == ()


class TestLengthsThatAreTakenOtherwise:
    """Nothing says how to make one of ours of them, so that they never come in as such."""

    @pytest.mark.parametrize(
        "header",
        [
            "Outer spread (cm)",
            "Spread outside to outside (cm)",
            "Half spread (cm)",
            "Distance between the uprights (cm)",
            "Holmweite außen (cm)",
            "Écartement extérieur (cm)",
            "Rozstaw zewnętrzny (cm)",
            "Apertura por fuera (cm)",
            "Spread change (cm)",
            "Spread approx. (cm)",
            "Spread max (cm)",
        ],
    )
    def test_a_header_that_says_so_is_asked_about(self, header: str) -> None:
        """The outer spread is by two rails too wide, a half one by half too narrow."""
        found = list_of(f"Name;Low rail (cm);High rail (cm);{header}\nAna Neu;165;245;168\n")
        assert found.accepted == ()
        assert (1, "D", header) in queried(found)

    @pytest.mark.parametrize(
        "header",
        [
            "Distance between feet (cm)",
            "Upright distance (cm)",
            "Spread per side (cm)",
            "Spread, scale reading (cm)",
            "Holmabstand je Seite (cm)",
            "Écartement des montants (cm)",
        ],
    )
    def test_a_spread_that_is_none_between_the_rails_is_asked_about(self, header: str) -> None:
        """The feet stand wider than the rails, and what a spindle shows is no tape's length."""
        found = list_of(f"Name;Low rail (cm);High rail (cm);{header}\nAna Neu;165;245;168\n")
        assert all(one.axis != "spread" for one in found.accepted)
        assert (1, "D", header) in queried(found)

    def test_a_club_called_podium_says_nothing_of_lengths(self) -> None:
        found = list_of("Podium Gymnastics Club\nName;High rail (cm)\nAna Neu;245\n")
        assert [one.value_mm for one in found.accepted] == [2450]

    @pytest.mark.parametrize(
        "header",
        [
            "High rail from landing surface (cm)",
            "High rail above the podium (cm)",
            "Holm oben [cm, ab Podium]",
            "Barre haute du praticable (cm)",
            "Wyższa żerdź od podestu (cm)",
        ],
    )
    def test_a_point_that_is_not_known_is_asked_about(self, header: str) -> None:
        """Above a podium, a height is not one above the floor."""
        found = list_of(f"Name;Low rail (cm);{header}\nAna Neu;165;245\n")
        assert found.accepted == ()
        assert (1, "C", header) in queried(found)

    @pytest.mark.parametrize(
        "header",
        [
            "High rail from the floor (cm)",
            "Barre du haut (cm)",
            "Holm oben, cm ab Boden",
            "High rail 2026 (cm)",
            "High rail to upper edge (cm)",
        ],
    )
    def test_a_point_that_is_known_is_not(self, header: str) -> None:
        found = list_of(f"Name;Low rail (cm);{header}\nAna Neu;165;245\n")
        assert [one.value_mm for one in found.accepted] == [1650, 2450]

    @pytest.mark.parametrize(
        "title",
        [
            "Hauteurs prises sous la barre",
            "Heights under the bar",
            "Wysokości mierzone pod żerdzią",
            "Výšky od podlahy k ráhnu",
            "All heights from the podium's edge",
            "Bars, mats 20 cm",
        ],
    )
    def test_a_title_on_lengths_that_is_not_wholly_known_waits_for_an_answer(
        self, title: str
    ) -> None:
        """Taken as noise, it let heights of a rail's underside in as those of its top."""
        found = list_of(f"{title}\nName;Low rail (cm);High rail (cm)\nAna Neu;163;243\n")
        assert taken(found) == []

    def test_what_a_title_says_before_it_comes_to_lengths_holds_nobody_up(self) -> None:
        """Most begin with what the list is for."""
        title = "Entries for the Lantern Cup - all in cm, heights above the floor, upper edge"
        found = list_of(f"{title}\nName;Low rail (cm);High rail (cm)\nAna Neu;163;243\n")

        assert len(found.accepted) == 2

    def test_a_title_of_known_words_asks_nothing(self) -> None:
        found = list_of("Heights in cm\nName;Low rail;High rail\nAna Neu;163;243\n")
        assert len(found.accepted) == 2


class TestGroupAndLevel:
    """Two columns of which one is the group: no height hangs on it, so that nothing waits."""

    @pytest.mark.parametrize(
        ("headers", "cells", "group", "left_out"),
        [
            ("Group;Level", "Girls 1;5", "Girls 1", "C"),
            ("Level;Group", "5;Girls 1", "Girls 1", "B"),
            ("Leistungsklasse;Gruppe", "LK 3;Mo/Mi", "Mo/Mi", "B"),
            ("Catégorie;Groupe", "Benjamines;Loisir", "Loisir", "B"),
            ("Разряд;Группа", "II;Утро", "Утро", "B"),
            ("レベル;グループ", "5;朝", "朝", "B"),
            ("Category;Level", "U12;5", "U12", "C"),
            ("Squad;Squad", "A;B", "A", "C"),
        ],
    )
    def test_the_likelier_is_read_and_the_other_is_said(
        self, headers: str, cells: str, group: str, left_out: str
    ) -> None:
        found = list_of(f"Name;{headers};Low rail (cm)\nAna Neu;{cells};165\n")
        assert [person.group for person in found.persons] == [group]
        assert [one.value_mm for one in found.accepted] == [1650]
        assert (found.queries, found.waiting) == ((), ())
        [said] = [one for one in found.tables[0].columns if one.told_by == "column"]
        assert said.line == left_out
        assert said.because.startswith("left out, as column")

    def test_a_level_alone_is_the_group(self) -> None:
        found = list_of("Name;Niveau;Low rail (cm)\nAna Neu;LK 3;165\n")
        assert [person.group for person in found.persons] == ["LK 3"]

    def test_of_two_columns_of_numbers_one_is_asked_about(self) -> None:
        """A start number stands on cards: which of two it is, only a person can say."""
        found = list_of("Name;Bib;Start number;Low rail (cm)\nAna Neu;4;7;165\n")
        assert any("holds the start number already" in one.why for one in found.queries)


class TestWhatIsNotGuessed:
    def test_a_title_that_names_two_models_names_none(self):
        """ "Moved from the hall frame to the travel frame": nobody can tell which is meant."""
        known = {"Hall frame": "uneven_bars", "Hall frame A": "uneven_bars", "Nord": "uneven_bars"}
        rows = "\nName;Low rail (cm)\nMarsh;165\n"
        both = list_of(f"From Hall frame A to Nord;{rows}", models=known)
        longer = list_of(f"Hall frame A;{rows}", models=known)
        assert [both.accepted[0].model, longer.accepted[0].model] == [None, "Hall frame A"]

    def test_a_cell_without_a_header_is_queried(self):
        """It may be the setting of the finals."""
        found = list_of('Name;Low rail (cm)\n"Marsh, Ida";165;170\n')

        assert [(query.column, query.why) for query in found.queries] == [("C", NO_HEADER)]

    def test_one_bad_cell_loses_no_other(self):
        """Not in its row and not below."""
        found = list_of(
            'Name;Low rail (cm);High rail (cm)\n"Marsh, Ida";?;245\n"Fenn, Una";160;240\n'
        )

        assert len(found.accepted) == 3
        assert queried(found) == [(2, "B", "?")]

    def test_a_formula_is_text(self):
        """It is shown, and nothing is worked out."""
        found = list_of('Name;Low rail (cm)\n"Marsh, Ida";=160+5\n')

        assert queried(found) == [(2, "B", "=160+5")]

    def test_a_hole_pair_that_became_a_date_is_queried(self):
        """3/5 was typed; the spreadsheet made 3 May of it."""
        workbook = book(["Name", "Low rail (hole)"], ["Marsh, Ida", 46145])
        workbook["Squad"]["B2"].number_format = "dd.mm.yyyy"
        found = read_lists(saved(workbook), "list.xlsx")

        assert found.accepted == ()
        assert "date" in found.queries[0].why

    def test_a_remark_is_a_line_and_its_athlete_waits(self):
        """Somebody may have hidden a setting there, or that it is no longer true."""
        found = list_of(
            'Name;Low rail (cm);Remark\n"Marsh, Ida";165;finals 168\n"Fenn, Una";160;new\n'
        )

        assert queried(found) == [(2, "C", "finals 168"), (3, "C", "new")]
        assert found.accepted == ()
        assert [one.value_mm for one in found.waiting] == [1650, 1600]


class TestDeviations:
    HEAD = "Name;Vorname;Holm unten (cm);Holm oben (cm);Weite (cm);"

    def test_one_that_names_no_axis_is_of_every_axis(self):
        found = list_of(f"{self.HEAD}Toleranz ± (cm)\nMarsh;Ida;165;245;170;1,5\n")
        assert found.queries == ()
        assert found.persons[0].accepts_mm == {(None, None, EVERY_AXIS): 15}

    def test_one_that_names_an_axis_is_of_that_axis_alone(self):
        found = list_of(f"{self.HEAD}± Weite (cm)\nMarsh;Ida;165;245;170;1,5\n")
        [(_, _, axis)] = found.persons[0].accepts_mm
        assert axis == "spread"

    @pytest.mark.parametrize(
        ("read", "why"), [("1,5", NO_UNIT), ("ja", NOT_A_DEVIATION), ("80 cm", TOO_LARGE)]
    )
    def test_the_reason_against_one_can_be_acted_on(self, read: str, why: str):
        """A unit that lacks is chosen for the column; anything else is written anew."""
        found = list_of(f"{self.HEAD}Toleranz\nMarsh;Ida;165;245;170;{read}\n")
        assert [query.why for query in found.queries] == [why]


def test_a_length_out_of_range_is_told_as_it_was_written():
    """2,45 below a header in centimetres is 2,45 cm, not 2.4."""
    [query] = list_of('Name;Holm oben (cm)\n"Marsh, Ida";2,45\n').queries
    assert "2,45 cm is read: in metres it would be 245.0 cm" in query.why


class TestWhatAPersonSays:
    def test_what_is_said_of_one_column_settles_the_others_beside_it(self):
        """Heights of the parallel bars said, the spread is theirs too."""
        text = 'Name;Holmhöhe (cm);Weite (cm)\n"Marsh, Ida";185;43\n'
        found = list_of(text, mapped={"!B": {"axis": "parallel_bars/rails"}})
        assert {one.kind for one in found.accepted} == {"parallel_bars"}

    def test_names_without_a_header_are_split_as_a_person_says(self):
        """Athletes in columns: the names' row has no header of its own."""
        text = ";Ida Marsh;Eva Reed\nHolm oben (cm);245;240\n"
        found = list_of(text, mapped={"!1": {"names": "given"}})
        assert [one.athlete for one in found.accepted] == ["Marsh, Ida", "Reed, Eva"]

    def test_a_column_is_read_as_a_person_says(self):
        """The unit that nobody stated, and the axis that two words left open."""
        text = 'Name;HB;low\n"Marsh, Ida";245;165\n'
        told = {
            "!B": {"axis": "uneven_bars/high_rail", "unit": "cm"},
            "!C": {"axis": "uneven_bars/low_rail", "unit": "cm"},
        }

        assert list_of(text).accepted == ()
        assert sorted(taken(list_of(text, mapped=told))) == sorted(IDA)

    def test_a_column_may_be_left_out(self):
        """Last year's settings."""
        text = 'Name;Low rail (cm);High rail (cm)\n"Marsh, Ida";165;245\n'
        found = list_of(text, mapped={"!C": {"role": "not_kept"}})

        assert taken(found) == IDA[:1]

    def test_names_are_split_as_a_person_says(self):
        """Nobody can tell which of two names is the family's."""
        text = "Name;Low rail (cm)\nMarsh Ida;165\n"

        assert taken(list_of(text))[0][0] == "Marsh Ida"
        assert taken(list_of(text, mapped={"!A": {"names": "family"}}))[0][0] == "Marsh, Ida"

    def test_a_layout_is_known_again_by_its_headers_alone(self):
        """Next year's list of the same club."""
        head = "Name;Low rail (cm)\n"
        keys = {layout_key(list_of(f'{head}"{name}";165\n').tables) for name in ("A, B", "C, D")}
        other = layout_key(list_of('Name;High rail (cm)\n"A, B";245\n').tables)

        assert len(keys) == 1
        assert other not in keys


class TestEncodings:
    @pytest.mark.parametrize(
        ("encoding", "text", "athlete"),
        [
            ("cp1252", "Prénom;Nom;Barre inférieure (cm)\nÉloïse;Dupré;165", "Dupré, Éloïse"),
            ("cp1250", "Imię;Nazwisko;Żerdź niska (cm)\nŁucja;Wróżka;165", "Wróżka, Łucja"),
            ("cp1251", "Имя;Фамилия;Нижняя жердь (см)\nОля;Лугова;165", "Лугова, Оля"),
            ("cp932", "姓;名;低棒の高さ(cm)\n山田;花;165", "山田, 花"),
            ("utf-16", "Nom;Prénom;Barre inférieure (cm)\nDupré;Éloïse;165", "Dupré, Éloïse"),
            ("utf-8-sig", "Nom;Prénom;Barre inférieure (cm)\nDupré;Éloïse;165", "Dupré, Éloïse"),
        ],
    )
    def test_names_come_out_as_they_were_typed(self, encoding: str, text: str, athlete: str):
        """A name with a wrong sign is another athlete's card."""
        assert taken(list_of(text, encoding)) == [(athlete, "low_rail", 1650)]

    def test_vietnamese_and_arabic_code_pages_are_told(self):
        """By the words of their headers."""
        vietnamese = unicodedata.normalize("NFC", "Họ tên;Xà thấp (cm)\nSương;165")
        arabic = "الاسم;ارتفاع العارضة السفلى (سم)\nليلى;165"

        assert "Windows-1256" in list_of(arabic, "cp1256").tables[0].read_as
        assert "Windows-1258" in list_of(_as_cp1258(vietnamese), "cp1258").tables[0].read_as


def _as_cp1258(text: str) -> str:
    """With tone marks apart, as that code page has them."""
    tones = "\u0300\u0301\u0303\u0309\u0323"
    parts = []
    for sign in text:
        apart = unicodedata.normalize("NFD", sign)
        tone = "".join(mark for mark in apart if mark in tones)
        base = "".join(mark for mark in apart if mark not in tones)
        parts.append(unicodedata.normalize("NFC", base) + tone)
    return "".join(parts)


class TestAnEmptyWorkbook:
    def test_it_is_refused(self):
        """Somebody sent the wrong file, and reads so."""
        with pytest.raises(FileIsEmpty):
            read_lists(saved(Workbook()), "list.xlsx")


class TestMinAndMax:
    """Both are given names, and both head the last rows of many a list."""

    LIST = (
        "Name;Low rail (cm);High rail (cm);Spread (cm)\n"
        "Marsh, Ida;165;245;170\nQuell, Ada;160;240;163\n"
    )

    @pytest.mark.parametrize("words", ["Min", "min.", "MIN:", "Mín"])
    def test_a_row_with_just_the_least_of_every_column_is_nobodys(self, words: str) -> None:
        found = read_lists((self.LIST + f"{words};160;240;163\n").encode(), "list.csv")
        assert [one.family_name for one in found.persons] == ["Marsh", "Quell"]
        assert [(one.row, one.is_only_said) for one in found.queries] == [(4, True)]

    def test_both_rows_are_seen_beside_each_other(self) -> None:
        rows = "Min;160;240;163\nMax;165;245;170\n"
        found = read_lists((self.LIST + rows).encode(), "list.csv")
        assert [one.family_name for one in found.persons] == ["Marsh", "Quell"]

    @pytest.mark.parametrize("row", ["Max;165;245;169", "Max, Ada;165;245;170"])
    def test_somebody_who_is_called_so_is_an_athlete(self, row: str) -> None:
        found = read_lists((self.LIST + row + "\n").encode(), "list.csv")
        assert len(found.persons) == 3


class TestPointsOfATitle:
    def test_what_is_said_of_heights_is_not_told_of_a_spread(self) -> None:
        """A spread above the floor means nothing, and the coach is shown how it was read."""
        text = 'Oberkante Holm ab Boden, in cm\nName;Holm unten;Weite\n"Marsh, Ida";165;170\n'
        [table] = list_of(text).tables
        low, spread = (column.datum for column in table.columns if column.axis)
        assert low.endswith("above the floor")
        assert spread == ""
