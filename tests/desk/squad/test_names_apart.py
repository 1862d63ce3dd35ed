"""The names of a list, so that no two athletes can be taken for each other."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.desk.squad import athletes
from settingsdesk.desk.squad.athletes import Member, Person
from settingsdesk.desk.squad.names_apart import (
    EnteredAs,
    apart_in_squad,
    listed_apart,
    names_apart,
    namesakes,
)
from settingsdesk.domain.base.names import folded
from tests.conftest import DemoClub

ANNA_Z, ANNA_Y, BO = (
    Member(1, Person("Zander", "Anna"), None),
    Member(2, Person("Zeman", "Anna"), None),
    Member(3, Person("Quist", "Bo"), None),
)


def said(*members: Member, entered: dict[int, EnteredAs] | None = None) -> list[str]:
    names = names_apart(members, entered)
    return [str(names[member.id]) for member in members]


class TestNamesApart:
    """Two girls in one rotation, "Anna Z." both: the wrong one goes up on the other's bars."""

    def test_whoever_alone_has_a_name_keeps_it(self) -> None:
        assert said(ANNA_Z, BO) == ["Anna Z.", "Bo Q."]

    def test_start_numbers_tell_namesakes_apart(self) -> None:
        entered = {1: EnteredAs("12", "Tarn Hollow GC"), 2: EnteredAs("31", "Wexlow Turners")}

        assert said(ANNA_Z, ANNA_Y, BO, entered=entered) == [
            "Anna Z., no. 12",
            "Anna Z., no. 31",
            "Bo Q.",
        ]

    def test_where_a_number_is_lacking_the_club_tells(self) -> None:
        entered = {1: EnteredAs("12", "Tarn Hollow GC"), 2: EnteredAs("", "Wexlow Turners")}

        assert said(ANNA_Z, ANNA_Y, entered=entered) == [
            "Anna Z., no. 12, Tarn Hollow GC",
            "Anna Z., Wexlow Turners",
        ]

    def test_where_a_number_was_given_twice_the_club_tells(self) -> None:
        entered = {1: EnteredAs("12", "Tarn Hollow GC"), 2: EnteredAs("12", "Wexlow Turners")}

        assert said(ANNA_Z, ANNA_Y, entered=entered)[0] == "Anna Z., no. 12, Tarn Hollow GC"

    def test_with_neither_the_names_are_as_long_as_needed(self) -> None:
        assert said(ANNA_Z, ANNA_Y) == ["Anna Za.", "Anna Ze."]
        assert said(ANNA_Z, Member(4, Person("Zanders", "Anna"), None)) == [
            "Anna Zander",
            "Anna Zanders",
        ]

    def test_the_squads_own_start_number_counts_too(self) -> None:
        one = Member(1, Person("Zander", "Anna", start_number="7"), None)
        other = Member(2, Person("Zeman", "Anna", start_number="8"), None)

        assert said(one, other) == ["Anna Z., no. 7", "Anna Z., no. 8"]

    def test_the_very_same_name_in_one_club_is_counted(self) -> None:
        assert said(ANNA_Z, Member(4, Person("Zander", "Anna"), None)) == [
            "Anna Zander (1)",
            "Anna Zander (2)",
        ]

    def test_names_that_differ_only_in_accents_or_case_are_alike(self) -> None:
        """Nobody tells them apart when they are called out."""
        accented = Member(4, Person("Żak", "Anna"), None)

        assert namesakes([ANNA_Z, accented]) == [(ANNA_Z, accented)]


class TestApartInTheSquad:
    """A card is printed for one athlete today and for another next week."""

    @pytest.mark.parametrize(
        "people",
        [
            (Person("Blanco", "José"), Person("Berg", "Jose")),
            (Person("Bellaquer", "Anna"), Person("Quist", "Zoe", printed_name="Anna B.")),
            (Person("Ask", "Li"), Person("Lundt", "Mia", printed_name="LI A")),
            (Person("Zander", "Ann"), Person("Zeman", "Ann"), Person("Ro", "Vi", "Ann Za.")),
        ],
    )
    def test_each_has_the_name_that_all_together_have(
        self, demo_club: DemoClub, people: tuple[Person, ...]
    ) -> None:
        with demo_club.work(writes=True) as session:
            members = [athletes.add(session, person) for person in people]
            together = names_apart(members)
            for member in members:
                assert apart_in_squad(session, [member]) == {member.id: together[member.id]}


LETTERS = st.text("aeéZz. ()1", min_size=0, max_size=4)
PEOPLE = st.builds(
    Person,
    family_name=LETTERS.map(lambda text: f"Z{text}"),
    given_name=st.sampled_from(["Anna", "anna", "Bo", ""]),
    printed_name=st.sampled_from(["", "", "Anna Z.", "Anna Ze.", "Anna Z., no. 1"]),
    start_number=st.sampled_from(["", "1", "2"]),
)
LISTS = st.lists(PEOPLE, max_size=8).map(
    lambda people: [Member(number, person, None) for number, person in enumerate(people)]
)
ENTERED = st.dictionaries(
    st.integers(0, 7),
    st.builds(EnteredAs, st.sampled_from(["", "1", "2"]), st.sampled_from(["", "A", "B"])),
)


@given(members=LISTS, entered=ENTERED, shuffled=st.randoms(use_true_random=False))
def test_no_two_are_called_alike_in_whichever_order_they_stand(
    members: list[Member], entered: dict[int, EnteredAs], shuffled: object
) -> None:
    names = names_apart(members, entered)
    others = list(members)
    shuffled.shuffle(others)  # type: ignore[attr-defined]  # hypothesis gives a random.Random

    assert len({folded(str(name).replace(".", "")) for name in names.values()}) == len(members)
    assert names_apart(others, entered) == names


@given(members=LISTS, entered=ENTERED)
def test_nobody_without_a_namesake_is_called_otherwise(
    members: list[Member], entered: dict[int, EnteredAs]
) -> None:
    alike = {member.id for group in namesakes(members) for member in group}
    names = names_apart(members, entered)

    for member in members:
        if member.id not in alike:
            assert str(names[member.id]) == member.printed_name


class TestAListToChooseFrom:
    def test_two_of_one_name_are_called_there_as_orders_and_cards_call_them(self) -> None:
        one, other = (Member(number, Person("Zander", "Anna"), None) for number in (1, 4))
        assert listed_apart([other, BO, one]) == {
            4: "Zander, Anna: Anna Zander (2)",
            3: "Quist, Bo",
            1: "Zander, Anna: Anna Zander (1)",
        }

    def test_who_is_told_apart_by_the_family_name_is_listed_by_it_alone(self) -> None:
        assert listed_apart([ANNA_Z, ANNA_Y]) == {1: "Zander, Anna", 2: "Zeman, Anna"}
