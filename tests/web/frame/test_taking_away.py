"""The pages that ask before something typed by mistake is taken away."""

import pytest

from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.meets import entries
from settingsdesk.desk.squad import settings
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.domain.settings.transfer import setting_of_setup
from tests.conftest import DemoClub
from tests.desk.sample_meet import SmallMeet
from tests.web.every_press import BEAM
from tests.web.pages import Page, Reader, words


def a_new_one(pages: Reader, what: str) -> Page:
    """The page of something that nothing hangs on yet."""
    if what == "athlete":
        return pages.get("/athletes/new").send("Add the athlete", given_name="Ana")
    if what == "model":
        return pages.get("/apparatus/models/new/balance_beam").send("Save the model", **BEAM)
    if what == "apparatus":
        page = pages.get("/apparatus/new")
        page = page.send("Add the apparatus", name="Bars Z", model="1", mat="0")
        marks = {"low_rail": "3", "high_rail": "4", "spread": "150"}
        page = pages.get(page.address.partition("?")[0] + "/stands")
        return page.send("Record these marks", **marks)
    return pages.get("/rotations/new/1").send("Plan the rotation", who=["1", "2", "3"])


LINKS = {
    "athlete": "Typed by mistake: delete",
    "model": "Typed by mistake: delete",
    "apparatus": "Added by mistake: delete",
    "rotation": "Made by mistake: delete",
}
IN_USE = {
    "athlete": ("/athletes/1", "place on the list of a rotation", "Tonight, bars, girls 1"),
    "model": ("/apparatus/models/1", "apparatus of it", "Bars by the window"),
    "apparatus": ("/apparatus/1", "rotation", ""),
}


class TestTheQuestion:
    @pytest.mark.parametrize("what", LINKS)
    def test_it_says_what_goes_and_takes_it_away(self, demo_pages: Reader, what: str) -> None:
        there = a_new_one(demo_pages, what)
        address, name = there.address.partition("?")[0], there.heading
        asked = there.follow(LINKS[what])
        assert asked.heading == f"Delete {name}?"
        assert "goes" in asked.text

        after = asked.send("Yes, delete it")
        assert after.banners == [f"{name} is deleted."]
        assert demo_pages.get(address).status == 404
        assert asked.send("Yes, delete it").status == 404, "a second press finds nothing"

    @pytest.mark.parametrize("what", IN_USE)
    def test_where_something_hangs_on_it_it_says_what_and_offers_no_button(
        self, demo_pages: Reader, held: SmallMeet, what: str
    ) -> None:
        address, called, named = IN_USE[what]
        asked = demo_pages.get(address).follow(LINKS[what])

        assert asked.heading.endswith(" cannot be deleted")
        assert called in asked.text
        assert named in asked.text
        assert "Yes, delete it" not in [words(button) for button in asked.tree.iter("button")]

    def test_a_rotation_at_the_bars_stays(self, demo_pages: Reader, demo_club: DemoClub) -> None:
        demo_pages.get("/rotations/2").send("Take it to the bars")
        asked = demo_pages.get("/rotations/2/take-away")

        assert "1 run at the bars" in asked.text

    def test_settings_go_along_and_are_named_before(self, demo_pages: Reader) -> None:
        """Typed by mistake, and nobody was ever set by them: no card, rotation, run or entry."""
        there = a_new_one(demo_pages, "athlete")
        address = there.address.partition("?")[0]
        asked = there.follow(LINKS["athlete"])
        form = demo_pages.get(f"{address}/settings/1")
        typed = {"low_rail_length": "165", "high_rail_length": "245", "spread_length": "165"}
        form.send("Check, then save", **typed).send("Save this setting")

        again = asked.send("Yes, delete it")
        assert (again.status, again.heading) == (409, "Delete Ana?")
        assert "This has changed since you were asked. With it goes: 1 setting" in again.text
        assert "Hall frame A" in again.text
        assert again.send("Yes, delete it").banners == ["Ana is deleted."]
        assert demo_pages.get(address).status == 404

    def test_who_joined_a_run_stays(self, demo_pages: Reader, demo_club: DemoClub) -> None:
        """Of whoever was on at the bars, that is on record, though no list has the name."""
        run = demo_pages.get("/rotations/1").send("Take it to the bars")
        there = a_new_one(demo_pages, "athlete")
        number = there.address.partition("?")[0].rpartition("/")[2]
        form = demo_pages.get(f"/athletes/{number}/settings/1")
        typed = {"low_rail_length": "165", "high_rail_length": "245", "spread_length": "165"}
        form.send("Check, then save", **typed).send("Save this setting")
        add = demo_pages.get(run.address.partition("?")[0]).follow("Add an athlete")
        assert add.send("Add them and re-plan the rest", who=[number]).status == 200

        asked = demo_pages.get(f"/athletes/{number}/take-away")
        assert asked.heading == "Ana cannot be deleted"
        assert "1 run at the bars" in asked.text


class TestAnEntry:
    def test_of_a_guest_goes_with_the_guest_and_its_settings(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            guest = entries.enter_guest(session, held.meet_id, Person("Ravn", "Liv"), "Wexlow")
            piece = apparatus.piece(session, held.apparatus_id)
            wanted = setting_of_setup(piece.model, piece.must_stand_somewhere())
            settings.keep_setting(session, guest.member.id, piece.model_id, wanted)
        there = demo_pages.get(f"/meets/{held.meet_id}/entries/{guest.entry_id}")
        asked = there.follow("Typed by mistake: delete")
        assert "1 setting" in asked.text
        assert asked.send("Yes, delete it").banners == ["Ravn, Liv is deleted."]
        assert demo_pages.get(f"/athletes/{guest.member.id}").status == 404

    def test_of_one_on_a_start_order_stays(self, demo_pages: Reader, held: SmallMeet) -> None:
        entry_id = held.guests[0].entry_id
        asked = demo_pages.get(f"/meets/{held.meet_id}/entries/{entry_id}/take-away")
        assert asked.heading.endswith(" cannot be deleted")
        assert "1 place on a start order" in asked.text

    def test_of_one_of_the_squad_leaves_the_athlete(
        self, demo_pages: Reader, held: SmallMeet, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            [one] = entries.enter_squad(session, held.meet_id, [1], "")
        asked = demo_pages.get(f"/meets/{held.meet_id}/entries/{one.entry_id}/take-away")
        assert "the athlete stays in the squad" in asked.text
        assert asked.send("Yes, delete it").status == 200
        assert demo_pages.get("/athletes/1").status == 200
