"""The page on which clubs are made and closed, and what a closed one still answers."""

from pathlib import Path

import pytest
from flask import Flask

from settingsdesk.desk.accounts import clubs
from settingsdesk.store.clubs import Club
from settingsdesk.store.work import Store
from tests.conftest import Account, DemoClub
from tests.web.pages import Reader
from tests.web.whole_desk import one_of_everything

NEW = "nine quiet otters juggling"
MADE = {"name": "Lakeside", "unit": "cm"}


@pytest.fixture
def maker(app: Flask, account: Account) -> Reader:
    """The first owner, who owns the installation too."""
    reader = Reader(app)
    reader.sign_in(account.sign_in_name, account.password)
    return reader


class TestMakingAClub:
    def test_its_first_owner_comes_by_a_link_and_who_made_it_does_not(
        self, app: Flask, maker: Reader
    ) -> None:
        page = maker.get("/account").follow("Clubs on this settingsdesk")
        page = page.send("Add the club", **MADE, first="invited", owner_name="Ann Reed")
        [link] = [one.text or "" for one in page.having("class", "link")]
        ann = Reader(app)
        asked = ann.get(link.removeprefix("http://127.0.0.1:5000"))
        inside = asked.send("Save and sign in", sign_in_name="ann", new=NEW)

        assert inside.title == "Today – Lakeside – settingsdesk"
        assert maker.get("/clubs/").having("class", "link") == []
        assert maker.get("/clubs/").having("class", "other-clubs") == []
        assert ann.get("/clubs/").status == 403
        assert "Clubs on this settingsdesk" not in ann.get("/account").text

    def test_a_name_is_asked_for_where_somebody_is_invited(self, maker: Reader) -> None:
        page = maker.get("/clubs/").send("Add the club", **MADE, first="invited", owner_name="")

        assert list(page.links_of_mistakes.values()) == ["#owner_name"]
        assert "Lakeside" not in maker.get("/clubs/").text

    def test_a_name_that_is_there_is_refused(self, maker: Reader) -> None:
        page = maker.get("/clubs/").send(
            "Add the club", name="harbour gymnastics", unit="cm", first="myself", owner_name=""
        )

        assert list(page.links_of_mistakes.values()) == ["#name"]


class TestSeveralClubs:
    @pytest.fixture
    def both(self, maker: Reader) -> Reader:
        """The owner of two clubs, who acts for the first."""
        maker.get("/clubs/").send("Add the club", **MADE, first="myself", owner_name="")
        return maker

    def test_one_press_on_any_page_changes_the_club_and_its_head_says_which(
        self, both: Reader
    ) -> None:
        page = both.get("/athletes/")
        assert page.title.endswith("– Harbour Gymnastics – settingsdesk")
        page = page.send("Lakeside instead of Harbour Gymnastics")
        assert page.title.endswith("– Lakeside – settingsdesk")
        assert both.get("/athletes/").title.endswith("– Lakeside – settingsdesk")

    def test_a_form_that_was_opened_for_one_club_is_not_taken_for_another(
        self, both: Reader
    ) -> None:
        """In another tab: what is typed under one club's name must not end up in the other's."""
        form = both.get("/athletes/new")
        both.get("/").send("Lakeside instead of Harbour Gymnastics")

        kept = form.send("Add the athlete", family_name="Ask", given_name="Ea")

        assert kept.status == 400
        assert "changed the club" in kept.text
        assert "Ask" not in both.get("/athletes/").text

    def test_who_has_one_club_is_shown_none_to_change_to(self, maker: Reader) -> None:
        assert maker.get("/").having("class", "other-clubs") == []

    def test_the_one_acted_for_cannot_be_closed_from_the_page(self, both: Reader) -> None:
        assert "Close club Harbour Gymnastics" not in both.get("/clubs/").text
        closed = both.get("/clubs/").send("Close club Lakeside")
        assert "Lakeside is closed" in closed.banners[0]
        assert both.get("/").having("class", "other-clubs") == []


class TestAClosedClub:
    def test_answers_for_its_cards_and_stations_as_if_they_were_cancelled(
        self, demo_club: DemoClub, demo_app: Flask, tmp_path: Path
    ) -> None:
        """Somebody holds the card out at a meet: nothing may be set by it, and the page says so."""
        desk = one_of_everything(demo_club, demo_app, tmp_path)
        phone, stranger = desk.browser(Reader, "station"), desk.browser(Reader)
        card, station = (f"/{kind}/{desk.ids[code]}" for kind, code in CODES)
        assert phone.get("/station").status == 200
        assert stranger.get(card).status == 200
        clubs.close(demo_club.store, demo_club.account.club_id)

        shut = stranger.get(card)
        assert shut.status == 404
        assert "set nothing by this one" in shut.text
        assert shut.text.replace(str(desk.ids["code"]), "") == stranger.get(
            f"/C/{'A' * 26}"
        ).text.replace("A" * 26, "")
        assert "No station that is open has this code" in stranger.get(station).text
        asked = phone.client.get("/station/latest", headers={"Settingsdesk-Script": "1"})
        assert asked.status_code == 410
        assert desk.browser(Reader, "stamp").get("/athletes/").heading == "Sign in"

        clubs.open_again(demo_club.store, demo_club.account.club_id)
        assert stranger.get(card).status == 200
        assert phone.get("/station").status == 200


CODES = (("C", "code"), ("S", "station_code"))


def test_the_page_of_what_is_kept_names_no_club_to_a_stranger(app: Flask, store: Store) -> None:
    """Which clubs are here is nobody's business who comes by."""
    with store.installation(writes=True) as session:
        session.add(Club(name="Hillside"))
    page = Reader(app).get("/what-is-kept")

    assert "Hillside" not in page.text
    assert "Harbour" not in page.text
