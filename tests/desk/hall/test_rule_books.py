"""Rule books as the club keeps them."""

import pytest

from settingsdesk.desk.hall import rule_books
from settingsdesk.desk.hall.rule_books import NotARuleBook
from settingsdesk.domain.base.kinds import NoSuchAxis, kind_of
from settingsdesk.domain.hall.rule_books import RuleBook
from settingsdesk.domain.settings.settings import Setting, Wanted
from tests.conftest import DemoClub

RULE = {
    "kind": "uneven_bars",
    "axis": "high_rail",
    "level": "club cup",
    "least_mm": 2400,
    "most_mm": 2500,
    "source": "the cup's letter of invitation",
    "edition": "2026",
    "standing": "read",
}


def setting(high_mm: int) -> Setting:
    axes = {"low_rail": Wanted(1700), "high_rail": Wanted(high_mm), "spread": Wanted(1700)}
    return Setting(kind_of("uneven_bars"), axes)


class TestKeeping:
    def test_a_book_comes_back_as_it_was_kept(self, demo_club: DemoClub) -> None:
        book = rule_books.book_from_data({"name": "Club cup", "rule": [RULE]})
        with demo_club.work(writes=True) as session:
            rule_books.keep_book(session, book)
            assert book in rule_books.all_books(session)

    def test_a_book_of_the_same_name_is_replaced(self, demo_club: DemoClub) -> None:
        book = rule_books.book_from_data({"name": "Club cup", "rule": [RULE]})
        with demo_club.work(writes=True) as session:
            rule_books.keep_book(session, book)
            rule_books.keep_book(session, RuleBook("Club cup", ()))
            kept = [one for one in rule_books.all_books(session) if one.name == "Club cup"]

        assert kept == [RuleBook("Club cup", ())]


class TestOutside:
    def test_a_setting_outside_is_told_with_the_source_and_its_standing(
        self, demo_club: DemoClub
    ) -> None:
        book = rule_books.book_from_data({"name": "Club cup", "rule": [RULE]})
        with demo_club.work(writes=True) as session:
            rule_books.keep_book(session, book)
            found = rule_books.outside_any([book], setting(2560), "club cup")

        assert (
            "High rail height 256.0 cm is outside 240.0 to 250.0 cm"
            " (the cup's letter of invitation, 2026; read in the source)"
        ) in map(str, found)

    def test_a_setting_inside_every_rule_is_not(self, demo_club: DemoClub) -> None:
        with demo_club.work() as session:
            assert (
                rule_books.outside_any(rule_books.all_books(session), setting(2500), "senior") == ()
            )


class TestBadBooks:
    def test_a_rule_without_its_source_is_refused_and_counted(self) -> None:
        """A number with no source is not worth a warning."""
        sourceless = {key: value for key, value in RULE.items() if key != "source"}
        with pytest.raises(NotARuleBook) as refused:
            rule_books.book_from_data({"name": "Club cup", "rule": [RULE, sourceless]})

        assert str(refused.value) == "Rule 2 of rule book 'Club cup' lacks or misnames 'source'"

    def test_an_axis_that_the_kind_does_not_have_is_named(self) -> None:
        with pytest.raises(NoSuchAxis):
            rule_books.book_from_data({"name": "Club cup", "rule": [{**RULE, "axis": "beam"}]})
