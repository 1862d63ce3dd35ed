"""An order that takes a while: its page, stopping it, and everybody else being served meanwhile."""

import re
import subprocess
import sys
from dataclasses import replace

import pytest
from flask import Flask

from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.rotations import searches as desk_searches
from settingsdesk.web.frame.work import OURS
from settingsdesk.web.rotations import searches as web_searches
from tests.conftest import DemoClub
from tests.desk.rotations.test_searches import HARD, until
from tests.web import pages
from tests.web.pages import Page, Reader, words
from tests.web.rotations.making import TONIGHT
from tests.web.rotations.test_wishes_form import ORDER, wishes


@pytest.fixture
def hard(demo_app: Flask, demo_club: DemoClub):
    """The id of a search that goes on for a while, for tonight's rotation."""
    searches = demo_app.extensions[OURS].searches
    yield searches.begin(demo_club.account.club_id, "rotation 1", HARD, lambda _: None)
    searches.close()


SLOW_TO_WEIGH = """
import json, pickle, sys, time
from settingsdesk.planner.solve import solve
task = pickle.load(sys.stdin.buffer)
print(json.dumps({"solution": solve(task.problem).to_json()}), flush=True)
print(json.dumps({"answered": True}), flush=True)
time.sleep(60)
"""


@pytest.fixture
def slow_to_weigh(monkeypatch: pytest.MonkeyPatch) -> None:
    """A planner that finds the order and then hangs."""

    def child(_: int) -> desk_searches.Process:
        return subprocess.Popen(
            [sys.executable, "-c", SLOW_TO_WEIGH], stdin=subprocess.PIPE, stdout=subprocess.PIPE
        )

    monkeypatch.setattr(desk_searches, "_child", child)


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


class TestWhatTheWishesCost:
    def first(self, pages: Reader, club: DemoClub) -> Page:
        """Tonight's page after somebody was asked to go first."""
        with club.work() as session:
            tuva = desk_rotation.rotation(session, 1).listed[2].id
        return wishes(pages).send(ORDER, first=str(tuva))

    def told(self, page: Page) -> str:
        return " ".join(words(wish) for wish in page.having("class", "wishes"))

    def test_it_stands_beside_each_wish(self, demo_pages: Reader, demo_club: DemoClub) -> None:
        """Dropping it saves just that: the coach decides."""
        self.first(demo_pages, demo_club)
        page = demo_pages.get(TONIGHT)

        assert re.fullmatch(
            r"Tuva F\. first: \+\d:\d\d min \(without it \d\d:\d\d min\)", self.told(page)
        )
        assert "how much more change-over there is because of it" in page.text
        assert "Work out what each wish costs" not in page.text

    @pytest.mark.usefixtures("slow_to_weigh")
    def test_the_order_is_shown_before_it_is_known_and_the_page_says_so(
        self, demo_pages: Reader, demo_club: DemoClub, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(pages, "weighed", lambda _: None)  # this one hangs
        page = self.first(demo_pages, demo_club)

        assert page.banners == ["The rotation was ordered as you asked."]
        assert self.told(page) == "Tuva F. first"
        assert "What each wish costs is being worked out." in page.text
        assert "data-later" in page.response.text
        assert "later.js" in page.response.text

    def test_where_it_is_not_known_it_can_be_asked_for(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """For orders of before, and where a search was stopped."""
        with demo_club.work(writes=True) as session:
            view = desk_rotation.rotation(session, 1)
            asked = replace(view.asked, first=view.listed[2].id)
            desk_rotation.change_wishes(session, view, asked)
            desk_rotation.order_anew(session, 1)
        page = demo_pages.get(TONIGHT)
        assert self.told(page) == "Tuva F. first"

        page.send("Work out what each wish costs")
        again = demo_pages.get(TONIGHT)

        assert "without it" in self.told(again)
        assert "Work out what each wish costs" not in again.text
        assert self.told(demo_pages.get(TONIGHT)) == self.told(again)

    def test_without_a_wish_nothing_is_said_of_it(self, demo_pages: Reader) -> None:
        page = demo_pages.get(TONIGHT)

        assert "Why this order" not in page.text
        assert "Work out" not in page.text
