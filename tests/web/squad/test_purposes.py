"""Settings for training and learning: entered beside the usual one, and chosen by a rotation."""

import pytest

from settingsdesk.desk.squad import settings
from settingsdesk.domain.settings.purposes import Purpose
from tests.conftest import DemoClub
from tests.web.pages import Page, Reader, words
from tests.web.squad.test_athletes import listed, number, open_athlete, pictures

JAGNA = "jagna"
TONIGHT = "/rotations/1"


@pytest.fixture
def beside(demo_pages: Reader, demo_club: DemoClub) -> Page:
    """Jagna's page after a wider setting for training was entered on it."""
    page = open_athlete(demo_pages, demo_club, JAGNA)
    form = page.follow("Add one for training on Hall frame A")
    return form.send("Check, then save", spread_length="180").send("Save this setting")


class TestEnteringOne:
    def test_begins_with_the_usual_one_and_leaves_it_as_it_is(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        page = open_athlete(demo_pages, demo_club, JAGNA)
        form = page.follow("Add one for training on Hall frame A")
        assert form.heading == "Setting of Jagna B. for Hall frame A, for training"
        assert "Filled in with the usual setting, for competition" in form.text
        assert form.value("spread_length") == "170.0"

        check = form.send("Check, then save", spread_length="180")
        assert "For Hall frame A, for training, this becomes:" in check.text
        page = check.send("Save this setting")
        assert page.banners[0] == (
            "Version 1 of the setting of Jagna B. for Hall frame A, for training is kept."
        )
        with demo_club.work() as session:
            usual, training = (
                settings.latest(session, number(demo_club, JAGNA), 1, purpose)
                for purpose in (Purpose.COMPETITION, Purpose.TRAINING)
            )
        assert usual is not None
        assert training is not None
        assert usual.version == 1
        lengths = (usual.setting.axes["spread"], training.setting.axes["spread"])
        assert [wanted.wanted_mm for wanted in lengths] == [1700, 1800]

    def test_stands_beside_the_usual_one_with_its_marks_and_is_changed_by_itself(
        self, beside: Page
    ) -> None:
        headings = [words(one) for one in beside.tree.iter("h3")]
        assert "Wanted on Hall frame A, for training" in headings
        assert headings.count("Bars by the window") == 1
        assert headings.count("Bars by the window, for training") == 1
        assert "Bars by the door, for training" not in headings

        form = beside.follow("Change the setting for Hall frame A, for training")
        assert form.value("spread_length") == "180.0"
        page = form.send("Check, then save", spread_length="181").send("Save this setting")
        assert "Version 2" in page.banners[0]
        assert any("Setting for Hall frame A, for training" in told for told in pictures(page))

    def test_is_confirmed_by_itself(self, beside: Page) -> None:
        page = beside.send("It is still right for Hall frame A, for training")
        assert page.banners == [
            "The setting of Jagna B. for Hall frame A, for training is confirmed, version 1."
        ]

    def test_has_lengths_to_other_points_and_present_marks_like_the_usual_one(
        self, beside: Page
    ) -> None:
        """No step on the way may lose for what it is."""
        form = beside.follow("Add one for learning on Hall frame A")
        taken = form.follow("Take the present marks of Bars by the window")
        assert taken.heading.endswith(", for learning")
        other = taken.send("Use these points", heights="floor/centre")
        assert other.heading.endswith(", for learning")

    @pytest.mark.parametrize("word", ["warm-up", "Training", "", "x" * 200])
    def test_of_a_word_that_is_none_the_usual_one_is_meant(
        self, demo_pages: Reader, demo_club: DemoClub, word: str
    ) -> None:
        jagna = number(demo_club, JAGNA)
        page = demo_pages.get(f"/athletes/{jagna}/settings/1?purpose={word}")
        assert page.heading == "Setting of Jagna B. for Hall frame A"

    def test_where_there_is_no_usual_one_says_to_enter_that_first(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        jagna = number(demo_club, JAGNA)
        page = demo_pages.get(f"/athletes/{jagna}/settings/2?purpose=training")
        assert page.status == 400
        assert "enter that one for Travel frame B first" in page.text


class TestTheTable:
    def test_is_for_each_and_says_by_which_cards_go(
        self, beside: Page, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        page = demo_pages.get("/athletes/marks?on=apparatus-1&purpose=training")
        assert "Hall frame A at Bars by the window, for training." in page.text
        assert "cards and meets go by the settings for competition" in page.text
        assert (page.value("spread_1"), page.value("spread_2")) == ("180.0", "")

        typed = {"low_rail_2": "4", "high_rail_2": "4", "spread_2": "165.0"}
        kept = page.send("Save the marks", **typed)
        assert kept.banners[0] == "The marks of Defne Ç. are kept for Hall frame A, for training."
        assert kept.value("spread_2") == "165.0"
        with demo_club.work() as session:
            usual = settings.latest(session, 2, 1)
        assert usual is not None
        assert usual.version == 1

    def test_of_a_word_that_is_none_it_is_the_usual_one(self, demo_pages: Reader) -> None:
        page = demo_pages.get("/athletes/marks?on=apparatus-1&purpose=warm-up")
        assert page.value("spread_1") == "170.0"
        assert "Settings for" not in page.text

    def test_whoever_has_no_usual_one_is_told_at_the_cell(
        self, beside: Page, demo_pages: Reader
    ) -> None:
        ana = demo_pages.get("/athletes/new").send("Add the athlete", given_name="Ana").address
        number = ana.rpartition("/")[2]
        typed = {f"low_rail_{number}": "4", f"high_rail_{number}": "4", f"spread_{number}": "165.0"}
        page = demo_pages.get("/athletes/marks?on=apparatus-1&purpose=training").send(
            "Save the marks", **typed
        )
        assert page.status == 400
        assert "beside the usual one, for competition: enter that one" in page.mistakes[0]


class TestTheList:
    def test_says_for_what_else_somebody_has_one(self, beside: Page, demo_pages: Reader) -> None:
        page = demo_pages.get("/athletes/?q=jagna")
        assert "Hall frame A, for training: 5 / 5 / 180.0" in page.text

    def test_the_squad_is_compared_for_each(self, beside: Page, demo_pages: Reader) -> None:
        page = demo_pages.get("/athletes/squad?model=1").send("Show", purpose="training")
        assert listed(page) == ["Bąkiewicz, Jagna"]
        assert "Wanted on Hall frame A, for training" in page.text
        assert "180.0" in page.text


def chosen_in(form: Page) -> list[str | None]:
    """Which settings count by a form."""
    return [box.get("value") for box in form.having("name", "purpose") if "checked" in box.attrib]


class TestARotation:
    def test_asks_for_what_it_is_only_where_somebody_has_more_than_the_usual_one(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        for address in (f"{TONIGHT}/wishes", "/rotations/new/1"):
            assert "Settings for" not in demo_pages.get(address).text

    def test_for_training_says_so_and_whose_is_the_usual_one(
        self, beside: Page, demo_pages: Reader
    ) -> None:
        page = demo_pages.get(f"{TONIGHT}/wishes").send(
            "Plan with these wishes", purpose="training"
        )
        assert "Settings for training" in page.text
        told = "No setting for training: marks as for competition:"
        [line] = [words(one) for one in page.tree.iter("p") if told in words(one)]
        assert "Jagna" not in line
        assert "Defne" in line
        assert "Cards carry the settings for competition." in page.text
        assert chosen_in(demo_pages.get(f"{TONIGHT}/wishes")) == ["training"]

    def test_at_the_bars_other_marks_are_entered_for_what_it_is(
        self, beside: Page, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """What is changed in training changes no card, and is what the run goes by."""
        page = demo_pages.get("/rotations/new/1").send(
            "Plan the rotation", who=["1", "2"], name="Wide", purpose="training"
        )
        bars = page.send("Take it to the bars")
        who = bars.heading.split("Set for ")[1]
        assert "Settings for training." in bars.text
        form = bars.follow(f"{who} wants other marks")
        assert form.heading == f"Setting of {who} for Hall frame A, for training"
        back = form.send("Check, then save", spread_length="166").send("Save this setting")
        assert "Settings have changed" in back.text

    def test_is_planned_for_it_from_the_beginning(self, beside: Page, demo_pages: Reader) -> None:
        page = demo_pages.get("/rotations/new/1").send(
            "Plan the rotation", who=["1"], name="Wide", purpose="training"
        )
        assert page.heading == "Wide"
        assert "Settings for training" in page.text
        number = page.address.rpartition("/")[2]
        assert chosen_in(demo_pages.get(f"/rotations/new/1?like={number}")) == ["training"]
