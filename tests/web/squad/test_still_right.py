"""Still right? How it is asked on the athlete's page, in the list and on the day's page."""

import pytest

from settingsdesk.desk.squad import settings, still_right
from tests.conftest import DemoClub
from tests.moving_clock import MovingClock
from tests.web.pages import Page, Reader, words
from tests.web.squad.test_athletes import listed, number, open_athlete, pictures, tags

JAGNA = "jagna"
WHY = "Has grown since anybody looked. Look at it at the bars with Jagna B., then confirm"


def confirmed(page: Page, model: str = "Hall frame A") -> Page:
    return page.send(f"It is still right for {model}")


@pytest.fixture
def grown(demo_pages: Reader, demo_club: DemoClub) -> Page:
    """Jagna's page, after a coach has noted it."""
    return open_athlete(demo_pages, demo_club, JAGNA).send("Has grown")


class TestAnAthleteWhoHasGrown:
    def test_is_asked_about_on_every_page_that_leads_to_her(
        self, grown: Page, demo_pages: Reader
    ) -> None:
        assert grown.banners == [
            "That Jagna B. has grown is noted: confirm or change each setting."
        ]
        assert grown.text.count(WHY) == 2

        today = demo_pages.get("/")
        found = today.follow("1 athlete has a setting to look at: Bąkiewicz, Jagna")
        assert listed(found) == ["Bąkiewicz, Jagna ! Still right?"]
        assert "! Still right?" in tags(found)

    def test_is_so_no_more_once_each_setting_is_confirmed(
        self, grown: Page, demo_pages: Reader
    ) -> None:
        page = confirmed(grown)
        assert page.banners == ["The setting of Jagna B. for Hall frame A is confirmed, version 1."]
        assert page.text.count(WHY) == 1

        page = confirmed(page, "Leaning frame C")
        assert WHY not in page.text
        assert "setting to look at" not in demo_pages.get("/").text
        assert "Every setting is confirmed" in page.follow("Others that are asked about").text

    def test_is_confirmed_once_by_two_presses(self, grown: Page, demo_club: DemoClub) -> None:
        """Two coaches, or one who is impatient."""
        confirmed(grown)
        again = confirmed(grown)
        assert again.banners == [
            "The setting of Jagna B. for Hall frame A was confirmed already, version 1."
        ]
        with demo_club.work() as session:
            found = still_right.confirmations_of(session, number(demo_club, JAGNA))
        assert [len(each) for each in found.values()] == [1]

    def test_is_not_confirmed_by_a_page_from_before_a_change(
        self, grown: Page, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            jagna = number(demo_club, JAGNA)
            [hall, _] = settings.current(session, jagna)
            other = settings.latest(session, number(demo_club, "tuva"), hall.model_id)
            assert other is not None
            settings.keep_setting(session, jagna, hall.model_id, other.setting)
        late = confirmed(grown)
        assert late.status == 409
        assert "has been changed since the page was opened" in late.text

    def test_is_seen_over_time_as_a_picture_and_as_a_table(self, grown: Page) -> None:
        page = confirmed(grown)
        [told] = [told for told in pictures(page) if "at first" in told]
        assert told.startswith("Setting for Hall frame A: low rail height ")
        assert "1 version and 1 confirmation" in told
        rows = [words(row) for row in page.tree.iter("tr")]
        assert any("Version 1 confirmed" in row for row in rows)
        assert any("Has grown" in row for row in rows)
        assert "Confirmed" in page.follow("History of the settings").text


class TestASeason:
    def test_is_set_by_a_coach_and_asks_about_the_whole_squad(
        self, demo_pages: Reader, demo_club: DemoClub, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        clock = MovingClock(monkeypatch)
        page = demo_pages.get("/athletes/season")
        assert page.value("season_days") == "180"
        page = page.send("Save", season_days="3")
        assert page.banners == ["Settings are asked about after 3 days."]

        clock.put(days=4)
        page = open_athlete(demo_pages, demo_club, JAGNA)
        assert "Nobody has looked for a season (3 days)" in page.text
        assert "24 athletes have a setting to look at" in demo_pages.get("/").text

    def test_may_be_none(self, demo_pages: Reader) -> None:
        page = demo_pages.get("/athletes/season").send("Save", season_days="")
        assert page.banners == ["No setting is asked about for its age."]

    def test_longer_than_anybody_trains_is_refused(self, demo_pages: Reader) -> None:
        page = demo_pages.get("/athletes/season").send("Save", season_days="9999")
        assert page.mistakes == ["Days in a season must be between 0 and 3650"]
