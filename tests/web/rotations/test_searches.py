"""An order that takes a while: its page, stopping it, and everybody else being served meanwhile."""

import pytest
from flask import Flask

from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.rotations import searches as desk_searches
from settingsdesk.web.frame.work import OURS
from settingsdesk.web.rotations import searches as web_searches
from tests.conftest import DemoClub
from tests.desk.rotations.test_searches import HARD, until
from tests.web.pages import Reader
from tests.web.rotations.making import TONIGHT
from tests.web.rotations.test_wishes_form import ORDER, wishes


@pytest.fixture
def hard(demo_app: Flask, demo_club: DemoClub):
    """The id of a search that goes on for a while, for tonight's rotation."""
    searches = demo_app.extensions[OURS].searches
    yield searches.begin(demo_club.account.club_id, "rotation 1", HARD, lambda _: None)
    searches.close()


@pytest.fixture
def never_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """As if every order took long."""
    monkeypatch.setattr(web_searches, "AT_ONCE_S", 0.0)


class TestALongSearch:
    def test_it_has_a_page_that_says_how_far_it_is(
        self, demo_pages: Reader, demo_app: Flask, demo_club: DemoClub, hard: str
    ) -> None:
        searches = demo_app.extensions[OURS].searches
        until(lambda: searches.look(demo_club.account.club_id, hard).best)
        page = demo_pages.get(f"{TONIGHT}/search/{hard}")

        assert page.heading == "Finding the best order"
        assert "The best order so far needs" in page.text
        assert "No order can be better by more than" in page.text

    def test_it_can_be_stopped(self, demo_pages: Reader, demo_app: Flask, hard: str) -> None:
        page = demo_pages.get(f"{TONIGHT}/search/{hard}").send("Stop")

        assert page.heading == "Tonight, bars, girls 1"
        assert page.banners == ["The search was stopped, and the best order so far was taken."]

    def test_every_other_page_is_answered_while_it_runs(
        self, demo_pages: Reader, stranger: Reader, demo_app: Flask, demo_club: DemoClub, hard: str
    ) -> None:
        """The engine would hold up the whole server if it searched inside it."""
        searches = demo_app.extensions[OURS].searches
        for _ in range(10):
            for address in ("/", "/athletes/1", TONIGHT, "/help"):
                assert demo_pages.get(address).status == 200
        assert searches.look(demo_club.account.club_id, hard).running

    def test_a_search_that_is_not_there_leads_back_to_the_rotation(
        self, demo_pages: Reader
    ) -> None:
        assert demo_pages.get(f"{TONIGHT}/search/nothing").heading == "Tonight, bars, girls 1"

    def test_another_coachs_club_does_not_see_it(
        self, demo_pages: Reader, demo_app: Flask, hard: str
    ) -> None:
        assert demo_app.extensions[OURS].searches.look(99, hard) is None

    @pytest.mark.usefixtures("never_at_once")
    def test_what_it_finds_is_kept_although_nobody_pressed_again(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        page = wishes(demo_pages).send(ORDER, turns="2", rest_turns="2")
        if page.heading == "Finding the best order":
            page.follow("Refresh")

        def kept() -> bool:
            with demo_club.work() as session:
                ordered = desk_rotation.rotation(session, 1).ordered
            return ordered is not None and not ordered.outdated

        until(kept)


class TestRefusals:
    def test_too_many_at_once_is_told(
        self,
        demo_pages: Reader,
        demo_app: Flask,
        demo_club: DemoClub,
        hard: str,
        monkeypatch: pytest.MonkeyPatch,
    ) -> None:
        monkeypatch.setattr(desk_searches, "PATIENCE_S", 0.0)
        searches = demo_app.extensions[OURS].searches
        searches.begin(demo_club.account.club_id, "another", HARD, lambda _: None)
        page = demo_pages.get("/rotations/2/wishes").send(ORDER, turns="2")

        assert page.heading == "Tonight, parallel bars, boys 1"
        assert "2 other orders are being worked out already" in page.banners[0]
        assert "2 turns each" in page.text
