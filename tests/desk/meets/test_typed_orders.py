"""A start list is read line by line: who is meant is certain, or the line is told."""

from collections.abc import Sequence

import pytest

from settingsdesk.desk.meets.entries import Entrant
from settingsdesk.desk.meets.typed_orders import read_sent, read_typed
from settingsdesk.desk.squad.athletes import Member, Person
from settingsdesk.sheets.reading import read_table


def entrant(
    number: int, family: str, given: str, club: str, start_number: str, division: str = ""
) -> Entrant:
    member = Member(number, Person(family, given), None)
    return Entrant(number, member, club, start_number, division, True, None, {}, 1)


ALMIRA = entrant(1, "Osterkamp", "Almira", "Tarn Hollow GC", "11")
SUNNIVA = entrant(2, "Bellaquer", "Sunniva", "Tarn Hollow GC", "12", "Juniors")
NOOR = entrant(3, "Halvardsen", "Noor", "Wexlow Turners", "1")
TWIN_OF_TARN = entrant(4, "Ravn", "Liv", "Tarn Hollow GC", "2")
TWIN_OF_WEXLOW = entrant(5, "Ravn", "Liv", "Wexlow Turners", "3")
UNNUMBERED = entrant(6, "Kestrel", "Ilse", "Wexlow Turners", "")
ALL = (ALMIRA, SUNNIVA, NOOR, TWIN_OF_TARN, TWIN_OF_WEXLOW, UNNUMBERED)


def sent(*rows: str) -> tuple[tuple[int, ...], Sequence[str]]:
    table = read_table("\n".join(rows).encode(), "order.csv")
    found = read_sent(table, ALL)
    return found.athlete_ids, [str(fault) for fault in found.faults]


class TestATypedLine:
    @pytest.mark.parametrize(
        "line",
        [
            "11",
            "Osterkamp, Almira",
            "almira osterkamp",
            "Almira O.",
            "11 Osterkamp, Almira",
            "11\tOsterkamp\tAlmira\tTarn Hollow GC",
            "11; Almira; Osterkamp",
            "3. Osterkamp, Almira",
            "3) 11",
            "Osterkamp, Almira, Tarn Hollow GC",
            "11 A. Osterkamp",
            "11 Tarn Hollow GC",
            "11 Osterkamp A, Tarn-Hollow GC",
            "11 O. Almira",
        ],
    )
    def test_names_one_by_number_or_name_however_it_was_pasted(self, line: str) -> None:
        found = read_typed(line, ALL)
        assert (found.athlete_ids, found.faults) == ((1,), ())

    @pytest.mark.parametrize(
        ("line", "why"),
        [
            ("Nobody At-All", "nobody entered has this number"),
            ("99", "nobody entered has this number"),
            ("Ravn, Liv", "write the start number"),
            ("11 Bellaquer, Sunniva", "the number is Osterkamp, Almira"),
            ("11 Somebody Else", "nobody entered is called 'Somebody Else'"),
            ("99 Osterkamp, Almira", "is entered with another number"),
            ("11; 12", "it may be Osterkamp, Almira"),
            ("11 Sunniva Bellaquar, Tarn Hollow GC", "nobody entered is called"),
            ("11 Almira Halvardsen", "nobody entered is called"),
            ("11 Osterkmap", "nobody entered is called 'Osterkmap'"),
            ("11 Wexlow Turners", "nobody entered is called 'Wexlow Turners'"),
            ("Osterkamp, Almira, Wexlow Turners", "is entered for another club"),
        ],
    )
    def test_that_is_not_certain_is_told_and_never_guessed(self, line: str, why: str) -> None:
        """A wrong athlete on the bars at the wrong height is the worst that a list can do."""
        found = read_typed(f"\n{line}\n12", ALL)
        assert found.athlete_ids == (2,)
        [fault] = found.faults
        assert fault.number == 2
        assert why in str(fault)

    def test_tells_twins_apart_by_their_club(self) -> None:
        found = read_typed("Ravn, Liv, Wexlow Turners\nRavn; Liv; Tarn Hollow GC", ALL)
        assert (found.athlete_ids, found.faults) == ((5, 4), ())

    def test_that_repeats_an_athlete_is_told(self) -> None:
        [fault] = read_typed("11\nOsterkamp Almira", ALL).faults
        assert "stands above already" in str(fault)

    def test_takes_a_number_from_the_list_where_the_entry_has_none(self) -> None:
        assert read_typed("77 Kestrel, Ilse", ALL).athlete_ids == (6,)


class TestASheet:
    def test_is_gone_by_its_header_and_its_titles_are_left_out(self) -> None:
        found, faults = sent(
            "Lantern Cup", "Startnummer;Name;Vorname;Verein", "12;;;", ";Ravn;Liv;Wexlow Turners"
        )
        assert (found, faults) == ((2, 5), [])

    def test_a_count_of_its_rows_is_nobodys_number(self) -> None:
        """Rows numbered 1, 2, 3 beside names: 1 is also somebody's start number."""
        found, faults = sent("Nr;Name;Club", "1;Osterkamp, Almira;", "2;Bellaquer, Sunniva;")
        assert (found, faults) == ((1, 2), [])

    def test_what_stands_beside_a_name_or_before_it_in_its_own_column_is_read(self) -> None:
        """As lists of entries are read: a year, a footnote's sign, a Dutch particle."""
        rows = ["Nr;Tussenvoegsel;Achternaam;Voornaam", "1;;Osterkamp;Almira (2012)"]
        assert sent(*rows, "2;;Kestrel;Ilse*") == ((1, 6), [])
        of_the_particle = (*ALL, entrant(7, "van 't Hout", "Lieke", "Wexlow Turners", ""))
        table = read_table("\n".join([rows[0], "1;van 't;Hout;Lieke"]).encode(), "order.csv")
        assert read_sent(table, of_the_particle).athlete_ids == (7,)

    def test_a_column_of_another_meaning_is_nobodys_number(self) -> None:
        found, faults = sent("Place;Bib;Name", "1;11;Osterkamp, Almira", "2;12;")
        assert (found, faults) == ((1, 2), [])

    def test_a_running_number_alone_is_taken_for_the_start_number(self) -> None:
        assert sent("No.", "12", "11") == ((2, 1), [])

    def test_without_a_header_loses_no_row_not_even_a_mistyped_first_one(self) -> None:
        found, faults = sent("Osterkmap;Almria", "12;Bellaquer")
        assert found == (2,)
        assert len(faults) == 1
        assert faults[0].startswith("Line 1, ")

    def test_without_a_header_a_count_that_contradicts_a_name_is_told(self) -> None:
        found, faults = sent("1;Osterkamp;Almira", "2;Bellaquer;Sunniva")
        assert found == ()
        assert all("leave the one that is right" in fault for fault in faults)

    def test_comes_back_as_lines_that_read_the_same(self) -> None:
        """A file cannot be put back into a form; what was in it can."""
        table = read_table(
            b"Bib;Name;Vorname;Club\n11;;;\n;Nobody;Known;\n;Ravn;Liv;Wexlow Turners", "o.csv"
        )
        first = read_sent(table, ALL)
        again = read_typed(first.text, ALL)
        assert again.athlete_ids == first.athlete_ids == (1, 5)
        assert [one.number for one in again.faults] == [one.number for one in first.faults] == [2]
