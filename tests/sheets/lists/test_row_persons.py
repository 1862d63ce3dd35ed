"""Whom the names of a row mean: one or several, whole or half a name."""

import unicodedata

import pytest

from settingsdesk.sheets.lists.reading import read_lists
from settingsdesk.sheets.lists.row_persons import NOT_A_NAME, TOO_LONG_A_NAME
from settingsdesk.sheets.lists.rows import NO_NAME
from tests.sheets.books import book, saved
from tests.sheets.lists.listing import list_of, queried, taken


class TestWhoIsMeant:
    def test_family_and_given_name_below_one_header_are_both_kept(self):
        """ "Athlete" merged over both, as many coaches write it; none of the two may be lost."""
        workbook = book(
            ["Zawodniczka", None, "Żerdź górna (cm)"],
            ["Nazwisko", "Imię", None],
            ["Mróz", "Pola", 245],
        )
        workbook["Squad"].merge_cells("A1:B1")
        [person] = read_lists(saved(workbook), "list.xlsx").persons
        assert (person.family_name, person.given_name) == ("Mróz", "Pola")

    def test_what_stands_before_a_dutch_name_in_its_own_column_belongs_to_it(self):
        found = list_of("Achternaam;Tussenvoegsel;Voornaam;Hoge legger (cm)\nHout;van 't;Ida;245\n")
        assert found.persons[0].family_name == "van 't Hout"

    def test_numbered_lines_are_athletes_and_their_number_is_no_name(self):
        """ "2)" begins a footnote too, but no footnote has a rail's height."""
        found = list_of("Name;High rail (cm)\n1) Marsh, Ida;245\n2) Fenn, Una (2012);240\n")
        assert [one.athlete for one in found.accepted] == ["Marsh, Ida", "Fenn, Una"]
        assert [one.birth_year for one in found.persons] == ["", "2012"]
        assert found.queries == ()

    def test_two_in_one_row_wait_for_an_answer(self):
        found = list_of("Name;High rail (cm)\nIda & Una Marsh;245\n")
        assert (found.accepted, queried(found)) == ((), [(2, "A", "Ida & Una Marsh")])

    def test_a_ditto_is_the_name_and_the_model_right_above(self):
        """It was a model called '"', asked about once for whatever stands above it."""
        found = list_of(
            'Name;Vorname;Modell;Holm oben (cm)\nMarsh;Ida;Nord;245\n";Una;dito;240\n'
            'Fenn;Ada;Süd;250\nTarn;Eva;";230\n',
            models={"Nord": "uneven_bars", "Süd": "uneven_bars"},
        )
        assert [(one.athlete, one.model) for one in found.accepted] == [
            ("Marsh, Ida", "Nord"),
            ("Marsh, Una", "Nord"),
            ("Fenn, Ada", "Süd"),
            ("Tarn, Eva", "Süd"),
        ]
        assert found.queries == ()

    def test_signs_alone_are_nobodys_name(self):
        """A ditto below nothing, a dash."""
        found = list_of('Name;High rail (cm)\n";245\n-;240\n')
        assert (found.persons, found.accepted) == ((), ())

    def test_a_second_column_of_names_or_clubs_is_asked_about_and_not_put_over_the_first(self):
        found = list_of("Name;Vorname;Verein;Team;Holm oben (cm)\nMarsh;Ida;TV Tarn;Ost;245\n")
        assert found.persons[0].club == "TV Tarn"
        assert queried(found) == [(1, "D", "Team")]

    @pytest.mark.parametrize(("name", "why"), [("12", NOT_A_NAME), ("x" * 81, TOO_LONG_A_NAME)])
    def test_of_half_a_name_nothing_is_taken(self, name: str, why: str):
        """The given name alone would come in as somebody new."""
        found = list_of(f"Name;Vorname;Holm oben (cm)\n{name};Ida;245\n")
        assert (found.persons, found.accepted) == ((), ())
        assert [query.why for query in found.queries] == [why, NO_NAME]

    def test_a_whole_name_beside_a_given_name_is_not_lost(self):
        found = list_of("Full name;First name;High rail (cm)\nIda Marsh;Ida;245\n")
        assert not found.persons[0].is_split
        assert taken(found) == [("Ida Marsh", "high_rail", 2450)]

    def test_the_model_is_named_by_a_title_a_sheet_or_a_column(self):
        """Only known models are taken from titles; a column may name any."""
        known = {"Hall frame A": "uneven_bars"}
        by_title = list_of('Hall frame A\nName;low (cm)\n"Marsh, Ida";165\n', models=known)
        by_column = list_of('Name;Model;low (cm)\n"Marsh, Ida";Hall frame A;165\n', models=known)

        assert [one.model for one in (*by_title.accepted, *by_column.accepted)] == [*known] * 2

    def test_twins_of_one_name_are_kept_apart(self):
        """By club, group, start number or birth year; the year goes no further."""
        found = list_of('Name;Club;Low rail (cm)\n"Marsh, Ida";Fen;165\n"Marsh, Ida";Weir;160\n')

        assert [(one.club, one.value_mm) for one in found.accepted] == [
            ("Fen", 1650),
            ("Weir", 1600),
        ]
        assert len(found.persons) == 2

    def test_names_are_the_same_however_their_accents_are_stored(self):
        """Composed in one program, decomposed in another."""
        text = 'Name;Low rail (cm);High rail (cm)\n"Dupré, Zoë";165;\n'
        apart = unicodedata.normalize("NFD", '"Dupré, Zoë";;245\n')
        found = list_of(text + apart)

        assert {one.athlete for one in found.accepted} == {"Dupré, Zoë"}
        assert len(found.persons) == 1

    def test_values_without_a_name_are_queried(self):
        """Cell by cell, so that none is lost."""
        found = list_of('Name;Low rail (cm);High rail (cm)\n"Marsh, Ida";165;245\n;160;240\n')

        assert queried(found) == [(3, "B", "160"), (3, "C", "240")]
        assert {query.why for query in found.queries} == {NO_NAME}
