"""The page on which a coach asks more of a rotation than the least time."""

import pytest

from settingsdesk.desk.rotations import rotation as desk_rotation
from tests.conftest import DemoClub
from tests.web.pages import Page, Reader, words
from tests.web.rotations.making import TONIGHT, ids_of, rows

WISHES = f"{TONIGHT}/wishes"
ORDER = "Plan with these wishes"
KEEP = "Keep the ticked places and re-plan the others"


@pytest.fixture
def ids(demo_club: DemoClub) -> dict[str, str]:
    """The athletes of tonight by the name on their cards, as a form sends them."""
    with demo_club.work() as session:
        listed = desk_rotation.rotation(session, 1).listed
    return {member.printed_name: str(member.id) for member in listed}


def wishes(reader: Reader) -> Page:
    return reader.get(TONIGHT).follow("Turns, rest, crew and wishes")


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
            places0_who=ids["Frieda W."],
            places0_turn="3",
        )

        assert page.banners == ["The rotation was ordered as you asked."]
        turns = order(page)
        assert turns[0].startswith("Viktorie H.")
        assert turns[2].startswith("Frieda W.")
        again = wishes(demo_pages)
        assert again.value("places0_turn") == "3"
        assert again.value("before0_other") == ids["Inês G."]
        assert again.value("before2_one") == ""

    def test_somebody_goes_not_before_somebody_else(
        self, demo_pages: Reader, ids: dict[str, str]
    ) -> None:
        page = wishes(demo_pages).send(
            ORDER,
            before0_one=ids["Jagna B."],
            before0_how="after",
            before0_other=ids["Viktorie H."],
        )

        names = [row.split(" ", 1)[0] for row in order(page)]
        assert names.index("Viktorie") < names.index("Jagna")
        again = wishes(demo_pages)
        assert again.value("before0_one") == ids["Viktorie H."]
        assert again.value("before0_how") == "before"

    def test_more_than_three_stay_together(self, demo_pages: Reader, ids: dict[str, str]) -> None:
        group = ["Tuva F.", "Inês G.", "Jagna B.", "Frieda W.", "Viktorie H."]
        page = wishes(demo_pages).send(ORDER, together0_who=[ids[name] for name in group])

        places = sorted(
            place for place, row in enumerate(order(page)) if row.startswith(tuple(group))
        )
        assert places == list(range(places[0], places[0] + 5))
        assert "These: Bąkiewicz, Jagna; Fjeldheim, Tuva" in wishes(demo_pages).text

    def test_the_marks_it_shall_stand_at_afterwards_end_the_order(self, demo_pages: Reader) -> None:
        marks = {"final1_low_rail": "3", "final1_high_rail": "4", "final1_spread": "160.0"}
        page = wishes(demo_pages).send(ORDER, **marks)

        assert rows(page, "The best order")[-1].startswith("Afterwards Down to 3 4 Out to 160.0")
        again = wishes(demo_pages)
        assert {name: again.value(name) for name in marks} == marks
        freed = again.send(ORDER, **dict.fromkeys(marks, ""))
        assert "Afterwards" not in freed.text

    def test_what_leeway_alone_saves_is_not_passed_off_as_the_orders(
        self, demo_pages: Reader
    ) -> None:
        said = "part of the saving comes from what the athletes accept"

        assert said not in demo_pages.get(TONIGHT).text
        assert said in wishes(demo_pages).send(ORDER, leeway="y").text

    def test_several_turns_are_told_with_their_rest(self, demo_pages: Reader) -> None:
        page = wishes(demo_pages).send(ORDER, turns="2", rest_turns="2")

        assert [words(wish) for wish in page.having("class", "wishes")] == [
            "2 turns each At least 2 turns of rest between two of one athlete"
        ]
        assert len(order(page)) == 24

    def test_what_is_asked_of_all_turns_alike_is_ticked_kept_and_told(
        self, demo_pages: Reader
    ) -> None:
        page = wishes(demo_pages).send(ORDER, turns="2", longest_rest="y", in_rounds="y")

        told = " ".join(words(wish) for wish in page.having("class", "wishes"))
        assert told.startswith("2 turns each The longest rest there can be between two turns")
        assert "Turns in rounds: everybody once before anybody again" in told
        assert "In this order 11 turns of others lie at least between two of one" in page.text
        assert [row.split(" ")[1] for row in order(page)[:12]] == [
            row.split(" ")[1] for row in order(page)[12:]
        ]
        again = wishes(demo_pages)
        ticked = {box.get("name") for box in again.tree.iter("input") if "checked" in box.attrib}
        assert {"longest_rest", "in_rounds"} <= ticked
        assert "one_setup" not in ticked

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

        assert "Worked out for two people" in page.text


