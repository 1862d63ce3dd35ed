"""Names stand where people look for them."""

import pytest

from settingsdesk.store.order_of_names import place_in_order


class TestPlaceInOrder:
    def test_is_where_people_look_for_a_name(self):
        """Every hall has names of other languages than its keyboard's."""
        names = [
            *("Devlin", "de Vries", "Éva", "Ezra", "Lund", "Łuty", "Ohm", "O’Neil", "Oneto"),
            *("Østby", "Ozawa", "Müll", "Muller", "van Dam", "Vance", "Zoll"),
            *("Ґалан", "Ева", "Єва", "Іваненко", "Яценко"),
        ]

        ordered = sorted(names, key=place_in_order)

        assert ordered == [
            *("Devlin", "de Vries", "Éva", "Ezra", "Lund", "Łuty", "Müll", "Muller"),
            *("Ohm", "O’Neil", "Oneto", "Østby", "Ozawa", "Vance", "van Dam", "Zoll"),
            *("Ґалан", "Ева", "Єва", "Іваненко", "Яценко"),
        ]

    def test_goes_name_by_name(self):
        """Ask Zoe stands before Askberg Ada: the family name comes first."""
        assert place_in_order("Ask", "Zoe") < place_in_order("Askberg", "Ada")

    @pytest.mark.parametrize("same", ["O'Neil", "ONEIL", "Ó’neil", "o-neil"])
    def test_does_not_know_case_accents_and_signs(self, same: str):
        assert place_in_order(same) == place_in_order("Oneil")

    @pytest.mark.parametrize("name", ["", "’", "李", "أحمد", "\U0001f600", "a\ud800"])
    def test_can_be_worked_out_for_every_text(self, name: str):
        assert isinstance(place_in_order(name), bytes)
