"""Several groups on one evening: from the groups to the bars, group by group."""

import re

import pytest
from pypdfium2 import PdfDocument

from settingsdesk.desk.rotations import rotation as desk_rotation
from tests.conftest import DemoClub
from tests.web.pages import Page, Reader, words
from tests.web.rotations.making import WINDOW, listed, rows, ticked

WISHES = "Plan with these wishes"


def chosen(reader: Reader) -> Page:
    """The form for an evening of Girls 1 and Girls 2 on the bars by the window."""
    page = reader.get("/rotations/new?group=Girls+1&group=Girls+2")
    return page.follow(WINDOW)


@pytest.fixture
def evening(demo_pages: Reader) -> Page:
    return chosen(demo_pages).send("Plan the rotation", name="Evening")


def groups_in(page: Page, caption: str = "The best order") -> list[str]:
    """The lines of a table that begin a group, without the times."""
    return [
        row.split(" first;")[0].split(" after ")[0]
        for row in rows(page, caption)
        if "of change-over" in row
    ]


class TestChoosingSeveralGroups:
    def test_they_are_ticked_beside_the_groups_and_go_along(self, demo_pages: Reader) -> None:
        page = demo_pages.get("/rotations/new")
        boxes = [box.get("value") for box in page.tree.iter("input") if box.get("name") == "group"]
        then = demo_pages.get("/rotations/new?group=Girls+1&group=Girls+2")

        assert boxes == ["Boys 1", "Boys 2", "Girls 1", "Girls 2"]
        assert "For Girls 1, Girls 2, one after the other." in then.text

    def test_the_form_ticks_all_of_them_and_asks_who_goes_first(self, demo_pages: Reader) -> None:
        form = chosen(demo_pages)

        assert len(ticked(form)) == 14
        assert (form.value("place0"), form.value("place1")) == ("1", "2")

    def test_the_order_that_is_typed_is_that_of_the_groups(self, demo_pages: Reader) -> None:
        page = chosen(demo_pages).send("Plan the rotation", place0="2", place1="1")

        assert groups_in(page) == ["Girls 2", "Girls 1"]

    def test_two_groups_at_one_place_are_asked_for_one_each_unless_any_order_will_do(
        self, demo_pages: Reader
    ) -> None:
        twice = {"place0": "1", "place1": "1"}
        page = chosen(demo_pages).send("Plan the rotation", **twice)

        assert page.status == 400
        told = "Girls 1 has place 1 too: give each group a place of its own"
        assert told in " ".join(page.mistakes)
        planned = page.send("Plan the rotation", **twice, any_order="y")
        assert planned.status == 200
        again = planned.follow("Turns, rest, crew and wishes").send(
            WISHES, group0_place="2", group1_place="2", groups_free=[]
        )
        assert "has place 2 too: give each group a place of its own" in " ".join(again.mistakes)

    def test_a_place_that_is_none_is_asked_for_and_nothing_is_lost(
        self, demo_pages: Reader
    ) -> None:
        page = chosen(demo_pages).send("Plan the rotation", place0="7", name="Evening")

        assert page.status == 400
        assert page.value("place0") == "7"
        assert page.value("name") == "Evening"
        assert len(ticked(page)) == 14

    def test_a_group_that_nobody_is_in_is_none(self, demo_pages: Reader) -> None:
        page = demo_pages.get("/rotations/new?group=Girls+1&group=Nobody+knows").follow(WINDOW)
        page = page.send("Plan the rotation")

        assert page.status == 200
        assert groups_in(page) == []

    def test_more_than_an_evening_has_are_refused_in_words(self, demo_pages: Reader) -> None:
        groups = "&".join(f"group=G{number}" for number in range(40))
        page = demo_pages.get(f"/rotations/new?{groups}").follow(WINDOW)

        assert page.status == 200
        assert page.send("Plan the rotation").status == 400


