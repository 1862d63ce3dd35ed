"""The squad: who is in it, how they are found, and what cards call them."""

import unicodedata
from datetime import date

import pytest

from settingsdesk.desk.squad import athletes
from settingsdesk.desk.squad.athletes import (
    NameNotPrintable,
    NameTooLong,
    Person,
    PersonUnnamed,
)
from settingsdesk.store.errors import NotInThisClub
from tests.conftest import DemoClub


def listed(club: DemoClub, text: str = "", *, left: bool = False) -> list[str]:
    with club.work() as session:
        return [member.listed_name for member in athletes.find(session, text, left=left)]


class TestThePrintedName:
    @pytest.mark.parametrize(
        ("person", "printed"),
        [
            (Person("Nowak", "Hana"), "Hana N."),
            (Person("", "Hana"), "Hana"),
            (Person("Nowak", ""), "Nowak"),
            (Person("Nowak", "Hana", printed_name="Hana from Hill"), "Hana from Hill"),
            (Person("Ångström", "Li"), "Li Å."),
        ],
    )
    def test_it_is_what_the_club_chose_or_the_given_name_and_an_initial(
        self, person: Person, printed: str, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            assert athletes.add(session, person).printed_name == printed

    def test_an_initial_keeps_its_accent_however_the_name_was_typed(
        self, demo_club: DemoClub
    ) -> None:
        """Some keyboards send the letter and its ring apart; the card must not lose the ring."""
        apart = unicodedata.normalize("NFD", "Ångström")

        with demo_club.work(writes=True) as session:
            assert athletes.add(session, Person(apart, "Li")).printed_name == "Li Å."


class TestNames:
    @pytest.mark.parametrize("names", [("", ""), (" ", "\t")])
    def test_one_of_the_two_must_be_there(self, names: tuple[str, str]) -> None:
        with pytest.raises(PersonUnnamed, match="given name or family name"):
            Person(*names)

    @pytest.mark.parametrize("part", ["family_name", "given_name", "printed_name", "group_name"])
    def test_none_is_longer_than_a_card_has_room_for(self, part: str) -> None:
        with pytest.raises(NameTooLong, match="at most 80 characters; 'NN"):
            Person(**{"family_name": "Ask", "given_name": "Bo", part: "N" * 81})

    def test_signs_that_cannot_be_printed_are_refused(self) -> None:
        with pytest.raises(NameNotPrintable, match="type it again"):
            Person("Now\x00ak", "Hana")


class TestFinding:
    @pytest.mark.parametrize("text", ["bakiewicz", "JAGNA bąk", "girls jagna", "kiewi"])
    def test_every_word_counts_and_accents_do_not(self, text: str, demo_club: DemoClub) -> None:
        """A coach types what the keyboard has."""
        assert listed(demo_club, text) == ["Bąkiewicz, Jagna"]

    def test_a_word_that_nobody_has_finds_nobody(self, demo_club: DemoClub) -> None:
        assert listed(demo_club, "jagna boys") == []


class TestLeaving:
    def test_who_has_left_is_on_the_other_list_until_they_are_back(
        self, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            jagna = athletes.find(session, "jagna")[0]
            gone = athletes.leave(session, jagna.id, date(2026, 3, 1))
        assert gone.left_on == date(2026, 3, 1)
        assert "Bąkiewicz, Jagna" not in listed(demo_club)
        assert listed(demo_club, left=True) == ["Bąkiewicz, Jagna"]

        with demo_club.work(writes=True) as session:
            assert athletes.come_back(session, jagna.id).left_on is None
        assert "Bąkiewicz, Jagna" in listed(demo_club)

    def test_nobody_is_found_under_a_number_that_this_club_does_not_have(
        self, demo_club: DemoClub
    ) -> None:
        with demo_club.work() as session, pytest.raises(NotInThisClub):
            athletes.member(session, 9999)
