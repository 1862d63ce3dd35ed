"""The coach's list of a rotation: who is on it, and in which order."""

import pytest

from tests.conftest import DemoClub
from tests.desk.sample_squad import join
from tests.web.pages import Page, Reader, words
from tests.web.rotations.making import (
    TONIGHT,
    first_ids,
    ids_of,
    listed,
    new_page,
    offered,
    plans,
    ticked,
)


@pytest.fixture
def tonight(demo_pages: Reader) -> Page:
    return demo_pages.get(TONIGHT)


class TestTheCoachsList:
    def test_one_is_moved_up_a_place(self, tonight: Page) -> None:
        assert listed(tonight)[:3] == ["Bąkiewicz, Jagna", "Çelikbaş, Defne", "Fjeldheim, Tuva"]

        page = tonight.send("Up for Fjeldheim, Tuva")

        assert listed(page)[:3] == ["Bąkiewicz, Jagna", "Fjeldheim, Tuva", "Çelikbaş, Defne"]
        assert [answer.status_code for answer in page.response.history] == [303]
        assert page.response.history[0].location.endswith("/rotations/1#the-coach-s-list")
        assert page.having("id", "the-coach-s-list")

    def test_a_second_press_on_the_same_page_moves_nobody_further(self, tonight: Page) -> None:
        tonight.send("Up for Fjeldheim, Tuva")

        page = tonight.send("Up for Fjeldheim, Tuva")

        assert listed(page)[1] == "Fjeldheim, Tuva"

    def test_the_first_cannot_go_up_nor_the_last_down(self, tonight: Page) -> None:
        buttons = [words(button) for button in tonight.tree.iter("button")]

        assert f"Up for {listed(tonight)[0]}" not in buttons
        assert f"Down for {listed(tonight)[-1]}" not in buttons
        assert sum(button.startswith(("Up for", "Down for")) for button in buttons) == 22

    def test_a_tampered_move_changes_nothing(
        self, demo_pages: Reader, tonight: Page, demo_club: DemoClub
    ) -> None:
        """Nor does it break anything."""
        token = tonight.tree.find(".//input[@name='csrf_token']")
        assert token is not None
        before = plans(demo_club)
        good = {"csrf_token": token.get("value"), "athlete": "1", "place": "2"}
        for tampered in (
            {"place": ""},
            {"place": "0"},
            {"place": "13"},
            {"place": "-1"},
            {"place": "up"},
            {"place": str(10**30)},
            {"athlete": "999"},
            {"athlete": str(10**30)},
            {"athlete": "Tuva"},
            {"athlete": ""},
        ):
            page = demo_pages.post(f"{TONIGHT}/move", {**good, **tampered})

            assert (page.status, page.heading) == (400, "This could not be done"), tampered
        assert plans(demo_club) == before
        assert listed(demo_pages.get(TONIGHT)) == listed(tonight)

    def test_who_stays_keeps_the_place_and_newcomers_come_last(self, tonight: Page) -> None:
        form = tonight.send("Up for Fjeldheim, Tuva").follow("Change who is on the list")
        chosen = ids_of(
            form,
            "Lindbäck, Ebba (Girls 2)",
            "Çelikbaş, Defne (Girls 1)",
            "Fjeldheim, Tuva (Girls 1)",
        )

        page = form.send("Change the list and re-plan", who=chosen)

        assert listed(page) == ["Fjeldheim, Tuva", "Çelikbaş, Defne", "Lindbäck, Ebba"]
        assert page.banners == ["The list was changed and re-planned."]

    def test_out_of_a_large_squad_who_is_on_the_list_stays_ticked(
        self, tonight: Page, demo_club: DemoClub
    ) -> None:
        """Adding one name must not take twelve others off."""
        join(demo_club, 70)
        before = listed(tonight)
        form = tonight.follow("Change who is on the list")

        found = form.send("Find", q="zorn 069")
        page = found.send("Change the list and re-plan", who=offered(found))

        assert len(ticked(found)) == 12
        assert listed(page) == [*before, "Zorn 069, Ada"]

    def test_nobody_at_all_is_refused(self, tonight: Page) -> None:
        form = tonight.follow("Change who is on the list")

        page = form.send("Change the list and re-plan", who=[])

        assert (page.status, page.mistakes) == (400, ["Choose at least one athlete"])

    def test_with_one_athlete_there_is_nothing_to_move(self, demo_pages: Reader) -> None:
        form = new_page(demo_pages)

        page = form.send("Plan the rotation", who=first_ids(form, 1))

        assert not [one for one in page.tree.iter("button") if words(one).startswith("Up")]
        assert "as much as in the order of the list" in page.text
