"""The page on which a coach asks more of a rotation than the least time."""

import pytest

from settingsdesk.desk import rotations
from tests.conftest import DemoClub
from tests.web.pages import Page, Reader
from tests.web.rotations import TONIGHT, ids_of, rows

WISHES = f"{TONIGHT}/wishes"
ORDER = "Order with these wishes"


@pytest.fixture
def ids(demo_club: DemoClub) -> dict[str, str]:
    """The athletes of tonight by the name on their cards, as a form sends them."""
    with demo_club.work() as session:
        listed = rotations.rotation(session, 1).listed
    return {member.printed_name: str(member.id) for member in listed}


def wishes(reader: Reader) -> Page:
    return reader.get(TONIGHT).follow("Turns, rest, hands and wishes")


def order(page: Page, caption: str = "The best order") -> list[str]:
    return [row.split(" ", 1)[1] for row in rows(page, caption)]


class TestAsking:
    def test_wishes_are_kept_by_the_order_and_shown_again(
        self, demo_pages: Reader, ids: dict[str, str]
    ) -> None:
        page = wishes(demo_pages).send(
            ORDER,
            first=ids["Viktorie H."],
            before0_one=ids["Tuva F."],
            before0_other=ids["Inês G."],
            place0_who=ids["Frieda W."],
            place0_turn="3",
        )

        assert page.banners == ["The rotation was ordered as you asked."]
        turns = order(page)
        assert turns[0].startswith("Viktorie H.")
        assert turns[2].startswith("Frieda W.")
        again = wishes(demo_pages)
        assert again.value("place0_turn") == "3"
        assert again.value("before0_other") == ids["Inês G."]
        assert again.value("before2_one") == ""

    def test_several_turns_are_told_with_their_rest(self, demo_pages: Reader) -> None:
        page = wishes(demo_pages).send(ORDER, turns="2", rest_turns="2")

        assert "2 turns each, at least 2 turns of rest between" in page.text
        assert len(order(page)) == 24

    def test_marks_within_what_is_accepted_are_named_with_how_far_off_they_are(
        self, demo_pages: Reader
    ) -> None:
        page = wishes(demo_pages).send(ORDER, leeway="y")

        assert "Where the marks differ from an athlete's own" in page.text
        assert "is accepted." in page.text
        assert any("Accepted" in row for row in order(page))

    def test_a_second_apparatus_has_a_table_of_its_own(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        page = wishes(demo_pages)
        door = ids_of(page, "Bars by the door")
        page = page.send(ORDER, apparatus=door, soonest="1")

        window = order(page, "The best order on Bars by the window")
        assert len(window) + len(order(page, "The best order on Bars by the door")) == 12
        assert "The last apparatus is ready after" in page.text

    def test_a_crew_of_two_is_told(self, demo_pages: Reader) -> None:
        page = wishes(demo_pages).send(ORDER, hands="2")

        assert "Worked out for two pairs of hands" in page.text


class TestRefusals:
    @pytest.mark.parametrize(
        ("typed", "said"),
        [
            ({"turns": "0"}, "Turns of each athlete must be between 1 and 9"),
            ({"turns": "two"}, "Turns of each athlete must be a whole number, like 3"),
            ({"turns": ""}, "Enter the turns of each athlete"),
            ({"rest_turns": "-1"}, "Rest, in turns of others must be a whole number, like 3"),
            ({"turn_s": "9999"}, "One turn takes must be between 0 and 600"),
            ({"turns": "2", "rest_turns": "12"}, "12 turns of rest need at least 13 athletes"),
        ],
    )
    def test_numbers_that_cannot_be_are_told_and_kept_in_the_form(
        self, demo_pages: Reader, typed: dict[str, str], said: str
    ) -> None:
        page = wishes(demo_pages).send(ORDER, **typed)

        assert page.status == 400
        assert any(said in mistake for mistake in page.mistakes)
        for field, value in typed.items():
            assert page.value(field) == value

    def test_half_a_wish_is_named(self, demo_pages: Reader, ids: dict[str, str]) -> None:
        page = wishes(demo_pages).send(ORDER, before0_one=ids["Tuva F."])

        assert page.mistakes == ["Choose both, or leave the row empty"]

    def test_wishes_that_cannot_hold_together_are_named_and_nothing_is_kept(
        self, demo_pages: Reader, ids: dict[str, str]
    ) -> None:
        tuva, ines = ids["Tuva F."], ids["Inês G."]
        page = wishes(demo_pages).send(
            ORDER,
            before0_one=tuva,
            before0_other=ines,
            before1_one=ines,
            before1_other=tuva,
        )

        assert page.status == 400
        [mistake] = page.mistakes
        assert "These wishes cannot hold together" in mistake
        assert "Tuva F. before Inês G." in mistake
        assert wishes(demo_pages).value("before0_one") == ""

    def test_wishes_about_the_order_need_one_apparatus(
        self, demo_pages: Reader, ids: dict[str, str]
    ) -> None:
        page = wishes(demo_pages)
        door = ids_of(page, "Bars by the door")
        page = page.send(ORDER, apparatus=door, first=ids["Tuva F."])

        assert page.mistakes == ["Wishes about the order need a rotation on one apparatus"]

    def test_somebody_who_is_not_on_the_list_is_not_offered(self, demo_pages: Reader) -> None:
        page = wishes(demo_pages).send(ORDER, first="9999")

        assert page.mistakes == ["Choose somebody who is on the list, or nobody"]


class TestUnderWay:
    def test_the_rest_is_ordered_when_turns_are_over(self, demo_pages: Reader) -> None:
        before = order(demo_pages.get(TONIGHT))
        page = demo_pages.get(TONIGHT).send("Order the rest anew", turns="5")

        assert page.banners == ["The rest was ordered from the marks of the last turn."]
        assert len(order(page)) == len(before) - 5

    def test_the_first_turns_can_be_kept(self, demo_pages: Reader) -> None:
        page = demo_pages.get(TONIGHT).send("Keep them, and order the others", turns="3")

        assert page.banners == ["The first 3 turns were kept."]
        assert wishes(demo_pages).value("place2_turn") == "3"

    @pytest.mark.parametrize("typed", ["", "all", "99", "-1"])
    def test_a_number_that_cannot_be_is_told(self, demo_pages: Reader, typed: str) -> None:
        page = demo_pages.get(TONIGHT).send("Order the rest anew", turns=typed)

        assert page.status == 400
        assert "The number of turns must be between 1 and 11" in page.text
