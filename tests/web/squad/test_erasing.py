"""Erasing on the page: what goes is named, and only a second press does it."""

from pathlib import Path

import pytest
from flask import Flask

from settingsdesk.desk.checks import findings
from settingsdesk.desk.hall.photos import read_photo
from settingsdesk.desk.lists import handing_over
from settingsdesk.desk.meets import guest_clubs
from settingsdesk.store.card_remarks import CardRemark
from tests.conftest import DemoClub
from tests.databases import rows_in
from tests.desk.checks.pictures import jpeg
from tests.desk.meets.test_erasing import FAMILY, found_in, put_everywhere
from tests.made_once import made_once
from tests.web.pages import Reader
from tests.web.whole_desk import one_of_everything

PRINTED = "Jagna B."


@pytest.fixture
def athlete_id(demo_club: DemoClub) -> int:
    return made_once(demo_club.store, "put everywhere", lambda: put_everywhere(demo_club))


class TestErasing:
    def test_the_page_names_what_goes_and_what_stays_and_changes_nothing(
        self, demo_pages: Reader, demo_club: DemoClub, athlete_id: int
    ) -> None:
        page = demo_pages.get(f"/athletes/{athlete_id}").follow(f"Erase all about {PRINTED}")

        assert page.heading == f"Erase all about {FAMILY}, Jagna?"
        for told in (
            "1 card",
            "1 message from a card",
            "1 run at the bars",
            f"The pin was bent when {FAMILY} was on",
            f"Athlete {athlete_id}",
            "Older backups still have it",
        ):
            assert told in page.text
        assert demo_pages.get(f"/athletes/{athlete_id}").status == 200

    def test_after_the_second_press_the_name_is_on_no_page_and_in_no_file(
        self, demo_pages: Reader, demo_club: DemoClub, athlete_id: int
    ) -> None:
        page = demo_pages.get(f"/athletes/{athlete_id}/erase").send("Yes, erase it all")

        assert "What was kept about this athlete is erased." in page.text
        assert found_in(demo_club.data, FAMILY, "Jagna") == []
        assert demo_pages.get(f"/athletes/{athlete_id}").status == 410
        for address in ("/", "/athletes/", "/athletes/left", "/rotations/1", "/checks/"):
            assert FAMILY not in demo_pages.get(address).text

    def test_photos_that_may_show_somebody_are_shown_and_go_where_they_are_ticked(
        self, demo_pages: Reader, demo_club: DemoClub, athlete_id: int
    ) -> None:
        with demo_club.work(writes=True) as session:
            for words in (f"Loose when {FAMILY} was on", "A mat is torn"):
                photo = read_photo(jpeg())
                findings.add_finding(
                    session, 1, words, withdraws=False, press_key=words, photo=photo
                )
        page = demo_pages.get(f"/athletes/{athlete_id}/erase")
        boxes = [box for box in page.tree.iter("input") if box.get("name") == "photo"]
        assert [(box.get("value"), "checked" in box.attrib) for box in boxes] == [
            ("1", True),
            ("2", False),
        ]
        assert demo_pages.client.get("/findings/photos/1").status_code == 200
        page.send("Yes, erase it all")

        assert demo_pages.client.get("/findings/photos/1").status_code == 404
        assert demo_pages.client.get("/findings/photos/2").status_code == 200
        assert demo_pages.get("/findings/").status == 200

    def test_what_was_told_and_has_changed_is_told_anew(
        self, demo_pages: Reader, demo_club: DemoClub, athlete_id: int
    ) -> None:
        """A remark came in while the question stood there."""
        page = demo_pages.get(f"/athletes/{athlete_id}/erase")
        with demo_club.work(writes=True) as session:
            session.add(CardRemark(athlete_id=athlete_id, apparatus_id=1, card_version=1, said="x"))
        again = page.send("Yes, erase it all")

        assert again.status == 409
        assert "This has changed since you were asked." in again.text

    def test_while_a_run_is_open_the_page_says_so_and_leads_there(
        self, demo_pages: Reader, athlete_id: int
    ) -> None:
        """Nobody reads a whole page and is refused by its last button."""
        demo_pages.get("/rotations/1").send("Take it to the bars")
        page = demo_pages.get(f"/athletes/{athlete_id}/erase")

        assert "its run at the apparatus is still open" in page.text
        assert any(words.startswith("Open the run of") for words in page.links)
        assert "Yes, erase it all" not in page.text

    def test_copies_in_the_data_folder_are_named(
        self, demo_pages: Reader, demo_club: DemoClub, athlete_id: int
    ) -> None:
        """Nobody remembers a copy that an upgrade made."""
        copy = Path(demo_club.data.path, "settingsdesk-before-upgrade-from-0016-x.sqlite3")
        copy.touch()
        page = demo_pages.get(f"/athletes/{athlete_id}/erase").send("Yes, erase it all")

        assert f"delete them there: {copy.name}." in page.text


class TestAllThatIsKept:
    def test_a_family_reads_it_and_takes_it_along(
        self, demo_pages: Reader, athlete_id: int
    ) -> None:
        page = demo_pages.get(f"/athletes/{athlete_id}").follow(f"All that is kept about {PRINTED}")
        assert page.heading == f"All that is kept about {FAMILY}, Jagna"
        assert "B-4711" in page.text

        file = demo_pages.client.get(f"/athletes/{athlete_id}/kept.json")
        assert file.mimetype == "application/json"
        assert file.headers["Content-Disposition"] == (
            f'attachment; filename="athlete-{athlete_id}.json"'
        )
        assert file.json["kept"]["athlete"][0]["given_name"] == "Jagna"


class TestHowLong:
    def test_the_club_sets_it_and_families_read_it(
        self, demo_pages: Reader, scanner: Reader, demo_club: DemoClub
    ) -> None:
        before = scanner.get("/what-is-kept")
        assert "30 days after the meet’s last day" in before.text
        assert "Until the club erases it." in before.text

        page = demo_pages.get("/athletes/keeping").send("Save", guests_days="14", left_days="365")
        assert page.status == 200
        after = scanner.get("/help").follow("What is kept about athletes")
        assert "14 days after the meet’s last day" in after.text
        assert "365 days after they left" in after.text

    def test_days_that_are_none_are_refused(self, demo_pages: Reader) -> None:
        page = demo_pages.get("/athletes/keeping").send("Save", guests_days="9999", left_days="x")
        assert len(page.mistakes) == 2


class TestAtAHost:
    def test_the_copy_of_a_host_on_this_desk_is_named_and_goes_by_the_same_press(
        self, demo_club: DemoClub, demo_app: Flask, tmp_path: Path
    ) -> None:
        desk = one_of_everything(demo_club, demo_app, tmp_path)
        with desk.club.work() as session:
            [there] = guest_clubs.all_away(session)
            [sent] = handing_over.handed(session, there.id)
        name = sent.member.person.family_name
        before = repr(rows_in(demo_club.data.where)).count(name)
        coach = desk.browser(Reader, "stamp")
        page = coach.get(f"/athletes/{sent.member.id}/erase")

        assert "River Cup: Riverside" in page.text
        done = page.send("Yes, erase it all")
        assert done.heading == "Athletes"
        after = repr(rows_in(demo_club.data.where)).count(name)
        assert (before > 1, after) == (True, 0)
