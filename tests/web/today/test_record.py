"""The page of who changed what."""

from datetime import timedelta

import pytest

from settingsdesk.desk.meets import retention
from tests.conftest import DemoClub
from tests.desk.sample_meet import DAY, hold
from tests.web.pages import Reader


class TestThePage:
    def test_a_coach_sees_what_was_done_by_whom(self, demo_pages: Reader) -> None:
        demo_pages.get("/athletes/1/edit").send("Save the changes", start_number="41")
        page = demo_pages.get("/").follow("Who changed what")

        assert page.heading == "Who changed what"
        assert "Runa Calloway" in page.text
        assert "Athlete changed, start number" in page.text
        assert "41" not in page.text.partition("Athlete changed")[2].partition(")")[0]

    def test_no_stranger_does(self, scanner: Reader) -> None:
        assert scanner.get("/record").heading == "Sign in"


class TestWhatWasDoneByItself:
    def test_the_days_page_says_who_went_because_their_time_was_over(
        self, demo_pages: Reader, demo_club: DemoClub, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Nobody should have to wonder where the guests are."""
        hold(demo_club)
        first = DAY + timedelta(days=31)
        for later in range(3):
            retention.clear(demo_club.store, first + timedelta(days=later))
        monkeypatch.setattr(retention, "today", lambda: first + timedelta(days=3))

        assert "3 guests erased: their time was over." in demo_pages.get("/").text
        assert "kept long enough" in demo_pages.get("/record").text
