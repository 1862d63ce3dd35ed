"""The athletes' marks in a table: seen for each model, changed where they stand."""

import pytest

from settingsdesk.desk.squad import settings
from tests.conftest import DemoClub
from tests.web.pages import Page, Reader

TABLE, SAVE = "/athletes/marks?on=apparatus-1", "Save the marks"


def wanted_mm(club: DemoClub, athlete_id: int = 1) -> list[int]:
    with club.work() as session:
        kept = settings.latest(session, athlete_id, 1)
    return [one.wanted_mm for one in kept.setting.axes.values()] if kept else []


@pytest.fixture
def table(demo_pages: Reader) -> Page:
    return demo_pages.get(TABLE)


class TestTheList:
    def test_shows_the_marks_of_everybody_for_each_model(self, demo_pages: Reader) -> None:
        page = demo_pages.get("/athletes/")
        assert "Hall frame A: 5 / 5 / 170.0" in page.text
        assert "Leaning frame C: 16 / 16 / 136.0" in page.text
        assert "Hall frame A at Bars by the window" in page.text
        assert page.follow("Change marks in a table").heading == "Marks of the athletes"


class TestChanging:
    def test_a_mark_is_changed_where_it_stands_and_only_that_one(
        self, table: Page, demo_club: DemoClub
    ) -> None:
        before = wanted_mm(demo_club)
        assert table.value("spread_1") == "170.0"
        kept = table.send(SAVE, spread_1="176.0", reason="grown")
        assert kept.heading == "Marks of the athletes"
        assert kept.banners[0].startswith("The marks of Jagna B. are kept for Hall frame A.")
        assert kept.value("spread_1") == "176.0"
        assert wanted_mm(demo_club)[:2] == before[:2]
        with demo_club.work() as session:
            assert settings.latest(session, 2, 1).version == 1
            assert settings.latest(session, 1, 1).reason == "grown"

    def test_a_length_that_follows_is_asked_about_and_kept_when_sent_again(
        self, table: Page, demo_club: DemoClub
    ) -> None:
        """No length changes that nobody was told of."""
        before = wanted_mm(demo_club)
        asked = table.send(SAVE, high_rail_1="6")
        assert "Jagna B.: rail spread stays at mark 170.0, and its length becomes" in asked.text
        assert wanted_mm(demo_club) == before
        assert asked.value("high_rail_1") == "6"
        assert asked.send(SAVE).banners[0].startswith("The marks of Jagna B. are kept")
        assert wanted_mm(demo_club) != before

    def test_one_bad_cell_loses_nothing_of_the_others(
        self, table: Page, demo_club: DemoClub
    ) -> None:
        page = table.send(SAVE, low_rail_1="99", spread_1="176.0", spread_2="160.0", reason="x")
        assert page.status == 400
        [mistake] = page.mistakes
        assert mistake.startswith("Jagna B., mark of the low rail height: mark '99' is not on this")
        for name, value in {"low_rail_1": "99", "spread_1": "176.0", "spread_2": "160.0"}.items():
            assert page.value(name) == value
        assert wanted_mm(demo_club)[2] == 1700
        kept = page.send(SAVE, low_rail_1="5")
        assert "Jagna B. and" in kept.banners[0]

    def test_half_a_row_is_refused_at_its_cell(self, table: Page) -> None:
        page = table.send(SAVE, low_rail_1="")
        assert page.status == 400
        assert "The mark of the low rail height is missing" in page.mistakes[0]
        assert list(page.links_of_mistakes.values()) == ["#low_rail_1"]

    def test_whoever_has_none_gets_a_setting_by_a_whole_row(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        new = demo_pages.get("/athletes/new").send("Add the athlete", given_name="Ana")
        ana = new.address.rpartition("/")[2]
        table = demo_pages.get(TABLE)
        typed = {f"low_rail_{ana}": "4", f"high_rail_{ana}": "4", f"spread_{ana}": "158.0"}
        table.send(SAVE, **typed)
        assert len(wanted_mm(demo_club, int(ana))) == 3

    def test_spoilt_numbers_change_nothing(self, table: Page, demo_club: DemoClub) -> None:
        before = wanted_mm(demo_club)
        for who in ("", "x", "0,-1", "1," * 500):
            assert table.send(SAVE, who=who).status < 500
        assert wanted_mm(demo_club) == before


class TestSaveAndAddAnother:
    def test_leads_from_one_new_athlete_to_the_next_of_the_group(self, demo_pages: Reader) -> None:
        form = demo_pages.get("/athletes/new")
        page = form.send("Save and add another", given_name="Ana", group_name="Girls 9")
        assert page.heading == "Add an athlete"
        assert page.banners == ["Ana is added. Add the next one."]
        assert page.value("group_name") == "Girls 9"

    def test_and_from_a_setting_to_the_next_athlete_and_their_setting(
        self, demo_pages: Reader
    ) -> None:
        """The same model all the way: a squad is entered without going back to any list."""
        checked = demo_pages.get("/athletes/1/settings/1").send(
            "Check, then save", low_rail_length="175"
        )
        new = checked.send("Save and add another athlete")
        assert new.heading == "Add an athlete"
        assert new.value("group_name") == "Girls 1"
        setting = new.send("Add the athlete", given_name="Ana")
        assert setting.heading == "Setting of Ana for Hall frame A"