class TestRefusals:
    @pytest.mark.parametrize(
        ("typed", "said"),
        [
            ({"turns": "0"}, "Turns of each athlete must be between 1 and 9"),
            ({"turns": "two"}, "Turns of each athlete must be a whole number, like 3"),
            ({"turns": ""}, "Enter the turns of each athlete"),
            ({"rest_turns": "-1"}, "Turns of rest must be a whole number, like 3"),
            ({"turn_s": "9999"}, "Time for one turn must be between 0 and 600"),
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
        assert all(page.links_of_mistakes.values())

    def test_half_a_wish_is_named(self, demo_pages: Reader, ids: dict[str, str]) -> None:
        page = wishes(demo_pages).send(
            ORDER,
            before0_one=ids["Tuva F."],
            places1_turn="4",
            together0_who=[ids["Tuva F."]],
            final1_spread="170.0",
        )

        assert page.mistakes == [
            "Choose both, or leave the row empty",
            "Tick two athletes or more, or nobody",
            "Choose both, or leave the row empty",
            "Enter the mark of the low rail height, or clear the others",
            "Enter the mark of the high rail height, or clear the others",
        ]

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

        both = "'Tuva F. before Inês G.'; 'Inês G. before Tuva F.'"
        assert page.status == 400
        assert page.mistakes == [
            f"These wishes cannot hold together: {both}. Change one of them",
            "'Tuva F. before Inês G.' cannot hold together with the others",
            "'Inês G. before Tuva F.' cannot hold together with the others",
        ]
        assert list(page.links_of_mistakes.values()) == ["", "#before0_one", "#before1_one"]
        assert wishes(demo_pages).value("before0_one") == ""

    def test_a_message_stands_beside_its_row_also_where_rows_before_are_empty(
        self, demo_pages: Reader, ids: dict[str, str]
    ) -> None:
        page = wishes(demo_pages).send(ORDER, places1_who=ids["Tuva F."], places1_turn="13")

        assert page.links_of_mistakes == {
            "Turn 13 is beyond the last turn, which is 12": "#places1_who"
        }

    def test_marks_afterwards_that_are_not_on_the_scale_are_told(self, demo_pages: Reader) -> None:
        page = wishes(demo_pages).send(
            ORDER, final1_low_rail="99", final1_high_rail="5", final1_spread="170.0"
        )

        [mistake] = page.mistakes
        assert mistake.startswith("Low rail height: ")

    def test_wishes_about_the_order_need_one_apparatus(
        self, demo_pages: Reader, ids: dict[str, str]
    ) -> None:
        page = wishes(demo_pages)
        door = ids_of(page, "Bars by the door")
        page = page.send(ORDER, apparatus=door, first=ids["Tuva F."])

        assert page.links_of_mistakes == {
            "Wishes about the order need a rotation on one apparatus": "#apparatus-0"
        }

    def test_somebody_who_is_not_on_the_list_is_not_offered(self, demo_pages: Reader) -> None:
        page = wishes(demo_pages).send(ORDER, first="9999")

        assert page.mistakes == ["Choose somebody who is on the list, or nobody"]


class TestUnderWay:
    def test_the_rest_is_ordered_when_turns_are_over(self, demo_pages: Reader) -> None:
        before = order(demo_pages.get(TONIGHT))
        page = demo_pages.get(TONIGHT).send("Re-plan the rest", over="5")

        assert page.banners == ["The rest was ordered from the marks of the last turn."]
        assert len(order(page)) == len(before) - 5

    def test_any_turns_keep_their_places_and_are_marked_so(self, demo_pages: Reader) -> None:
        before = order(demo_pages.get(TONIGHT))
        page = demo_pages.get(TONIGHT)
        boxes = [box for box in page.tree.iter("input") if box.get("name") == "kept"]
        page = page.send(KEEP, kept=[boxes[place - 1].get("value") for place in (4, 7)])

        assert page.banners == ["The ticked places are fixed."]
        assert [place for place, row in enumerate(order(page), 1) if "Kept" in row] == [4, 7]
        assert [order(page)[3][:8], order(page)[6][:9]] == [before[3][:8], before[6][:9]]
        assert wishes(demo_pages).value("places1_turn") == "7"

        free = page.send(KEEP, kept=[])
        assert free.banners == ["No place is fixed any more."]
        assert "Kept" not in " ".join(order(free))

    def test_a_slip_in_one_form_leaves_the_other_as_it_was(self, demo_pages: Reader) -> None:
        """Ticks that went missing would give places up with the next press."""
        page = demo_pages.get(TONIGHT)
        page = page.send(KEEP, kept=ids_of(page, "1. Jagna B."))
        page = page.send("Re-plan the rest", over="99")

        ticked = [box for box in page.tree.iter("input") if "checked" in box.attrib]
        assert [box.get("value", "").partition("-")[0] for box in ticked] == ["1"]
        assert page.send(KEEP, kept=["no-such"]).value("over") == "1"

    def test_ticks_for_an_order_that_is_no_longer_there_keep_nobody(
        self, demo_pages: Reader
    ) -> None:
        """Another coach has ordered anew: nobody is kept in a place that nobody looked at."""
        old = demo_pages.get(TONIGHT)
        ticks = ids_of(old, "1. Jagna B.")
        wishes(demo_pages).send(ORDER, last=ticks[0].partition("-")[2])

        page = old.send(KEEP, kept=ticks)

        assert page.status == 400
        assert page.mistakes == [
            "The order was changed meanwhile: look at it, and tick the places to keep once more"
        ]

    def test_places_cannot_be_kept_where_there_is_no_one_order(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        old = demo_pages.get(TONIGHT)
        page = wishes(demo_pages)
        page.send(ORDER, apparatus=ids_of(page, "Bars by the door"))

        for refused in (old.send(KEEP, kept=[]), old.send("Re-plan the rest", over="1")):
            assert refused.status == 400
            assert "on one apparatus: order it first" in refused.text

    @pytest.mark.parametrize(
        ("typed", "said"),
        [
            ("", "Enter the turns that are over"),
            ("all", "Turns that are over must be a whole number, like 3"),
            ("12", "Turns that are over must be between 1 and 11"),
            ("-1", "Turns that are over must be a whole number, like 3"),
        ],
    )
    def test_a_number_that_cannot_be_is_told_beside_it(
        self, demo_pages: Reader, typed: str, said: str
    ) -> None:
        page = demo_pages.get(TONIGHT).send("Re-plan the rest", over=typed)

        assert page.status == 400
        assert page.links_of_mistakes == {said: "#over"}
