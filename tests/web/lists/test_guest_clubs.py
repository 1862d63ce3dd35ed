"""The host's page of clubs that enter from this desk."""

from pathlib import Path

from flask import Flask

from tests.conftest import DemoClub
from tests.web.pages import Reader
from tests.web.whole_desk import one_of_everything


class TestTheHost:
    def test_makes_a_link_takes_it_back_and_learns_of_no_club(
        self, demo_club: DemoClub, demo_app: Flask, tmp_path: Path
    ) -> None:
        desk = one_of_everything(demo_club, demo_app, tmp_path)
        coach = desk.browser(Reader, "stamp")
        page = coach.get(f"/meets/{desk.ids['meet_id']}").follow("Guest clubs on settingsdesk")
        page = page.send("Make the link", entered_as="Some club that nobody knows")
        assert len(page.having("class", "link")) == 2
        page = page.send("Cancel the link of Some club that nobody knows")

        assert len(page.having("class", "link")) == 1
        assert "Ended" in page.text
        assert page.send("Make the link", entered_as=" ").status == 400
