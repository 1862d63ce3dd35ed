"""Values that only show to be wrong beside others: rails swapped, an athlete twice."""

from settingsdesk.sheets.lists.doubles import NOT_APART, SWAPPED, TWICE
from settingsdesk.sheets.lists.preview import (
    cell_key,
)
from tests.sheets.lists.listing import list_of


class TestValuesThatContradict:
    def test_swapped_rails_are_queried_both(self):
        """The low rail at 245 would be a gymnast on the wrong bar."""
        found = list_of('Name;Low rail (cm);High rail (cm)\n"Marsh, Ida";245;165\n')

        assert found.accepted == ()
        assert [query.why for query in found.queries] == [SWAPPED, SWAPPED]

    def test_rails_that_are_hardly_apart_are_queried_both(self):
        """Every value one column too far right: 160 cm low, 165 cm high."""
        found = list_of('Name;Low rail (cm);High rail (cm)\n"Marsh, Ida";160;165\nFenn;165;245\n')
        assert [query.why for query in found.queries] == [NOT_APART] * 2
        assert [one.athlete for one in found.accepted] == ["Fenn"] * 2

    def test_the_same_athlete_twice_with_other_values_is_queried_both_times(self):
        """Neither the first nor the last holds by itself."""
        found = list_of('Name;Low rail (cm)\n"Marsh, Ida";165\n"Marsh, Ida";160\n')

        assert found.accepted == ()
        assert [query.why for query in found.queries] == [TWICE, TWICE]

    def test_what_was_typed_at_one_of_the_two_settles_both(self):
        """Whoever has asked types it once, and not the other one over as well."""
        text = 'Name;Low rail (cm)\n"Marsh, Ida";165\n"Marsh, Ida";160\n'
        found = list_of(text, answers={cell_key("", 2, "B"): "165"})

        assert [(one.row, one.value_mm) for one in found.accepted] == [(2, 1650)]
        [said] = found.queries
        assert (said.row, said.is_only_said) == (3, True)
        assert said.why == "What was typed at row 2 holds in its place"