class TestTheEvening:
    def test_shows_where_a_group_begins_in_the_order_the_strip_and_the_list(
        self, evening: Page
    ) -> None:
        text = evening.response.text

        assert groups_in(evening) == ["Girls 1", "Girls 2"]
        assert re.search(r"Girls 2 after \d+:\d\d min; \d+:\d\d min of change-over", evening.text)
        assert text.count("(Girls 1: 1 ") == 2 * 4  # four orders, for a phone and a wide page
        assert len(listed(evening)) == 14
        assert [row for row in rows(evening, "The coach's list") if "Girls" in row] == [
            "Girls 1",
            "Girls 2",
        ]

    def test_is_compared_with_each_group_planned_by_itself(self, evening: Page) -> None:
        assert "less with each group planned by itself" in evening.text.replace("than with", "with")
        assert groups_in(evening, "Group by group") == ["Girls 1", "Girls 2"]

    def test_says_what_this_order_of_the_groups_costs(
        self, demo_pages: Reader, evening: Page
    ) -> None:
        page = demo_pages.get(evening.address)
        (told,) = (words(wish) for wish in page.having("class", "wishes"))

        assert told.startswith("Groups one after the other, in this order: Girls 1, Girls 2: ")
        assert "costs no time" in told or "without it" in told

    def test_is_taken_to_the_bars_group_by_group(self, demo_pages: Reader, evening: Page) -> None:
        assert not [b for b in evening.tree.iter("button") if words(b) == "Take it to the bars"]
        bars = evening.send("Take Girls 1 to the bars")
        assert bars.address.startswith("/bars/")

        during = demo_pages.get(evening.address)
        assert "Girls 1: Under way: 0 of 12 turns are over." in during.text
        assert not [b for b in during.tree.iter("button") if "to the bars" in words(b)]
        demo_pages.get(f"{bars.address}/end").send("End the run")
        after = demo_pages.get(evening.address)
        assert "Girls 1: Ended" in after.text
        after = after.send("Re-plan the groups to come")
        assert groups_in(after) == ["Girls 2"]
        again = after.send("Take Girls 2 to the bars")
        assert again.address.startswith("/bars/")

    def test_the_day_names_the_group_that_is_next(
        self, demo_pages: Reader, demo_club: DemoClub, evening: Page
    ) -> None:
        number = int(evening.address.rpartition("/")[2])
        bars = evening.send("Take Girls 1 to the bars")
        demo_pages.get(f"{bars.address}/end").send("End the run")
        with demo_club.work(writes=True) as session:
            desk_rotation.order_anew(session, number)

        page = demo_pages.get("/").send("Next: Girls 2 to the bars with Evening")
        assert page.address.startswith("/bars/")

    def test_on_paper_each_group_has_a_sheet(self, demo_pages: Reader, evening: Page) -> None:
        address = evening.links["Save as PDF for the apparatus or the team"]
        with PdfDocument(demo_pages.client.get(address).data) as document:
            texts = [page.get_textpage().get_text_bounded() for page in document]

        assert any("Evening, Girls 1, Bars by the window" in text for text in texts)
        assert any("Evening, Girls 2, Bars by the window" in text for text in texts)


class TestTheGroupsAmongTheWishes:
    def wishes(self, page: Page) -> Page:
        return page.follow("Turns, rest, crew and wishes")

    def test_their_order_and_who_is_in_them_can_be_changed(self, evening: Page) -> None:
        form = self.wishes(evening)
        second = [
            box.get("value", "")
            for box in form.tree.iter("input")
            if box.get("name") == "group1_who" and "checked" in box.attrib
        ]
        first = [
            box.get("value", "")
            for box in form.tree.iter("input")
            if box.get("name") == "group0_who" and "checked" in box.attrib
        ]
        page = form.send(
            WISHES,
            group0_place="2",
            group1_place="1",
            group0_who=first[1:],
            group1_who=[*second, first[0]],
        )

        assert groups_in(page) == ["Girls 2", "Girls 1"]
        assert len([row for row in rows(page, "The best order") if row.startswith("3. ")]) == 2
        free = self.wishes(page).send(WISHES, groups_free="y")
        assert "Groups one after the other, in any order: Girls 2, Girls 1" in free.text

    def test_who_is_in_two_groups_or_in_none_is_named(self, evening: Page) -> None:
        form = self.wishes(evening)
        inside = [
            box.get("value", "")
            for box in form.tree.iter("input")
            if box.get("name") == "group0_who" and "checked" in box.attrib
        ]
        page = form.send(WISHES, group0_who=inside[1:], group1_who=[inside[1]])

        assert page.status == 400
        told = " ".join(page.mistakes)
        assert "Bąkiewicz, Jagna is in no group: tick one for them" in told
        assert "is in Girls 1 too: leave one of the two" in told

    def test_a_wish_across_groups_is_refused_beside_it(self, evening: Page) -> None:
        form = self.wishes(evening)
        page = form.send(WISHES, before0_one="1", before0_other="13")

        assert page.status == 400
        assert "different groups, and each has its own time" in " ".join(page.mistakes)

    def test_all_in_one_group_make_it_a_rotation_like_others(self, evening: Page) -> None:
        form = self.wishes(evening)
        everybody = [
            box.get("value", "")
            for box in form.tree.iter("input")
            if box.get("name") == "group0_who"
        ]
        page = form.send(WISHES, group0_who=everybody, group1_who=[])

        assert groups_in(page) == []
        assert [b for b in page.tree.iter("button") if words(b) == "Take it to the bars"]
