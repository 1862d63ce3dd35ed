"""The pages that ask before something typed by mistake is taken away."""

import pytest

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
    "athlete": ("/athletes/1", "setting", "Hall frame A"),
    "model": ("/apparatus/models/1", "apparatus of it", "Bars by the window"),
    "apparatus": ("/apparatus/1", "rotation", ""),
}


class TestTheQuestion:
    @pytest.mark.parametrize("what", LINKS)
    def test_it_says_what_goes_and_takes_it_away(self, demo_pages: Reader, what: str) -> None:
        there = a_new_one(demo_pages, what)
        address, name = there.address.partition("?")[0], there.heading
        asked = there.follow(LINKS[what])
        assert asked.heading == f"Take {name} away?"
        assert "goes" in asked.text

        after = asked.send("Yes, delete it")
        assert after.banners == [f"{name} is taken away."]
        assert demo_pages.get(address).status == 404
        assert asked.send("Yes, delete it").status == 404, "a second press finds nothing"

    @pytest.mark.parametrize("what", IN_USE)
    def test_where_something_hangs_on_it_it_says_what_and_offers_no_button(
        self, demo_pages: Reader, held: SmallMeet, what: str
    ) -> None:
        address, called, named = IN_USE[what]
        asked = demo_pages.get(address).follow(LINKS[what])

        assert asked.heading.endswith(" stays")
        assert called in asked.text
        assert named in asked.text
        assert "Yes, delete it" not in [words(button) for button in asked.tree.iter("button")]

    def test_a_rotation_at_the_bars_stays(self, demo_pages: Reader, demo_club: DemoClub) -> None:
        demo_pages.get("/rotations/2").send("Take it to the bars")
        asked = demo_pages.get("/rotations/2/take-away")

        assert "1 run at the bars" in asked.text

    def test_what_came_to_hang_on_it_since_the_question_keeps_it(self, demo_pages: Reader) -> None:
        """A colleague enters the first setting while the question stands on the page."""
        there = a_new_one(demo_pages, "athlete")
        address = there.address.partition("?")[0]
        asked = there.follow(LINKS["athlete"])
        form = demo_pages.get(f"{address}/settings/1")
        typed = {"low_rail_length": "165", "high_rail_length": "245", "spread_length": "165"}
        form.send("Show the result", **typed).send("Save this setting")

        refused = asked.send("Yes, delete it")
        assert refused.heading == "Ana stays"
        assert "1 setting" in refused.text
