"""Names as they are compared: one athlete, typed on any keyboard and in any list."""

import pytest

from settingsdesk.domain.base.names import bare, findable, folded, usual_name


class TestFolded:
    @pytest.mark.parametrize(
        ("text", "expected"),
        [
            ("Ask", "ask"),
            ("ÅSE  Łuczak", "ase luczak"),
            ("Strauß", "strauss"),
            ("Ælfrún Ðorleif", "aelfrun dorleif"),
            ("İnci Işık", "inci isik"),
            ("Ѐва Йорданова", "ева иорданова"),
            ("Σοφός", "σοφοσ"),
            ("e\u0301va", "eva"),
        ],
    )
    def test_case_and_accents_are_gone(self, text: str, expected: str):
        """Whoever types on a foreign keyboard still finds the athlete."""
        assert folded(text) == expected

    @pytest.mark.parametrize("name", ["ß", "ſ", "Ω", "ﬁ", "Ǆ"])
    def test_folding_again_changes_nothing(self, name: str):
        """What is typed and what is kept are folded once each and must still meet."""
        assert folded(folded(name)) == folded(name)


class TestBare:
    @pytest.mark.parametrize(
        ("name", "elsewhere"),
        [
            ("Müller", "Mueller"),
            ("O’Neil", "O'Neil"),
            ("O’Neil", "ONeil"),
            ("Ask‐Berg", "Ask Berg"),
            ("Łuczak", "Luczak"),
            ("Єва", "Ева"),
            ("Sørensen", "Soerensen"),
        ],
    )
    def test_one_name_typed_in_two_ways_is_the_same(self, name: str, elsewhere: str):
        assert bare(name) == bare(elsewhere)

    @pytest.mark.parametrize("names", [("Ask", "Birk"), ("Ева", "Eva"), ("Anna Lena", "Annalena")])
    def test_other_names_stay_others(self, names: tuple[str, str]):
        assert bare(names[0]) != bare(names[1])


class TestFindable:
    def test_has_each_name_as_it_may_be_typed(self):
        assert findable(["Mueller", "Ada"]) == "mueller ada muller ada"

    def test_says_nothing_twice(self):
        assert findable(["Ask", "Ada", "", "Girls"]) == "ask ada girls"


class TestTheUsualName:
    """What is printed on a card unless the club chose another name."""

    @pytest.mark.parametrize(
        ("family_name", "given_name", "printed"),
        [("Ash", "Ana", "Ana A."), ("", "Ana", "Ana"), ("Ash", "", "Ash")],
    )
    def test_is_as_much_of_it_as_there_is(self, family_name, given_name, printed):
        assert usual_name(family_name, given_name) == printed
